"""An invented fleet is a fleet folder that could have been written down by people."""

from datetime import date

import numpy as np
import pandas as pd
import pytest
from django.core.management import CommandError, call_command

from fleet.exchange.inventing import invent_fleet, write_fleet
from fleet.exchange.schema import FILES_BY_NAME

UNTIL = date(2026, 10, 31)
LAST_DAY = pd.Timestamp(UNTIL)


def invent(machines=40, seed=4, **more):
    return invent_fleet(machines=machines, rng=np.random.default_rng(seed), until=UNTIL, **more)


@pytest.fixture(scope="module")
def fleet():
    return invent()


@pytest.fixture(scope="module")
def stays(fleet):
    """The installations with their machine's site and its register's first day."""
    sites = fleet.files["sites"].set_index("site")["register_began_on"]
    site = fleet.files["machines"].set_index("machine")["site"]
    stays = fleet.files["installations"]
    return stays.assign(began=stays["machine"].map(site).map(sites))


def days_lived(stays):
    return (stays["removed_on"].fillna(LAST_DAY) - stays["installed_on"]).dt.days


def test_the_same_seed_invents_the_same_fleet(fleet):
    for name, rows in invent().files.items():
        pd.testing.assert_frame_equal(rows, fleet.files[name])


def test_another_seed_invents_another_fleet(fleet):
    other = invent(seed=5).files["installations"]
    assert not other["installed_on"].equals(fleet.files["installations"]["installed_on"])


def test_every_file_of_a_fleet_folder_is_there_and_holds_rows(fleet):
    assert set(fleet.files) == set(FILES_BY_NAME)
    assert [name for name, rows in fleet.files.items() if rows.empty] == []


@pytest.mark.parametrize("name", FILES_BY_NAME)
def test_rows_have_a_key_of_their_own_and_fill_what_must_be_filled(fleet, name):
    file, rows = FILES_BY_NAME[name], fleet.files[name]
    headers = {
        column: next(h for h in column.file_names if h in rows) for column in file.columns if column.key
    }
    assert not rows.duplicated(list(headers.values())).any()
    for column in file.columns:
        if column.must_be_filled and column.stored_name not in file.may_be_empty:
            header = next(h for h in column.file_names if h in rows)
            assert rows[header].notna().all(), f"{name}.{header}"


@pytest.mark.parametrize("name", [name for name, file in FILES_BY_NAME.items() if file.references])
def test_rows_name_only_rows_that_stand(fleet, name):
    rows = fleet.files[name]
    for reference in FILES_BY_NAME[name].references:
        columns = list(reference.columns)
        if not set(columns) <= set(rows):
            continue
        named = rows[columns].dropna().drop_duplicates()
        keys = [column.name for column in FILES_BY_NAME[reference.file].columns if column.key]
        standing = fleet.files[reference.file][keys].set_axis(columns, axis=1)
        assert len(named.merge(standing)) == len(named), f"{name}: {columns}"


def test_one_assembly_at_a_time_is_in_a_position(stays):
    ordered = stays.sort_values(["machine", "position", "installed_on"])
    left = ordered.groupby(["machine", "position"])["removed_on"].shift()
    entered_after_another = ordered.duplicated(["machine", "position"])
    assert (ordered["installed_on"] >= left)[entered_after_another].all()


def test_a_meter_never_runs_backward_nor_over_24_hours_a_day(fleet, stays):
    readings = fleet.files["meter_readings"].rename(columns={"read_on": "day"})
    seen = [readings[["machine", "day", "hours", "meter_replaced"]]]
    for end in ("installed", "removed"):
        seen.append(
            stays[["machine", f"{end}_on", f"{end}_hours"]].set_axis(["machine", "day", "hours"], axis=1)
        )
    shown = pd.concat(seen).dropna(subset=["day", "hours"]).drop_duplicates()
    shown = shown.sort_values(["machine", "day", "hours"])
    meter = (shown["meter_replaced"] == "yes").groupby(shown["machine"]).cumsum()
    steps = shown.groupby(["machine", meter])[["day", "hours"]].diff().dropna()
    assert (steps["hours"] >= 0).all()
    assert (steps["hours"] <= 24 * np.maximum(steps["day"].dt.days, 0)).all()
    assert (readings["meter_replaced"] == "yes").any(), "some meter was replaced"


def test_some_machines_have_only_an_estimate_of_their_hours():
    files = invent(machines=100).files
    machines = files["machines"]
    unread = machines[~machines["machine"].isin(files["meter_readings"]["machine"])]
    assert 0 < len(unread) < 15
    assert unread["hours_per_day"].notna().all()


def test_a_register_begun_late_knows_no_removal_before_its_first_day(stays):
    assert (stays["removed_on"].dropna() >= stays["began"][stays["removed_on"].notna()]).all()
    assert (stays["installed_on"] < stays["began"]).mean() > 0.2, "many were in place already"


def test_nothing_is_known_after_the_last_day(fleet):
    dated = {
        "meter_readings": ["read_on"],
        "installations": ["built_on", "hose_made_on", "installed_on", "removed_on"],
        "builds": ["built_on"],
        "inspections": ["inspected_on"],
        "stock": ["made_on"],
    }
    for name, columns in dated.items():
        for column in columns:
            assert fleet.files[name][column].max() <= LAST_DAY, f"{name}.{column}"
    assert fleet.files["meter_readings"]["read_on"].max() == LAST_DAY
    assert fleet.files["service_windows"]["starts_on"].min() > LAST_DAY


