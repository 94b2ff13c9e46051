"""Cuts come off real pieces: the oldest offcut first, never past its shelf life, with little scrap."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from forecasting.supply.cutting import NOT_PLACED, Saw, place_cuts
from tests.forecasting.builders import a_design, build_fleet, hose, hose_end
from tests.forecasting.stock_builders import a_changeout, on_shelf, supply

SAW = Saw(kerf_mm=3.0, keep_length_mm=500.0)


def left_on(pieces: np.ndarray, cuts: np.ndarray, placed: np.ndarray, kerf: float) -> np.ndarray:
    made = placed != NOT_PLACED
    gone = np.bincount(placed[made], weights=cuts[made] + kerf, minlength=len(pieces))
    return np.maximum(pieces - gone, 0.0)


def best_fit_decreasing(cuts: np.ndarray, pieces: np.ndarray, kerf: float) -> np.ndarray:
    """A shop's usual way, to compare with: the longest cut first, off the shortest piece that takes it."""
    left, placed = pieces.copy(), np.full(len(cuts), NOT_PLACED)
    for cut in np.argsort(-cuts):
        fitting = np.flatnonzero(left >= cuts[cut])
        if len(fitting):
            placed[cut] = fitting[left[fitting].argmin()]
            left[placed[cut]] -= cuts[cut] + kerf
    return placed


def scrap_mm(pieces: np.ndarray, cuts: np.ndarray, placed: np.ndarray, saw: Saw) -> float:
    left = left_on(pieces, cuts, placed, saw.kerf_mm)
    begun = np.isin(np.arange(len(pieces)), placed)
    return float(left[begun & (left < saw.keep_length_mm)].sum())


def test_two_hundred_cuts_leave_under_half_a_percent_of_scrap():
    rng = np.random.default_rng(20270104)
    lengths = rng.integers(250, 2_500, 40).astype(float)
    cuts = rng.choice(lengths, 200)
    pieces = np.concatenate([rng.integers(500, 6_000, 25), rng.integers(35_000, 60_000, 5)]).astype(float)

    placed = place_cuts(cuts, pieces, SAW)

    usual = best_fit_decreasing(cuts, pieces, SAW.kerf_mm)
    assert (placed != NOT_PLACED).all() and (usual != NOT_PLACED).all()
    scrap = scrap_mm(pieces, cuts, placed, SAW)
    assert scrap < 0.005 * cuts.sum()
    assert scrap < scrap_mm(pieces, cuts, usual, SAW) / 2


@given(
    pieces=st.lists(st.floats(100, 30_000), min_size=1, max_size=6),
    cuts=st.lists(st.floats(50, 4_000), min_size=1, max_size=25),
    kerf=st.sampled_from([0.0, 2.0, 3.0]),
)
def test_no_piece_gives_more_than_it_has_and_no_wanted_cut_is_left_that_would_fit(pieces, cuts, kerf):
    pieces, cuts = np.array(pieces), np.array(cuts)

    placed = place_cuts(cuts, pieces, Saw(kerf, 300.0))

    for piece, length in enumerate(pieces):
        made = cuts[placed == piece]
        assert made.sum() + kerf * max(len(made) - 1, 0) <= length + 1e-6
    left = left_on(pieces, cuts, placed, kerf)
    unmade = cuts[placed == NOT_PLACED]
    assert all(cut > left.max() - kerf for cut in unmade)


def test_a_published_order_of_paper_widths_takes_no_more_rolls_than_the_optimum():
    # Chvátal, Linear Programming (1983), chapter 13: rolls of 100 in., 97 of 45, 610 of 36, 395 of 31 and 211
    # of 14 in.; the best patterns take 453 rolls (the relaxation 452.25, so none can take fewer). From
    # memory, computed anew with a general-purpose library.
    cuts = np.repeat([450.0, 360.0, 310.0, 140.0], [97, 610, 395, 211])
    placed = place_cuts(cuts, np.full(600, 1_000.0), Saw(kerf_mm=0.0, keep_length_mm=0.0))
    assert (placed != NOT_PLACED).all()
    assert len(np.unique(placed)) == 453


def test_a_piece_of_just_the_length_gives_its_cut_without_a_kerf():
    assert place_cuts(np.array([33.3375]), np.array([33.3375]), SAW).tolist() == [0]


def test_a_cut_is_never_spliced_of_two_pieces():
    assert place_cuts(np.array([1_000.0]), np.full(10, 400.0), SAW).tolist() == [NOT_PLACED]


def test_where_hose_is_scarce_the_most_needed_cuts_are_made():
    placed = place_cuts(np.array([900.0, 900.0, 900.0, 150.0]), np.array([2_000.0]), SAW)
    assert placed.tolist() == [0, 0, NOT_PLACED, 0]


def test_a_thousand_equal_cuts_come_off_long_reels():
    placed = place_cuts(np.full(1_000, 812.8), np.full(10, 100_000.0), Saw(3.0, 300.0))
    assert (placed != NOT_PLACED).all()
    assert np.bincount(placed).max() == 122  # 122 · 815.8 ≤ 100 003


