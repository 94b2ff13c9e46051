"""Every thread of the tables is found from what a caliper reads of it, with all that looks like it."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleet.trade.flanges import find_flanges, load_flanges
from fleet.trade.threads import (
    CALIPER_MM,
    SEATS,
    find_threads,
    load_threads,
    look_alikes,
    next_measures,
)

MM_PER_INCH = 25.4


def thread_of(form: str, size: str):
    return next(one for one in load_threads() if (one.form, one.size) == (form, size))


def could_be(candidates) -> list[str]:
    return [str(one.thread) for one in candidates if one.verdict != "looks_alike"]


@pytest.mark.parametrize("error_mm", [-CALIPER_MM, 0.0, CALIPER_MM])
@pytest.mark.parametrize("thread", load_threads(), ids=str)
def test_every_thread_is_found_from_its_nominal_size_with_what_looks_like_it(thread, error_mm):
    for measured in ({"male_mm": thread.male_mm + error_mm}, {"female_mm": thread.female_mm + error_mm}):
        candidates = find_threads(**measured)
        found = next(one for one in candidates if one.thread == thread)
        assert found.verdict == "could_be"
        assert {one.thread for one in candidates} >= set(look_alikes(thread))


# What the trade's own lists give, by form and size, with the diameter as they round it to a tenth of a
# millimetre: common practice, no source; the pipe threads to a hundredth, from memory.
TRADE_MM = {
    "37° flare": "-4 11.1 -5 12.7 -6 14.3 -8 19.1 -10 22.2 -12 27.0 -16 33.3 -20 41.3 -24 47.6 -32 63.5",
    "O-ring boss": "-4 11.1 -5 12.7 -6 14.3 -8 19.1 -10 22.2 -12 27.0 -16 33.3 -20 41.3 -24 47.6 -32 63.5",
    "flat face O-ring": "-4 14.3 -6 17.5 -8 20.6 -10 25.4 -12 30.2 -16 36.5 -20 42.9 -24 50.8 -32 63.5",
    "BSP parallel": "1/8 9.73 1/4 13.16 3/8 16.66 1/2 20.96 5/8 22.91 3/4 26.44 1 33.25 1-1/4 41.91 "
    "1-1/2 47.80 2 59.61",
    "BSP taper": "1/8 9.73 1/4 13.16 3/8 16.66 1/2 20.96 3/4 26.44 1 33.25 1-1/4 41.91 1-1/2 47.80 2 59.61",
    "NPTF": "1/8 10.3 1/4 13.7 3/8 17.1 1/2 21.3 3/4 26.7 1 33.4 1-1/4 42.2 1-1/2 48.3 2 60.3",
    "24° cone light": "6L 12 8L 14 10L 16 12L 18 15L 22 18L 26 22L 30 28L 36 35L 45 42L 52",
    "24° cone heavy": "6S 14 8S 16 10S 18 12S 20 14S 22 16S 24 20S 30 25S 36 30S 42 38S 52",
}
TRADE_ROWS = [
    (form, size, float(mm))
    for form, told in TRADE_MM.items()
    for size, mm in zip(told.split()[::2], told.split()[1::2], strict=True)
]
# How far from its nominal a thread may measure: worn it is less; a taper by where it is measured. Both are
# common practice, no source.
OFF_MM = {"BSP taper": (-0.5, 0.5), "NPTF": (-0.5, 0.5)}


def test_the_table_has_every_thread_of_the_trades_lists():
    listed = {(form, size) for form, size, _ in TRADE_ROWS}
    assert len(listed) == len(TRADE_ROWS) == 77
    assert listed <= {(one.form, one.size) for one in load_threads()}


@pytest.mark.parametrize(("form", "size", "mm"), TRADE_ROWS)
def test_a_thread_is_found_from_what_the_trade_lists_however_it_is_worn(form, size, mm):
    thread = thread_of(form, size)
    for off in OFF_MM.get(form, (-0.4, 0.1)):
        candidates = find_threads(male_mm=mm + off)
        assert next(one for one in candidates if one.thread == thread).verdict == "could_be"
        assert {one.thread for one in candidates} >= set(look_alikes(thread))
        # With pitch and seat, too, it is not ruled out, and what looks like it still stands beside it.
        seated = find_threads(male_mm=mm + off, pitch_mm=thread.pitch_mm, seat=thread.seats[0])
        assert next(one for one in seated if one.thread == thread).verdict in ("certain", "could_be")
        assert {one.thread for one in seated} >= set(look_alikes(thread))


@pytest.mark.parametrize("thread", load_threads(), ids=str)
def test_diameter_pitch_and_seat_leave_only_what_they_cannot_tell_apart(thread):
    candidates = find_threads(male_mm=thread.male_mm, pitch_mm=thread.pitch_mm, seat=thread.seats[0])
    for one in candidates:
        if one.verdict != "looks_alike":
            assert thread.seats[0] in one.thread.seats
            assert one.thread.pitch_mm == pytest.approx(thread.pitch_mm, rel=0.02)
    found = next(one for one in candidates if one.thread == thread)
    open_ones = [one for one in candidates if one.verdict != "looks_alike"]
    assert found.verdict == ("certain" if len(open_ones) == 1 else "could_be")


@pytest.mark.parametrize(
    ("one", "other"),
    [
        # Named in the trade as easily taken for each other: common practice, no source.
        (("37° flare", "-6"), ("flat face O-ring", "-4")),
        (("37° flare", "-6"), ("24° cone light", "8L")),
        (("flat face O-ring", "-4"), ("24° cone heavy", "6S")),
        (("37° flare", "-10"), ("24° cone light", "15L")),
        (("BSP parallel", "1/2"), ("NPTF", "1/2")),
        (("BSP parallel", "3/4"), ("24° cone light", "18L")),
        (("37° flare", "-8"), ("O-ring boss", "-8")),
        (("37° flare", "-8"), ("45° flare", "-8")),
    ],
)
def test_the_look_alikes_of_the_trade_come_out_of_the_table(one, other):
    first, second = thread_of(*one), thread_of(*other)
    assert second in look_alikes(first) and first in look_alikes(second)


def test_nothing_is_certain_before_diameter_pitch_and_seat_are_measured():
    assert could_be(find_threads(male_mm=19.0, threads_per_inch=16, seat="cone 37")) == [
        "37° flare -8 (3/4-16)"
    ]
    for measured in (
        {"male_mm": 19.0},
        {"male_mm": 19.0, "threads_per_inch": 16},
        {"male_mm": 19.0, "seat": "cone 37"},
    ):
        assert "certain" not in {one.verdict for one in find_threads(**measured)}
    assert find_threads(threads_per_inch=16, seat="cone 37") == []


def test_a_shared_metric_thread_is_told_by_its_tube():
    measured = {"male_mm": 17.9, "pitch_mm": 1.5, "seat": "cone 24"}
    shared = find_threads(**measured)
    assert could_be(shared) == ["24° cone light 12L (M18×1.5)", "24° cone heavy 10S (M18×1.5)"]
    (ask,) = next_measures(shared)
    assert ask.measure == "tube"
    assert [reading.reads for reading in ask.readings] == ["12 mm", "10 mm"]
    (heavy, *rest) = find_threads(**measured, tube_mm=10.0)
    assert (heavy.verdict, heavy.thread.size) == ("certain", "10S")
    assert {one.verdict for one in rest} == {"looks_alike"}


def test_what_to_measure_next_says_what_each_reading_would_mean():
    asked = {one.measure: one for one in next_measures(find_threads(male_mm=14.2))}
    assert list(asked) == ["pitch", "taper", "seat", "tube"]
    pitch = {one.reads: [str(thread) for thread in one.threads] for one in asked["pitch"].readings}
    assert "37° flare -6 (9/16-18)" in pitch["18 threads an inch"]
    assert "24° cone light 8L (M14×1.5)" in pitch["1.5 mm of pitch"]
    seats = {one.reads: [str(thread) for thread in one.threads] for one in asked["seat"].readings}
    assert seats["a flat face with an O-ring in it"] == ["flat face O-ring -4 (9/16-18)"]


def test_what_is_measured_is_not_asked_again():
    asked = next_measures(find_threads(male_mm=14.2, threads_per_inch=18))
    assert [one.measure for one in asked] == ["taper", "seat"]
    assert next_measures(find_threads(male_mm=14.2, threads_per_inch=18, seat="cone 37")) == []


def test_without_a_diameter_the_diameter_is_asked_for():
    assert [one.measure for one in next_measures([])] == ["diameter"]


def test_measures_that_no_thread_has_are_to_be_taken_again():
    candidates = find_threads(male_mm=14.2, threads_per_inch=8)
    assert candidates and could_be(candidates) == []
    assert next_measures(candidates)[0].says.startswith("Nothing in the tables agrees")


def test_a_thread_that_something_speaks_against_is_still_named():
    candidates = find_threads(male_mm=22.1, threads_per_inch=14, seat="cone 37")
    metric = next(one for one in candidates if one.thread.thread == "M22×1.5")
    assert (metric.verdict, metric.disagrees) == ("looks_alike", ("pitch", "seat"))


@settings(deadline=None)
@given(st.floats(5, 80), st.sampled_from([None, 11, 14, 16, 18, 20]), st.sampled_from([None, *SEATS]))
def test_what_fits_all_measures_comes_first(male_mm, threads_per_inch, seat):
    candidates = find_threads(male_mm=male_mm, threads_per_inch=threads_per_inch, seat=seat)
    against = [len(one.disagrees) for one in candidates]
    assert against == sorted(against)
    assert sum(one.verdict == "certain" for one in candidates) <= 1


@pytest.mark.parametrize(
    ("form", "size", "inside_mm"),
    [
        ("24° cone light", "15L", 20.38),  # M22×1.5, ISO 724: minor diameter 20.376 mm, from memory
        ("BSP parallel", "1/2", 18.63),  # G1/2, ISO 228-1: minor diameter 18.631 mm, from memory
        ("37° flare", "-8", 17.33),  # 3/4-16 UNF, basic minor diameter 0.6823 in, from memory
    ],
)
def test_the_inside_of_a_female_thread_follows_from_its_profile(form, size, inside_mm):
    assert thread_of(form, size).female_mm == pytest.approx(inside_mm, abs=0.02)


def test_an_inch_thread_measures_what_its_name_says():
    named = [
        one
        for one in load_threads()
        if one.form in ("37° flare", "O-ring boss", "flat face O-ring", "45° flare")
    ]
    assert len(named) == 35
    for one in named:
        size, pitch = one.thread.rsplit("-", 1)
        inches = sum(int(n) / int(d or 1) for n, _, d in (part.partition("/") for part in size.split("-")))
        assert one.male_mm == pytest.approx(inches * MM_PER_INCH, abs=0.01)
        assert one.threads_per_inch == float(pitch)


def test_every_row_says_where_it_is_from():
    for one in (*load_threads(), *load_flanges()):
        assert one.mark in ("found", "memory", "practice") and one.source and one.standard
        assert ("from memory" in one.source) == (one.mark == "memory")
    assert {seat for one in load_threads() for seat in one.seats} == set(SEATS)


@pytest.mark.parametrize("flange", load_flanges(), ids=str)
def test_every_flange_is_found_from_its_bolts(flange):
    (found, *rest) = find_flanges(
        bolts_long_mm=flange.bolts_long_mm + 0.5, bolts_short_mm=flange.bolts_short_mm - 0.5
    )
    assert (found.flange, found.verdict) == (flange, "certain")
    assert all(one.verdict == "looks_alike" for one in rest)


def test_a_flange_is_not_certain_by_one_distance():
    assert [one.verdict for one in find_flanges(bolts_long_mm=57.2)] == ["could_be"]
    assert find_flanges(head_thickness_mm=8.0) == [] and find_flanges() == []
