"""What is refused where hoses are taken off, put on and inspected."""

from dataclasses import dataclass

from django.utils.translation import gettext_lazy

from fleet.exchange.findings import Finding

from ..errors import Overtaken, ServiceError


class WorkRefused(ServiceError):
    """What was entered cannot be; nothing of it was stored.

    `findings` are those of the rules that a fleet folder is held to; `places` says of which position each is,
    empty where it is about the machine.
    """

    code = "work_refused"
    message = "%(told)s"

    def __init__(self, findings: list[Finding], places: list[str]) -> None:
        self.findings, self.places = findings, places
        super().__init__(told=" ".join(f"{one.wrong} {one.right}" for one in findings))


class NothingToRecord(ServiceError):
    """A form on which nothing comes off and nothing goes on."""

    code = "nothing_to_record"
    message = gettext_lazy(
        "Nothing was entered for %(machine)s. Say what comes off and for what cause, or what goes on."
    )


class NotInstalled(ServiceError):
    """Something is to come off that is on no machine."""

    code = "not_installed"
    message = "%(what)s. %(right)s"


class CauseMissing(ServiceError):
    """Something is to come off for no cause, from which nothing could be learned."""

    code = "cause_missing"
    message = gettext_lazy("Say why %(assembly)s comes off: %(causes)s.")


class InstalledBefore(ServiceError):
    """An assembly is to go on that was on a machine before."""

    code = "installed_before"
    message = gettext_lazy(
        "%(assembly)s went onto %(place)s on %(day)s, and a hose is installed once. Put another "
        "one on; if the register is wrong there, mend its row in installations.csv."
    )


class RemovedBefore(Overtaken):
    """Somebody recorded the removal already."""

    code = "removed_before"
    message = gettext_lazy(
        "%(assembly)s came off %(place)s on %(day)s already, as the register says. Nothing was changed."
    )


class ComesOffMissing(ServiceError):
    """Something is to come off, and nobody says what was seen there: it may be another by now."""

    code = "comes_off_missing"
    message = gettext_lazy(
        "Say what comes off %(place)s, by the key on its tag: another may be there by now."
    )


class AnotherThere(Overtaken):
    """Somebody changed the position since the person looked."""

    code = "another_there"
    message = gettext_lazy(
        "%(seen)s was to come off %(place)s, and %(there)s now. Look again; nothing was changed."
    )


class PositionTaken(ServiceError):
    """Something is there, and the form does not say that it comes off."""

    code = "position_taken"
    message = gettext_lazy(
        "%(assembly)s is on %(place)s since %(day)s. Say for what cause it comes off, then put %(new)s on."
    )


class DesignMissing(ServiceError):
    """Nobody knows what goes on: neither the register nor the position says a design."""

    code = "design_missing"
    message = gettext_lazy(
        "The register has no assembly %(assembly)s, and %(place)s asks for no design. Say its design."
    )


class NewMeterUnread(ServiceError):
    """A new meter that no reading would start: all hours after it would be counted wrong."""

    code = "new_meter_unread"
    message = gettext_lazy("A new meter is noted, and %(why)s. %(right)s")


@dataclass(frozen=True, slots=True)
class FitFinding:
    """What speaks against an assembly in a place: `refused`, or asked about where it is not known whether it
    is rated for it. `critical` says whether a named person must answer."""

    position: str
    refused: bool
    critical: bool
    text: str


class UnfitForPlace(ServiceError):
    """Something is to go on that its place asks more of than it is rated for; `findings` holds all such, and
    what is not known of others."""

    code = "unfit_for_place"
    message = "%(told)s"

    def __init__(self, findings: list[FitFinding]) -> None:
        self.findings = findings
        super().__init__(told=" ".join(one.text for one in findings if one.refused))


class FitnessNotKnown(ServiceError):
    """Whether what is to go on is rated for its place is not known, and nobody answers for it yet."""

    code = "fitness_not_known"
    message = "%(told)s"

    def __init__(self, findings: list[FitFinding]) -> None:
        self.findings = findings
        super().__init__(told=" ".join(one.text for one in findings))