def test_a_cut_does_not_come_off_a_piece_that_expires_before_it_is_needed():
    placed = place_cuts(
        np.array([500.0, 500.0]),
        np.array([2_000.0]),
        SAW,
        needed=np.array([10.0, 30.0]),
        expires=np.array([20.0]),
    )
    assert placed.tolist() == [0, NOT_PLACED]


def fleet_with_hose(*pieces: dict, shelf_life_days: float | None = None, positions: int = 4) -> dict:
    parts = [hose(shelf_life_days=shelf_life_days), hose_end()]
    return build_fleet(1, positions, parts=parts, stock=[on_shelf("E-6", 50), *pieces])


def test_the_oldest_offcut_is_cut_before_a_newer_one_and_any_offcut_before_a_reel():
    tables = fleet_with_hose(
        on_shelf("H-6", 60.0, piece="reel", made_on="2024-01-01"),
        on_shelf("H-6", 1.0, piece="new", lot="L2", made_on="2026-01-01"),
        on_shelf("H-6", 1.0, piece="old", lot="L1", made_on="2025-01-01"),
    )
    cuts = supply(tables, *(a_changeout(f"M-1/P-{number}") for number in (1, 2, 3))).cuts
    assert cuts["piece"].tolist() == ["old", "new", "reel"]
    assert cuts["lot"].tolist()[:2] == ["L1", "L2"]


def test_the_cut_list_tells_what_is_left_on_the_piece_after_each_cut():
    tables = fleet_with_hose(on_shelf("H-6", 3.0, piece="reel"))
    cuts = supply(tables, a_changeout("M-1/P-1"), a_changeout("M-1/P-2"), kerf_mm=3.0).cuts
    assert cuts["cut_length_mm"].tolist() == [812.8, 812.8]
    assert cuts["left_on_piece_mm"].tolist() == pytest.approx([3_000 - 815.8, 3_000 - 2 * 815.8])


def test_what_must_not_be_built_comes_last_on_its_piece_so_that_the_others_are_told_right_without_it():
    tables = fleet_with_hose(on_shelf("H-6", 3.0, piece="reel"))
    unfit = a_changeout("M-1/P-1", not_to_build="Do not build D-1 for it.")
    cuts = supply(tables, unfit, a_changeout("M-1/P-2"), kerf_mm=3.0).cuts
    assert cuts["line"].tolist() == sorted(cuts["line"], reverse=True)
    assert cuts["not_to_build"].isna().tolist() == [True, False]
    assert cuts["left_on_piece_mm"].tolist() == pytest.approx([3_000 - 815.8, 3_000 - 2 * 815.8])


def test_hose_past_its_shelf_life_is_never_cut():
    tables = fleet_with_hose(on_shelf("H-6", 50.0, piece="old", made_on="2020-01-01"), shelf_life_days=1_460)
    made = supply(tables, a_changeout("M-1/P-1"))
    assert made.cuts.empty
    assert made.lines.set_index("part").loc["H-6", "short_by"] == pytest.approx(0.8128)


def test_hose_that_expires_before_the_changeout_is_left_for_what_comes_sooner():
    # Made 2023-02-01 and good for four years: until 2027-02-01.
    tables = fleet_with_hose(on_shelf("H-6", 50.0, piece="reel", made_on="2023-02-01"), shelf_life_days=1_461)
    cuts = supply(tables, a_changeout("M-1/P-1", "2027-01-31"), a_changeout("M-1/P-2", "2027-02-01")).cuts
    assert cuts["kit"].tolist() == ["K-C-M-1-2027-01-31"]


def test_every_cut_on_hand_is_listed_once_and_lots_add_up():
    rng = np.random.default_rng(5)
    designs = [a_design(f"D-{n}", overall_length_mm=float(rng.integers(500, 3_000))) for n in range(12)]
    pieces = [on_shelf("H-6", float(rng.uniform(0.4, 4.0)), piece=f"offcut {n}") for n in range(12)]
    tables = build_fleet(1, 30, designs=designs, stock=[*pieces, on_shelf("H-6", 15.0, piece="reel")])
    work = [
        a_changeout(f"M-1/P-{n + 1}", f"2027-02-{n % 28 + 1:02}", design=f"D-{n % 12}") for n in range(30)
    ]

    made = supply(tables, *work, kerf_mm=3.0, keep_length_mm=300.0)

    on_hand = made.lines[(made.lines["kind"] == "bulk_hose") & (made.lines["short_by"] == 0)]
    listed = made.cuts.merge(on_hand, on=["kit", "line"])
    assert 0 < len(listed) == len(on_hand) == len(made.cuts) < 30
    held = {
        piece["piece"]: 1000 * piece["on_hand"] for piece in [*pieces, {"piece": "reel", "on_hand": 15.0}]
    }
    for piece, cuts in made.cuts.groupby("piece"):
        left = cuts["left_on_piece_mm"].iloc[-1]
        kerf = held[piece] - cuts["cut_length_mm"].sum() - left
        most = 3.0 * len(cuts)
        assert kerf == pytest.approx(most, abs=0.01) or (left == 0 and most - 3.0 <= kerf <= most)
