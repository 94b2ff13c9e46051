"""The settings and policies of the invented organization."""

import pandas as pd

from .lives import AGE_LIMIT_DAYS
from .positions import LABOUR_COST_PER_HOUR

SETTINGS = {
    "currency": "EUR",
    "kerf_mm": 3,
    "keep_length_mm": 300,
    "stop_setup_cost": 150,
    "labour_cost_per_hour": LABOUR_COST_PER_HOUR,
    "review_days": 7,
    "order_cost": 25,
    "holding_rate_per_year": 0.2,
    "freight_cost": 35,
    "standby_budget": 1500,
}
POLICIES = (
    {"scope": "all", "age_limit_days": AGE_LIMIT_DAYS, "thin_margin_percent": 10, "service_level": 0.95},
    {"scope": "critical:yes", "risk_limit": 0.12, "risk_horizon_days": 90},
    {"scope": "circuit:steering", "risk_limit": 0.09, "risk_horizon_days": 90},
    {"scope": "construction:100R4", "age_limit_days": 2920},
    {"scope": "construction:100R7", "age_limit_days": 1825},
)


def make_settings() -> pd.DataFrame:
    return pd.DataFrame(
        {
            "name": list(SETTINGS),
            "value": [
                f"{value:g}" if isinstance(value, int | float) else value for value in SETTINGS.values()
            ],
        }
    )


def make_policies() -> pd.DataFrame:
    return pd.DataFrame(list(POLICIES))
