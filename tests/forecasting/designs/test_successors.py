import pandas as pd

from fleet.trade.ratings import load_ratings
from forecasting.designs.successors import warn_of_unfit_designs
from forecasting.policies import position_limits
from tests.forecasting.builders import (
    a_design,
    a_machine,
    a_position,
    a_site,
    an_installation,
    build_tables,
    hose,
    hose_end,
)
from tests.forecasting.stock_builders import a_changeout, changeouts_of


def warned_reason(design: str | None, **position) -> str:
    """The reason of a changeout for which `design` is to be built: D-1 bears 330 bar, D-2 500 bar.

    It ends with what is `not_to_build`.
    """
    tables = build_tables(
        sites=[a_site()],
        machines=[a_machine()],
        parts=[
            hose(),
            hose("H-9", rated_pressure_bar=500.0),
            hose_end(),
            hose_end("E-9", rated_pressure_bar=500.0),
        ],
        designs=[a_design(), a_design("D-2", hose_part="H-9", end_a_part="E-9", end_b_part="E-9")],
        positions=[a_position(**position)],
        installations=[an_installation()],
    ) | {"ratings": load_ratings()}
    asked = a_changeout("M-1/boom 1", design=design, reason="It is old.")
    told = warn_of_unfit_designs(changeouts_of(asked), tables, position_limits(tables)).iloc[0]
    warning = "" if pd.isna(told["not_to_build"]) else told["not_to_build"]
    assert told["reason"] == f"It is old. {warning}".strip()
    return told["reason"]


def test_a_design_that_would_be_over_its_rating_in_its_place_is_not_to_be_built():
    assert warned_reason("D-1", peak_pressure_bar=380.0) == (
        "It is old. Do not build D-1 for it: peak 380 bar is above the 330 bar rating of hose H-6 "
        "(weakest part). Choose a design that bears it first."
    )


def test_nothing_is_said_of_a_design_that_bears_its_place_or_of_what_nobody_can_judge():
    assert warned_reason("D-2", peak_pressure_bar=380.0) == "It is old."
    assert warned_reason("D-1") == "It is old."
    assert warned_reason(None, peak_pressure_bar=380.0) == "It is old."
