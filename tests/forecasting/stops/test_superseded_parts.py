"""What stands in for a superseded part is counted on, not twice, and never on a critical position."""

import pytest

from tests.forecasting.builders import a_design, a_position, a_window, an_installation, hose, hose_end
from tests.forecasting.parts_builders import a_fleet, day, days_of, is_in_time, on_hand, on_order, plan


@pytest.mark.parametrize("critical", [False, True])
def test_a_successor_may_stand_in_but_not_on_a_critical_position(critical):
    parts = [hose(), hose_end(obsolete=True, superseded_by="E-6N"), hose_end("E-6N")]
    stock = [on_hand("H-6", 20.0), on_hand("E-6N", 4)]
    positions = [a_position("M-1", "P-1", critical=critical)]
    changeouts, _, lines = plan(a_fleet(parts=parts, stock=stock, positions=positions))
    if critical:
        assert "Its kit is short" in changeouts["reason"].iloc[0]
    else:
        assert days_of(changeouts) == [3]
        assert is_in_time(changeouts, lines)


def test_a_successor_is_not_planned_for_two():
    parts = [
        hose(lead_time_days=5.0),
        hose_end(obsolete=True, superseded_by="E-6N"),
        hose_end("E-6N", lead_time_days=40.0),
    ]
    designs = [a_design(), a_design("D-2", end_a_part="E-6N", end_b_part="E-6N")]
    positions = [a_position("M-1", "P-1"), a_position("M-2", "P-1", design="D-2")]
    stock = [on_hand("H-6", 20.0), on_hand("E-6N", 2)]
    changeouts, _, lines = plan(a_fleet(2, parts=parts, designs=designs, positions=positions, stock=stock))
    assert sorted(days_of(changeouts)) == [3, 45]
    assert is_in_time(changeouts, lines)


def test_what_two_superseded_parts_fall_back_on_is_not_planned_for_both():
    parts = [
        hose(lead_time_days=5.0),
        *(hose_end(part, obsolete=True, superseded_by="E-6N") for part in ("E-6", "E-6M")),
        hose_end("E-6N", lead_time_days=40.0),
    ]
    designs = [a_design(), a_design("D-2", end_a_part="E-6M", end_b_part="E-6M")]
    positions = [a_position("M-1", "P-1"), a_position("M-2", "P-1", design="D-2")]
    fleet = {"parts": parts, "designs": designs, "positions": positions}
    installations = [an_installation("M-1/P-1", "M-1", "P-1")]
    installations.append(an_installation("M-2/P-1", "M-2", "P-1", design="D-2"))

    def planned(*stock):
        stock = [on_hand("H-6", 20.0), *stock]
        changeouts, _, lines = plan(a_fleet(2, installations=installations, stock=stock, **fleet))
        assert is_in_time(changeouts, lines)
        return sorted(days_of(changeouts))

    assert planned(on_hand("E-6N", 2)) == [3, 45]
    assert planned(on_hand("E-6N", 3), on_hand("E-6M", 1)) == [3, 3]
    # What one of them has to spare does not help the other.
    assert planned(on_hand("E-6N", 1), on_hand("E-6M", 8)) == [3, 45]


@pytest.mark.parametrize(
    ("own_days", "successor_days", "orders", "planned", "there"),
    [
        (40.0, 5.0, [], 10, 5),  # the successor is bought, as it is there sooner
        (5.0, 40.0, [], 10, 5),
        (40.0, 60.0, [on_order("E-6N", 10, 12)], 24, 12),  # what is due of the successor is counted on
        (60.0, 60.0, [on_order("E-6", 10, 12), on_order("E-6N", 10, 5)], 10, 5),
        (60.0, 60.0, [on_order("E-6", 10, 12), on_order("E-6N", 10, 20)], 24, 12),
    ],
)
def test_of_a_superseded_part_and_its_successor_what_comes_sooner_is_counted_on(
    own_days, successor_days, orders, planned, there
):
    parts = [
        hose(),
        hose_end(lead_time_days=own_days, superseded_by="E-6N"),
        hose_end("E-6N", lead_time_days=successor_days),
    ]
    changeouts, _, lines = plan(a_fleet(parts=parts, stock=[on_hand("H-6", 20.0)], open_orders=orders))
    assert days_of(changeouts) == [planned]
    assert set(lines.loc[lines["short_by"] > 0, "available_on"]) == {day(there)}


def test_a_part_bought_soon_leaves_what_stands_in_for_it_to_what_must_wait_longer():
    parts = [
        hose(),
        hose_end(lead_time_days=5.0, superseded_by="E-6N"),
        hose_end("E-6N", lead_time_days=60.0),
    ]
    designs = [a_design(), a_design("D-2", end_a_part="E-6N", end_b_part="E-6N")]
    windows = [
        a_window(machine, str(day(start).date()), days=1)
        for machine, starts in (("M-1", (3, 20, 80)), ("M-2", (20, 80)))
        for start in starts
    ]
    tables = a_fleet(
        2,
        parts=parts,
        designs=designs,
        positions=[a_position("M-1", "P-1"), a_position("M-2", "P-1", design="D-2")],
        service_windows=windows,
        stock=[on_hand("H-6", 20.0), on_hand("E-6N", 2)],
    )
    changeouts, _, lines = plan(tables)
    assert days_of(changeouts) == [20, 20]
    assert is_in_time(changeouts, lines)
