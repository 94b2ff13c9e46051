"""The rows of a fleet folder that work at a machine amounts to.

What no row could say is refused here; what the rows say is judged where every folder's are.
"""

import datetime
from collections.abc import Sequence
from dataclasses import dataclass, field

from django.utils.translation import gettext as _

from fleet.exchange.findings import Finding
from fleet.exchange.numerals import shortest
from fleet.exchange.schema import INSPECTIONS, INSTALLATIONS, METER_READINGS
from fleet.models import Assembly, Machine, MeterReading, Organization, Position, RemovalCause
from forecasting.wording import tell_day

from ..stock.errors import NotInRegister
from .errors import (
    AnotherThere,
    CauseMissing,
    ComesOffMissing,
    DesignMissing,
    InstalledBefore,
    NewMeterUnread,
    NothingToRecord,
    NotInstalled,
    PositionTaken,
    RemovedBefore,
)

Row = dict[str, str]


@dataclass(frozen=True, slots=True)
class Fitted:
    """What goes on: an assembly of the register, or one that was made elsewhere, by the key on its tag.

    Without a design a new one has that of its position; what the register knows already need not be said.
    """

    assembly: str
    design: str = ""
    built_on: datetime.date | None = None
    hose_made_on: datetime.date | None = None
    hose_lot: str = ""
    crimped_by: str = ""


@dataclass(frozen=True, slots=True)
class PositionWork:
    """What was done at one position: `comes_off`, which the person saw there, came off for `removal_cause`
    (empty: nothing came off), and `fitted` went on (None: nothing did).

    A form that comes late so takes off nothing that another put on meanwhile. `answered_by` is who answers
    for what goes on where it is not known whether it is rated for its place.
    """

    position: str
    removal_cause: str = ""
    failure_mode: str = ""
    fitted: Fitted | None = None
    comes_off: str = ""
    answered_by: str = ""


@dataclass(frozen=True, slots=True)
class PutOn:
    """An assembly that goes onto a position: `known` is its row where the register has one, `design` the key
    of what it is built to, empty where nobody knows."""

    position: Position
    fitted: Fitted
    known: Assembly | None
    design: str
    day: datetime.date
    answered_by: str


