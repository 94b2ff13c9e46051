"""What must hold between the rows of a register, asked of it as it would stand after a reading.

Each module asks about one noun. Only rows that the folder brings are reported: what stood before stood.
"""

import datetime

import pandas as pd

from ..findings import Findings
from ..merging import Fleet
from .builds import check_builds
from .crimps import check_crimps
from .days import check_days
from .designs import check_designs
from .limits import check_costs, check_policies, check_settings
from .meters import check_meters
from .parts import check_parts
from .references import check_references
from .stays import check_stays


def check_fleet(fleet: Fleet, ratings: pd.DataFrame, today: datetime.date, findings: Findings) -> None:
    """Adds everything that cannot be or is worth a second look; `ratings` is RATINGS of the core's inputs."""
    check_references(fleet, findings)
    check_days(fleet, today, findings)
    check_settings(fleet, findings)
    check_parts(fleet, ratings, findings)
    check_crimps(fleet, findings)
    check_builds(fleet, findings)
    check_designs(fleet, findings)
    check_costs(fleet, findings)
    check_meters(fleet, findings)
    check_stays(fleet, findings)
    check_policies(fleet, findings)


__all__ = ["check_fleet"]
