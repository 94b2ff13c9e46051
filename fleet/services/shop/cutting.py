"""What leaves a piece of hose with a cut: the cut, the saw's kerf, and an end too short to keep."""

from django.utils.translation import gettext as _

from fleet.frames.register import core_settings
from fleet.models import LINES, KitPart, KitPartState, Organization, Plan, StockPiece, User
from forecasting.units import tell_measure

from ..signing import save_signed
from ..stock.shelves import DUST, held_of, lay_down, measured, set_on_hand


def keep_length_mm(organization: Organization) -> float:
    """From what length on the organization keeps an end."""
    return core_settings(organization).keep_length_mm


def longest_cut_mm(part: KitPart, piece: StockPiece) -> float:
    """The longest cut that the piece gives for this part, once what others hold of it is left."""
    others = held_of(piece, but=part)
    kerf = part.kerf_mm / 1000 if others.kits else 0.0
    return round(max(piece.on_hand - others.least - kerf, 0.0) * 1000, 3)


def cut_off(
    part: KitPart,
    piece: StockPiece,
    cut_length_mm: float,
    least_kept_mm: float,
    user: User | None,
    reason: str,
) -> str:
    """Takes the cut for `part` off the piece; says what else was lost, where that is scrap.

    Sets the part's quantity, kerf_mm and scrap_mm to what left the piece, and leaves its state to the caller.
    An end below `least_kept_mm` is scrap, unless a kit holds some of it or the plan in force cuts from it.
    """
    others = held_of(piece, but=part)
    cut = round(cut_length_mm / 1000, 6)
    kerf = min(part.kerf_mm / 1000, max(piece.on_hand - cut, 0.0))
    left = round(max(piece.on_hand - cut - kerf, 0.0), 6)
    wanted = bool(others.kits) or _is_planned(piece, left * 1000, part)
    scrap = left if DUST < left < least_kept_mm / 1000 and not wanted else 0.0
    part.quantity, part.cut_length_mm = cut, cut_length_mm
    part.kerf_mm, part.scrap_mm = round(kerf * 1000, 3), round(scrap * 1000, 3)
    set_on_hand(piece, round(left - scrap, 6))
    named = piece.piece or "what was left"
    if not scrap:
        save_signed(piece, user, reason)
        return ""
    lost = tell_measure(scrap * 1000, "length_mm", core_settings(piece.organization))
    save_signed(piece, user, _("%(reason)s; %(scrap)s scrap") % {"reason": reason, "scrap": lost})
    return _("%(scrap)s of %(part)s (%(named)s) is too short to keep: scrap.") % {
        "scrap": lost,
        "part": piece.part,
        "named": named,
    }


def give_back_cut(
    part: KitPart, cut_length_mm: float, least_kept_mm: float, user: User | None, reason: str
) -> str:
    """Takes the cut off its piece and lays it down as an offcut; what became of it, as a sentence.

    A shared step, in the caller's transaction.
    """
    piece = StockPiece.objects.select_for_update().get(kit_parts=part)
    cut_off(part, piece, cut_length_mm, least_kept_mm, user, reason)
    if cut_length_mm < least_kept_mm:
        part.state, part.scrapped_because = (
            KitPartState.USED,
            _("%(reason)s: too short to keep") % {"reason": reason},
        )
        save_signed(part, user, reason)
        return _("%(quantity)s of %(part)s is too short to keep: scrap.") % {
            "quantity": measured(part.part, part.quantity),
            "part": part.part,
        }
    part.state = KitPartState.GIVEN_BACK
    save_signed(part, user, reason)
    laid = lay_down(
        part.part, piece.site, part.quantity, piece.lot, piece.made_on, "", piece.piece, user, reason
    )
    return _("%(quantity)s of %(part)s comes back as offcut %(piece)s.") % {
        "quantity": measured(part.part, part.quantity),
        "part": part.part,
        "piece": laid.piece,
    }


def _is_planned(piece: StockPiece, left_mm: float, part: KitPart) -> bool:
    """Whether the plan in force cuts something off the piece that its rest still gives.

    What it cuts for assemblies of the kit of `part` that were given their hose is cut or set aside already;
    what is scrapped is to be cut once more.
    """
    plan = Plan.objects.in_force(piece.organization)
    if plan is None:
        return False
    kit = part.kit_assembly.kit
    given = KitPart.objects.filter(kit_assembly__kit=kit, scrapped_because="")
    given = given.exclude(state=KitPartState.GIVEN_BACK)
    if part.scrapped_because:
        given = given.exclude(kit_assembly=part.kit_assembly)
    positions = {key or "" for key in given.values_list("kit_assembly__position__key", flat=True)}
    lines = LINES["kit_lines"].objects.filter(plan=plan, kit=kit.key, position__in=positions)
    cuts = LINES["cut_list"].objects.filter(
        plan=plan, site=piece.site.key, hose_part=piece.part.key, piece=piece.piece
    )
    cuts = cuts.exclude(kit=kit.key, line__in=lines.values("line"))
    return cuts.filter(cut_length_mm__lte=left_mm).exists()
