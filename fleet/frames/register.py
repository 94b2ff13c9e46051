"""The register as frames: for writing it out, for laying a folder over it, and for the main job.

A table comes in by one query without joins; the keys that a row names are looked up in the tables before it.
Of the few rows of a table that comes without those it names, the keys come along by joins.
"""

import itertools
from collections.abc import Collection, Iterable, Iterator
from dataclasses import replace

import numpy as np
import pandas as pd
from django.db.models import DecimalField, FloatField, Model, Q, QuerySet
from django.db.models.functions import Cast

from fleet.exchange.assemblies import position_designs
from fleet.exchange.columns import Column, Kind
from fleet.exchange.schema import FILES, FILES_BY_NAME
from fleet.exchange.tables import NUMERIC, dtypes_of
from fleet.models import (
    Assembly,
    ChosenAgeRule,
    CrimpSpec,
    Design,
    DesignPart,
    Organization,
    Part,
    Setting,
)
from fleet.trade.age_rules import AgeRule, add_age_limit, add_shelf_lives, age_rule_named
from fleet.trade.ratings import load_ratings
from forecasting.inputs import INPUTS, POLICIES
from forecasting.policies import Settings
from forecasting.tables import make_table

from .begun import begun_kits, waiting_builds
from .decisions import decision_table
from .nouns import NOUNS, NOUNS_BY_TABLE, Link, Noun

ROWS_AT_ONCE = 20_000
# Stock as it may be taken from: what begun kits hold of a piece is not on hand.
FREE_STOCK = replace(NOUNS_BY_TABLE["stock"], renamed={"on_hand": "free"})
SHELVES = {"stock": FREE_STOCK, "open_orders": NOUNS_BY_TABLE["open_orders"]}


def register_tables(organization: Organization) -> dict[str, pd.DataFrame]:
    """The organization's rows, one frame per file of a fleet folder, in stored units and as entered.

    Sorted by key. An installation's design is given only where it differs from its position's.
    """
    tables = standing_tables(organization)
    stays = tables["assemblies"].dropna(subset=["machine"])
    asked = position_designs(stays, tables["positions"])
    tables["installations"] = stays.assign(
        design=stays["design"].mask((stays["design"] == asked).fillna(False))
    )
    return {
        file.name: tables[file.name][list(dtypes_of(file))].sort_values(list(file.key), ignore_index=True)
        for file in FILES
    }


def core_tables(organization: Organization) -> dict[str, pd.DataFrame]:
    """The tables that `forecasting.pipeline.make_plan` takes: one per INPUTS name, ratings included.

    A published age rule that the organization chose stands in policies and parts where it set nothing itself.
    What begun kits hold is not on hand, but in `begun_kits`; what they wait for in `waiting_builds`.
    """
    tables = _read_all(organization, entered=False)
    stays = tables["assemblies"].dropna(subset=["machine"])
    asked = position_designs(stays, tables["positions"])
    tables["installations"] = stays.assign(design=stays["design"].fillna(asked))
    rule = chosen_age_rule(organization)
    tables["parts"] = _counted_parts(tables["parts"], rule)
    tables["policies"] = add_age_limit(make_table(tables["policies"], POLICIES), rule)
    tables["decisions"] = decision_table(organization)
    tables["ratings"] = load_ratings()
    tables["begun_kits"] = begun_kits(organization)
    tables["waiting_builds"] = waiting_builds(organization)
    return _as_inputs({name: tables[name] for name in INPUTS})


def chosen_age_rule(organization: Organization) -> AgeRule | None:
    """The published age rule that the organization chose, or None."""
    chosen = ChosenAgeRule.objects.of(organization).first()
    return age_rule_named(chosen.rule) if chosen else None


def shelf_lives(parts: Collection[Part], rule: AgeRule | None) -> dict[str, float]:
    """Shelf lives in days by part, those of the chosen `rule` included; a part without one is not there."""
    told = [(part.key, part.kind, part.construction, part.shelf_life_days) for part in parts]
    frame = pd.DataFrame(told, columns=["part", "kind", "construction", "shelf_life_days"])
    frame = frame.astype({"construction": "str", "shelf_life_days": float})
    days = add_shelf_lives(frame, rule).set_index("part")["shelf_life_days"]
    return days[~days.index.duplicated()].dropna().to_dict()


