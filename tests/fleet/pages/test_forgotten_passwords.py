"""Who forgot their password chooses another at an address from an owner, who opens nobody else's by it."""

import pytest
from django.test import Client
from django.urls import reverse

from fleet.models import AccessToken, CalendarFeed, Membership, Role, User
from fleet.services.plans.calendars import open_calendar

OLD = "a long pass phrase"
NEW = "another long pass phrase"
CHOSEN = {"new_password1": NEW, "new_password2": NEW}
ENDED = "This address does not hold"
NOT_HERE = "ada does not sign in for this organization alone."


@pytest.fixture
def owner(gravel, member_of):
    return member_of(gravel, Role.OWNER)


@pytest.fixture
def ada(gravel):
    return Membership.objects.create(
        organization=gravel, user=User.objects.create_user("ada", password=OLD), role=Role.SHOP
    )


def ask(client, place):
    keys = [place.organization.slug, place.pk]
    return client.post(reverse("offer_password", args=keys), follow=True)


def address_for(client, place) -> str:
    return ask(client, place).context["address"]


def opened(address: str) -> tuple[Client, str]:
    """A visitor and where the address led them."""
    visitor = Client()
    answer = visitor.get(address, follow=True)
    return visitor, answer.redirect_chain[-1][0] if answer.redirect_chain else address


def shown(address: str) -> tuple[int, str]:
    answer = Client().get(address, follow=True)
    return answer.status_code, answer.content.decode()


def test_a_person_chooses_another_password_at_the_address_of_an_owner(owner, ada):
    text = ask(owner, ada).content.decode()
    assert "Hand this address to ada, who chooses a password there." in text
    assert ada.history.latest().history_change_reason == "offered a new password"
    assert ada.history.latest().history_user.username == "owner of Gravel Works"
    visitor, form = opened(address_for(owner, ada))
    page = visitor.get(form)
    assert 'value="ada"' in page.content.decode() and "no-store" in page["Cache-Control"]
    answer = visitor.post(form, CHOSEN, follow=True)
    assert "Your password is changed. Sign in as ada with it." in answer.content.decode()
    ada.user.refresh_from_db()
    assert ada.user.check_password(NEW) and not ada.user.check_password(OLD)


def test_who_tried_the_old_password_too_often_signs_in_with_the_new_one(owner, ada, settings):
    settings.AXES_FAILURE_LIMIT = 2
    client, way = Client(), reverse("sign_in")
    tries = [client.post(way, {"username": "ada", "password": "wrong"}).status_code for _try in range(2)]
    assert tries[-1] == 429, "locked out"
    visitor, form = opened(address_for(owner, ada))
    visitor.post(form, CHOSEN)
    assert client.post(way, {"username": "ada", "password": NEW}).status_code == 302


def test_the_secret_is_gone_from_the_address_before_a_password_is_asked_for(owner, ada):
    address = address_for(owner, ada)
    _visitor, form = opened(address)
    assert address.rstrip("/").rpartition("/")[2] not in form


def test_the_address_holds_once(owner, ada):
    address = address_for(owner, ada)
    visitor, form = opened(address)
    visitor.post(form, CHOSEN)
    status, text = shown(address)
    assert status == 404 and ENDED in text and "reset" not in text


@pytest.mark.parametrize("standing", ["added elsewhere", "left", "made staff", "disabled", "signed in"])
def test_the_address_ends_when_what_the_person_may_do_changes(owner, ada, quarry, standing):
    address = address_for(owner, ada)
    assert shown(address)[0] == 200
    if standing == "added elsewhere":
        Membership.objects.create(organization=quarry, user=ada.user, role=Role.OWNER)
    elif standing == "left":
        ada.delete()
    elif standing == "signed in":
        Client().post(reverse("sign_in"), {"username": "ada", "password": OLD})
    else:
        column, value = {"made staff": ("is_staff", True), "disabled": ("is_active", False)}[standing]
        User.objects.filter(pk=ada.user.pk).update(**{column: value})
    status, text = shown(address)
    assert status == 404 and ENDED in text and "reset" not in text


@pytest.mark.parametrize("standing", ["removed", "no owner", "disabled", "one more"])
def test_the_address_ends_when_the_owners_change_so_that_none_keeps_a_way_back_in(
    owner, ada, gravel, standing
):
    address = address_for(owner, ada)
    place = Membership.objects.get(organization=gravel, role=Role.OWNER)
    if standing == "removed":
        place.delete()
    elif standing == "no owner":
        Membership.objects.filter(pk=place.pk).update(role=Role.VIEWER)
    elif standing == "disabled":
        User.objects.filter(pk=place.user_id).update(is_active=False)
    else:
        Membership.objects.create(organization=gravel, user=User.objects.create_user("eve"), role=Role.OWNER)
    assert shown(address)[0] == 404


def test_the_address_ends_when_the_persons_role_changes(owner, ada):
    address = address_for(owner, ada)
    Membership.objects.filter(pk=ada.pk).update(role=Role.PLANNER)
    assert shown(address)[0] == 404


