"""What the database itself refuses, whoever writes: pages, API, folders or a person with a console."""

import datetime

import pytest
from django.db import IntegrityError, models, transaction

from fleet.exchange.columns import Kind
from fleet.frames.nouns import NOUNS, NOUNS_BY_TABLE
from fleet.models import Assembly, Organization, Position
from tests.fleet.builders import take_small_fleet

DAY = datetime.date.fromisoformat


pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def quarry(kept_for_module, tmp_path_factory) -> Organization:
    return take_small_fleet(tmp_path_factory.mktemp("fleet"), "Quarry", DAY("2024-02-01"))


def refused(change) -> str:
    """What the database says when it refuses the change."""
    with pytest.raises(IntegrityError) as error, transaction.atomic():
        change()
    return str(error.value)


def test_stays_in_one_position_never_overlap(quarry):
    """A-1 was at the left boom from 2022-03-01 to 2023-05-04, A-2 has been there since."""
    stay = {"organization": quarry, "position": Position.objects.get(key="boom left")}
    for installed_on, removed_on in (
        ("2022-06-01", "2022-07-01"),  # within
        ("2022-02-01", "2022-03-02"),  # over the first day
        ("2023-05-03", "2023-05-04"),  # over the last day
        ("2022-01-01", "2023-12-01"),  # around
        ("2023-06-01", None),  # beside the one that is there now
    ):
        days = {"installed_on": DAY(installed_on), "removed_on": DAY(removed_on) if removed_on else None}
        refused(lambda days=days: Assembly.objects.create(key="A-9", **stay, **days))


def test_stays_in_one_position_never_overlap_when_one_is_moved(quarry):
    position = Position.objects.get(key="boom left")
    refused(lambda: Assembly.objects.filter(key="A-3").update(position=position))
    refused(lambda: Assembly.objects.filter(key="A-1").update(removed_on=DAY("2023-05-05")))


def test_the_next_assembly_may_enter_on_the_day_the_last_one_leaves(quarry):
    Assembly.objects.filter(key="A-2").update(removed_on=DAY("2024-01-10"))
    entered = Assembly.objects.create(
        organization=quarry,
        key="A-9",
        position=Position.objects.get(key="boom left"),
        installed_on=DAY("2024-01-10"),
    )
    assert list(Assembly.objects.installed_on(DAY("2024-01-10")).filter(position__key="boom left")) == [
        entered
    ]


def test_a_stay_that_cannot_be_is_refused(quarry):
    for change, constraint in (
        ({"removed_on": "2022-02-28"}, "assembly_removed_after_installed"),
        ({"built_on": "2022-03-02"}, "assembly_built_before_installed"),
        ({"installed_hours": -1}, "assembly_installed_hours_not_negative"),
        ({"position": None}, "assembly_installed_somewhere_on_a_day"),
    ):
        rows = Assembly.objects.filter(key="A-1")
        assert constraint in refused(lambda rows=rows, change=change: rows.update(**change))


def test_a_quantity_that_cannot_be_is_refused(quarry):
    for table, change, constraint in (
        ("stock", {"on_hand": -1}, "stock_not_negative"),
        ("open_orders", {"quantity": -1}, "order_not_negative"),
        ("design_parts", {"quantity": -1}, "design_part_not_negative"),
        ("meter_readings", {"hours": -1}, "reading_not_negative"),
        ("parts", {"rated_pressure_bar": -1}, "part_rating_not_negative"),
        ("positions", {"planned_cost": -1}, "position_planned_cost_not_negative"),
        ("service_windows", {"ends_on": "2024-02-01"}, "window_ends_after_start"),
        ("site_labour", {"labour_minutes": -1}, "site_labour_not_negative"),
        ("machines", {"hours_per_day": 25}, "machine_day_has_24_hours"),
        ("policies", {"risk_limit": 1.5}, "policy_risk_is_a_chance"),
        ("crimp_readings", {"diameter_mm": 0}, "crimp_reading_positive"),
    ):
        model = NOUNS_BY_TABLE[table].model
        rows = model.objects.filter(pk=model.objects.of(quarry).first().pk)
        assert constraint in refused(lambda rows=rows, change=change: rows.update(**change))


def test_a_key_stands_once_in_an_organization(quarry):
    for noun in NOUNS:
        twin = noun.model.objects.of(quarry).first()
        twin.pk = None
        refused(lambda twin=twin: models.Model.save_base(twin, raw=True))


@pytest.mark.parametrize("noun", NOUNS, ids=lambda noun: noun.table)
def test_the_register_keeps_every_column_of_the_files(noun):
    """A text is as long in the database as the schema lets it be, and every column has its place."""
    linked = {column for link in noun.links for column in link.columns}
    assert set(noun.fields) | linked == set(noun.file.by_stored_name)
    for name, field_name in noun.fields.items():
        column, field = noun.file.by_stored_name[name], noun.model._meta.get_field(field_name)
        if column.kind is Kind.TEXT:
            assert column.longest == field.max_length, name
        if column.kind is Kind.CHOICE:
            assert max(map(len, column.choices)) <= field.max_length, name
        if column.kind is Kind.CHOICES:
            assert len("+".join(column.choices)) <= field.max_length, name
        if column.required:
            assert not field.null, name
