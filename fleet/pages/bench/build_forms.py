"""The form of a build record: what was seen and measured at the bench, in the reader's units."""

import datetime
import uuid
from collections.abc import Iterable

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.services.entered import as_entered, symbol_of, to_stored
from fleet.services.shop.build_rules import ENDS, READINGS_WANTED, BuildRecord
from fleet.services.shop.errors import BuildFinding

from ..amounts import KEY_LENGTH, KeptText, day_field
from ..fields import NumberField, WholeField

READING_FIELDS = READINGS_WANTED + 1  # one to spare for the odd one


def typed_number(label, **attributes) -> forms.FloatField:
    """A measure that may be left empty, on the keyboard that has digits and a point."""
    widget = forms.NumberInput(attrs={"step": "any", "inputmode": "decimal", **attributes})
    return NumberField(label=label, required=False, min_value=0, widget=widget)


def counted_number(label) -> forms.IntegerField:
    widget = forms.NumberInput(attrs={"inputmode": "numeric"})
    return WholeField(label=label, required=False, min_value=0, max_value=100, widget=widget)


def seen_mark(label) -> forms.BooleanField:
    return forms.BooleanField(label=label, required=False)


class BuildForm(forms.Form):
    """One build. Measures are typed in the units of `units`, the organization's settings."""

    token = forms.UUIDField(widget=forms.HiddenInput, required=False)
    built_on = day_field(gettext_lazy("Built on"))
    cut_length = typed_number(gettext_lazy("Length of the cut"))
    cleanings_before = counted_number(
        gettext_lazy("Projectiles shot before crimping; one from each end makes 2")
    )
    inserted_before_a = seen_mark(gettext_lazy("End a: mark at the shell before crimping"))
    inserted_before_b = seen_mark(gettext_lazy("End b: mark at the shell before crimping"))
    die = KeptText(label=gettext_lazy("Die"), required=False)
    gauge = KeptText(label=gettext_lazy("Gauge"), required=False)
    inserted_after_a = seen_mark(gettext_lazy("End a: mark still at the shell after crimping"))
    inserted_after_b = seen_mark(gettext_lazy("End b: mark still at the shell after crimping"))
    cleanings_after = counted_number(gettext_lazy("Projectiles shot after crimping"))
    proof_pressure = typed_number(gettext_lazy("Proof pressure"))
    proof_seconds = typed_number(gettext_lazy("Held for (seconds)"))
    proof_medium = KeptText(label=gettext_lazy("Proved with (water, oil)"), required=False)
    built_by = forms.CharField(label=gettext_lazy("Who crimped it"), required=False, max_length=120)
    accepted_by = forms.CharField(label=gettext_lazy("Who accepts it"), required=False, max_length=120)
    assembly = forms.CharField(
        label=gettext_lazy("Tag of the assembly"), required=False, max_length=KEY_LENGTH
    )
    remarks = forms.CharField(label=gettext_lazy("Remarks"), required=False, max_length=200)

    def __init__(self, *given, units, **more) -> None:
        super().__init__(*given, **more)
        self.length, self.pressure = units.length_unit, units.pressure_unit
        for name, symbol in (
            ("cut_length", symbol_of("length", self.length)),
            ("proof_pressure", symbol_of("pressure", self.pressure)),
        ):
            self.fields[name].label = f"{self.fields[name].label} ({symbol})"
        symbol = symbol_of("length", self.length)
        for end in ENDS:
            for number in range(1, READING_FIELDS + 1):
                label = _("End %(end)s, reading %(number)s (%(unit)s)") % {
                    "end": end,
                    "number": number,
                    "unit": symbol,
                }
                self.fields[f"reading_{end}_{number}"] = typed_number(label)
        self.fields["built_on"].required = True
        self.asked: list[BuildFinding] = []

    def readings(self, end: str) -> list[forms.BoundField]:
        """The fields for what the gauge showed around an end."""
        return [self[f"reading_{end}_{number}"] for number in range(1, READING_FIELDS + 1)]

    def record(self) -> BuildRecord:
        """What was entered, as the bench takes it."""
        sent = self.cleaned_data
        entered = {
            "cut_length": as_entered(sent["cut_length"], "length", self.length),
            "proof_pressure": as_entered(sent["proof_pressure"], "pressure", self.pressure),
        }
        return BuildRecord(
            built_on=sent["built_on"],
            built_by=sent["built_by"],
            accepted_by=sent["accepted_by"],
            cut_length_mm=self._stored("cut_length", "length", self.length),
            inserted_before={end: sent[f"inserted_before_{end}"] for end in ENDS},
            inserted_after={end: sent[f"inserted_after_{end}"] for end in ENDS},
            cleanings_before=sent["cleanings_before"],
            cleanings_after=sent["cleanings_after"],
            readings={end: self._readings(end) for end in ENDS},
            readings_unit=self.length,
            gauge=sent["gauge"],
            die=sent["die"],
            proof_pressure_bar=self._stored("proof_pressure", "pressure", self.pressure),
            proof_seconds=sent["proof_seconds"],
            proof_medium=sent["proof_medium"],
            remarks=sent["remarks"],
            entered={name: value for name, value in entered.items() if value},
        )

    def told_wrong(self) -> str:
        """All that speaks against it, for whoever has no fields before them."""
        texts = [str(error) for errors in self.errors.values() for error in errors]
        return " ".join([*texts, *(finding.text for finding in self.asked)])

    def confirmed(self) -> set[str]:
        """The codes of the questions that the person answered for."""
        return set(self.data.getlist("confirm")) if isinstance(self.data, QueryDict) else set()

    def tell(self, findings: Iterable[BuildFinding]) -> None:
        """Puts each refusal beside its field and keeps the questions, to be answered for."""
        for finding in findings:
            if not finding.refused:
                self.asked.append(finding)
                continue
            name = finding.field
            if name.startswith("readings_"):
                name = f"reading_{name[-1]}_1"
            self.add_error(name if name in self.fields else None, finding.text)

    def _stored(self, name: str, measure: str, suffix: str) -> float | None:
        typed = self.cleaned_data[name]
        return None if typed is None else round(to_stored(typed, measure, suffix), 4)

    def _readings(self, end: str) -> tuple[float, ...]:
        typed = (self.cleaned_data[f"reading_{end}_{number}"] for number in range(1, READING_FIELDS + 1))
        return tuple(round(to_stored(one, "length", self.length), 4) for one in typed if one is not None)


