"""Past forecasts are replayed from the register, stored whole, and told in the next plan's report."""

import csv
import datetime
import json

import pandas as pd
import pytest
from django.core.management import CommandError, call_command

from fleet.frames.register import core_tables
from fleet.jobs import backtest as backtest_job
from fleet.models import LINES, Backtest, Organization, Plan, RunState
from fleet.services.errors import BacktestRuns, NothingToReplay
from fleet.services.plans.backtesting import request_backtest, run_backtest, scores_table
from fleet.services.plans.replanning import request_plan, run_plan, same_chance
from forecasting.hindsight.backtest import SERVICE, forecast_on
from forecasting.outputs import SCORES

from .builders import take_small_fleet

FROM = datetime.date(2023, 3, 1)

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def gravel(kept_for_module, tmp_path_factory) -> Organization:
    """An organization with a small fleet whose last record is of January 2024."""
    return take_small_fleet(tmp_path_factory.mktemp("fleet"), "Gravel Works")


def replayed(organization: Organization, from_day: datetime.date = FROM, every_days: int = 120) -> Backtest:
    asked = request_backtest(organization=organization, user=None, from_day=from_day, every_days=every_days)
    return run_backtest(asked.pk)


@pytest.fixture(scope="module")
def backtest(gravel) -> Backtest:
    """Its newest backtest."""
    return replayed(gravel)


@pytest.fixture(scope="module")
def past_plan(gravel, backtest) -> Plan:
    """The plan of the backtest's first day, made after it."""
    return run_plan(request_plan(organization=gravel, user=None, as_of=FROM).pk)


def test_each_past_date_is_scored_as_far_as_its_horizons_are_over(backtest):
    scores = scores_table(backtest)
    assert (backtest.state, backtest.failure, backtest.progress) == (RunState.DONE, "", "")
    assert backtest.until < datetime.date(2024, 3, 1)
    assert sorted(scores["as_of"].dt.date.unique()) == [
        FROM,
        datetime.date(2023, 6, 29),
        datetime.date(2023, 10, 27),
    ]
    assert set(scores["model"]) == {"service", "age_only", "one_life_table"}
    assert (scores["as_of"] + pd.to_timedelta(scores["horizon_days"], unit="D")).max() <= pd.Timestamp(
        backtest.until
    )


def test_the_forecast_of_a_past_date_is_the_one_the_main_job_makes(gravel, past_plan):
    said = forecast_on(core_tables(gravel), FROM, same_chance())

    lines = dict(LINES["forecasts"].objects.filter(plan=past_plan).values_list("assembly", "p_fail_365d"))
    own = dict(zip(said.assemblies, said.chances[SERVICE][365], strict=True))
    assert own == pytest.approx(lines, rel=1e-9)
    assert len(own) > 0


def test_a_second_delivery_finds_the_backtest_done_and_stops(backtest):
    assert run_backtest(backtest.pk).finished_at == backtest.finished_at


def test_the_job_makes_the_backtest_that_was_asked_for(gravel):
    asked = request_backtest(organization=gravel, user=None, from_day=FROM, every_days=400)

    backtest_job(asked.pk)

    asked.refresh_from_db()
    assert asked.state == RunState.DONE
    assert asked.scores


def test_while_one_is_being_made_no_other_is_asked_for(gravel):
    request_backtest(organization=gravel, user=None, from_day=FROM, every_days=30)

    with pytest.raises(BacktestRuns, match="Gravel Works is being made"):
        request_backtest(organization=gravel, user=None, from_day=FROM, every_days=30)


def test_a_first_day_after_the_last_record_is_refused_and_says_which_that_is(gravel, backtest):
    with pytest.raises(NothingToReplay, match="Nothing to replay from 1 Dec 2024: the last record is of "):
        replayed(gravel, from_day=datetime.date(2024, 12, 1))

    assert Backtest.objects.exclude(pk=backtest.pk).get().state == RunState.FAILED
    assert Backtest.objects.newest(gravel) == backtest


def test_the_next_plan_tells_how_right_past_forecasts_were(gravel, backtest, past_plan):
    plan = run_plan(request_plan(organization=gravel, user=None, as_of=backtest.until).pk)

    assert plan.report["scores"]["rows"] == backtest.scores
    assert plan.report["scores"]["in_words"][0].startswith("Within 30 days of 3 past dates: ")
    assert "scores" not in past_plan.report  # it may not know what happened after its day


def test_the_command_writes_scores_csv(gravel, tmp_path):
    out = tmp_path / "out"

    call_command("backtest", "--organization=Gravel Works", f"--from={FROM}", "--every=400", f"--out={out}")

    with (out / "scores.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert list(rows[0]) == SCORES.names
    assert {(row["as_of"], row["horizon_days"]) for row in rows} >= {
        ("2023-03-01", "30"),
        ("2023-03-01", "180"),
    }
    assert all(0 < float(row["log_loss"]) < 5 for row in rows)
    assert all(row["calibration_slope"] == "" for row in rows)  # three hoses draw no line
    assert [path.name for path in out.iterdir()] == ["scores.csv"]


def test_ctrl_c_leaves_what_stood(gravel, backtest, tmp_path, monkeypatch):
    def interrupt(step: str) -> None:
        if step.startswith("Forecasting as of 2023-06-29"):
            raise KeyboardInterrupt

    monkeypatch.setattr("fleet.management.commands.backtest.shown_progress", lambda: interrupt)
    with pytest.raises(CommandError, match="What stood before still stands") as stopped:
        call_command(
            "backtest",
            "--organization=Gravel Works",
            f"--from={FROM}",
            "--every=120",
            f"--out={tmp_path / 'out'}",
        )

    assert stopped.value.returncode == 130
    assert not (tmp_path / "out").exists()
    assert Backtest.objects.newest(gravel) == backtest
    assert json.dumps(Backtest.objects.first().scores) == "[]"


def test_an_interval_of_no_days_is_refused(gravel):
    told = r"argument --every: 0 is not a whole number of 1 or more\. Write it as 30\."
    with pytest.raises(CommandError, match=told):
        call_command("backtest", "--organization=Gravel Works", f"--from={FROM}", "--every=0")


def test_dates_on_which_nothing_was_installed_are_told_instead_of_an_empty_table(gravel, capsys):
    call_command("backtest", "--organization=Gravel Works", "--from=1990-01-01", "--every=20000")

    assert capsys.readouterr().out == "1990-01-01: no assembly was installed and watched on that day.\n"
