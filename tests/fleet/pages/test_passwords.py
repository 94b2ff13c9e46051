"""Changing one's password, and revoking with it what answers without one."""

import pytest
from django.db import OperationalError, connection
from django.test import Client
from django.urls import reverse

from fleet.models import AccessToken, CalendarFeed, Invitation, Role, User
from fleet.services.people.invitations import invite_person
from fleet.services.people.passwords import change_password
from fleet.services.plans.calendars import open_calendar

PASSWORD, NEW = "a long pass phrase", "another long phrase"
ADDRESS = reverse("change_password")


def text_of(answer) -> str:
    return " ".join(answer.content.decode().split())


def change(client, **more):
    sent = {"old_password": PASSWORD, "new_password1": NEW, "new_password2": NEW, **more}
    return client.post(ADDRESS, sent, follow=True)


@pytest.fixture
def ada(db):
    return User.objects.create_user("ada", password=PASSWORD)


@pytest.fixture
def signed_in(client, ada):
    client.force_login(ada, backend="django.contrib.auth.backends.ModelBackend")
    return client


@pytest.fixture
def let_in(gravel, quarry, ada):
    """Of Ada two tokens, a calendar that answers and one that was stopped; of Bob one of each."""
    other = User.objects.create_user("bob")
    for user, organization in ((ada, gravel), (ada, quarry), (other, gravel)):
        AccessToken.objects.create(user=user, organization=organization)
    for user, name in ((ada, "mine"), (ada, "stopped"), (other, "his")):
        open_calendar(organization=gravel, user=user, name=name)
    CalendarFeed.objects.filter(name="stopped").update(revoked_at="2026-05-01T00:00Z")


def test_whoever_is_signed_in_changes_their_password(signed_in, ada):
    assert ADDRESS in signed_in.get(reverse("organizations")).content.decode()
    assert "entered incorrectly" in text_of(change(signed_in, old_password="guess"))
    short = change(signed_in, new_password1="x", new_password2="x")
    assert short.status_code == 422 and "too short" in text_of(short)
    answer = change(signed_in)
    assert "Your password is changed." in text_of(answer), "and who changed it stays signed in"
    ada.refresh_from_db()
    assert ada.check_password(NEW)


def test_elsewhere_the_person_is_asked_for_the_new_password(signed_in, ada):
    elsewhere = Client()
    elsewhere.force_login(ada, backend="django.contrib.auth.backends.ModelBackend")
    assert "Here you stay signed in; wherever else you are" in text_of(signed_in.get(ADDRESS))
    change(signed_in)
    assert signed_in.get(ADDRESS).status_code == 200
    assert elsewhere.get(ADDRESS).url == f"{reverse('sign_in')}?next={ADDRESS}"


def test_nobody_changes_a_password_without_signing_in(client, db):
    sent = client.post(ADDRESS, headers={"referer": f"http://testserver{ADDRESS}"})
    assert client.get(ADDRESS).url == sent.url == f"{reverse('sign_in')}?next={ADDRESS}"


def test_who_has_no_token_and_no_calendar_is_offered_nothing_to_revoke(signed_in):
    assert "Revoke" not in text_of(signed_in.get(ADDRESS))
    assert "Revoked" not in text_of(change(signed_in, revoke="on"))


def test_the_page_names_what_answers_without_the_password_and_leaves_it_unless_asked(signed_in, ada, let_in):
    page = signed_in.get(ADDRESS)
    assert "Revoke what works without a password: 2 API tokens; 1 calendar address" in text_of(page)
    assert not page.context["form"]["revoke"].value()
    assert "Revoked" not in text_of(change(signed_in))
    assert AccessToken.objects.filter(user=ada).count() == 2
    assert CalendarFeed.objects.get(name="mine").revoked_at is None


def test_what_there_is_none_of_is_not_named(signed_in, ada, gravel):
    open_calendar(organization=gravel, user=ada)
    text = text_of(signed_in.get(ADDRESS))
    assert "without a password: 1 calendar address" in text and "API token" not in text


def test_ticked_all_of_the_persons_and_nobody_elses_is_revoked_with_the_change(signed_in, ada, let_in):
    stopped = CalendarFeed.objects.get(name="stopped").revoked_at
    answer = change(signed_in, revoke="on")
    assert "Revoked with it: 2 API tokens; 1 calendar address." in text_of(answer)
    assert [token.user.username for token in AccessToken.objects.all()] == ["bob"]
    assert [feed.name for feed in CalendarFeed.objects.filter(revoked_at=None)] == ["his"]
    assert CalendarFeed.objects.get(name="stopped").revoked_at == stopped
    ada.refresh_from_db()
    assert ada.check_password(NEW)


def test_an_open_invitation_is_revoked_as_well(signed_in, ada, gravel):
    """Somebody with an owner's password could have left one to come back by."""
    for inviter, name in ((ada, "eve"), (User.objects.create_user("bob"), "carl")):
        invite_person(organization=gravel, user=inviter, name=name, role=Role.OWNER)
    assert "without a password: 1 open invitation" in text_of(signed_in.get(ADDRESS))
    assert "Revoked with it: 1 open invitation." in text_of(change(signed_in, revoke="on"))
    assert [one.name for one in Invitation.objects.all()] == ["carl"]


def test_a_wrong_password_revokes_nothing_and_the_tick_stands(signed_in, let_in):
    answer = change(signed_in, old_password="guess", revoke="on")
    assert answer.context["form"]["revoke"].value()
    assert AccessToken.objects.count() == 3 and CalendarFeed.objects.filter(revoked_at=None).count() == 2


def test_where_revoking_fails_the_password_stays(ada, let_in):
    def lost(execute, sql, *more):
        if "CALENDARFEED" in sql.upper():
            raise OperationalError("the connection is lost")
        return execute(sql, *more)

    with pytest.raises(OperationalError), connection.execute_wrapper(lost):
        change_password(user=ada, password=NEW, revoke=True)
    ada.refresh_from_db()
    assert ada.check_password(PASSWORD) and AccessToken.objects.filter(user=ada).count() == 2
