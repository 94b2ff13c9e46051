"""What a write begins and ends with: it holds the organization, and signs who changed a row and why.

None of these opens a transaction. Whoever changes what belongs to an organization holds its row before any
other: two people come one after the other, and no two wait for each other in a ring.
"""

from fleet.models import Membership, Organization, User
from fleet.models.organizations import Owned

REASON_LENGTH = 100  # of the history's column


def hold_organization(organization: Organization) -> Organization:
    """The organization as it is now, held until the transaction is over.

    Against other writers alone: a new row that names it (a sign-in, a folder sent in) need not wait.
    """
    return Organization.objects.select_for_update(no_key=True).get(pk=organization.pk)


def save_signed(row: Owned, user: User | None, reason: str) -> None:
    """Stores the row with who and why, if it is one that may stand. Raises ValidationError."""
    row.full_clean()
    sign(row, user, reason)
    row.save()


def sign(row: Owned | Membership, user: User | None, reason: str) -> None:
    """Says who and why in the record that the history keeps of the next change."""
    vars(row).update(_history_user=user, _change_reason=reason[:REASON_LENGTH])
