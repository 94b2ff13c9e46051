"""Who has no account yet is invited by an owner, and chooses a password at an address that holds once."""

import re
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from fleet.models import Invitation, Membership, Role, User
from fleet.models.organizations import INVITATION_LASTS

PASSWORD = "a long pass phrase"
CHOSEN = {"new_password1": PASSWORD, "new_password2": PASSWORD}
ENDED = "This invitation does not hold"


@pytest.fixture
def owner(gravel, member_of):
    return member_of(gravel, Role.OWNER)


@pytest.fixture
def guest() -> Client:
    return Client()


def page(organization) -> str:
    return reverse("belong", args=[organization.slug])


def invite(owner, organization, name: str = "anna.new", role: str = "shop") -> str:
    """The address that the page shows."""
    answer = owner.post(page(organization), {"name": name, "role": role, "invite": name})
    return answer.context["address"]


def test_who_has_no_account_is_offered_an_invitation(gravel, owner):
    answer = owner.post(page(gravel), {"name": "anna.new", "role": "shop"})
    assert answer.status_code == 422 and "invite them if they have none yet" in answer.content.decode()
    assert "Invite anna.new" in answer.content.decode() and not Invitation.objects.exists()
    button = re.search(r'<button[^>]*name="invite" value="([^"]*)"', answer.content.decode())
    owner.post(page(gravel), {"name": "bert.new", "role": "shop", "invite": button[1]})
    assert Invitation.objects.get().name == "anna.new", (
        "the button says whom, whatever the field says by then"
    )


def test_an_invited_person_chooses_a_password_and_is_in(gravel, owner, guest):
    address = invite(owner, gravel)
    shown = guest.get(address)
    assert "Invitation to Gravel Works" in shown.content.decode() and "no-store" in shown["Cache-Control"]
    answer = guest.post(address, CHOSEN, follow=True)
    assert answer.redirect_chain[-1][0] == reverse("build", args=[gravel.slug])
    assert "You belong to Gravel Works now. Next time, sign in as anna.new" in answer.content.decode()
    assert Client().login(request=answer.wsgi_request, username="anna.new", password=PASSWORD)
    place = Membership.objects.get(user__username="anna.new")
    assert (place.role, place.history.get().history_user.username) == ("shop", "owner of Gravel Works")
    assert "anna.new" not in owner.get(page(gravel)).context["invitations"].values_list("name", flat=True)


def test_an_invitation_holds_once(gravel, owner, guest):
    address = invite(owner, gravel)
    guest.post(address, CHOSEN)
    for again in (Client().get(address), Client().post(address, CHOSEN)):
        assert again.status_code == 404 and ENDED in again.content.decode()
    assert User.objects.filter(username="anna.new").count() == 1


def test_an_invitation_ends_after_a_week(gravel, owner, guest):
    address = invite(owner, gravel)
    Invitation.objects.update(invited_at=Invitation.objects.get().ends_at - 2 * INVITATION_LASTS)
    assert ENDED in guest.post(address, CHOSEN).content.decode()
    assert "invite them anew" in owner.get(page(gravel)).content.decode()
    Invitation.objects.update(invited_at=Invitation.objects.get().invited_at + timedelta(minutes=1))
    assert guest.get(address).status_code == 200
    assert not User.objects.filter(username="anna.new").exists()


def test_an_address_that_was_tampered_with_answers_nobody(gravel, owner, guest):
    address = invite(owner, gravel)
    other = re.sub(r".(?=/$)", lambda last: "A" if last[0] != "A" else "B", address)
    assert guest.get(other).status_code == guest.post(other, CHOSEN).status_code == 404
    assert not User.objects.filter(username="anna.new").exists()


def test_no_address_stands_in_the_database(gravel, owner):
    secret = invite(owner, gravel).rstrip("/").rpartition("/")[2]
    assert secret not in str(Invitation.objects.values().get())
    assert secret not in owner.get(page(gravel)).content.decode()


def test_a_new_invitation_of_a_name_and_a_word_of_an_owner_end_the_one_before(gravel, owner, guest):
    first, second = invite(owner, gravel), invite(owner, gravel)
    assert guest.get(first).status_code == 404 and guest.get(second).status_code == 200
    withdraw = reverse("withdraw_invited", args=[gravel.slug, Invitation.objects.get().pk])
    assert "holds no longer" in owner.post(withdraw, follow=True).content.decode()
    assert guest.get(second).status_code == 404
    assert "used or withdrawn before" in owner.post(withdraw, follow=True).content.decode()


