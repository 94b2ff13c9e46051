"""Who belongs to an organization: said by its owner, on a page."""

import pytest
from django.urls import reverse

from fleet.models import Membership, Role, User


@pytest.fixture
def owner(gravel, member_of):
    return member_of(gravel, Role.OWNER)


@pytest.fixture
def ada(db):
    return User.objects.create_user("ada")


def page(organization) -> str:
    return reverse("belong", args=[organization.slug])


def change(client, membership, role: str = "no_longer") -> str:
    address = reverse("change_role", args=[membership.organization.slug, membership.pk])
    return client.post(address, {"role": role}, follow=True).content.decode()


def test_an_owner_adds_who_signs_in_and_says_as_what(gravel, owner, ada):
    assert page(gravel) in owner.get(reverse("organizations")).content.decode()
    text = owner.post(page(gravel), {"name": "ada", "role": "shop"}, follow=True).content.decode()
    assert "ada belongs to it now." in text
    added = Membership.objects.get(user=ada)
    assert (added.role, added.history.get().history_user.username) == ("shop", "owner of Gravel Works")
    assert "ada is there as planner now." in change(owner, added, "planner")
    assert "ada belongs to it no longer." in change(owner, added)
    assert not Membership.objects.filter(user=ada).exists()


def test_who_has_no_account_or_belongs_to_it_is_not_added(gravel, owner, ada):
    text = owner.post(page(gravel), {"name": "eve", "role": "shop"}).content.decode()
    assert "Nobody signs in as eve." in text
    owner.post(page(gravel), {"name": "ada", "role": "shop"})
    text = owner.post(page(gravel), {"name": "ada", "role": "owner"}).content.decode()
    assert "ada belongs to it already, as shop." in text


def test_the_last_owner_stays(gravel, owner, ada):
    mine = Membership.objects.get()
    for role in ("viewer", "no_longer"):
        assert "is its only owner. Make another an owner first." in change(owner, mine, role)
    owner.post(page(gravel), {"name": "ada", "role": "owner"})
    change(owner, mine, "viewer")
    assert Membership.objects.get(pk=mine.pk).role == "viewer"


def test_nobody_but_an_owner_says_who_belongs_and_of_no_other_organization(gravel, quarry, member_of, ada):
    theirs = Membership.objects.create(user=ada, organization=quarry, role=Role.SHOP)
    assert member_of(gravel, Role.MANAGER).get(page(gravel)).status_code == 403
    owner = member_of(gravel, Role.OWNER)
    assert owner.get(page(quarry)).status_code == 404
    address = reverse("change_role", args=[gravel.slug, theirs.pk])
    assert owner.post(address, {"role": "no_longer"}).status_code == 404


@pytest.mark.parametrize("role", [Role.VIEWER, Role.SHOP, Role.PLANNER, Role.MANAGER])
def test_no_other_role_adds_or_changes_anybody(gravel, member_of, ada, role):
    theirs = Membership.objects.create(user=ada, organization=gravel, role=Role.SHOP)
    client = member_of(gravel, role)
    address = reverse("change_role", args=[gravel.slug, theirs.pk])
    assert client.post(address, {"role": "owner"}).status_code == 403
    assert client.post(page(gravel), {"name": "ada", "role": "owner"}).status_code == 403
    assert Membership.objects.get(pk=theirs.pk).role == Role.SHOP


def test_a_choice_that_is_none_changes_nothing_and_says_so(gravel, owner, ada):
    theirs = Membership.objects.create(user=ada, organization=gravel, role=Role.SHOP)
    for role in ("", "king"):
        assert "Choose what ada is to be there as." in change(owner, theirs, role)
    assert Membership.objects.get(pk=theirs.pk).role == Role.SHOP


def test_anybody_may_leave_but_the_last_owner(gravel, owner, ada, client):
    Membership.objects.create(user=ada, organization=gravel, role=Role.SHOP)
    leave = reverse("leave", args=[gravel.slug])
    assert "is its only owner" in owner.post(leave, follow=True).content.decode()
    client.force_login(ada)
    assert leave in client.get(reverse("organizations")).content.decode()
    assert "You belong to Gravel Works no longer." in client.post(leave, follow=True).content.decode()
    assert client.post(leave).status_code == 404
    assert Membership.objects.get().role == Role.OWNER
