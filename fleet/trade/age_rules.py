"""Published rules on the age of hose, to be chosen by name. None applies unless an organization chose it.

`age_rules.csv` says of each where it is from. They conflict, and each is a ceiling: a hose within it may
still have to go, and none says how long a hose lasts.
"""

from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pandas as pd

from forecasting.designs.constructions import normal_construction
from forecasting.wording import gettext_noop

AGE_RULES_FILE = Path(__file__).with_name("age_rules.csv")
CAUTION = gettext_noop(
    "An age rule is a ceiling, not a life: it says when hose must go at the latest, not that it lasts so "
    "long. A rule that the law, the machine's maker or your insurer sets comes first."
)
# Hose of plastic: EN 855 and the SAE types of it, from memory.
THERMOPLASTIC = ("100R7", "100R8", "100R18", "EN 855 R7", "EN 855 R8")


@dataclass(frozen=True, slots=True)
class AgeRule:
    """One published rule: `name` to choose it by; days are None where it says nothing of them.

    age_limit_days       in use, from the day the assembly was built
    hose_shelf_days      of hose by the metre until it is built into an assembly
    assembly_shelf_days  of a made-up assembly until it is used
    material             rubber, or empty for every material
    mark                 found (read somewhere) or memory
    """

    name: str
    standard: str
    edition: str
    applies_to: str
    material: str
    age_limit_days: float | None
    hose_shelf_days: float | None
    assembly_shelf_days: float | None
    note: str
    mark: str
    source: str


@cache
def load_age_rules() -> tuple[AgeRule, ...]:
    """The published age rules in the order of their file."""
    rows = pd.read_csv(AGE_RULES_FILE).rename(columns={"rule": "name"}).fillna({"material": ""})
    rows = rows.astype(object).where(rows.notna(), None)
    return tuple(AgeRule(**row) for row in rows.to_dict("records"))


def age_rule_named(name: str) -> AgeRule | None:
    """The rule of that name, or None."""
    return next((rule for rule in load_age_rules() if rule.name == name), None)


def add_age_limit(policies: pd.DataFrame, rule: AgeRule | None) -> pd.DataFrame:
    """POLICIES with the rule's limit in the widest scope, where the organization set none for all.

    Every narrower scope goes before it, so that it never overrides a limit of the organization's own.
    """
    if rule is None or rule.age_limit_days is None:
        return policies
    for_all = policies["scope"] == "all"
    if not for_all.any():
        row = pd.DataFrame({"scope": ["all"], "age_limit_days": [rule.age_limit_days]})
        added = pd.concat([row.reindex(columns=policies.columns).astype(policies.dtypes), policies])
        return added.reset_index(drop=True)
    unset = for_all & policies["age_limit_days"].isna()
    return policies.assign(age_limit_days=policies["age_limit_days"].mask(unset, rule.age_limit_days))


def add_shelf_lives(parts: pd.DataFrame, rule: AgeRule | None) -> pd.DataFrame:
    """PARTS with the rule's shelf lives for hose and assemblies of which the organization gives none."""
    if rule is None:
        return parts
    covered = pd.Series(True, index=parts.index)
    if rule.material == "rubber":
        covered = ~normal_construction(parts["construction"]).isin(THERMOPLASTIC)
    days = parts["shelf_life_days"]
    for kind, shelf_days in (
        ("bulk_hose", rule.hose_shelf_days),
        ("assembly", rule.assembly_shelf_days),
    ):
        if shelf_days is not None:
            days = days.mask(days.isna() & covered & (parts["kind"] == kind), shelf_days)
    return parts.assign(shelf_life_days=days)