def test_an_invitation_holds_as_long_as_who_invited_is_an_owner(gravel, owner, guest):
    address = invite(owner, gravel, role="owner")
    Membership.objects.update(role=Role.MANAGER)
    assert guest.post(address, CHOSEN).status_code == 404
    assert not User.objects.filter(username="anna.new").exists()


def test_an_invitation_whose_owner_is_one_no_more_is_told_as_ended(gravel, owner):
    invite(owner, gravel)
    ended = "ended, as owner of Gravel Works is no owner any more; invite them anew"
    assert ended not in owner.get(page(gravel)).content.decode()
    second = User.objects.create_user("second owner")
    Membership.objects.create(user=second, organization=gravel, role=Role.OWNER)
    Membership.objects.exclude(user=second).update(role=Role.MANAGER)
    owner.force_login(second)
    assert ended in owner.get(page(gravel)).content.decode()
    invite(owner, gravel)
    assert ended not in owner.get(page(gravel)).content.decode()


@pytest.mark.parametrize("role", [Role.VIEWER, Role.SHOP, Role.PLANNER, Role.MANAGER])
def test_no_other_role_invites_or_withdraws(gravel, member_of, owner, role):
    invite(owner, gravel)
    client = member_of(gravel, role)
    asked = {"name": "eve", "role": "owner", "invite": "eve"}
    assert client.post(page(gravel), asked).status_code == 403
    withdraw = reverse("withdraw_invited", args=[gravel.slug, Invitation.objects.get().pk])
    assert client.post(withdraw).status_code == 403
    assert Invitation.objects.get().name == "anna.new"


def test_an_owner_withdraws_none_of_another_organization(gravel, quarry, member_of):
    invite(member_of(quarry, Role.OWNER), quarry)
    owner = member_of(gravel, Role.OWNER)
    owner.post(reverse("withdraw_invited", args=[gravel.slug, Invitation.objects.get().pk]))
    assert Invitation.objects.count() == 1


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("OWNER of Gravel Works", "is taken"),
        ("anna new", "Enter a valid username"),
        ("a/b", "valid username"),
    ],
)
def test_a_name_that_is_taken_or_cannot_be_is_not_invited(gravel, owner, name, told):
    answer = owner.post(page(gravel), {"name": name, "role": "shop", "invite": name})
    assert answer.status_code == 422 and told in answer.content.decode()
    assert not Invitation.objects.exists()


def test_a_name_that_somebody_got_meanwhile_makes_no_second_account(gravel, owner, guest):
    address = invite(owner, gravel)
    User.objects.create_user("Anna.New")
    answer = guest.post(address, CHOSEN)
    assert answer.status_code == 422 and "The name anna.new is taken." in answer.content.decode()


@pytest.mark.parametrize(
    ("chosen", "told"),
    [
        (CHOSEN | {"new_password2": "another phrase"}, "didn’t match"),
        (dict.fromkeys(CHOSEN, "short"), "too short"),
        (dict.fromkeys(CHOSEN, "anna.new1"), "too similar"),
        (dict.fromkeys(CHOSEN, "password1"), "too common"),
    ],
)
def test_a_poor_password_is_refused_with_what_is_wrong(gravel, owner, guest, chosen, told):
    address = invite(owner, gravel)
    answer = guest.post(address, chosen)
    assert answer.status_code == 422 and told in answer.content.decode()
    assert guest.get(address).status_code == 200 and not User.objects.filter(username="anna.new").exists()


def test_who_is_signed_in_makes_no_account_of_another(gravel, owner):
    address = invite(owner, gravel)
    assert "You are signed in as owner of Gravel Works." in owner.get(address).content.decode()
    owner.post(address, CHOSEN)
    assert not User.objects.filter(username="anna.new").exists()


def test_a_form_of_another_site_accepts_nothing(gravel, owner):
    address = invite(owner, gravel)
    strict = Client(enforce_csrf_checks=True)
    assert strict.post(address, CHOSEN).status_code == 403
    assert "form-action 'self'" in strict.get(address)["Content-Security-Policy"]


def test_no_secret_goes_into_the_log(gravel, owner, caplog):
    """A password that is refused, an address that holds no longer, a strange form: all of them are logged."""
    address = invite(owner, gravel)
    secret = address.rstrip("/").rpartition("/")[2]
    Client().post(address, CHOSEN | {"new_password2": "another phrase"})
    Client(enforce_csrf_checks=True).post(address, CHOSEN)
    Invitation.objects.all().delete()
    Client().get(address)
    Client().get(f"/calendars/{secret}.ics")
    logged = [record.getMessage().rpartition(": ")[2] for record in caplog.records]
    assert logged == ["/invitations/…/"] * 3 + ["/calendars/…"]
