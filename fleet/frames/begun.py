"""What begun kits hold and what they wait for, as tables: told to the main job."""

import pandas as pd
from django.db.models import Exists, OuterRef, Q

from fleet.models import KitAssembly, KitPart, KitPartState, KitState, Organization
from forecasting.inputs import BEGUN_KITS, WAITING_BUILDS
from forecasting.tables import make_table


def begun_kits(organization: Organization) -> pd.DataFrame:
    """BEGUN_KITS: the parts of every assembly that waits for its turn at the bench or to be fitted.

    An assembly whose parts are spoilt and not set aside anew is not there, but in `waiting_builds`.
    """
    waits = Q(
        kit_assembly__assembly__isnull=True,
        kit_assembly__kit__state=KitState.BEGUN,
        state=KitPartState.RESERVED,
    )
    made = Q(kit_assembly__assembly__position=None, state=KitPartState.USED, scrapped_because="")
    rows = (
        KitPart.objects.of(organization)
        .filter(waits | (made & Q(kit_assembly__assembly__isnull=False)))
        .order_by("kit_assembly", "pk")
        .values_list(
            "kit_assembly__kit__key",
            "kit_assembly__number",
            "pk",
            "kit_assembly__kit__site__key",
            "kit_assembly__position__machine__key",
            "kit_assembly__position__key",
            "kit_assembly__design__key",
            "kit_assembly__assembly",
            "place",
            "part__key",
            "substitute_for__key",
            "quantity",
            "cut_length_mm",
        )
    )
    names = ["kit", "number", "line", "site", "machine", "position", "design", "made", "place", "part"]
    frame = pd.DataFrame(list(rows), columns=[*names, "substitute_for", "quantity", "cut_length_mm"])
    frame["made"] = frame["made"].notna()
    return make_table(frame, BEGUN_KITS)


def waiting_builds(organization: Organization) -> pd.DataFrame:
    """WAITING_BUILDS: the assemblies of kits being built that are not made and hold no parts."""
    held = KitPart.objects.filter(kit_assembly=OuterRef("pk"), state=KitPartState.RESERVED)
    rows = KitAssembly.objects.of(organization).filter(
        ~Exists(held), kit__state=KitState.BEGUN, assembly=None
    )
    columns = {
        "kit": "kit__key",
        "number": "number",
        "site": "kit__site__key",
        "machine": "position__machine__key",
        "position": "position__key",
        "design": "design__key",
        "needed_by": "kit__needed_by",
    }
    frame = pd.DataFrame(list(rows.order_by("pk").values_list(*columns.values())), columns=list(columns))
    return make_table(frame, WAITING_BUILDS)