def catalogue_tables(
    organization: Organization, rule: AgeRule | None, designs: Iterable[Design]
) -> dict[str, pd.DataFrame]:
    """The tables of INPUTS that say what an assembly is made of: every part and crimp, and those designs.

    `rule` is the `chosen_age_rule`, which gives parts their shelf lives.
    """
    drawn = {one.pk: one for one in designs}
    asked: dict[str, QuerySet | Collection[Model]] = {
        "parts": Part.objects.of(organization),
        "crimp_specs": CrimpSpec.objects.of(organization),
        "designs": list(drawn.values()),
        "design_parts": DesignPart.objects.filter(design__in=list(drawn)),
    }
    tables: dict[str, pd.DataFrame] = {}
    for name, rows in asked.items():
        tables[name] = _read_table(NOUNS_BY_TABLE[name], rows, tables, entered=False)
    tables["parts"] = _counted_parts(tables["parts"], rule)
    return _as_inputs(tables)


def shelf_tables(organization: Organization, where: Q, *, orders: bool) -> dict[str, pd.DataFrame]:
    """The tables of INPUTS that say what lies where and, with `orders`, what is to come.

    Of both nothing but the rows that `where` holds of. What begun kits hold is not on hand, and a piece that
    is used up is not there.
    """
    where_of = {"stock": where & Q(on_hand__gt=0), "open_orders": where}
    return _as_inputs(
        {
            name: _read_table(noun, _rows_of(noun, organization).filter(where_of[name]), {}, entered=False)
            for name, noun in SHELVES.items()
            if orders or noun is FREE_STOCK
        }
    )


def _as_inputs(tables: dict[str, pd.DataFrame]) -> dict[str, pd.DataFrame]:
    return {name: make_table(_sorted(rows, name), INPUTS[name]) for name, rows in tables.items()}


def core_settings(organization: Organization) -> Settings:
    """The organization's settings; what it did not set has its default."""
    defaults = Settings()
    chosen = Setting.objects.of(organization).values_list("name", "value")
    return Settings(**{name: type(getattr(defaults, name))(value) for name, value in chosen})


def standing_tables(organization: Organization) -> dict[str, pd.DataFrame]:
    """The organization's rows as they stand, one frame per table of NOUNS, each with the row's `id`.

    `assemblies` holds the installed and those that were only built.
    """
    return _read_all(organization, entered=True)


def work_tables(
    organization: Organization, *, machines: Collection[str], assemblies: Collection[str]
) -> dict[str, pd.DataFrame]:
    """The standing tables as far as work on those machines and assemblies is judged by them.

    Of a machine comes all that was ever on it, of an assembly all on the machine that it is on; what a row
    may name comes whole, and what bears on none of it is empty: a large fleet takes no longer to judge.
    """
    keys = Q(key__in=assemblies)
    on = Assembly.objects.of(organization).filter(keys, position__isnull=False)
    touched = {*machines, *on.order_by().values_list("position__machine__key", flat=True)}
    of_assembly = Q(assembly__key__in=assemblies)
    asked: dict[str, Q] = {
        "sites": Q(),
        "machines": Q(),
        "meter_readings": Q(machine__key__in=touched),
        "parts": Q(),
        "designs": Q(),
        "positions": Q(machine__key__in=touched),
        "assemblies": keys | Q(position__machine__key__in=touched),
        "builds": of_assembly | Q(assembly__position__machine__key__in=touched),
        "inspections": of_assembly,
    }
    tables: dict[str, pd.DataFrame] = {}
    for noun in NOUNS:
        rows = _rows_of(noun, organization).filter(asked.get(noun.table, Q(pk__in=[])))
        tables[noun.table] = _read_table(noun, rows, tables, entered=True)
    return tables


def _counted_parts(parts: pd.DataFrame, rule: AgeRule | None) -> pd.DataFrame:
    """The parts with what each is counted in, and the shelf life that the chosen rule gives."""
    usual = pd.Series(np.where(parts["kind"] == "bulk_hose", "metre", "each"), index=parts.index, dtype="str")
    return add_shelf_lives(parts.assign(unit=parts["unit"].fillna(usual)), rule)


def _read_all(organization: Organization, *, entered: bool) -> dict[str, pd.DataFrame]:
    """A frame per table of NOUNS: with the measures as `entered`, or else as the main job takes them."""
    tables: dict[str, pd.DataFrame] = {}
    for noun in NOUNS:
        read = noun if entered else SHELVES.get(noun.table, noun)
        tables[noun.table] = _read_table(read, _rows_of(read, organization), tables, entered=entered)
    return tables


