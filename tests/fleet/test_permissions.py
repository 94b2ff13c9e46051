"""Who may do what, and that an organization is invisible to those outside."""

import itertools

import pytest
from django.http import Http404

from fleet.models import Membership, Organization, Role, User
from fleet.permissions import ALLOWED, Action, may, membership_of


@pytest.fixture
def gravel(db):
    return Organization.objects.create(name="Gravel Works", slug="gravel-works")


@pytest.fixture
def planner(gravel):
    user = User.objects.create_user("ada")
    Membership.objects.create(user=user, organization=gravel, role=Role.PLANNER)
    return user


def test_every_role_is_declared():
    assert set(ALLOWED) == set(Role)


def test_each_role_may_read():
    assert all(may(role, Action.READ) for role in Role)


def test_each_role_in_turn_may_do_all_that_the_one_before_may():
    order = [Role.VIEWER, Role.SHOP, Role.PLANNER, Role.MANAGER, Role.OWNER]
    assert all(ALLOWED[less] < ALLOWED[more] for less, more in itertools.pairwise(order))


def test_the_shop_records_builds_but_neither_replans_nor_orders():
    assert may(Role.SHOP, Action.RECORD_BUILD)
    assert not may(Role.SHOP, Action.REPLAN)
    assert not may(Role.SHOP, Action.ORDER)


def test_only_the_owner_manages_members():
    assert [role for role in Role if may(role, Action.MANAGE_MEMBERS)] == [Role.OWNER]


def test_a_role_nobody_declared_may_do_nothing():
    assert not any(may("janitor", action) for action in Action)


def test_a_member_is_found_by_the_organizations_slug(gravel, planner):
    membership = membership_of(planner, "gravel-works")

    assert (membership.organization, membership.role) == (gravel, Role.PLANNER)


def test_an_outsider_is_told_the_same_about_a_foreign_organization_as_about_none(gravel, django_user_model):
    outsider = django_user_model.objects.create_user("bob")

    with pytest.raises(Http404) as foreign:
        membership_of(outsider, "gravel-works")
    with pytest.raises(Http404) as nowhere:
        membership_of(outsider, "nowhere")

    assert str(foreign.value).replace("gravel-works", "nowhere") == str(nowhere.value)


def test_a_person_who_left_has_no_place_any_more(planner):
    planner.is_active = False
    planner.save()

    with pytest.raises(Http404):
        membership_of(planner, "gravel-works")
