"""The pages on which a part is ordered, what came is laid on the shelf, and what is to come is changed."""

import datetime
import math
from typing import Any

from django import forms
from django.contrib import messages
from django.db.models import F, Sum
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.models import LINES, OpenOrder, Part, Site
from fleet.permissions import Action
from fleet.services.errors import ServiceError
from fleet.services.stock.errors import MoreThanOrdered
from fleet.services.stock.moving import (
    cancel_order,
    expect_order,
    next_order_number,
    order_part,
    receive_order,
)

from ..amounts import Amount, KeptText, day_field
from ..fields import NumberField
from ..members import PageRequest, Reader, member_page
from ..paging import page_of
from .advice import EVEN


class OrderForm(forms.Form):
    quantity = NumberField(label=gettext_lazy("How much"))
    expected_on = day_field(gettext_lazy("Expected on"))
    order = KeptText(label=gettext_lazy("Order number"), required=False)


class ReceiptForm(forms.Form):
    quantity = NumberField(label=gettext_lazy("How much came"))
    lot = KeptText(label=gettext_lazy("Lot, as printed on it"), required=False)
    made_on = day_field(gettext_lazy("Made on"))
    piece = KeptText(label=gettext_lazy("Name of the piece or bin; empty: one is given"), required=False)
    seen_open = NumberField(widget=forms.HiddenInput, required=False)
    confirmed = forms.BooleanField(
        label=gettext_lazy("Yes, more came than was ordered"), required=False, widget=forms.HiddenInput
    )


class DayForm(forms.Form):
    expected_on = day_field(gettext_lazy("Expected on; empty: nobody names a day"))
    reason = KeptText(label=gettext_lazy("Why, if it is known"), required=False)


class CancelForm(forms.Form):
    why = KeptText(label=gettext_lazy("Why the rest will not come"))
    seen_open = NumberField(widget=forms.HiddenInput, required=False)


def part_and_site(reader: Reader, asked) -> tuple[Part, Site]:
    """The part and site that the address names. Raises Http404."""
    part = get_object_or_404(Part.objects.of(reader.organization), key=asked.get("part", ""))
    return part, get_object_or_404(Site.objects.of(reader.organization), key=asked.get("site", ""))


@member_page()
def coming(request: PageRequest, reader: Reader) -> HttpResponse:
    """Every open order, the next to arrive first; one without a day last."""
    rows = OpenOrder.objects.of(reader.organization).filter(quantity__gt=0).select_related("part", "site")
    sought = request.GET.get("q", "").strip()
    if sought:
        rows = rows.filter(part__key__icontains=sought) | rows.filter(order__icontains=sought)
    rows = rows.order_by(F("expected_on").asc(nulls_last=True), "order", "part__key", "site__key")
    context = {
        "title": _("What is coming"),
        "way": "order",
        "page": page_of(request, rows),
        "q": sought,
        "today": timezone.localdate(),
        "may_receive": reader.may(Action.CHANGE_STOCK),
        "may_order": reader.may(Action.ORDER),
    }
    return render(request, "stock/coming.html", context)


@member_page(Action.ORDER)
def place_order(request: PageRequest, reader: Reader) -> HttpResponse:
    """Orders a part for a site; what the plan advises less what was ordered since is filled in."""
    part, site = part_and_site(reader, request.GET)
    amount = Amount(part, reader.units)
    today = timezone.localdate()
    form = OrderForm(request.POST or None, initial=proposed(reader, part, site, amount, today))
    if request.method == "POST" and form.is_valid():
        sent = form.cleaned_data
        ordered = amount.stored(sent["quantity"])
        try:
            line = order_part(
                organization=reader.organization,
                user=request.user,
                part=part.key,
                site=site.key,
                quantity=ordered,
                expected_on=sent["expected_on"],
                order=sent["order"],
            )
        except ServiceError as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(
                request,
                _("Ordered: %(amount)s of %(part)s for %(site)s on order %(order)s.")
                % {"amount": amount.told(line.quantity), "part": part, "site": site, "order": line.order},
            )
            pack = part.pack_quantity
            if pack and abs(ordered / pack - round(ordered / pack)) > EVEN:
                messages.warning(
                    request,
                    _("It comes in packs of %(pack)s: %(amount)s is not a whole number of them.")
                    % {"pack": amount.told(pack), "amount": amount.told(ordered)},
                )
            return redirect("coming", reader.organization.slug)
    advice = LINES["stock_advice"].objects.filter(plan=reader.plan, part=part.key, site=site.key)
    context = {
        "title": _("Order a part"),
        "way": "order",
        "part": part,
        "site": site,
        "amount": amount,
        "form": form,
        "advice": advice.first(),
        "coming": part.open_orders.filter(site=site).order_by("expected_on", "order"),
    }
    return render(request, "stock/place.html", context, status=422 if form.errors else 200)