def _rows_of(noun: Noun, organization: Organization) -> QuerySet:
    rows = noun.model.objects.of(organization)
    return rows.with_reserved() if noun is FREE_STOCK else rows


def _read_table(
    noun: Noun, rows: QuerySet | Collection[Model], tables: dict[str, pd.DataFrame], *, entered: bool
) -> pd.DataFrame:
    """The rows, asked for or at hand. Keys that they name are looked up in `tables` where these hold them.

    Without `entered` the columns of measures as entered are left out.
    """
    with_entered = entered and noun.is_measured
    looked_up = [link for link in noun.links if link.table in tables or link.table == noun.table]
    joined = {link.columns[0]: link.path for link in noun.links if link not in looked_up}
    attnames = [
        "id",
        *noun.fields.values(),
        *(link.attname for link in looked_up),
        *joined.values(),
        *(["entered"] if with_entered else []),
    ]
    batches = [
        [np.array(one, dtype=object) for one in zip(*batch, strict=True)]
        for batch in _batches(rows, attnames)
    ]
    values = {
        name: np.concatenate([batch[place] for batch in batches]) if batches else np.empty(0, dtype=object)
        for place, name in enumerate(attnames)
    }
    made = {"id": pd.Series(values["id"].astype(np.int64))}
    for name, field in noun.fields.items():
        made[name] = _column(values[field], noun.file.by_stored_name[name])
    for link in looked_up:
        target = tables.get(link.table, made)
        made |= _linked(values[link.attname], link, target)
    for name, path in joined.items():
        made[name] = _column(values[path], noun.file.by_stored_name[name])
    if with_entered:
        for column in noun.file.measures:
            made |= _as_entered(values["entered"], column)
    names = [name for name in dtypes_of(noun.file) if name in made]
    return pd.DataFrame({"id": made["id"], **{name: made[name] for name in names}})


def _batches(rows: QuerySet | Collection[Model], attnames: list[str]) -> Iterator[list[tuple]]:
    """The rows in batches of tuples, those that are asked for by rising id. Money is a float."""
    if not isinstance(rows, QuerySet):
        if rows:
            yield [tuple(getattr(one, name) for name in attnames) for one in rows]
        return
    of_model = {one.attname: one for one in rows.model._meta.concrete_fields}
    decimals = {
        name: Cast(name, FloatField()) for name in attnames if isinstance(of_model.get(name), DecimalField)
    }
    asked = [f"{name}_as_float" if name in decimals else name for name in attnames]
    told = (
        rows.annotate(**{f"{name}_as_float": cast for name, cast in decimals.items()})
        .order_by("pk")
        .values_list(*asked)
        .iterator(chunk_size=ROWS_AT_ONCE)
    )
    while batch := list(itertools.islice(told, ROWS_AT_ONCE)):
        yield batch


def _column(values: np.ndarray, column: Column) -> pd.Series:
    if column.kind in NUMERIC:
        return pd.Series(values.astype(float))
    if column.kind is Kind.DATE:
        return pd.Series(values.astype("datetime64[s]"))
    if column.kind is Kind.YES_NO:
        return pd.Series(pd.array(values, dtype="boolean"))
    codes, texts = pd.factorize(values)  # one object a distinct text, however many rows hold it
    return pd.Series(pd.array([text or None for text in texts], dtype="str").take(codes, allow_fill=True))


def _linked(ids: np.ndarray, link: Link, target: pd.DataFrame | dict) -> dict[str, pd.Series]:
    """The key columns of the rows that `ids` point to, missing where they point nowhere."""
    key = NOUNS_BY_TABLE[link.table].file.key
    places = pd.Index(target["id"]).get_indexer(pd.Index(ids.astype(float)))
    return {
        column: pd.Series(target[name].array.take(places, allow_fill=True))
        for column, name in zip(link.columns, key, strict=True)
    }


def _as_entered(entered: np.ndarray, column: Column) -> dict[str, pd.Series]:
    value, unit = column.entered_names
    pairs = [one.get(column.name, (None, None)) if one else (None, None) for one in entered]
    return {
        value: pd.Series([pair[0] for pair in pairs], dtype="float64"),
        unit: pd.Series([pair[1] for pair in pairs], dtype="str"),
    }


def _sorted(frame: pd.DataFrame, name: str) -> pd.DataFrame:
    """By key, so that a plan does not hang on the order in which rows came into the register."""
    file = FILES_BY_NAME.get(name)
    return frame if file is None else frame.sort_values(list(file.key), ignore_index=True)
