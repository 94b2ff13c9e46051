"""At the bench: builds recorded, accepted or scrapped."""

from django.contrib import messages
from django.db.models import Exists, OuterRef
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from fleet.models import Build, KitAssembly, KitPart, KitPartState
from fleet.permissions import Action
from fleet.services.errors import ServiceError
from fleet.services.sheets.steps import plan_proof
from fleet.services.shop.bench import accept_build, propose_assembly_key, scrap_build
from fleet.services.shop.build_rules import READINGS_WANTED, crimps_of
from fleet.services.shop.errors import BuildQuestioned, BuildRefused
from fleet.services.stock.shelves import is_hose
from fleet.services.work.recording import Recorded

from ..kept_forms import answer, from_its_writer, refused_in_json
from ..members import PageRequest, Reader, member_page
from ..register.lives import measured_crimps, taken_for
from .begun_kits import takes_of
from .build_forms import BuildForm, ScrapForm, start_of


@from_its_writer
@member_page(Action.RECORD_BUILD)
def record_build(request: PageRequest, reader: Reader, kit: str, number: int) -> HttpResponse:
    """The record of one build, step by step; accepted, the assembly exists."""
    row, parts = _at_the_bench(reader, kit, number)
    if request.method != "POST" and not parts:
        return _nothing_to_build(request, reader, row)
    crimps = {crimp.end: crimp for crimp in crimps_of(parts)}
    hose = next((part for part in parts if is_hose(part.part)), None)
    charts = [crimp.chart for crimp in crimps.values() if crimp.chart]
    start = start_of(
        die=charts[0].die if charts else "",
        name=request.user.get_full_name() or request.user.get_username(),
        critical=bool(row.position and row.position.critical),
        today=timezone.localdate(),
        last=_made_with_last(reader),
    )
    form = BuildForm(request.POST or None, initial=start, units=reader.units)
    if request.method == "POST" and form.is_valid():
        try:
            done = accept_build(
                organization=reader.organization,
                user=request.user,
                kit=kit,
                number=number,
                record=form.record(),
                assembly=form.cleaned_data["assembly"],
                confirmed=form.confirmed(),
                token=form.cleaned_data["token"],
            )
        except (BuildRefused, BuildQuestioned) as refusal:
            form.tell(refusal.findings)
        except ServiceError as refusal:
            form.add_error(None, str(refusal))
        else:
            recorded = Recorded(" ".join(done.told), again=done.again)
            return answer(request, recorded, reverse("built", args=[reader.organization.slug, kit, number]))
    if request.method == "POST" and (told := refused_in_json(request, form.told_wrong())):
        return told
    ends = [
        {
            "end": end,
            "crimp": crimp,
            "chart": crimp.chart,
            "band": _band(crimp.chart),
            "before": form[f"inserted_before_{end}"],
            "after": form[f"inserted_after_{end}"],
            "readings": form.readings(end),
        }
        for end, crimp in crimps.items()
    ]
    context = {
        "title": _("Build record: %(kit)s no. %(number)s") % {"kit": kit, "number": number},
        "way": "build",
        "row": row,
        "takes": takes_of(parts),
        "hose": hose,
        "ends": ends,
        "wanted": READINGS_WANTED,
        "proof": plan_proof(parts),
        "form": form,
        "free_key": propose_assembly_key(reader.organization),
        "confirmed": form.confirmed() if form.is_bound else set(),
    }
    return render(request, "bench/record.html", context, status=422 if form.errors or form.asked else 200)


@member_page(Action.RECORD_BUILD)
def scrap(request: PageRequest, reader: Reader, kit: str, number: int) -> HttpResponse:
    """A build that was spoilt: its parts are used up, and others set aside for the next try."""
    row, parts = _at_the_bench(reader, kit, number)
    if request.method != "POST" and not parts:
        return _nothing_to_build(request, reader, row)
    form = ScrapForm(request.POST or None, units=reader.units, parts=parts)
    if request.method == "POST" and form.is_valid():
        try:
            came = scrap_build(
                organization=reader.organization,
                user=request.user,
                kit=kit,
                number=number,
                reason=form.cleaned_data["reason"],
                cut_length_mm=form.cut_length_mm,
                spared=[int(one) for one in form.cleaned_data["spared"]],
                seen=form.cleaned_data["seen"],
            )
        except ServiceError as refusal:
            form.add_error(None, str(refusal))
        else:
            said = (
                _("Scrapped. Parts for the next try are set aside.")
                if came.ready
                else _("Scrapped. The next try waits for parts.")
            )
            messages.success(request, said)
            for told in came.told:
                messages.warning(request, told)
            return redirect("begun", reader.organization.slug)
    context = {
        "title": _("Scrap a build"),
        "way": "build",
        "row": row,
        "form": form,
    }
    return render(request, "bench/scrap.html", context, status=422 if form.errors else 200)


@member_page()
def built(request: PageRequest, reader: Reader, kit: str, number: int) -> HttpResponse:
    """What a recorded build came to: the assembly and its tag, and what is next of the kit."""
    row = _row(reader, kit, number)
    if row.assembly is None:
        raise Http404(_("No. %(number)s of %(kit)s is not made yet.") % {"number": number, "kit": kit})
    rest = KitAssembly.objects.filter(kit=row.kit, assembly=None).exclude(pk=row.pk).order_by("number")
    held = KitPart.objects.filter(kit_assembly=OuterRef("pk"), state=KitPartState.RESERVED)
    build = Build.objects.filter(assembly=row.assembly).select_related("design").first()
    context = {
        "title": str(row.assembly),
        "way": "build",
        "row": row,
        "build": build,
        "crimps": measured_crimps(build) if build else [],
        "went_in": taken_for(row.assembly),
        "next": rest.filter(Exists(held)).select_related("position__machine", "design").first(),
        "rest": rest.count(),
    }
    return render(request, "bench/built.html", context)


def _row(reader: Reader, kit: str, number: int) -> KitAssembly:
    rows = KitAssembly.objects.of(reader.organization).select_related(
        "kit__site", "design", "position__machine", "assembly"
    )
    return get_object_or_404(rows, kit__key=kit, number=number)


def _at_the_bench(reader: Reader, kit: str, number: int) -> tuple[KitAssembly, list[KitPart]]:
    """The assembly and what it holds; nothing where it is made, waits, or was taken apart."""
    row = _row(reader, kit, number)
    held = row.parts.filter(state=KitPartState.RESERVED).select_related("part", "substitute_for")
    return row, list(held.order_by("pk"))


def _nothing_to_build(request: PageRequest, reader: Reader, row: KitAssembly) -> HttpResponse:
    """Where to look for an assembly that holds no parts: what it became, else the bench."""
    if row.assembly is not None:
        return redirect("built", reader.organization.slug, row.kit.key, row.number)
    told = _("No parts are set aside for no. %(number)s of %(kit)s.") % {"number": row.number, "kit": row.kit}
    messages.warning(request, told)
    return redirect("begun", reader.organization.slug)


def _band(chart) -> tuple[float, float] | None:
    """The least and the largest diameter, where the chart names a band."""
    if chart is None or chart.crimp_over_mm is None or chart.crimp_under_mm is None:
        return None
    return chart.crimp_diameter_mm - chart.crimp_under_mm, chart.crimp_diameter_mm + chart.crimp_over_mm


def _made_with_last(reader: Reader) -> dict:
    """The gauge and the medium of the build that was recorded last: mostly it is the same bench again."""
    last = Build.objects.of(reader.organization).filter(accepted=True).order_by("-pk").first()
    return {"gauge": last.gauge, "proof_medium": last.proof_medium} if last else {}
