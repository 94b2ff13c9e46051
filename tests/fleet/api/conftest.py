"""Two organizations, each with one row of every noun and a plan with a line in every table."""

import datetime
from collections.abc import Callable

import pytest
from rest_framework.test import APIClient

from fleet import models
from fleet.frames.plans import store_plan_lines
from forecasting.outputs import OUTPUTS
from forecasting.tables import make_table

DAY = datetime.date(2024, 3, 1)


def register_of(slug: str) -> models.Organization:
    """An organization with one row of each noun; every key bears its slug."""
    owner = models.Organization.objects.create(name=slug.title(), slug=slug)
    own = {"organization": owner}
    models.Setting.objects.create(name="currency", value=f"EUR {slug}"[:20], **own)
    site = models.Site.objects.create(key=f"{slug} yard", **own)
    machine = models.Machine.objects.create(key=f"{slug}-1", site=site, **own)
    models.MeterReading.objects.create(machine=machine, read_on=DAY, hours=120.5, **own)
    hose, end, ferrule = (
        models.Part.objects.create(key=f"{slug}-{kind}", kind=kind, **own)
        for kind in ("bulk_hose", "hose_end", "ferrule")
    )
    models.CrimpSpec.objects.create(hose_part=hose, end_part=end, crimp_diameter_mm=21.2, **own)
    design = models.Design.objects.create(
        key=f"{slug} design", hose_part=hose, end_a_part=end, end_b_part=end, overall_length_mm=901.7, **own
    )
    models.DesignPart.objects.create(design=design, place="a", part=ferrule, quantity=1, **own)
    position = models.Position.objects.create(
        machine=machine, key=f"{slug} boom", design=design, line="pressure", planned_cost="80.50", **own
    )
    assembly = models.Assembly.objects.create(
        key=f"{slug}-A1", design=design, position=position, installed_on=DAY, **own
    )
    build = models.Build.objects.create(assembly=assembly, design=design, built_on=DAY, accepted=True, **own)
    models.CrimpReading.objects.create(build=build, end="a", number=1, diameter_mm=21.18, **own)
    models.Inspection.objects.create(assembly=assembly, inspected_on=DAY, grade="watch", **own)
    models.StockPiece.objects.create(part=hose, site=site, on_hand=12.5, **own)
    models.OpenOrder.objects.create(order=f"{slug} PO", part=hose, site=site, quantity=50, **own)
    models.ServiceWindow.objects.create(machine=machine, starts_on=DAY, ends_on=DAY, **own)
    models.SiteLabour.objects.create(site=site, starts_on=DAY, ends_on=DAY, labour_minutes=480, **own)
    models.Policy.objects.create(scope=f"site:{slug} yard", age_limit_days=2190, **own)
    return owner


def plan_of(owner: models.Organization) -> models.Plan:
    """A finished plan with one line in every table; every text bears the organization's slug."""
    plan = models.Plan.objects.create(
        organization=owner,
        as_of=DAY,
        state=models.RunState.DONE,
        finished_at=datetime.datetime(2024, 3, 2, tzinfo=datetime.UTC),
        report={"as_of": DAY.isoformat()},
    )
    sample = {"text": owner.slug, "number": 0.25, "whole": 1, "date": DAY, "yes_no": True}
    store_plan_lines(
        plan,
        {
            name: make_table({column.name: [sample[column.kind]] for column in table.columns}, table)
            for name, table in OUTPUTS.items()
        },
    )
    return plan


@pytest.fixture(scope="module")
def gravel(kept_for_module) -> models.Organization:
    return register_of("gravel")


@pytest.fixture(scope="module")
def quarry(kept_for_module) -> models.Organization:
    return register_of("quarry")


@pytest.fixture
def plan(db, gravel) -> models.Plan:
    return plan_of(gravel)


@pytest.fixture
def member(db) -> Callable[..., models.User]:
    """Makes a member of an organization in a role."""

    def make(
        organization: models.Organization, role: str = models.Role.PLANNER, name: str = "ada"
    ) -> models.User:
        user, _ = models.User.objects.get_or_create(username=name)
        models.Membership.objects.create(user=user, organization=organization, role=role)
        return user

    return make


@pytest.fixture
def client_of() -> Callable[[models.User], APIClient]:
    """A client signed in as that person, as in a browser."""

    def make(user: models.User) -> APIClient:
        client = APIClient()
        client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
        return client

    return make


@pytest.fixture
def planner(gravel, member, client_of) -> APIClient:
    """A client signed in as a planner of the gravel works."""
    return client_of(member(gravel))
