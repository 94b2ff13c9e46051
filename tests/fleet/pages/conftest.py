"""Two organizations, and one member of the first in each role."""

import pytest

from fleet.models import Membership, Organization, Role, User
from tests.fleet.pages.small_fleet import small_fleet, small_plan


@pytest.fixture
def gravel(db):
    return Organization.objects.create(name="Gravel Works", slug="gravel-works")


@pytest.fixture
def quarry(db):
    return Organization.objects.create(name="Slate Quarry", slug="slate-quarry")


@pytest.fixture
def member_of(client):
    """Signs a new member in and returns the client."""

    def sign_in(organization: Organization, role: str = Role.PLANNER):
        user = User.objects.create_user(f"{role} of {organization}")
        Membership.objects.create(user=user, organization=organization, role=role)
        client.force_login(user)
        return client

    return sign_in


@pytest.fixture
def planned(gravel):
    """Gravel Works with its small fleet and a plan in force."""
    small_fleet(gravel)
    small_plan(gravel)
    return gravel