def test_assemblies_are_built_before_they_are_installed_and_of_hose_made_before(stays):
    assert (stays["built_on"] <= stays["installed_on"])[stays["built_on"].notna()].all()
    both = stays["built_on"].notna() & stays["hose_made_on"].notna()
    assert (stays["hose_made_on"] <= stays["built_on"])[both].all()


def test_builds_say_what_their_installations_say(fleet):
    both = fleet.files["builds"].merge(fleet.files["installations"], on="assembly", suffixes=("", "_in"))
    assert len(both) == len(fleet.files["builds"])
    assert (both["built_on"] == both["built_on_in"]).all()
    assert (both["hose_lot"] == both["hose_lot_in"]).all()
    assert (both["built_by"] == both["crimped_by"]).all()


def test_hoses_are_changed_every_one_to_four_years_or_so(stays):
    gone = stays[stays["removed_on"].notna()]
    assert 1 < days_lived(gone).median() / 365 < 4


def test_a_failure_costs_more_than_a_planned_changeout(fleet):
    positions = fleet.files["positions"].dropna(subset=["planned_cost", "failure_cost"])
    assert (positions["failure_cost"] > positions["planned_cost"]).all()


def test_the_poor_benches_and_the_bad_lots_fail_early(stays, fleet):
    early = (stays["removal_cause"] == "failed") & (days_lived(stays) < 100)
    by_poor_bench = stays["crimped_by"].isin(fleet.poor_benches)
    of_bad_lot = stays["hose_lot"].isin(fleet.bad_lots)
    ordinary = early[~by_poor_bench & ~of_bad_lot].mean()
    assert early[by_poor_bench].mean() > 3 * ordinary
    assert early[of_bad_lot].mean() > 3 * ordinary


def test_hoses_nearer_their_rating_live_shorter():
    files = invent(machines=300, seed=1).files
    hoses = files["designs"].merge(files["parts"], left_on="hose_part", right_on="part")
    positions = files["positions"].merge(hoses[["design", "rated_pressure_bar"]], on="design")
    positions["ratio"] = positions["peak_pressure_bar"] / positions["rated_pressure_bar"]
    abrasive = positions[(positions["exposure"] == "abrasive+flexing") & positions["ratio"].notna()]
    worked = files["installations"].merge(abrasive[["machine", "position", "ratio"]])
    ended = worked["removal_cause"].isin(["failed", "worn"])
    hours = worked["removed_hours"] - worked["installed_hours"]
    lived = ended & (hours > 500)
    assert (
        hours[lived & (worked["ratio"] > 0.9)].mean() < 0.9 * hours[lived & (worked["ratio"] < 0.75)].mean()
    )


def test_the_stock_is_thin_in_places_and_holds_hose_past_its_shelf_life(fleet):
    stock = fleet.files["stock"].merge(fleet.files["parts"][["part", "shelf_life_days"]], on="part")
    assert 0.05 < (stock["on_hand"] == 0).mean() < 0.4
    assert ((LAST_DAY - stock["made_on"]).dt.days > stock["shelf_life_days"]).any()


@pytest.mark.parametrize(("machines", "sites"), [(1, 1), (10, 1), (25, 3), (120, 12)])
def test_there_is_a_site_for_each_ten_machines(machines, sites):
    files = invent(machines=machines).files
    assert (len(files["machines"]), len(files["sites"])) == (machines, sites)
    assert files["machines"]["site"].nunique() == sites


def test_a_fleet_of_no_machines_is_refused():
    with pytest.raises(ValueError, match="machines must be 1 or more"):
        invent(machines=0)


@pytest.mark.parametrize("until", [date(1999, 12, 31), date(2099, 1, 1)])
def test_days_that_no_folder_may_hold_are_refused(until):
    with pytest.raises(ValueError, match="until must be a day from 2000-01-01 to 2098-12-31"):
        invent_fleet(machines=1, rng=np.random.default_rng(0), until=until)


def test_the_folder_written_holds_the_columns_of_its_schema(fleet, tmp_path):
    write_fleet(fleet, tmp_path)
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted(f"{name}.csv" for name in FILES_BY_NAME)
    for name, file in FILES_BY_NAME.items():
        header = (tmp_path / f"{name}.csv").read_text().splitlines()[0].split(",")
        assert set(header) <= set(file.by_header), name


def test_the_command_writes_the_folder_that_its_seed_names(tmp_path):
    for folder in ("one", "two"):
        call_command("invent_fleet", tmp_path / folder, machines=3, seed=7, years=2, until=UNTIL, verbosity=0)
    for path in (tmp_path / "one").iterdir():
        assert path.read_bytes() == (tmp_path / "two" / path.name).read_bytes()


def test_the_command_refuses_a_file_for_a_folder(tmp_path):
    (tmp_path / "fleet.csv").write_text("")
    with pytest.raises(CommandError, match="is a file"):
        call_command("invent_fleet", tmp_path / "fleet.csv", machines=3, seed=7)