@dataclass(slots=True)
class Entry:
    """The rows of a form while they are gathered, by file; beside each row the position that it is about and
    the columns that the form itself says, and what all of it does, in sentences."""

    rows: dict[str, list[Row]] = field(default_factory=dict)
    places: dict[str, list[str]] = field(default_factory=dict)
    said: dict[str, list[set[str]]] = field(default_factory=dict)
    told: list[str] = field(default_factory=list)
    put: list[PutOn] = field(default_factory=list)

    def take_off(
        self, assembly: Assembly, day: datetime.date, hours: float | None, cause: str, failure_mode: str
    ) -> None:
        """Adds a removal. Raises NotInstalled, RemovedBefore and CauseMissing."""
        position = assembly.position
        if position is None:
            raise NotInstalled(
                what=_("%(assembly)s is on no machine") % {"assembly": assembly},
                right=_("Record first where it went on."),
            )
        if assembly.removed_on is not None:
            raise RemovedBefore(assembly=assembly, place=position, day=assembly.removed_on)
        if not cause:
            raise CauseMissing(assembly=assembly, causes=", ".join(RemovalCause.values))
        told = {
            "removed_on": cell_text(day),
            "removed_hours": cell_text(hours),
            "removal_cause": cause,
            "failure_mode": failure_mode,
        }
        self._add(INSTALLATIONS.name, position.key, stay_row(assembly), told)
        self.told.append(
            _("%(assembly)s came off %(position)s on %(day)s: %(cause)s.")
            % {
                "assembly": assembly,
                "position": position,
                "day": tell_day(day),
                "cause": cause.replace("_", " "),
            }
        )

    def put_on(
        self,
        position: Position,
        fitted: Fitted,
        day: datetime.date,
        hours: float | None,
        answered_by: str = "",
    ) -> None:
        """Adds an installation. Raises InstalledBefore and DesignMissing."""
        rows = Assembly.objects.of(position.organization).select_related("position__machine", "design")
        known = rows.filter(key=fitted.assembly).first()
        if known is not None and known.position is not None:
            raise InstalledBefore(assembly=known, place=known.position, day=known.installed_on)
        if known is None and not fitted.design and position.design is None:
            raise DesignMissing(assembly=fitted.assembly, place=position)
        said = {
            "assembly": fitted.assembly,
            "machine": position.machine.key,
            "position": position.key,
            "design": fitted.design,
            "built_on": cell_text(fitted.built_on),
            "hose_made_on": cell_text(fitted.hose_made_on),
            "hose_lot": fitted.hose_lot,
            "crimped_by": fitted.crimped_by,
            "installed_on": cell_text(day),
            "installed_hours": cell_text(hours),
        }
        stood = stay_row(known) if known else dict.fromkeys(INSTALLATIONS.by_stored_name, "")
        self._add(INSTALLATIONS.name, position.key, stood, {name: one for name, one in said.items() if one})
        self.told.append(
            _("%(assembly)s went onto %(position)s on %(day)s.")
            % {"assembly": fitted.assembly, "position": position, "day": tell_day(day)}
        )
        design = fitted.design or (known.design.key if known and known.design else "")
        asked_for = position.design.key if position.design else ""
        self.put.append(PutOn(position, fitted, known, design or asked_for, day, answered_by))
        if design and asked_for and design != asked_for:
            self.told.append(
                _("It is of design %(design)s, and that place asks for %(asked_for)s.")
                % {"design": design, "asked_for": asked_for}
            )
            if position.critical:
                self.told.append(
                    _("The position is critical: a named competent person must answer for that.")
                )

    def look_at(
        self, assembly: Assembly, day: datetime.date, hours: float | None, finding: str, grade: str
    ) -> None:
        """Adds an inspection."""
        row = {"assembly": assembly.key, "inspected_on": cell_text(day), "hours": cell_text(hours)}
        place = assembly.position.key if assembly.position else ""
        self._add(INSPECTIONS.name, place, {}, row | {"finding": finding, "grade": grade})
        self.told.append(
            _("%(assembly)s was looked at on %(day)s: %(grade)s.")
            % {"assembly": assembly, "day": tell_day(day), "grade": grade}
        )

    def read_meter(
        self, position: Position | None, day: datetime.date, hours: float | None, replaced: bool = False
    ) -> None:
        """Adds what the meter showed as a reading of its own, unless that day has one: the first stands.

        Raises NewMeterUnread where a new meter would go unnoted.
        """
        if position is None or hours is None:
            if replaced:
                raise NewMeterUnread(why=_("nobody says what it shows"), right=_("Enter its hours."))
            return
        stands = MeterReading.objects.filter(machine=position.machine, read_on=day).first()
        if stands is not None:
            if replaced and not stands.meter_replaced:
                why = _("%(day)s has a reading of %(hours)s h already, and the first stands") % {
                    "day": tell_day(day),
                    "hours": f"{stands.hours:,.10g}",
                }
                right = _(
                    "Mend that reading: say that a new meter starts with it (in a file: yes in the column "
                    "meter_replaced)."
                )
                raise NewMeterUnread(why=why, right=right)
            return
        row = {"machine": position.machine.key, "read_on": cell_text(day), "hours": cell_text(hours)}
        self._add(METER_READINGS.name, "", {}, row | {"meter_replaced": "yes" if replaced else ""})

    def tables(self) -> dict[str, list[list[str]]]:
        """The rows as tables, each with its header."""
        return {
            name: [list(rows[0]), *([row[column] for column in rows[0]] for row in rows)]
            for name, rows in self.rows.items()
        }

    def named(self, column: str) -> set[str]:
        """What the rows hold in that column."""
        return {row[column] for rows in self.rows.values() for row in rows if row.get(column)}

    def place_of(self, finding: Finding) -> str:
        """The position whose row the finding is about."""
        return self.places[finding.file][_row(finding)]

    def bears_on(self, finding: Finding) -> bool:
        """Whether the finding is about what the form says: what stood before stood, however contradictory."""
        return finding.column in self.said[finding.file][_row(finding)]

    def _add(self, file: str, place: str, stood: Row, said: Row) -> None:
        self.rows.setdefault(file, []).append(stood | said)
        self.places.setdefault(file, []).append(place)
        self.said.setdefault(file, []).append(set(said))


