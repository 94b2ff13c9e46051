"""Forms that may be sent more than once, as without a steady connection: each counts once, by its token.

Both are steps of a service that holds the organization, so that of two at once the second sees the first.
"""

import uuid

from django.utils.translation import gettext_lazy

from fleet.models import Organization, SentEntry, User

from .errors import ServiceError

OUTCOME_LENGTH = 300  # of the entry's column


class TokenSpent(ServiceError):
    """A token under which something else was taken."""

    code = "token_spent"
    message = gettext_lazy(
        "Under that token this was taken already: %(told)s Send this under one of its own."
    )


def told_before(organization: Organization, token: uuid.UUID | None) -> str | None:
    """What the form of that token did when it was first sent; None where it was not."""
    if token is None:
        return None
    rows = SentEntry.objects.filter(organization=organization, token=token)
    return rows.values_list("outcome", flat=True).first()


def take_form(organization: Organization, token: uuid.UUID | None, user: User | None, told: str) -> None:
    """Keeps that the form of that token was taken, and what it did."""
    if token is not None:
        outcome = told if len(told) <= OUTCOME_LENGTH else f"{told[: OUTCOME_LENGTH - 1]}…"
        SentEntry.objects.create(organization=organization, token=token, sent_by=user, outcome=outcome)
