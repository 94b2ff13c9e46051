"""What is done at the machines of the small fleet on one day, and what then is where."""

import datetime

from fleet.models import Assembly
from fleet.services.work.recording import inspect_assembly, install_assembly, remove_assembly
from fleet.services.work.rows import Fitted

TODAY = datetime.date(2024, 2, 1)
DAY = datetime.date(2024, 1, 20)


def put_on(quarry, assembly="A-4", machine="WL-02", position="lift", **more):
    fitted = {name: more.pop(name) for name in ("design", "built_on", "hose_lot") if name in more}
    if more.get("removal_cause"):
        more = {"comes_off": on(f"{machine} {position}") or ""} | more
    said = {"user": None, "installed_on": DAY, "today": TODAY} | more
    return install_assembly(
        organization=quarry, machine=machine, position=position, fitted=Fitted(assembly, **fitted), **said
    )


def taken_off(quarry, assembly="A-2", cause="failed", **more):
    said = {"user": None, "removed_on": DAY, "today": TODAY} | more
    return remove_assembly(organization=quarry, assembly=assembly, removal_cause=cause, **said)


def looked_at(quarry, assembly="A-2", grade="watch", **more):
    said = {"user": None, "inspected_on": DAY, "today": TODAY} | more
    return inspect_assembly(organization=quarry, assembly=assembly, grade=grade, **said)


def on(place: str) -> str | None:
    machine, position = place.split(" ", 1)
    rows = Assembly.objects.filter(position__machine__key=machine, position__key=position, removed_on=None)
    return rows.values_list("key", flat=True).first()
