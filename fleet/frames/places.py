"""Places of machines as the core's tables, with the catalogue and no other row of the fleet."""

from collections.abc import Collection

import pandas as pd

from fleet.models import Design, Organization, Policy, Position
from fleet.trade.age_rules import add_age_limit
from fleet.trade.ratings import load_ratings
from forecasting.designs.ratings import complete_parts
from forecasting.inputs import INPUTS, POLICIES, POSITIONS
from forecasting.tables import make_table

from .register import catalogue_tables, chosen_age_rule


def place_tables(
    organization: Organization, positions: Collection[Position] = (), designs: Collection[Design] = ()
) -> dict[str, pd.DataFrame]:
    """A table per INPUTS name: every part, crimp and rating, these positions with what is drawn for them, and
    those designs. Policies are there where there is a position that they may bear on.

    What bears on none of them is empty, as is the stock: `shelf_tables` has that. Parts are completed, as
    several judges ask of them. Each position comes with its machine, site and design.
    """
    rule = chosen_age_rule(organization)
    belong = [one.design for one in positions if one.design]
    tables = catalogue_tables(organization, rule, [*belong, *designs]) | {"ratings": load_ratings()}
    if positions:
        policies = make_table(list(Policy.objects.of(organization).values(*POLICIES.names)), POLICIES)
        tables["policies"] = add_age_limit(policies, rule)
        tables["positions"] = make_table([_known(_row(one)) for one in positions], POSITIONS)
        machines = {one.machine.key: one.machine for one in positions}.values()
        rows = [{"machine": one.key, "site": one.site.key, "model": one.model} for one in machines]
        tables["machines"] = make_table([_known(one) for one in rows], INPUTS["machines"])
    tables = {name: tables[name] if name in tables else make_table(None, INPUTS[name]) for name in INPUTS}
    return tables | {"parts": complete_parts(tables)}


def _row(position: Position) -> dict:
    """The position's row of POSITIONS."""
    linked = {
        "machine": position.machine.key,
        "position": position.key,
        "design": position.design.key if position.design else None,
    }
    own = {one.name: getattr(position, one.name) for one in POSITIONS.columns if one.name not in linked}
    return own | linked


def _known(row: dict) -> dict:
    """The row with None for every text that the register keeps empty."""
    return {name: None if value == "" else value for name, value in row.items()}
