"""The migrations make the models that stand, one after the other, each with a name of its own."""

import datetime
import importlib
import re

import pytest
from django.apps import apps
from django.core.management import call_command
from django.db import connection
from django.db.migrations.loader import MigrationLoader

from fleet.models import LINES, Organization, Plan, Site, StockMove
from fleet.services.stock.moving import count_stock, move_stock
from tests.fleet.bench_builders import open_shop, plan_kit


@pytest.mark.django_db
def test_no_migration_is_missing():
    call_command("makemigrations", "--check", "--dry-run", verbosity=0)


@pytest.fixture
def migrations() -> list:
    """The app's migrations in the order of their numbers."""
    loader = MigrationLoader(None)
    return [node for (app, _), node in sorted(loader.disk_migrations.items()) if app == "fleet"]


def test_migrations_stand_in_one_line(migrations):
    before = None
    for migration in migrations:
        own = [name for app, name in migration.dependencies if app == "fleet"]
        assert own == ([before] if before else []), f"{migration.name} does not follow {before}"
        before = migration.name


def test_migrations_are_numbered_and_named_for_what_they_do(migrations):
    names = [migration.name for migration in migrations]

    assert [int(name[:4]) for name in names] == list(range(1, len(names) + 1))
    assert [name for name in names if re.search(r"auto_|_initial$", name)] == []


@pytest.mark.django_db
def test_the_database_is_what_the_newest_migration_makes(migrations):
    applied = MigrationLoader(connection).applied_migrations

    assert ("fleet", migrations[-1].name) in applied


@pytest.mark.django_db
def test_the_warning_of_a_plan_of_before_stands_in_its_column():
    quarry = Organization.objects.create(name="Quarry", slug="quarry")
    day = datetime.date(2024, 1, 15)
    own = {
        "plan": Plan.objects.create(organization=quarry, as_of=day),
        "planned_on": day,
        "special_stop": False,
        "due_reason": "unfit",
    }
    warning = "Do not build D-1 for it: peak 380 bar is above 330 bar. Choose a design that bears it first."
    lines = LINES["changeouts"].objects
    lines.create(**own, row=1, assembly="A-1", reason=f"It does not bear it; at once. {warning}")
    lines.create(**own, row=2, assembly="A-2", reason="It is old.")
    importlib.import_module("fleet.migrations.0003_not_to_build").tell_apart(apps, None)
    assert list(lines.order_by("row").values_list("not_to_build", flat=True)) == [warning, ""]


@pytest.mark.django_db
def test_what_a_plan_of_before_warns_of_stands_beside_its_kits_lines_and_cuts():
    plan = plan_kit(open_shop(), "boom", "arm")
    warning = "Do not build D-100 for it: peak 380 bar is above 300 bar. Choose a design that bears it first."
    LINES["changeouts"].objects.filter(position="arm").update(not_to_build=warning)
    tell = importlib.import_module("fleet.migrations.0004_not_to_build_of_kits").tell_kits
    for _again in range(2):
        tell(apps, None)
        assert LINES["kits"].objects.get(plan=plan).not_to_build == f"arm: {warning}"
        lines = LINES["kit_lines"].objects.filter(plan=plan).exclude(not_to_build="")
        assert set(lines.values_list("position", "not_to_build")) == {("arm", warning)}
        assert lines.count() == 5
        cuts = LINES["cut_list"].objects.filter(plan=plan).order_by("line")
        assert list(cuts.values_list("not_to_build", flat=True)) == ["", warning]


@pytest.mark.django_db
def test_what_was_moved_before_moves_were_kept_is_kept_once():
    quarry = open_shop()
    own = {"organization": quarry, "user": None, "part": "E-08"}
    for key in ("yard", "road to yard"):
        Site.objects.create(organization=quarry, key=key)
    count_stock(**own, site="north", on_hand=2500)
    for target, quantity in (("yard", 1200), ("road to yard", 3)):
        move_stock(**own, from_site="north", to_site=target, quantity=quantity)
    moves = StockMove.objects.order_by("pk").values_list(
        "part__key", "from_site__key", "to_site__key", "quantity"
    )
    before = list(moves.all())
    StockMove.objects.all().delete()
    keep = importlib.import_module("fleet.migrations.0010_moves_of_before").keep_moves
    keep(apps, None)
    assert list(moves.all()) == before and len(before) == 2
    move_stock(**own, from_site="north", to_site="yard", quantity=5)
    keep(apps, None)
    assert list(moves.all()) == [*before, ("E-08", "north", "yard", 5)]
