"""What stood on a day."""

from datetime import date

from forecasting.life.standing import Standing
from tests.forecasting.builders import a_machine, an_installation, build_fleet

AS_OF = date(2027, 1, 4)


def test_a_place_whose_hose_came_off_without_another_is_told_the_last_emptied_first():
    off = {"removal_cause": "failed"}
    installations = [
        an_installation("changed", "M-1", "P-1", removed_on="2026-05-04", **off),
        an_installation("its successor", "M-1", "P-1", installed_on="2026-05-04"),
        an_installation("long gone", "M-1", "P-2", removed_on="2026-06-01", **off),
        an_installation("just gone", "M-1", "P-3", removed_on="2026-12-30", **off),
        an_installation("gone tomorrow", "M-1", "P-4", removed_on="2027-01-05", **off),
        an_installation("scrapped with its machine", "M-2", "P-1", removed_on="2026-12-30", **off),
    ]
    machines = [a_machine("M-1"), a_machine("M-2", retired_on="2026-12-30")]
    empty = Standing.on(
        build_fleet(2, 5, machines=machines, installations=installations), AS_OF
    ).places_without_hose
    assert empty.values.tolist() == [["M-1", "P-3"], ["M-1", "P-2"]]


def test_nothing_is_asked_of_a_hose_whose_machine_is_retired():
    machines = [a_machine("M-1"), a_machine("M-2", retired_on="2026-12-30"), a_machine("M-3")]
    machines[2]["retired_on"] = "2027-01-05"  # tomorrow: it still works
    standing = Standing.on(build_fleet(3, 1, machines=machines), AS_OF)
    assert standing.margins["assembly"].tolist() == ["M-1/P-1", "M-3/P-1"]
