"""The forms on which work at a machine is entered: big choices, today's day, and little to be typed."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.models import Assembly, Organization, Position, User
from fleet.services.errors import ServiceError
from fleet.services.work.errors import FitnessNotKnown
from fleet.services.work.recording import Recorded, inspect_assembly, install_assembly, remove_assembly
from fleet.services.work.rows import Fitted
from fleet.templatetags.trade_words import WORDS

from ..amounts import KeptText, day_field
from ..fields import NumberField

MOST_HOURS = 1_000_000
LONGEST_MODE, LONGEST_FINDING = 200, 300
CAUSES = list(WORDS["removal_cause"].items())
GRADES = list(WORDS["grade"].items())


class WorkForm(forms.Form):
    """What every form of work has: a token, under which it counts once, the day, and the meter."""

    act = ""
    title: Any = ""
    button: Any = ""

    token = forms.UUIDField(widget=forms.HiddenInput, required=False)
    day = day_field(gettext_lazy("Day"))
    hours = NumberField(
        label=gettext_lazy("Hour meter shows (h); empty: not read"),
        required=False,
        min_value=0,
        max_value=MOST_HOURS,
        widget=forms.NumberInput(attrs={"step": "any", "inputmode": "decimal"}),
    )
    meter_replaced = forms.BooleanField(
        label=gettext_lazy("A new meter starts with this reading"), required=False
    )

    def __init__(self, data: Any = None, **more: Any) -> None:
        super().__init__(data, auto_id=f"{self.act}_%s", **more)
        self.fields["day"].required = True

    def record(self, organization: Organization, user: User, assembly: Assembly) -> Recorded:
        """What came of it. Raises ServiceError."""
        raise NotImplementedError

    def tell(self, refusal: ServiceError) -> None:
        """Puts what was refused above the fields."""
        self.add_error(None, str(refusal))


class AnsweredForm(forms.Form):
    """Who answers for what goes on where nobody knows whether it is rated for its place: asked for only then,
    with a tick, on a critical position by name."""

    answers = forms.BooleanField(
        label=gettext_lazy("I answer for it"), required=False, widget=forms.HiddenInput
    )
    answered_by = KeptText(
        label=gettext_lazy("The competent person who answers for it, by name"),
        required=False,
        widget=forms.HiddenInput,
    )
    asked = ""  # the name of the field that is asked for

    def ask(self, *, critical: bool) -> None:
        self.asked = "answered_by" if critical else "answers"
        self.fields[self.asked].widget = forms.TextInput() if critical else forms.CheckboxInput()

    @property
    def asked_field(self) -> forms.BoundField | None:
        return self[self.asked] if self.asked else None

    def who_answers(self, user: User) -> str:
        """Who answers; empty where nobody does."""
        sent = self.cleaned_data
        own = user.get_full_name() or user.get_username()
        return sent["answered_by"] or (own if sent["answers"] else "")


class FittingForm(AnsweredForm, WorkForm):
    """A form by which something goes onto a machine."""

    def tell(self, refusal: ServiceError) -> None:
        super().tell(refusal)
        if isinstance(refusal, FitnessNotKnown):
            self.ask(critical=any(one.critical for one in refusal.findings))


def causes(label, *, required: bool = True) -> forms.ChoiceField:
    told = gettext_lazy("Choose why it comes off.")
    return forms.ChoiceField(
        label=label,
        choices=CAUSES,
        widget=forms.RadioSelect,
        required=required,
        error_messages={"required": told},
    )


def words(label, longest: int) -> forms.CharField:
    return forms.CharField(label=label, max_length=longest, required=False)


class ChangeForm(FittingForm):
    """The one on the machine comes off and another goes on."""

    act = "change"
    title = gettext_lazy("Put a new one on here")
    button = gettext_lazy("Changed it")

    removal_cause = causes(gettext_lazy("The old one comes off because"))
    fitted = KeptText(
        label=gettext_lazy("The new one, by the key on its tag"),
        widget=forms.TextInput(attrs={"list": "shelf", "autocomplete": "off"}),
    )
    failure_mode = words(gettext_lazy("How it failed, in words"), LONGEST_MODE)
    design = KeptText(
        label=gettext_lazy("Design of the new one; empty: that of the place, or as built"), required=False
    )
    built_on = day_field(gettext_lazy("Built on; empty: as built here, or not known"))

    field_order = [
        "removal_cause",
        "fitted",
        "day",
        "hours",
        "meter_replaced",
        "failure_mode",
        "design",
        "built_on",
        "token",
    ]

    def record(self, organization: Organization, user: User, assembly: Assembly) -> Recorded:
        sent, place = self.cleaned_data, assembly.position
        return install_assembly(
            organization=organization,
            user=user,
            machine=place.machine.key if place else "",
            position=place.key if place else "",
            fitted=Fitted(sent["fitted"], design=sent["design"], built_on=sent["built_on"]),
            comes_off=assembly.key,
            answered_by=self.who_answers(user),
            **installed(sent),
        )


class TakeOffForm(WorkForm):
    """The one on the machine comes off, and nothing goes on."""

    act = "take_off"
    title = gettext_lazy("Take it off")
    button = gettext_lazy("Took it off")

    removal_cause = causes(gettext_lazy("It comes off because"))
    failure_mode = words(gettext_lazy("How it failed, in words"), LONGEST_MODE)

    field_order = ["removal_cause", "day", "hours", "meter_replaced", "failure_mode", "token"]

    def record(self, organization: Organization, user: User, assembly: Assembly) -> Recorded:
        sent = self.cleaned_data
        return remove_assembly(
            organization=organization,
            user=user,
            assembly=assembly.key,
            removed_on=sent["day"],
            removed_hours=sent["hours"],
            removal_cause=sent["removal_cause"],
            failure_mode=sent["failure_mode"],
            meter_replaced=sent["meter_replaced"],
            token=sent["token"],
        )


class InspectForm(WorkForm):
    """Somebody looked at it."""

    act = "inspect"
    title = gettext_lazy("Inspect it")
    button = gettext_lazy("Inspected it")

    grade = forms.ChoiceField(label=gettext_lazy("It is"), choices=GRADES, widget=forms.RadioSelect)
    finding = words(gettext_lazy("What was seen"), LONGEST_FINDING)

    field_order = ["grade", "finding", "day", "hours", "meter_replaced", "token"]

    def record(self, organization: Organization, user: User, assembly: Assembly) -> Recorded:
        sent = self.cleaned_data
        return inspect_assembly(
            organization=organization,
            user=user,
            assembly=assembly.key,
            inspected_on=sent["day"],
            hours=sent["hours"],
            finding=sent["finding"],
            grade=sent["grade"],
            meter_replaced=sent["meter_replaced"],
            token=sent["token"],
        )


class InstallForm(FittingForm):
    """One from the shelf goes on, at one of `places` or at another place by name.

    `there` has the key of what is at each of the places now, by the place's id. The page keeps it in `seen`,
    so that a form that comes late takes off nothing that another put on meanwhile.
    """

    act = "install"
    title = gettext_lazy("Install it")
    button = gettext_lazy("Installed it")

    place = forms.ChoiceField(label=gettext_lazy("Where it goes"), required=False)
    machine = KeptText(label=gettext_lazy("Another place: its machine"), required=False)
    position = KeptText(label=gettext_lazy("Another place: its position"), required=False)
    comes_off = KeptText(
        label=gettext_lazy("Another place: what comes off there, by the key on its tag"), required=False
    )
    seen = forms.JSONField(required=False, widget=forms.HiddenInput)
    removal_cause = causes(
        gettext_lazy("What is there now comes off because (needed where something is there)"), required=False
    )
    failure_mode = words(gettext_lazy("How the old one failed, in words"), LONGEST_MODE)

    field_order = [
        "place",
        "machine",
        "position",
        "comes_off",
        "removal_cause",
        "day",
        "hours",
        "meter_replaced",
        "failure_mode",
        "token",
    ]

    def __init__(
        self, data: Any = None, *, places: list[Position], there: dict[int, str], **more: Any
    ) -> None:
        super().__init__(data, **more)
        self.places = {str(one.pk): one for one in places}
        self.fields["seen"].initial = {str(pk): key for pk, key in there.items()}
        field = self.fields["place"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [
            *((str(one.pk), told_place(one, there.get(one.pk, ""))) for one in places),
            ("", _("Another place, named below")),
        ]

    def clean(self) -> dict[str, Any]:
        sent = super().clean() or {}
        chosen = self.places.get(sent.get("place", ""))
        if chosen is not None:
            seen = sent.get("seen")
            there = seen.get(str(chosen.pk), "") if isinstance(seen, dict) else ""
            sent |= {"machine": chosen.machine.key, "position": chosen.key, "comes_off": str(there)}
        elif not (sent.get("machine") and sent.get("position")):
            self.add_error("machine", _("Name the machine and the position it goes onto."))
        return sent

    def record(self, organization: Organization, user: User, assembly: Assembly) -> Recorded:
        sent = self.cleaned_data
        return install_assembly(
            organization=organization,
            user=user,
            machine=sent["machine"],
            position=sent["position"],
            fitted=Fitted(assembly.key),
            comes_off=sent["comes_off"],
            answered_by=self.who_answers(user),
            **installed(sent),
        )


def told_place(place: Position, there: str) -> str:
    """A place to choose, with what is there now."""
    return _("%(place)s, where %(there)s is now") % {"place": place, "there": there} if there else str(place)


def installed(sent: dict[str, Any]) -> dict[str, Any]:
    """What an installation takes of a form as it is."""
    return {
        "installed_on": sent["day"],
        "installed_hours": sent["hours"],
        "removal_cause": sent["removal_cause"],
        "failure_mode": sent["failure_mode"],
        "meter_replaced": sent["meter_replaced"],
        "token": sent["token"],
    }


ACTS: dict[str, type[WorkForm]] = {
    one.act: one for one in (ChangeForm, TakeOffForm, InspectForm, InstallForm)
}
