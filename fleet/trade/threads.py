"""Which thread an end has, from what a caliper, a pitch gauge and the eye tell of it.

Several threads share a diameter, some a pitch as well, and a few differ only in how they seal. So whatever
could be meant is shown, with what looks like it, and nothing is called certain before the diameter, the pitch
and the seat all agree on one. `threads.csv` says row by row where each thread is from.

Diameters: a male measures up to 0.4 mm under its nominal and 0.1 mm over (common practice, no source), a
female the other way round; a taper up to 0.5 mm either way (common practice, no source).
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pandas as pd

from forecasting.units import MM_PER_INCH
from forecasting.wording import gettext as _
from forecasting.wording import gettext_noop

THREADS_FILE = Path(__file__).with_name("threads.csv")

CALIPER_MM = 0.1  # what a caliper errs on a worn thread: common practice, no source
UNDER_MM, OVER_MM = 0.4, 0.1
TAPER_MM = 0.5
TUBE_MM = 0.4  # what a tube or its recess may differ from its nominal: common practice, no source
PITCH_WITHIN = 0.018  # tells 27 threads an inch from 28, the closest two in the table

# The inside of a female thread is its outside less so many pitches: ISO 68-1 (60°) 5/4 of 0.8660, ISO 228-1
# and ISO 7-1 (55°) twice 0.6403, SAE J476 (60° taper) twice 0.8. From memory.
DEPTH_IN_PITCHES = {"60": 1.0825, "55": 1.2807, "55 taper": 1.2807, "60 taper": 1.6}

# How an end seals: the word of the table, and what is seen of it.
SEATS = {
    "cone 37": gettext_noop("a cone of 37°"),
    "cone 45": gettext_noop("a cone of 45°"),
    "cone 30": gettext_noop("a cone of 30° (60° across)"),
    "cone 24": gettext_noop("a cone of 24° across, with a cutting ring or an O-ring"),
    "flat face": gettext_noop("a flat face with an O-ring in it"),
    "o-ring boss": gettext_noop("an O-ring behind the thread, against the port"),
    "washer": gettext_noop("a washer or a sealing ring on a flat shoulder"),
    "taper": gettext_noop("no seat: the thread is tapered and seals itself"),
}
MEASURES = ("diameter", "pitch", "seat", "tube")

MEASURE_DIAMETER = gettext_noop(
    "Measure the outside of the male thread, or the inside of the female one, with a caliper."
)
MEASURE_AGAIN = gettext_noop(
    "Nothing in the tables agrees with all that was measured: measure again, and at another place."
)
MEASURE_PITCH = gettext_noop("Hold a pitch gauge to the thread.")
MEASURE_TAPER = gettext_noop("Measure the outside at the first and at the last full thread.")
LOOK_AT_SEAT = gettext_noop("Look at how it seals, and hold a seat gauge to a cone.")
MEASURE_TUBE = gettext_noop("Measure the tube, or the recess that takes it.")
ASK_OTHER_SIDE = gettext_noop(
    "These share thread and seat: only what it screws onto, or its maker, tells them apart."
)


@dataclass(frozen=True, slots=True)
class Thread:
    """One thread of a form and size, as its standard has it; `tube_mm` where the tube tells the size."""

    form: str
    size: str
    thread: str
    male_mm: float
    pitch_mm: float
    threads_per_inch: float | None
    profile: str
    seats: tuple[str, ...]
    tube_mm: float | None
    standard: str
    mark: str
    source: str

    def __str__(self) -> str:
        return f"{self.form} {self.size} ({self.thread})"

    @property
    def tapered(self) -> bool:
        return self.profile.endswith("taper")

    @property
    def female_mm(self) -> float:
        """The inside diameter of the female, from the depth of its profile."""
        return self.male_mm - DEPTH_IN_PITCHES[self.profile] * self.pitch_mm

    @property
    def pitch_says(self) -> str:
        """The pitch as its standard names it."""
        if self.threads_per_inch is None:
            return _("%(pitch)s mm of pitch") % {"pitch": f"{self.pitch_mm:g}"}
        return _("%(n)s threads an inch") % {"n": f"{self.threads_per_inch:g}"}

    @property
    def seats_say(self) -> str:
        """What is seen of how it seals."""
        return _(" or ").join(_(SEATS[seat]) for seat in self.seats)


@dataclass(frozen=True, slots=True)
class Candidate:
    """A thread that an end may have.

    verdict      certain: diameter, pitch and seat agree, and with no other thread; could_be: nothing measured
                 speaks against it; looks_alike: something does, but it is easily taken for one that could be
    agrees       what was measured and agrees, of `MEASURES`
    disagrees    what was measured and does not
    look_alikes  the threads of the table that a diameter alone cannot tell from it
    """

    thread: Thread
    verdict: str
    agrees: tuple[str, ...]
    disagrees: tuple[str, ...]
    look_alikes: tuple[Thread, ...]


@dataclass(frozen=True, slots=True)
class Reading:
    """What a measure may read, and the threads that it would leave."""

    reads: str
    threads: tuple[Thread, ...]


@dataclass(frozen=True, slots=True)
class NextMeasure:
    """What to measure: `measure` for programs, `says` as a sentence, and what each reading would mean."""

    measure: str
    says: str
    readings: tuple[Reading, ...]


@cache
def load_threads() -> tuple[Thread, ...]:
    """Every thread of the table in its order."""
    rows = pd.read_csv(THREADS_FILE, dtype={"profile": "str", "size": "str"})
    pitch = rows["pitch_mm"].fillna(MM_PER_INCH / rows["threads_per_inch"])
    rows = rows.assign(pitch_mm=pitch, seat=rows["seat"].str.split(" or ").map(tuple))
    rows = rows.rename(columns={"seat": "seats"}).astype(object)
    return tuple(Thread(**row) for row in rows.where(rows.notna(), None).to_dict("records"))


def find_threads(
    *,
    male_mm: float | None = None,
    female_mm: float | None = None,
    threads_per_inch: float | None = None,
    pitch_mm: float | None = None,
    seat: str | None = None,
    tube_mm: float | None = None,
    error_mm: float = CALIPER_MM,
) -> list[Candidate]:
    """Every thread that the measured may be and what looks like it, the likeliest first.

    Without a diameter there is none.

    male_mm, female_mm            outside of a male thread, inside of a female one
    threads_per_inch or pitch_mm  whichever the gauge reads
    seat                          a key of `SEATS`
    tube_mm                       outside of the tube, or the recess that takes it
    error_mm                      what the caliper may err
    """
    if male_mm is None and female_mm is None:
        return []
    if pitch_mm is None and threads_per_inch is not None:
        pitch_mm = MM_PER_INCH / threads_per_inch
    near = [one for one in load_threads() if _near(one, male_mm, female_mm, error_mm)]
    shown = [one for one in load_threads() if one in near or any(one in look_alikes(other) for other in near)]
    told = []
    for thread in shown:
        checks = {
            "diameter": thread in near,
            "pitch": None if pitch_mm is None else abs(pitch_mm / thread.pitch_mm - 1) <= PITCH_WITHIN,
            "seat": None if seat is None else seat in thread.seats,
            "tube": None
            if tube_mm is None or thread.tube_mm is None
            else abs(tube_mm - thread.tube_mm) <= TUBE_MM,
        }
        told.append((thread, checks))
    whole = [
        thread
        for thread, checks in told
        if checks["diameter"] and checks["pitch"] and checks["seat"] and checks["tube"] is not False
    ]
    candidates = []
    for thread, checks in told:
        agrees = tuple(name for name, check in checks.items() if check)
        disagrees = tuple(name for name, check in checks.items() if check is False)
        verdict = "looks_alike" if disagrees else "certain" if whole == [thread] else "could_be"
        candidates.append(Candidate(thread, verdict, agrees, disagrees, look_alikes(thread)))
    return sorted(
        candidates,
        key=lambda one: (
            len(one.disagrees),
            -len(one.agrees),
            _distance(one.thread, male_mm, female_mm),
            load_threads().index(one.thread),
        ),
    )


@cache
def look_alikes(thread: Thread) -> tuple[Thread, ...]:
    """The other threads that a caliper alone cannot tell from it: one measured diameter may be of either."""
    lowest, highest = _window(thread)
    found = []
    for other in load_threads():
        low, high = _window(other)
        if (
            other != thread
            and low - CALIPER_MM <= highest + CALIPER_MM
            and high + CALIPER_MM >= lowest - CALIPER_MM
        ):
            found.append(other)
    return tuple(found)


def next_measures(candidates: Iterable[Candidate]) -> list[NextMeasure]:
    """What to measure next to tell the candidates apart, the easiest first; nothing where one is certain."""
    everything = list(candidates)
    if not everything:
        return [NextMeasure("diameter", _(MEASURE_DIAMETER), ())]
    open_ones = [one for one in everything if one.verdict != "looks_alike"]
    if not open_ones:
        return [NextMeasure("diameter", _(MEASURE_AGAIN), ())]
    if open_ones[0].verdict == "certain":
        return []
    threads = [one.thread for one in open_ones]
    measured = set(open_ones[0].agrees)
    found = []
    if "pitch" not in measured:
        found.append(NextMeasure("pitch", _(MEASURE_PITCH), _readings(threads, lambda one: one.pitch_says)))
    if "seat" not in measured:
        if len({one.tapered for one in threads}) == 2:
            tapered = _readings(threads, lambda one: _("it grows") if one.tapered else _("it stays the same"))
            found.append(NextMeasure("taper", _(MEASURE_TAPER), tapered))
        seats = _readings(threads, lambda one: one.seats_say)
        found.append(NextMeasure("seat", _(LOOK_AT_SEAT), seats))
    tubes = [one.thread for one in open_ones if one.thread.tube_mm is not None and "tube" not in one.agrees]
    if len({(thread.thread, thread.tube_mm) for thread in tubes}) > 1:
        found.append(
            NextMeasure("tube", _(MEASURE_TUBE), _readings(tubes, lambda one: f"{one.tube_mm:g} mm"))
        )
    return found or [NextMeasure("other_side", _(ASK_OTHER_SIDE), ())]


def _readings(threads: list[Thread], reads: Callable[[Thread], str]) -> tuple[Reading, ...]:
    by_reading: dict[str, list[Thread]] = {}
    for thread in threads:
        by_reading.setdefault(reads(thread), []).append(thread)
    return tuple(Reading(reading, tuple(those)) for reading, those in by_reading.items())


def _window(thread: Thread) -> tuple[float, float]:
    """What the outside of the male thread may measure."""
    if thread.tapered:
        return thread.male_mm - TAPER_MM, thread.male_mm + TAPER_MM
    return thread.male_mm - UNDER_MM, thread.male_mm + OVER_MM


def _near(thread: Thread, male_mm: float | None, female_mm: float | None, error_mm: float) -> bool:
    low, high = _window(thread)
    male = male_mm is None or low - error_mm <= male_mm <= high + error_mm
    under, over = thread.male_mm - low, high - thread.male_mm
    female = female_mm is None or (
        thread.female_mm - over - error_mm <= female_mm <= thread.female_mm + under + error_mm
    )
    return male and female


def _distance(thread: Thread, male_mm: float | None, female_mm: float | None) -> float:
    male = 0.0 if male_mm is None else abs(male_mm - thread.male_mm)
    return male + (0.0 if female_mm is None else abs(female_mm - thread.female_mm))
