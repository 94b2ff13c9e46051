"""What is refused where kits are begun, built at the bench, and taken apart."""

from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from ..errors import Overtaken, ServiceError


class NoPlan(ServiceError):
    """There is no plan in force to begin a kit of."""

    code = "no_plan"
    message = gettext_lazy("There is no plan in force. Make a plan, then begin its kits.")


class KitNotThere(ServiceError):
    """A kit that the plan in force does not have, or that nobody has begun."""

    code = "kit_not_there"
    message = gettext_lazy("There is no kit %(kit)s %(where)s. %(right)s")


class KitBegun(Overtaken):
    """Somebody began it before."""

    code = "kit_begun"
    message = gettext_lazy("%(kit)s was begun before: %(told)s Nothing more of it is to begin.")


class KitLacks(ServiceError):
    """Not every assembly of the kit can be supplied; `lacks` names what is short, by assembly."""

    code = "kit_lacks"
    message = gettext_lazy("%(kit)s lacks: %(told)s %(right)s")

    def __init__(self, *, kit: str, lacks: list[str], ready: int, of: int) -> None:
        self.lacks, self.ready = lacks, ready
        right = (
            _("%(ready)s of its %(of)s assemblies can be built now: begin these alone, or wait for the rest.")
            % {"ready": ready, "of": of}
            if ready
            else _("Nothing of it can be built yet.")
        )
        super().__init__(kit=kit, told=" ".join(lacks), right=right)


class KitClosed(Overtaken):
    """It is made, or was taken apart."""

    code = "kit_closed"
    message = gettext_lazy("%(kit)s was %(done)s on %(day)s. %(right)s")


class AssemblyMade(Overtaken):
    """Somebody accepted this assembly of the kit before."""

    code = "assembly_made"
    message = gettext_lazy(
        "No. %(number)s of %(kit)s is made already: %(assembly)s, accepted by %(who)s on %(day)s."
    )


class NothingSetAside(ServiceError):
    """An assembly of a begun kit whose parts are not there."""

    code = "nothing_set_aside"
    message = gettext_lazy(
        "For no. %(number)s of %(kit)s no parts are set aside. Set them aside first, once they are there."
    )


class PartsChanged(Overtaken):
    """What an assembly of a begun kit holds is not what the person saw."""

    code = "parts_changed"
    message = gettext_lazy(
        "Other parts are set aside for no. %(number)s of %(kit)s than you saw: somebody may have "
        "scrapped it already. Look at what it holds now."
    )


class AssemblyKeyTaken(ServiceError):
    """A tag that another assembly has."""

    code = "assembly_key_taken"
    message = gettext_lazy("There is an assembly %(assembly)s already. Take another tag; %(free)s is free.")


class ReasonMissing(ServiceError):
    """Something that is done only with a reason."""

    code = "reason_missing"
    message = gettext_lazy("Say why %(what)s: who looks for the cause later has nothing else.")


@dataclass(frozen=True, slots=True)
class BuildFinding:
    """One thing against a build: `field` of its record, whether it is `refused` or asked about, and why."""

    code: str
    field: str
    refused: bool
    text: str


class BuildRefused(ServiceError):
    """The record does not pass; `findings` holds all that is against it, questions included."""

    code = "build_refused"
    message = gettext_lazy("Not accepted: %(told)s")

    def __init__(self, findings: list[BuildFinding]) -> None:
        self.findings = findings
        super().__init__(told=" ".join(one.text for one in findings if one.refused))


class BuildQuestioned(ServiceError):
    """The record passes once somebody answers for what is unusual in it; `findings` holds the questions."""

    code = "build_questioned"
    message = gettext_lazy("Look again, then confirm: %(told)s")

    def __init__(self, findings: list[BuildFinding]) -> None:
        self.findings = findings
        super().__init__(told=" ".join(one.text for one in findings))
