"""Shared steps of what moves the stock: look up, weigh what kits hold, lay down. None opens a transaction."""

import datetime
import math
from dataclasses import dataclass
from difflib import get_close_matches

from django.utils import timezone
from django.utils.translation import gettext as _

from fleet.frames.register import core_settings
from fleet.models import (
    KitPart,
    KitPartState,
    Organization,
    Part,
    PartKind,
    Site,
    StockPiece,
    User,
)
from forecasting.units import ReaderUnits, Unit, reel_unit, tell_number

from ..signing import save_signed
from .errors import DayRefused, HeldByKits, NotInRegister, PieceTaken, QuantityRefused

MOST = 10_000_000.0  # a slip of the finger, not a stock
DUST = 1e-6  # below it two amounts are one
AT_MOST, AT_LEAST = -0.000499, 0.000499  # what rounds the last digit of `figure` down, and up


@dataclass(frozen=True, slots=True)
class Held:
    """What begun kits hold of a piece: `reserved` is for nobody else, `least` must lie there for them.

    Each cut counts with its kerf; the last one of a piece needs none where nothing is left beyond it.
    """

    reserved: float
    least: float
    kits: tuple[str, ...]

    def refusal(self, row: StockPiece, right: str) -> HeldByKits:
        """What is said where something else is to be done with it."""
        named = _(", piece %(piece)s") % {"piece": row.piece} if row.piece else ""
        kits = _(" and ").join(
            [_("kit ") + ", ".join(self.kits[:-1]), self.kits[-1]] if self.kits[1:] else self.kits
        )
        return HeldByKits(
            part=row.part,
            site=row.site,
            piece=named,
            held=measured(row.part, self.reserved),
            kits=kits if self.kits[1:] else _("kit %(kits)s") % {"kits": kits},
            right=right,
        )


def held_of(row: StockPiece, but: KitPart | None = None) -> Held:
    """What begun kits hold of the piece, `but` left out."""
    if row.pk is None:
        return Held(0.0, 0.0, ())
    parts = KitPart.objects.filter(piece=row, state=KitPartState.RESERVED)
    if but is not None:
        parts = parts.exclude(pk=but.pk)
    rows = list(parts.order_by("pk").values_list("quantity", "kerf_mm", "kit_assembly__kit__key"))
    reserved = sum(quantity + kerf_mm / 1000 for quantity, kerf_mm, _ in rows)
    least = reserved - max((kerf_mm / 1000 for _, kerf_mm, _ in rows), default=0.0)
    return Held(round(reserved, 6), round(least, 6), tuple(dict.fromkeys(kit for *_, kit in rows)))


def figure(amount: float) -> str:
    """The amount as a person writes it: 40, 12.5."""
    return tell_number(amount, 3)


def unit_of(counted: str, units: ReaderUnits) -> Unit | None:
    """The unit of what is `counted_in` metres for an organization that reads in `units`; None: one by one."""
    return reel_unit(units) if counted == "metre" else None


def told_in(unit: Unit | None, amount: float, bound: float = 0.0) -> str:
    """The amount with its unit, where it is not counted one by one: 40, 12.5 m, 41 ft.

    `bound` is AT_MOST or AT_LEAST where it is a limit, which no rounding may carry past itself.
    """
    if unit is None:
        return figure(amount)
    return f"{figure(unit.from_stored(amount) + bound)} {unit.symbol}"


def measured(part: Part, amount: float, bound: float = 0.0) -> str:
    """So much of the part as its organization is told it, see `told_in`."""
    return told_in(unit_of(counted_in(part), core_settings(part.organization)), amount, bound)


def is_hose(part: Part) -> bool:
    """Whether the part is cut from pieces, none of which can be joined to another."""
    return part.kind == PartKind.BULK_HOSE


def counted_in(part: Part) -> str:
    """What the part is counted in: each, or metre (bulk hose, unless the register says otherwise)."""
    return part.unit or ("metre" if is_hose(part) else "each")


def part_of(organization: Organization, key: str) -> Part:
    part = Part.objects.of(organization).select_related("superseded_by").filter(key=key).first()
    if part is None:
        raise _not_in_register("part", key, Part.objects.of(organization))
    return part


def site_of(organization: Organization, key: str) -> Site:
    site = Site.objects.of(organization).filter(key=key).first()
    if site is None:
        raise _not_in_register("site", key, Site.objects.of(organization))
    return site


