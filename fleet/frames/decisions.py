"""What people decided about changeouts, as the table that the main job heeds."""

import pandas as pd

from fleet.models import ChangeoutDecision, Organization, User
from forecasting.inputs import DECISIONS
from forecasting.tables import make_table


def decision_table(organization: Organization) -> pd.DataFrame:
    """DECISIONS of the organization.

    Those withdrawn too, so that a plan for a past day comes out as it did then.
    """
    rows = (
        ChangeoutDecision.objects.of(organization)
        .select_related("assembly", "decided_by")
        .order_by("assembly__key", "decided_on", "pk")
    )
    return make_table(
        [
            {
                "assembly": row.assembly.key,
                "decision": row.kind,
                "day": row.day,
                "reason": row.reason,
                "decided_on": row.decided_on,
                "decided_by": name_of(row.decided_by),
                "withdrawn_on": row.withdrawn_on,
            }
            for row in rows
        ],
        DECISIONS,
    )


def name_of(user: User | None) -> str:
    """A person's full name, else the one to sign in with; empty where the person is gone."""
    return (user.get_full_name() or user.get_username()) if user else ""
