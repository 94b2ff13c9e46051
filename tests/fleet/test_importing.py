"""Taking a fleet folder into an empty register: every row, its history, its warnings."""

import datetime

import pytest

from fleet.exchange.merging import State
from fleet.models import Assembly, Machine, Part, Position, StockPiece, User
from fleet.services.folders.importing import import_fleet
from tests.fleet.builders import fleet_files, write_fleet_folder

pytestmark = pytest.mark.django_db

TODAY = datetime.date(2024, 2, 1)


@pytest.fixture
def take(tmp_path):
    """Takes the files into the register of the quarry, as a folder of their own."""
    folders = (tmp_path / str(number) for number in range(100))

    def taken(files, **how):
        folder = write_fleet_folder(next(folders), files)
        return import_fleet(folder=folder, organization_name="Quarry", today=TODAY, **how)

    return taken


def created(outcome):
    return {name: rows[State.CREATED] for name, rows in outcome.counts.items() if rows[State.CREATED]}


def changed(outcome):
    return {name: rows[State.CHANGED] for name, rows in outcome.counts.items() if rows[State.CHANGED]}


def test_every_row_of_every_file_is_taken_in(take):
    files = fleet_files()
    outcome = take(files)
    assert created(outcome) == {name: len(rows) for name, rows in files.items()}
    assert outcome.findings == []
    assert (outcome.organization.name, outcome.organization.slug) == ("Quarry", "quarry")
    assembly = Assembly.objects.get(key="A-1")
    assert str(assembly.position) == "EX-01 boom left"
    assert assembly.design.key == "D-100"
    assert (assembly.installed_hours, assembly.removal_cause) == (2900, "failed")
    position = Position.objects.get(key="boom left")
    assert position.working_pressure_bar == pytest.approx(241.3165, rel=1e-6)
    assert position.entered["working_pressure"] == [3500, "psi"]
    assert str(position.failure_cost) == "1900.2500"
    assert position.critical is True


def test_of_stock_in_feet_hose_alone_is_in_feet_and_ends_are_counted(take):
    take(fleet_files())
    on_hand = dict(StockPiece.objects.values_list("part__key", "on_hand"))
    assert on_hand == {"H-2SN-06": pytest.approx(49.9872), "E-JIC-06": 25}
    stock = fleet_files()["stock"]
    assert take({"stock": stock}).changed_nothing
    stock[1]["on_hand_ft"] = "24"
    assert changed(take({"stock": stock})) == {"stock": 1}
    assert StockPiece.objects.get(part__key="E-JIC-06").on_hand == 24


def test_history_tells_who_changed_what_and_when(take):
    user = User.objects.create(username="planner")
    take(fleet_files(), user=user)
    take({"machines": [{"machine": "EX-01", "site": "North pit", "model": "36 t excavator"}]}, user=user)
    now, before = Machine.objects.get(key="EX-01").history.all()
    assert (before.history_type, now.history_type) == ("+", "~")
    assert (before.model, now.model) == ("30 t excavator", "36 t excavator")
    assert now.history_user == user
    assert now.history_change_reason == "fleet folder"
    assert now.history_date > before.history_date
    assert now.diff_against(before).changed_fields == ["model"]
    assert Machine.objects.get(key="WL-02").history.count() == 1


def test_successors_come_before_the_parts_they_follow(take):
    chain = [
        {"part": f"S-{number}", "kind": "sleeve", "superseded_by": f"S-{number + 1}" if number < 4 else ""}
        for number in range(5)
    ]
    take({"parts": chain})
    assert Part.objects.get(key="S-0").superseded_by.key == "S-1"
    assert Part.objects.get(key="S-3").history.count() == 1


def test_a_warning_stops_nothing(take):
    files = fleet_files()
    files["installations"][0]["removal_cause"] = ""
    outcome = take(files)
    assert [finding.severity for finding in outcome.findings] == ["warning"]
    assert Assembly.objects.get(key="A-1").removal_cause == ""
