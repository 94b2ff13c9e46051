"""What there is for a hose that burst, as it is told: ways to a new one, and what each does to the plan."""

import datetime
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import overload

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from fleet.models import Assembly, Design, Position
from forecasting.wording import tell_day

TAKES_STOCK = ("kit", "stock")  # the ways that take from a shelf what kits of the plan may wait for


@dataclass(frozen=True, slots=True)
class BurstLine:
    """A part that the assembly takes at a site: `short_by` of `quantity` is not there, in words `lacks`.

    `available_on` is the day on which the missing is there, on the open order `order` where one brings it,
    else as if it were ordered today; None where nothing says when. The day of an order that is
    overdue or names none is not `promised` but reckoned. `elsewhere` names sites that have it.
    """

    part: str
    substitute_for: str
    unit: str
    quantity: float
    cut_length_mm: float | None
    short_by: float
    lacks: str
    available_on: datetime.date | None
    order: str
    promised: bool
    elsewhere: tuple[str, ...]

    @property
    def missing(self) -> str:
        """What is missing and when it comes, as a sentence; nothing where all of it is there."""
        if not self.short_by:
            return ""
        several = self.unit == "each" and self.short_by > 1
        told = (
            _("%(quantity)s of %(part)s are missing: ")
            if several
            else _("%(quantity)s of %(part)s is missing: ")
        )
        told %= {"quantity": self.lacks, "part": self.part}
        if self.available_on is None:
            told += _("nothing says when it could be there")
        elif self.order and not self.promised:
            told += _(
                "order %(order)s brings it, which is overdue or names no day; as if it "
                "were ordered today it is there on %(available_on)s"
            ) % {"order": self.order, "available_on": day(self.available_on)}
        elif self.order:
            told += _("it comes on order %(order)s on %(available_on)s") % {
                "order": self.order,
                "available_on": day(self.available_on),
            }
        else:
            told += _("ordered today it is there on %(available_on)s") % {
                "available_on": day(self.available_on)
            }
        if not self.elsewhere:
            return f"{told}."
        have = ngettext("%(told)s; %(sites)s has it.", "%(told)s; %(sites)s have it.", len(self.elsewhere))
        return have % {"told": told, "sites": listed(self.elsewhere)}


@dataclass(frozen=True, slots=True)
class Shortage:
    """A kit of the plan that lacks `short_by` more of a part, in words `lacks`, once the burst took its own.

    `available_on` is the day on which the missing is there, on an open order or as if it were ordered
    today; None where nothing says when. `machine` is empty where the kit stands by.
    """

    kit: str
    site: str
    machine: str
    needed_by: datetime.date
    part: str
    unit: str
    short_by: float
    lacks: str
    available_on: datetime.date | None

    @property
    def in_time(self) -> bool:
        return self.available_on is not None and self.available_on <= self.needed_by

    @property
    def says(self) -> str:
        """Who goes short of what, and whether it can be there again in time, as a sentence."""
        meant = (
            _(", needed on %(needed_by)s for %(machine)s,")
            % {"needed_by": day(self.needed_by), "machine": self.machine}
            if self.machine
            else _(", which stands by,")
        )
        told = _("Kit %(kit)s at %(site)s%(meant)s then lacks ") % {
            "kit": self.kit,
            "site": self.site,
            "meant": meant,
        }
        told += _("%(quantity)s of %(part)s: ") % {
            "quantity": self.lacks,
            "part": self.part,
        }
        if self.available_on is None:
            return told + _("nothing says when it could be there again.")
        told += _("it can be there again on %(available_on)s") % {"available_on": day(self.available_on)}
        if not self.machine:
            return told + "."
        return told + (_(", in time.") if self.in_time else _(", too late for that day."))


@dataclass(frozen=True, slots=True)
class Replacement:
    """One way to a new assembly. `ready_on` is the day on which it can be built or fetched: today, or the day
    on which the last missing part is there; None where nothing says when.

    lines       the parts it takes
    own         a kit of the plan that was meant for this very place: it takes from nobody
    goes_short  the kits of the plan that then lack something
    then        what else follows from it, in sentences
    """

    kind: str  # built | bench | kit | stock | stand_in
    site: str
    assembly: str
    kit: str
    ready_on: datetime.date | None
    says: str
    lines: tuple[BurstLine, ...] = ()
    own: bool = False
    goes_short: tuple[Shortage, ...] = ()
    then: tuple[str, ...] = ()

    @property
    def complete(self) -> bool:
        return not any(line.short_by for line in self.lines)


class Ways(Sequence[Replacement]):
    """Ways in their order. Which kits then go short is found for those that are asked for, and no others: in
    a large fleet hundreds of sites have the parts, and a page shows a few of them. Who goes through all, as
    the API does, has it found for all at once.

    `find_shortages` takes sites, and gives by site whom a hose that is built of its shelf leaves short.
    """

    def __init__(
        self,
        ways: Sequence[Replacement],
        find_shortages: Callable[[Collection[str]], dict[str, list[Shortage]]] = lambda sites: {},
    ) -> None:
        self._ways = tuple(ways)
        self._find_shortages = find_shortages

    def __len__(self) -> int:
        return len(self._ways)

    def __iter__(self) -> Iterator[Replacement]:
        return iter(self[:])

    @overload
    def __getitem__(self, which: int) -> Replacement: ...

    @overload
    def __getitem__(self, which: slice) -> tuple[Replacement, ...]: ...

    def __getitem__(self, which: int | slice) -> Replacement | tuple[Replacement, ...]:
        if isinstance(which, slice):
            return self._told(self._ways[which])
        (told,) = self._told((self._ways[which],))
        return told

    def _told(self, ways: tuple[Replacement, ...]) -> tuple[Replacement, ...]:
        taking = {way.site for way in ways if way.kind in TAKES_STOCK}
        short = self._find_shortages(taking) if taking else {}
        return tuple(
            replace(way, goes_short=tuple(short.get(way.site, ()))) if way.kind in TAKES_STOCK else way
            for way in ways
        )


@dataclass(frozen=True, slots=True)
class Replacements:
    """What there is for a burst position, soonest first. `notes` are what to know before; where there is no
    way at all they say why, and what to do. `then` says what the next plan makes of the failure itself.
    `installed` is what is in the position by the register: to be recorded as removed."""

    position: Position
    design: Design | None
    today: datetime.date
    ways: Ways
    notes: tuple[str, ...]
    then: tuple[str, ...]
    installed: Assembly | None


def day(day: datetime.date | None) -> str:
    """The day as a sentence tells it."""
    return tell_day(day) if day else _("a day not known")


def listed(names: list[str] | tuple[str, ...]) -> str:
    """The names as a sentence lists them: a, b and c."""
    return _(" and ").join([", ".join(names[:-1]), names[-1]]) if len(names) > 1 else names[0]
