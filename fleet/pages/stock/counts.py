"""The pages on which a shelf is counted, and on which parts are carried to another site."""

from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.exchange.numerals import read_number
from fleet.models import Part, Site, StockPiece
from fleet.permissions import Action
from fleet.services.errors import ServiceError
from fleet.services.stock.moving import count_stock, move_stock
from fleet.services.stock.shelves import DUST, is_hose

from ..amounts import Amount, KeptText, day_field
from ..fields import NumberField
from ..long_selects import LongSelect
from ..members import PageRequest, Reader, member_page
from .orders import part_and_site

PIECES_SHOWN = 200


class CountForm(forms.Form):
    """What was counted of one piece; its name is fixed where the register has it already."""

    on_hand = NumberField(label=gettext_lazy("Counted"))
    piece = KeptText(label=gettext_lazy("Name of the piece or bin"), required=False)
    lot = KeptText(label=gettext_lazy("Lot"), required=False)
    made_on = day_field(gettext_lazy("Made on"))


class MoveForm(forms.Form):
    """How much of which of `pieces` goes to which of `sites`; both are choices of a form."""

    quantity = NumberField(label=gettext_lazy("How much"))

    def __init__(
        self, data, *, pieces: list[tuple[str, str]], sites: list[tuple[str, str]], unit: str = "", **given
    ) -> None:
        super().__init__(data, **given)
        if unit:
            self.fields["quantity"].label = _("How much (%(unit)s)") % {"unit": unit}
        taken = _("Somebody took or counted some since you looked. Look again.")
        self.fields["piece"] = forms.ChoiceField(
            label=_("From"), choices=pieces, error_messages={"invalid_choice": taken}
        )
        self.fields["to_site"] = forms.ChoiceField(label=_("To"), choices=sites, widget=LongSelect)
        self.order_fields(["piece", "quantity", "to_site"])


def stood_of(part: Part, site: Site, piece: str) -> float | None:
    """What the register says of a piece; None where it has none of that name."""
    return part.pieces.filter(site=site, piece=piece).values_list("on_hand", flat=True).first()


def pieces_of(part: Part, site: Site) -> list[StockPiece]:
    """Its pieces there; a reel or an offcut that is used up is none, while a bin may be filled again."""
    rows = part.pieces.filter(site=site).with_reserved()
    if is_hose(part):
        rows = rows.filter(on_hand__gt=0)
    return list(rows.order_by("piece")[:PIECES_SHOWN])


@member_page(Action.CHANGE_STOCK)
def count(request: PageRequest, reader: Reader) -> HttpResponse:
    """Every piece of a part at a site with a field for what was counted, and a form for one not listed."""
    part, site = part_and_site(reader, request.GET)
    amount = Amount(part, reader.units)
    refused = None
    if request.method == "POST":
        refused = CountForm(request.POST, auto_id="sent_%s")
        if refused.is_valid():
            sent = refused.cleaned_data
            try:
                row = count_stock(
                    organization=reader.organization,
                    user=request.user,
                    part=part.key,
                    site=site.key,
                    **sent
                    | {"on_hand": amount.stored(sent["on_hand"], began=stood_of(part, site, sent["piece"]))},
                )
            except ServiceError as refusal:
                refused.add_error(None, str(refusal))
            else:
                messages.success(
                    request,
                    _("Counted: %(amount)s of %(part)s at %(site)s %(piece)s.")
                    % {"amount": amount.told(row.on_hand), "part": part, "site": site, "piece": row.piece},
                )
                return redirect(request.get_full_path())
    pieces = pieces_of(part, site)
    context = {
        "title": _("Count a shelf"),
        "way": "order",
        "part": part,
        "site": site,
        "amount": amount,
        "refused": refused,
        "counts": [
            (
                piece,
                CountForm(
                    auto_id=f"id_{piece.pk}_%s",
                    initial={"on_hand": amount.shown(piece.on_hand), "piece": piece.piece},
                ),
            )
            for piece in pieces
        ],
        "new": CountForm(auto_id="new_%s"),
    }
    return render(request, "stock/count.html", context, status=422 if refused else 200)


def _told_piece(piece: str, lot: str, held: str) -> str:
    """A piece as a choice tells it: R-1, lot L-80 (24 m)."""
    told = {"piece": piece, "lot": lot, "held": held}
    return (_("%(piece)s, lot %(lot)s (%(held)s)") if lot else _("%(piece)s (%(held)s)")) % told


def smallest_that_gives(choices: dict[str, Any], quantity: float) -> str | None:
    """The choice of the smallest piece (`with_reserved`) that can spare so much, else of the largest."""
    spare = {code: piece.on_hand - piece.reserved for code, piece in choices.items()}
    enough = [code for code in spare if spare[code] >= quantity - DUST]
    return min(enough, key=spare.__getitem__) if enough else max(spare, key=spare.__getitem__, default=None)


@member_page(Action.CHANGE_STOCK)
def move(request: PageRequest, reader: Reader) -> HttpResponse:
    """Carries so much of a piece to another site; a line of the plan's moves fills it in."""
    part, source = part_and_site(reader, request.GET)
    amount = Amount(part, reader.units)
    pieces = [piece for piece in pieces_of(part, source) if piece.on_hand > 0]
    start: dict = {"to_site": request.GET.get("to", "")}
    asked = read_number(request.GET.get("quantity", "")) or 0.0
    if asked > 0:
        start["quantity"] = amount.shown(asked)
    # What the piece held when it was looked at is part of the choice: where that has changed, it is refused.
    choices = {f"{piece.on_hand!r} {piece.piece}": piece for piece in pieces}
    start["piece"] = smallest_that_gives(choices, asked)
    form = MoveForm(
        request.POST or None,
        initial=start,
        pieces=[
            (code, _told_piece(piece.piece or _("the shelf"), piece.lot, amount.told(piece.on_hand)))
            for code, piece in choices.items()
        ],
        sites=[one for one in reader.sites if one[0] != source.key],
        unit=amount.unit,
    )
    if request.method == "POST" and form.is_valid():
        sent = form.cleaned_data
        target = sent["to_site"]
        piece = choices[sent["piece"]]
        quantity = amount.stored(sent["quantity"], began=piece.on_hand)
        try:
            move_stock(
                organization=reader.organization,
                user=request.user,
                part=part.key,
                from_site=source.key,
                to_site=target,
                quantity=quantity,
                piece=piece.piece,
                seen_on_hand=piece.on_hand,
            )
        except ServiceError as refusal:
            form.add_error(None, str(refusal))
        else:
            told = {"amount": amount.told(quantity), "part": part, "source": source, "target": target}
            messages.success(
                request, _("Moved: %(amount)s of %(part)s from %(source)s to %(target)s.") % told
            )
            return redirect("transfers", reader.organization.slug)
    context = {
        "title": _("Move parts"),
        "way": "order",
        "part": part,
        "site": source,
        "amount": amount,
        "pieces": pieces,
        "form": form,
    }
    return render(request, "stock/move.html", context, status=422 if form.errors else 200)
