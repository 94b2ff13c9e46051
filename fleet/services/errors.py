"""What a service refuses, as code, named data and a sentence that says what would be right."""

import datetime

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy, ngettext

from forecasting.wording import tell_day


class ServiceError(Exception):
    """A refusal a person can act on. Subclasses set `code` and a `message` that names their data.

    It is told in the language that was active when it was refused, and its days as pages have them.
    """

    code = "refused"
    message: str | Promise = gettext_lazy("That cannot be done.")

    def __init__(self, **data) -> None:
        self.data = data
        told = {
            name: tell_day(value) if type(value) is datetime.date else value for name, value in data.items()
        }
        super().__init__(str(self.message) % told)


class Overtaken(ServiceError):
    """Somebody else was there first: what was asked was right when it was asked."""


class PlanRuns(Overtaken):
    """Another run of the main job holds this organization."""

    code = "plan_runs"
    message = gettext_lazy(
        "A plan for %(organization)s is being made since %(since)s. Wait for it to finish, then ask again."
    )


class DayOutOfReach(ServiceError):
    """The day to plan for lies where no register of hoses reaches."""

    code = "day_out_of_reach"
    message = gettext_lazy("There is no planning for %(day)s. Name a day from %(first)s to %(last)s.")


class DayAhead(ServiceError):
    """A plan was asked for of a day that has not come: it would count on nothing that happens until then."""

    code = "day_ahead"
    message = gettext_lazy("%(day)s is ahead: a plan speaks of a day that has come.")


class NewerInForce(ServiceError):
    """A plan of a past day would take the place of one that knows more."""

    code = "newer_in_force"
    message = gettext_lazy(
        "A plan of %(day)s would take the place of the one in force, of %(newer)s. What past days would "
        "have said is tried on “How right past forecasts were”, and changes nothing."
    )


class BacktestRuns(Overtaken):
    """Another backtest of this organization is being made."""

    code = "backtest_runs"
    message = gettext_lazy(
        "A backtest for %(organization)s is being made. Wait for it to finish, then ask again."
    )


class NothingToReplay(ServiceError):
    """No past date asked for lies far enough back for its forecast to have been tried."""

    code = "nothing_to_replay"
    message = gettext_lazy(
        "Nothing to replay from %(from_day)s: the last record is of %(until)s, and a forecast is "
        "tried 30 days after its date at the earliest. Name an earlier day, or record what has "
        "happened since."
    )


class PlanGivenUp(ServiceError):
    """The run showed no sign of life for so long that it was taken for dead; it publishes nothing."""

    code = "plan_given_up"
    message = gettext_lazy(
        "The plan for %(organization)s gave no sign of life for too long and was given up. Ask again."
    )


class FolderRefused(ServiceError):
    """A fleet folder has errors; nothing of it was stored.

    `findings` holds them all, `beside` the rows they are about, by the file's label.
    """

    code = "folder_refused"
    message = gettext_lazy(
        "%(told)s in the fleet folder: nothing was stored. Mend the rows named in the findings."
    )

    def __init__(self, *, errors: int, findings: list, beside: dict | None = None) -> None:
        self.findings = findings
        self.beside = beside or {}
        told = ngettext("%(n)s error", "%(n)s errors", errors) % {"n": f"{errors:,}"}
        super().__init__(errors=errors, told=told)


class RegisterMoved(ServiceError):
    """The register has changed since somebody looked at what a folder would change; nothing was stored.

    `look` tells what it would change now.
    """

    code = "register_moved"
    message = gettext_lazy(
        "The register has changed since you looked: the folder would now change something else."
    )

    def __init__(self, *, look) -> None:
        self.look = look
        super().__init__()


class NotLookedAt(ServiceError):
    """The folder does not wait for anybody's word, or not about what they saw."""

    code = "not_looked_at"
    message = gettext_lazy(
        "What this folder would change was told anew meanwhile, or it waits no longer. Look again."
    )


class SheetNotMatched(ServiceError):
    """The columns of a sheet are not matched so that a fleet folder comes of it.

    `clashes` are its rows that say different things of one thing, `on_record` those whose hose would get the
    design of its place though they tell of another.
    """

    code = "sheet_not_matched"
    message = gettext_lazy("Nothing was read yet: say what is still asked for below.")

    def __init__(self, *, clashes: list, on_record: list) -> None:
        self.clashes, self.on_record = clashes, on_record
        super().__init__()


class NameNotTaken(ServiceError):
    """An organization cannot have that name."""

    code = "name_not_taken"
    message = gettext_lazy(
        'An organization cannot be named "%(name)s". Give it a name of 1 to %(most)s characters.'
    )


class NameNotFree(ServiceError):
    """Another organization has that name; nothing else is told of it."""

    code = "name_not_free"
    message = gettext_lazy(
        'An organization cannot be named "%(name)s", which is in use. Add a place or a branch to it; if '
        "it is your own, ask its owner to add you."
    )


class UploadNotReadable(ServiceError):
    """What was sent is no fleet folder in any form that is taken."""

    code = "upload_not_readable"
    message = gettext_lazy(
        "%(fault)s. Send one .zip or .xlsx, or several .csv files named as a fleet folder's."
    )


class FolderTaken(ServiceError):
    """The folder to write into holds something that an export does not write."""

    code = "folder_taken"
    message = gettext_lazy(
        "%(folder)s holds %(stranger)s, which is no file of a fleet folder. Name a new or empty folder."
    )