def _row(finding: Finding) -> int:
    """The place of the finding's row in its table: the header stands on line 1, and every finding has one."""
    return (finding.line or 2) - 2


def gather_work(
    organization: Organization,
    machine: str,
    work: Sequence[PositionWork],
    day: datetime.date,
    hours: float | None,
    meter_replaced: bool = False,
) -> Entry:
    """The rows of what was done on one machine in a day. Raises ServiceError for what no row could say."""
    if not Machine.objects.of(organization).filter(key=machine).exists():
        raise NotInRegister(
            noun=_("machine"), key=machine, hint=_("Look up its key on the page of machines.")
        )
    rows = Position.objects.of(organization).select_related("machine__site", "design", "organization")
    positions = {
        one.key: one for one in rows.filter(machine__key=machine, key__in=[one.position for one in work])
    }
    installed = Assembly.objects.filter(position__in=positions.values(), removed_on=None)
    there = {one.position_id: one for one in installed.select_related("position__machine", "design")}
    entry = Entry()
    for one in work:
        position = positions.get(one.position)
        if position is None:
            hint = _("Look up its key on the page of %(machine)s.") % {"machine": machine}
            raise NotInRegister(noun=_("position"), key=f"{machine} {one.position}", hint=hint)
        occupant = there.get(position.pk)
        if one.removal_cause:
            if occupant is None and not one.comes_off:
                raise NotInstalled(
                    what=_("Nothing is on %(position)s") % {"position": position},
                    right=_("Say only what goes on."),
                )
            if not one.comes_off:
                raise ComesOffMissing(place=position)
            if occupant is None or occupant.key != one.comes_off:
                now = (
                    _("%(occupant)s is there") % {"occupant": occupant} if occupant else _("nothing is there")
                )
                raise AnotherThere(seen=one.comes_off, place=position, there=now)
            entry.take_off(occupant, day, hours, one.removal_cause, one.failure_mode)
        if one.fitted is not None:
            if occupant is not None and not one.removal_cause:
                raise PositionTaken(
                    assembly=occupant, place=position, day=occupant.installed_on, new=one.fitted.assembly
                )
            entry.put_on(position, one.fitted, day, hours, one.answered_by)
    if not entry.rows:
        raise NothingToRecord(machine=machine)
    entry.read_meter(next(iter(positions.values())), day, hours, meter_replaced)
    return entry


def assembly_named(organization: Organization, key: str) -> Assembly:
    """The assembly with that key, with its place. Raises NotInRegister."""
    rows = Assembly.objects.of(organization).select_related("position__machine", "design")
    found = rows.filter(key=key).first()
    if found is None:
        raise NotInRegister(noun=_("assembly"), key=key, hint=_("Look at the key in print on its tag."))
    return found


def stay_row(assembly: Assembly) -> Row:
    """The assembly's row in installations.csv, every column of it, so that none is cleared."""
    position = assembly.position
    linked = {
        "assembly": assembly.key,
        "machine": position.machine.key if position else "",
        "position": position.key if position else "",
        "design": assembly.design.key if assembly.design else "",
    }
    own = {
        name: cell_text(getattr(assembly, name))
        for name in INSTALLATIONS.by_stored_name
        if name not in linked
    }
    return linked | own


def cell_text(value: datetime.date | float | str | None) -> str:
    """The value as a cell of a fleet folder writes it."""
    if value is None:
        return ""
    return shortest(value) if isinstance(value, (int, float)) else str(value)
