"""The demo fleet in an organization of its own, with one member for each role."""

import csv
from collections.abc import Callable
from datetime import date
from pathlib import Path

from django.contrib.auth.hashers import make_password
from django.db import transaction

from fleet.models import Membership, Organization, Role, User

from .importing import import_fleet

DEMO_ORGANIZATION = "Demo fleet"


def load_demo(
    *, folder: Path, progress: Callable[[str], None] = lambda step: None
) -> tuple[Organization, bool]:
    """The demo organization, and whether its fleet was read just now rather than standing there already.

    Raises FolderRefused where the folder has errors.
    """
    standing = Organization.objects.filter(name=DEMO_ORGANIZATION).first()
    if standing is not None:
        return standing, False
    outcome = import_fleet(organization_name=DEMO_ORGANIZATION, folder=folder, progress=progress)
    return outcome.organization, True


@transaction.atomic(durable=True)
def admit_demo_members(*, organization: Organization, password: str) -> list[User]:
    """One member for each role, named demo-planner and so on, all with this password from now on."""
    hashed = make_password(password)
    members = []
    for role in Role.values:
        user, _ = User.objects.update_or_create(username=f"demo-{role}", defaults={"password": hashed})
        Membership.objects.update_or_create(user=user, organization=organization, defaults={"role": role})
        members.append(user)
    return members


def demo_day(folder: Path) -> date:
    """The demo's own date: the day of the newest meter reading in its folder."""
    with (folder / "meter_readings.csv").open(encoding="utf-8", newline="") as file:
        return date.fromisoformat(max(row["read_on"] for row in csv.DictReader(file)))
