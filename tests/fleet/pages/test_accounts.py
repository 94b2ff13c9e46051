"""Signing in, the first page of each role, and what an outsider sees."""

import pytest
from django.test import Client
from django.urls import reverse

from fleet.models import Membership, Role, User

PASSWORD = "a long pass phrase"


@pytest.mark.django_db
def test_who_is_not_signed_in_is_led_to_sign_in_and_back(client, gravel):
    wanted = reverse("due", args=[gravel.slug])
    answer = client.get(wanted)
    assert answer.url == f"{reverse('sign_in')}?next={wanted}"


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("stood_on", "back"),
    [
        ("http://testserver/gravel-works/due/?site=N", "/gravel-works/due/%3Fsite%3DN"),
        ("http://elsewhere.example/gravel-works/due/", "/"),
        ("", "/"),
    ],
)
def test_a_form_sent_after_signing_out_leads_back_to_the_page_it_stood_on(client, gravel, stood_on, back):
    sent = client.post(
        reverse("make_plan", args=[gravel.slug]), headers={"referer": stood_on} if stood_on else {}
    )
    assert sent.url == f"{reverse('sign_in')}?next={back}"
    told = client.get(sent.url).content.decode()
    assert "You were signed out, so nothing was stored. Sign in, then send the form once more." in told


def test_an_address_that_takes_a_form_says_so_to_who_opens_it(member_of, gravel):
    answer = member_of(gravel, Role.PLANNER).get(reverse("make_plan", args=[gravel.slug]))
    assert answer.status_code == 405 and answer["Allow"] == "POST"
    assert "It only takes a form that is sent to it." in answer.content.decode()


def test_a_form_older_than_the_sign_in_is_refused_in_our_own_words(gravel):
    client = Client(enforce_csrf_checks=True)
    answer = client.post(reverse("make_plan", args=[gravel.slug]))
    assert answer.status_code == 403
    assert "Go back, note what you had written, load that page again" in answer.content.decode()


def test_signing_in_leads_to_the_first_page_of_the_role(client, gravel):
    user = User.objects.create_user("ada", password=PASSWORD)
    Membership.objects.create(user=user, organization=gravel, role=Role.SHOP)
    answer = client.post(reverse("sign_in"), {"username": "ada", "password": PASSWORD}, follow=True)
    assert answer.redirect_chain[-1][0] == reverse("build", args=[gravel.slug])


def test_a_wrong_password_says_so(client, db):
    answer = client.post(reverse("sign_in"), {"username": "ada", "password": "wrong"})
    assert "correct username and password" in answer.content.decode()


def test_signing_out_takes_a_post(member_of, gravel):
    client = member_of(gravel)
    assert client.get(reverse("sign_out")).status_code == 405
    assert client.post(reverse("sign_out")).url == reverse("sign_in")


@pytest.mark.parametrize(
    ("role", "first"),
    [
        (Role.PLANNER, "due"),
        (Role.SHOP, "build"),
        (Role.MANAGER, "order"),
        (Role.VIEWER, "machines"),
        (Role.OWNER, "due"),
    ],
)
def test_each_role_begins_its_day_on_its_own_page(member_of, gravel, role, first):
    assert member_of(gravel, role).get(reverse("home")).url == reverse(first, args=[gravel.slug])


def test_who_is_in_two_organizations_comes_back_to_the_one_last_looked_at(member_of, gravel, quarry):
    client = member_of(gravel)
    Membership.objects.create(user=User.objects.get(), organization=quarry, role=Role.SHOP)
    client.get(reverse("organization", args=[quarry.slug]))
    assert client.get(reverse("home")).url == reverse("build", args=[quarry.slug])


def test_a_foreign_organization_does_not_exist(member_of, gravel, quarry):
    client = member_of(gravel)
    foreign = client.get(reverse("due", args=[quarry.slug]))
    nowhere = client.get(reverse("due", args=["no-such-place"]))
    assert foreign.status_code == nowhere.status_code == 404


def test_who_is_in_no_organization_is_told_what_to_do(client, db):
    client.force_login(User.objects.create_user("ada"))
    assert "Ask an owner of yours to add you" in client.get(reverse("home")).content.decode()


def test_who_is_in_no_organization_founds_one_and_is_led_to_the_first_steps(client, db):
    ada = User.objects.create_user("ada")
    client.force_login(ada)
    answer = client.post(reverse("found"), {"name": " Gravel  Works "}, follow=True)
    assert answer.redirect_chain[-1][0] == reverse("due", args=["gravel-works"])
    text = answer.content.decode()
    assert "Gravel Works is founded, and you own it." in text and "There is no fleet yet" in text
    assert Membership.objects.get().role == Role.OWNER
    assert Membership.history.get().history_user == ada


def test_a_name_that_is_in_use_or_an_address_of_the_service_founds_nothing_beside_it(client, gravel):
    client.force_login(User.objects.create_user("ada"))
    answer = client.post(reverse("found"), {"name": "GRAVEL WORKS"})
    assert answer.status_code == 422 and "which is in use" in answer.content.decode()
    assert "Give the organization a name first." in client.post(reverse("found")).content.decode()
    client.post(reverse("found"), {"name": "Organizations"})
    assert Membership.objects.get().organization.slug == "organizations-2"


def test_only_an_owner_founds_another(member_of, gravel):
    client = member_of(gravel, Role.MANAGER)
    assert reverse("found") not in client.get(reverse("organizations")).content.decode()
    assert client.post(reverse("found"), {"name": "Slate Quarry"}).status_code == 403
    client = member_of(gravel, Role.OWNER)
    assert reverse("found") in client.get(reverse("organizations")).content.decode()
    client.post(reverse("found"), {"name": "Slate Quarry"})
    assert Membership.objects.filter(role=Role.OWNER).count() == 2


def test_a_refusal_says_who_can_change_the_role(member_of, gravel):
    text = member_of(gravel, Role.VIEWER).post(reverse("make_plan", args=[gravel.slug])).content.decode()
    assert "As viewer you may not do this. An owner of Gravel Works can change your role." in text


def test_too_many_wrong_passwords_are_told_to_wait(client, db, settings):
    settings.AXES_FAILURE_LIMIT = 2
    for _try in range(2):
        answer = client.post(reverse("sign_in"), {"username": "ada", "password": "wrong"})
    assert answer.status_code == 429
    assert "Wait a quarter of an hour" in answer.content.decode()


def test_an_owner_finds_who_belongs_from_every_page(member_of, gravel):
    way = reverse("belong", args=[gravel.slug])
    assert way in member_of(gravel, Role.OWNER).get(reverse("machines", args=[gravel.slug])).content.decode()
    client = member_of(gravel, Role.MANAGER)
    assert way not in client.get(reverse("machines", args=[gravel.slug])).content.decode()


def test_the_keyboard_begins_at_what_is_wrong_with_a_form(member_of, gravel):
    client = member_of(gravel)
    sent = {"new_password1": "", "new_password2": "", "old_password": ""}
    text = client.post(reverse("change_password"), sent).content.decode()
    assert text.count('role="alert"') == 3 and text.count(" autofocus") == 1
    assert text.index(" autofocus") < text.index("</ul>")
