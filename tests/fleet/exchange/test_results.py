"""The files out: every table under its name, rounded for its unit, and nothing left half written."""

import json

import numpy as np
import pandas as pd
import pytest

from fleet.exchange.results import write_results
from forecasting.outputs import OUTPUTS
from forecasting.tables import make_table

KIT = {
    "kit": ["K1"],
    "purpose": ["changeout"],
    "site": ["yard"],
    "needed_by": ["2024-05-01"],
    "ready": [True],
}


def tables(**given: dict) -> dict[str, pd.DataFrame]:
    return {name: make_table(given.get(name), table) for name, table in OUTPUTS.items()}


def margin(**values) -> dict:
    row = {"assembly": "A1", "machine": "EX-1", "position": "boom", "verdict": "sound"} | values
    return {name: [value] for name, value in row.items()}


def lines(path) -> list[str]:
    return path.read_text(encoding="utf-8").splitlines()


def test_every_table_is_written_with_its_columns_in_order(tmp_path):
    write_results(tmp_path / "out", tables(), {"as_of": "2024-04-01"})

    for name, table in OUTPUTS.items():
        assert lines(tmp_path / "out" / f"{name}.csv") == [",".join(table.names)]
    assert json.loads((tmp_path / "out" / "report.json").read_text()) == {"as_of": "2024-04-01"}


@pytest.mark.parametrize(
    ("name", "first"),
    [
        (
            "forecasts",
            "assembly machine position population age_days age_hours p_fail_30d p_fail_90d p_fail_180d "
            "p_fail_365d p_fail_365d_low p_fail_365d_high median_days_left due_on due_reason",
        ),
        (
            "stock_advice",
            "part site unit on_hand on_order planned_demand unplanned_demand_mean lead_time_days "
            "reorder_point order_up_to order_now service_level expected_fill_rate surplus expires_unused why",
        ),
        ("kits", "kit purpose changeout machine site needed_by ready"),
        (
            "kit_lines",
            "kit line position design part kind quantity unit cut_length_mm short_by available_on "
            "substitute_for",
        ),
        ("cut_list", "site hose_part piece lot kit line cut_length_mm left_on_piece_mm"),
    ],
)
def test_columns_that_came_later_stand_at_the_end(name, first):
    """Whoever reads a file by the place of its columns finds them where they were."""
    assert OUTPUTS[name].names[: len(first.split())] == first.split()


def test_nothing_is_written_beside_the_folder_which_may_be_a_disk_of_its_own(tmp_path):
    seen = []

    class Watched(dict):
        def __getitem__(self, name):
            seen.extend(one.name for one in tmp_path.iterdir())
            return super().__getitem__(name)

    write_results(tmp_path / "out", Watched(tables()), {})

    assert set(seen) == {"out"}
    assert {one.name for one in (tmp_path / "out").iterdir()} == {
        *(f"{name}.csv" for name in OUTPUTS),
        "report.json",
    }


def test_a_number_is_rounded_as_its_unit_is_read(tmp_path):
    row = margin(rated_pressure_bar=275.790292, demanded_pressure_bar=np.nan, margin_percent=13.043478)

    write_results(tmp_path, tables(margins=row), {})

    assert lines(tmp_path / "margins.csv")[1] == "A1,EX-1,boom,275.79,,13.04,sound,,"


def test_what_rounds_to_nothing_has_no_sign(tmp_path):
    write_results(tmp_path, tables(margins=margin(verdict="short", margin_percent=-0.0036)), {})

    assert lines(tmp_path / "margins.csv")[1] == "A1,EX-1,boom,,,0,short,,"


def test_a_small_number_stands_in_plain_decimals(tmp_path):
    law = {"assembly": ["A1"], "factor": ["heat"], "multiple": [0.000044]}

    write_results(tmp_path, tables(factors=law), {})

    assert lines(tmp_path / "factors.csv")[1] == "A1,heat,0.000044"


def test_dates_are_iso_and_yes_is_a_word(tmp_path):
    write_results(tmp_path, tables(kits=KIT), {})

    assert lines(tmp_path / "kits.csv")[1] == "K1,changeout,,,yard,2024-05-01,yes,"


def test_files_of_an_earlier_run_are_replaced_and_others_left(tmp_path):
    write_results(tmp_path, tables(kits=KIT), {})
    (tmp_path / "notes.txt").write_text("mine")

    write_results(tmp_path, tables(), {})

    assert len(lines(tmp_path / "kits.csv")) == 1
    assert (tmp_path / "notes.txt").read_text() == "mine"


def test_a_report_that_is_no_json_leaves_the_files_that_stood(tmp_path):
    write_results(tmp_path / "out", tables(kits=KIT), {})

    with pytest.raises(ValueError, match="JSON compliant"):
        write_results(tmp_path / "out", tables(), {"gap": float("nan")})

    assert len(lines(tmp_path / "out" / "kits.csv")) == 2
    assert [path.name for path in tmp_path.iterdir()] == ["out"]