def start_of(*, die: str, name: str, critical: bool, today: datetime.date, last: dict) -> dict:
    """What a form begins with: the chart's die, and who and what it was made with last; nothing measured.

    Who accepts what goes onto a critical position is a person's own word, so there nobody stands yet.
    """
    named = {"built_by": name, "accepted_by": "" if critical else name}
    return {"token": uuid.uuid4(), "built_on": today, "die": die} | named | last


def _part_told(one) -> str:
    """A part that an assembly holds, so that two of a kind are told apart."""
    where = {"a": _("end a"), "b": _("end b"), "hose": _("hose")}[one.place]
    lot = _(", lot %(lot)s") % {"lot": one.lot} if one.lot else ""
    return f"{one.part} ({where}{lot})"


class ScrapForm(forms.Form):
    """Why a build is scrapped, and what of it was not spoilt."""

    reason = forms.CharField(label=gettext_lazy("Why it is scrapped"), max_length=200)
    cut_length = typed_number(gettext_lazy("Length of the cut"))
    seen = forms.CharField(required=False, max_length=2000, widget=forms.HiddenInput)

    def __init__(self, *given, units, parts, **more) -> None:
        super().__init__(*given, **more)
        self.length = units.length_unit
        self.fields["seen"].initial = ",".join(str(one.pk) for one in parts)
        self.fields["cut_length"].label = _(
            "Length of the cut (%(unit)s); leave empty if as asked for, or if the hose was not spoilt"
        ) % {"unit": symbol_of("length", self.length)}
        self.fields["spared"] = forms.MultipleChoiceField(
            label=_("What was not spoilt"),
            required=False,
            choices=[(str(one.pk), _part_told(one)) for one in parts],
            widget=forms.CheckboxSelectMultiple,
        )

    def clean_seen(self) -> list[int] | None:
        """The ids of the parts that the page showed; None where the form came from no page."""
        sent = self.cleaned_data["seen"]
        return [int(one) for one in sent.split(",") if one.isdecimal()] if sent else None

    @property
    def cut_length_mm(self) -> float | None:
        typed = self.cleaned_data["cut_length"]
        return None if typed is None else round(to_stored(typed, "length", self.length), 4)