def proposed(reader: Reader, part: Part, site: Site, amount: Amount, today: datetime.date) -> dict:
    """What an order form begins with: the advice less what was ordered since, its day, a free number."""
    line = LINES["stock_advice"].objects.filter(plan=reader.plan, part=part.key, site=site.key).first()
    coming = part.open_orders.filter(site=site).aggregate(sum=Sum("quantity"))["sum"] or 0.0
    since = max(coming - line.on_order, 0.0) if line else 0.0
    asked = max(line.order_now - since, 0.0) if line else 0.0
    lead_time = part.lead_time_days
    return {
        "quantity": amount.shown(asked) if asked else None,
        "expected_on": None if lead_time is None else today + datetime.timedelta(days=math.ceil(lead_time)),
        "order": next_order_number(reader.organization, today),
    }


@member_page(Action.CHANGE_STOCK)
def receive(request: PageRequest, reader: Reader) -> HttpResponse:
    """Lays what came on an order on the shelf, in full or in part."""
    part, site = part_and_site(reader, request.GET)
    number = request.GET.get("order", "")
    amount = Amount(part, reader.units)
    line = OpenOrder.objects.of(reader.organization).filter(order=number, part=part, site=site).first()
    if line is None and request.method != "POST":
        raise Http404(_("Nothing is to come on that order any more."))
    start = {"quantity": amount.shown(line.quantity), "seen_open": line.quantity} if line else {}
    form = ReceiptForm(request.POST or None, initial=start)
    if request.method == "POST" and form.is_valid():
        sent = form.cleaned_data
        quantity = amount.stored(sent["quantity"], began=line.quantity if line else None)
        try:
            receipt = receive_order(
                organization=reader.organization,
                user=request.user,
                order=number,
                part=part.key,
                site=site.key,
                **sent | {"quantity": quantity},
            )
        except MoreThanOrdered as refusal:
            form.fields["confirmed"].widget = forms.CheckboxInput()
            form.add_error(None, str(refusal))
        except ServiceError as refusal:
            form.add_error(None, str(refusal))
        else:
            told = {
                "amount": amount.told(quantity),
                "part": part,
                "piece": receipt.piece.piece or _("the shelf"),
                "open": amount.told(receipt.still_open),
            }
            said = _("Received: %(amount)s of %(part)s, laid to %(piece)s.") % told
            if receipt.still_open:
                said += " " + _("%(open)s are still to come.") % told
            messages.success(request, said)
            return redirect("coming", reader.organization.slug)
    context = {
        "title": _("Receive an order"),
        "way": "order",
        "part": part,
        "site": site,
        "amount": amount,
        "order": number,
        "line": line,
        "form": form,
    }
    return render(request, "stock/receive.html", context, status=422 if form.errors else 200)


@member_page(Action.ORDER)
def change_order(request: PageRequest, reader: Reader) -> HttpResponse:
    """Moves the day on which an order is expected, or cancels what is still to come of it."""
    part, site = part_and_site(reader, request.GET)
    number = request.GET.get("order", "")
    amount = Amount(part, reader.units)
    line = OpenOrder.objects.of(reader.organization).filter(order=number, part=part, site=site).first()
    if line is None and request.method != "POST":
        raise Http404(_("Nothing is to come on that order any more."))
    cancels = request.method == "POST" and "cancel" in request.POST
    moves = request.method == "POST" and not cancels
    start = {"expected_on": line.expected_on} if line else {}
    day_form = DayForm(request.POST if moves else None, initial=start)
    start = {"seen_open": line.quantity} if line else {}
    cancel_form = CancelForm(request.POST if cancels else None, initial=start)
    named: dict[str, Any] = {"organization": reader.organization, "user": request.user, "order": number}
    named |= {"part": part.key, "site": site.key}
    told = {"order": number, "part": part}
    sent = cancel_form if cancels else day_form
    if request.method == "POST" and sent.is_valid():
        try:
            if cancels:
                seen_open = cancel_form.cleaned_data["seen_open"]
                rest = cancel_order(**named, reason=cancel_form.cleaned_data["why"], seen_open=seen_open)
                said = _("Cancelled: %(amount)s of %(part)s on order %(order)s.")
                messages.success(request, said % (told | {"amount": amount.told(rest)}))
            else:
                expect_order(**named, **day_form.cleaned_data)
                messages.success(request, _("Order %(order)s of %(part)s has its new day.") % told)
        except ServiceError as refusal:
            sent.add_error(None, str(refusal))
        else:
            return redirect("coming", reader.organization.slug)
    context = {
        "title": _("Change an order"),
        "way": "order",
        "part": part,
        "site": site,
        "amount": amount,
        "order": number,
        "line": line,
        "day_form": day_form,
        "cancel_form": cancel_form,
    }
    return render(request, "stock/change_order.html", context, status=422 if sent.errors else 200)