def test_nobody_changes_their_own_password_so_without_the_old_one(owner, gravel):
    place = Membership.objects.get(organization=gravel, role=Role.OWNER)
    answer = ask(owner, place)
    assert "address" not in answer.context
    assert "You change your own password on the page behind your name." in answer.content.decode()
    assert place.history.count() == 1, "nothing was offered"


def test_a_new_address_ends_the_one_before(owner, ada):
    first, second = address_for(owner, ada), address_for(owner, ada)
    assert shown(first)[0] == 404
    visitor, form = opened(second)
    visitor.post(form, CHOSEN)
    ada.user.refresh_from_db()
    assert ada.user.check_password(NEW)


def test_an_address_that_is_open_already_ends_with_another_too(owner, ada):
    visitor, form = opened(address_for(owner, ada))
    address_for(owner, ada)
    assert visitor.post(form, CHOSEN).status_code == 404
    ada.user.refresh_from_db()
    assert ada.user.check_password(OLD)


def test_what_is_offered_to_one_person_ends_no_address_of_another(owner, ada, gravel):
    bob = Membership.objects.create(organization=gravel, user=User.objects.create_user("bob"), role=Role.SHOP)
    address = address_for(owner, ada)
    address_for(owner, bob)
    assert shown(address)[0] == 200


def test_what_answered_without_the_old_password_is_revoked_with_it(owner, ada, gravel):
    """Nobody who chooses a password here has shown that they knew the old one."""
    _row, key = AccessToken.objects.create(user=ada.user, organization=gravel)
    AccessToken.objects.create(user=User.objects.create_user("bob"), organization=gravel)
    open_calendar(organization=gravel, user=ada.user, name="mine")
    program, elsewhere = Client(headers={"Authorization": f"Token {key}"}), Client()
    elsewhere.force_login(ada.user, backend="django.contrib.auth.backends.ModelBackend")
    machines = "/api/v1/machines/"
    assert program.get(machines).status_code == 200
    assert elsewhere.get(reverse("organizations")).status_code == 200
    visitor, form = opened(address_for(owner, ada))
    answer = visitor.post(form, CHOSEN, follow=True)
    said = answer.content.decode().replace("\N{NO-BREAK SPACE}", " ")
    assert "Revoked with it: 1 API token; 1 calendar address." in said
    assert program.get(machines).status_code == 401
    assert [token.user.username for token in AccessToken.objects.all()] == ["bob"]
    assert not CalendarFeed.objects.filter(revoked_at=None).exists()
    assert elsewhere.get(reverse("organizations")).status_code == 302, "signed out there"


def test_the_address_ends_after_three_days(owner, ada, settings):
    address = address_for(owner, ada)
    settings.PASSWORD_RESET_TIMEOUT = -1
    assert shown(address)[0] == 404


@pytest.mark.parametrize("more", ["another organization", "staff"])
def test_no_owner_opens_an_account_that_does_more_than_work_for_them(owner, ada, quarry, more):
    if more == "staff":
        User.objects.filter(pk=ada.user.pk).update(is_staff=True)
    else:
        Membership.objects.create(organization=quarry, user=ada.user, role=Role.VIEWER)
    answer = ask(owner, ada)
    assert "address" not in answer.context and NOT_HERE in answer.content.decode()
    assert ada.history.count() == 1, "nothing was offered"


def test_nobody_but_an_owner_of_the_same_organization_offers_one(ada, gravel, quarry, member_of):
    assert ask(member_of(gravel, Role.MANAGER), ada).status_code == 403
    theirs = reverse("offer_password", args=[quarry.slug, ada.pk])
    assert member_of(quarry, Role.OWNER).post(theirs).status_code == 404
    assert (
        member_of(gravel, Role.OWNER).get(reverse("offer_password", args=[gravel.slug, ada.pk])).status_code
        == 405
    )


def test_who_is_signed_in_gets_no_form(owner, ada):
    text = owner.get(address_for(owner, ada), follow=True).content.decode()
    assert "You are signed in as owner of Gravel Works. Hand this address to ada" in text
    assert "new_password1" not in text


def test_a_poor_password_is_refused_and_the_old_one_stays(owner, ada):
    visitor, form = opened(address_for(owner, ada))
    answer = visitor.post(form, dict.fromkeys(CHOSEN, "password1"))
    assert answer.status_code == 422 and "too common" in answer.content.decode()
    ada.user.refresh_from_db()
    assert ada.user.check_password(OLD)


def test_the_secret_stands_in_no_log(owner, ada, caplog):
    address = address_for(owner, ada)
    secret = address.rstrip("/").rpartition("/")[2]
    Client().get(address.replace("/new-passwords/", "/new-passwords/x"), follow=True)
    Client().get(f"{address}nowhere/")
    assert "Not Found" in caplog.text and secret not in caplog.text