def _not_in_register(noun: str, key: str, rows) -> NotInRegister:
    near = get_close_matches(key, list(rows.values_list("key", flat=True)), n=1)
    hint = (
        _("Did you mean %(near)s?") % {"near": near[0]}
        if near
        else _("Enter it first, in %(file)s.csv of a fleet folder.") % {"file": f"{noun}s"}
    )
    return NotInRegister(noun={"part": _("part"), "site": _("site")}[noun], key=key, hint=hint)


def pieces_of(part: Part, site: Site):
    return StockPiece.objects.filter(part=part, site=site).select_for_update().order_by("piece")


def right_quantity(part: Part, quantity: float, least: float = DUST) -> float:
    if not (math.isfinite(quantity) and least <= quantity <= MOST):
        bound = _("0 or more") if least == 0 else _("more than 0")
        raise QuantityRefused(
            part=part,
            quantity=measured(part, quantity),
            right=_("enter %(bound)s, at most %(most)s.")
            % {"bound": bound, "most": measured(part, MOST, AT_MOST)},
        )
    if counted_in(part) == "each" and quantity != round(quantity):
        raise QuantityRefused(
            part=part, quantity=figure(quantity), right=_("it is counted one by one. Enter a whole number.")
        )
    return round(quantity, 6)


def refuse_made_ahead(made_on: datetime.date | None, today: datetime.date | None) -> None:
    if made_on is not None and made_on > (today or timezone.localdate()):
        raise DayRefused(
            what=_("The made date"),
            day=made_on,
            wrong=_("is yet to come"),
            right=_("Enter the day printed on it."),
        )


def lay_down(
    part: Part,
    site: Site,
    quantity: float,
    lot: str,
    made_on: datetime.date | None,
    piece: str,
    origin: str,
    user: User | None,
    reason: str,
) -> StockPiece:
    """The piece into which so much was laid. Without a name hose gets that of its `origin` (an order, or the
    piece it came off), other parts join their lot. Raises PieceTaken where a named piece holds another."""
    there = {one.piece: one for one in pieces_of(part, site)}
    occupied = {name for name, one in there.items() if one.on_hand > DUST}
    if not piece:
        alike = (
            []
            if is_hose(part)
            else [one for one in there.values() if (one.lot, one.made_on) == (lot, made_on)]
        )
        piece = alike[0].piece if alike else free_name(origin if is_hose(part) else lot, occupied)
    row = there.get(piece)
    if row is None:
        row = StockPiece(
            organization=part.organization,
            part=part,
            site=site,
            piece=piece,
            lot=lot,
            made_on=made_on,
            on_hand=0.0,
        )
    elif row.on_hand > DUST and is_hose(part):
        raise PieceTaken(
            piece=piece,
            part=part,
            site=site,
            holds=_("holds %(on_hand)s, and hose is not spliced") % {"on_hand": measured(part, row.on_hand)},
            right=_("Give what came a name of its own, or none."),
        )
    elif row.on_hand > DUST and (row.lot, row.made_on) != (lot, made_on):
        raise PieceTaken(
            piece=piece,
            part=part,
            site=site,
            holds=_("holds lot %(lot)s, made %(made_on)s")
            % {"lot": row.lot or _("not known"), "made_on": row.made_on or _("on a day not known")},
            right=_("Keep lots apart: give what came another piece name, or none."),
        )
    row.lot, row.made_on = lot, made_on
    set_on_hand(row, round(row.on_hand + quantity, 6))
    save_signed(row, user, reason)
    return row


def free_name(name: str, taken: set[str], first: int = 2) -> str:
    """The name, or where it is taken the first of name-2, name-3 … that is not."""
    if name not in taken:
        return name
    stem = f"{name}-" if name else "piece-"
    return next(stem + str(n) for n in range(first, len(taken) + first + 1) if stem + str(n) not in taken)


def is_named_after(name: str, first: str) -> bool:
    """Whether `free_name` may have made the name of `first`, or it is that."""
    return name == first or name.removeprefix(f"{first}-").isdecimal()


def set_on_hand(row: StockPiece, on_hand: float) -> None:
    row.on_hand = on_hand
    row.entered = {name: was for name, was in row.entered.items() if name != "on_hand"}
