"""What is refused where a person decides about a changeout."""

from django.utils.translation import gettext_lazy

from ..errors import ServiceError


class AssemblyNotThere(ServiceError):
    """An assembly that is in no position: never entered, not fitted yet, or taken off."""

    code = "assembly_not_there"
    message = gettext_lazy("%(assembly)s %(why)s. Decide about a hose that is on a machine.")


class DecisionDay(ServiceError):
    """A day that is missing, past, or given where none is asked for."""

    code = "decision_day"
    message = "%(wrong)s %(right)s"


class NotAWindow(ServiceError):
    """A day on which the machine has no service window."""

    code = "not_a_window"
    message = gettext_lazy("%(machine)s has no service window on %(day)s. %(right)s")


class ReasonMissing(ServiceError):
    """What is refused or left past a limit, and nobody said why."""

    code = "reason_missing"
    message = gettext_lazy(
        "%(assembly)s %(what)s. Say why: your name and the reason stand beside it until it is withdrawn."
    )


class CriticalNotPutOff(ServiceError):
    """A critical position, put off past its due date."""

    code = "critical_not_put_off"
    message = gettext_lazy(
        "%(position)s is critical, and %(limit)s: it is not put off past %(due)s. %(right)s "
        "Where the due date is wrong, correct what it comes from: the pressures, the inspection "
        "or the policy."
    )


class NothingDecided(ServiceError):
    """No decision stands."""

    code = "nothing_decided"
    message = gettext_lazy(
        "No decision about %(assembly)s stands; it was withdrawn already, or none was made."
    )
