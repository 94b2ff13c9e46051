"""Margins of assemblies with trade defaults: a hose, its ends and its place, as a test says them."""

from fleet.trade.ratings import load_ratings
from forecasting.designs.margins import judge_margins
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


def judge_all(**rows):
    usual = {
        "sites": [a_site()],
        "machines": [a_machine()],
        "parts": [hose(), hose_end()],
        "designs": [a_design()],
        "positions": [a_position()],
        "installations": [an_installation()],
    }
    tables = build_tables(**{**usual, **rows}) | {"ratings": load_ratings()}
    return judge_margins(tables["installations"], tables, position_limits(tables))


def judge(*, peak=None, working=None, position=None, of_hose=None, of_end=None, installation=None, **rows):
    """The margin of one assembly: hose H-6 of 330 bar and two ends E-6 of 350 bar unless said otherwise."""
    asked = {"working_pressure_bar": working, "peak_pressure_bar": peak, **(position or {})}
    usual = {
        "parts": [hose(**(of_hose or {})), hose_end(**(of_end or {}))],
        "positions": [a_position(**asked)],
        "installations": [an_installation(**(installation or {}))],
    }
    return judge_all(**{**usual, **rows}).iloc[0]
