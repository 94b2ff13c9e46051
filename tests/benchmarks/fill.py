"""The fill rate that the stock advice promises, and the one that following it for years reaches.

    python -m tests.benchmarks.fill [--parts 200] [--years 5] [--seed 11]

Each part has its own fleet, failure rate, lead time with its spread, pack and service level, all drawn from
the seed. Demand is drawn day by day; an order is placed at each weekly review as the advice says and comes
after a lead time drawn anew. What is met from the shelf is held against the promise, weighted by demand. Aim:
within 1.5 points, for all parts and for each kind of them.
"""

import argparse

import pandas as pd

from tests.forecasting.test_fill_rate import live_through


def compare(lived: pd.DataFrame, by: str) -> pd.DataFrame:
    """Promised and reached fill rates of the kinds of parts `by`, in per cent."""
    sums = lived.groupby(by)[["asked", "met", "promised_met"]].sum()
    promised, reached = (100 * sums[column] / sums["asked"] for column in ("promised_met", "met"))
    told = pd.DataFrame(
        {
            "by": by,
            "parts": lived.groupby(by).size(),
            "promised": promised,
            "reached": reached,
            "points": reached - promised,
        }
    )
    return told.rename_axis("value").reset_index()


def main() -> None:
    asked = argparse.ArgumentParser(description="Fill rates promised and reached.")
    asked.add_argument("--parts", type=int, default=200)
    asked.add_argument("--years", type=int, default=5)
    asked.add_argument("--seed", type=int, default=11)
    given = asked.parse_args()
    lived = pd.DataFrame([live_through(part, given.years, given.seed) for part in range(given.parts)])
    kinds = ["all", "pack", "lead_time_sd_days", "service_level"]
    told = [compare(lived.assign(all="all"), by) for by in kinds]
    columns = ["by", "value", "parts", "promised", "reached", "points"]
    print(pd.concat(told)[columns].round(2).to_string(index=False))


if __name__ == "__main__":
    main()
