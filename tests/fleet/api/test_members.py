"""Nobody sees another organization, and each role does what it may."""

import pytest
from rest_framework.test import APIClient

from fleet.exchange.schema import FILES
from fleet.models import LINES, AccessToken, FolderReading, Membership, Plan, Role, RunState, Setting, User

from .conftest import plan_of

LISTS = [file.name for file in FILES] + [f"plan/{name}" for name in LINES] + ["plans", "folders"]


@pytest.fixture(scope="module")
def plan(gravel):
    return plan_of(gravel)


@pytest.fixture(scope="module")
def foreign(quarry):
    """Another organization with as much to see."""
    plan_of(quarry)
    FolderReading.objects.create(organization=quarry)
    return quarry


@pytest.mark.parametrize("name", LISTS)
def test_a_list_holds_only_the_rows_of_the_own_organization(name, planner, gravel, plan, foreign):
    FolderReading.objects.create(organization=gravel)

    response = planner.get(f"/api/v1/{name}/")

    assert response.status_code == 200
    assert response.json()["count"] >= 1
    assert "quarry" not in response.content.decode()


@pytest.mark.parametrize("name", [*LISTS, "plan"])
def test_naming_a_foreign_organization_gives_nothing(name, planner, foreign):
    response = planner.get(f"/api/v1/{name}/", {"organization": "quarry"})

    assert response.status_code == 404
    assert response.json()["text"] == "There is no organization quarry, or you are not a member of it."


@pytest.mark.parametrize("name", [*LISTS, "plan"])
def test_nothing_is_shown_to_who_is_not_signed_in(name, gravel, plan):
    response = APIClient().get(f"/api/v1/{name}/")

    assert response.status_code == 401
    assert response.json()["code"] == "not_authenticated"


@pytest.mark.parametrize(
    "file", [file for file in FILES if not file.may_be_empty], ids=lambda file: file.name
)
def test_a_foreign_row_is_not_found_under_its_key(file, planner, gravel, quarry, member, client_of):
    Setting.objects.of(gravel).delete()  # the one noun of which both have the same key
    theirs = client_of(member(quarry, name="bob")).get(f"/api/v1/{file.name}/").json()["results"][0]
    key = "/".join(str(theirs[name]) for name in file.key)

    assert planner.get(f"/api/v1/{file.name}/{key}/").status_code == 404


def test_a_foreign_plan_and_folder_are_not_found_by_number(planner, foreign):
    theirs = Plan.objects.get(organization=foreign)
    folder = FolderReading.objects.get(organization=foreign)

    assert planner.get(f"/api/v1/plans/{theirs.pk}/").status_code == 404
    assert planner.get(f"/api/v1/folders/{folder.pk}/").status_code == 404


def test_a_person_of_two_organizations_names_the_one_they_mean(gravel, quarry, member, client_of):
    member(gravel)
    client = client_of(member(quarry))

    unnamed = client.get("/api/v1/sites/")
    named = client.get("/api/v1/sites/", {"organization": "quarry"})

    assert (unnamed.status_code, unnamed.json()["code"]) == (400, "organization_missing")
    assert [site["site"] for site in named.json()["results"]] == ["quarry yard"]


def test_a_person_of_no_organization_is_shown_nothing(client_of, gravel):
    response = client_of(User.objects.create(username="eve")).get("/api/v1/sites/")

    assert response.status_code == 404


@pytest.mark.parametrize(
    ("role", "status"),
    [(Role.VIEWER, 403), (Role.SHOP, 403), (Role.PLANNER, 202), (Role.MANAGER, 202), (Role.OWNER, 202)],
)
def test_planners_and_those_above_ask_for_plans(role, status, gravel, member, client_of):
    response = client_of(member(gravel, role)).post("/api/v1/plans/")

    assert response.status_code == status


def test_a_refusal_says_who_may_help(gravel, member, client_of):
    response = client_of(member(gravel, Role.SHOP)).post("/api/v1/plans/")

    assert response.json()["text"] == "A shop of Gravel may not replan. Ask an owner of the organization."


def token(client: APIClient, **credentials):
    return client.post("/api/v1/sign-in/", credentials, format="json")


@pytest.fixture
def ada(gravel, member):
    user = member(gravel)
    user.set_password("a long pass phrase")
    user.save()
    return user


def test_a_program_signs_in_for_one_organization(ada, quarry):
    Membership.objects.create(user=ada, organization=quarry, role=Role.OWNER)
    client = APIClient()

    given = token(client, username="ada", password="a long pass phrase", organization="gravel")

    assert given.status_code == 200
    assert given["Cache-Control"] == "no-store"
    assert (given.json()["organization"], given.json()["role"]) == ("gravel", "planner")
    client.credentials(HTTP_AUTHORIZATION=f"Token {given.json()['token']}")
    assert [site["site"] for site in client.get("/api/v1/sites/").json()["results"]] == ["gravel yard"]
    assert client.get("/api/v1/sites/", {"organization": "quarry"}).status_code == 404


@pytest.mark.parametrize(
    "wrong",
    [{"username": "eve"}, {"password": "guess"}, {"organization": "quarry"}, {"organization": "none"}],
)
def test_a_wrong_name_password_or_organization_is_answered_alike(wrong, ada, quarry):
    right = {"username": "ada", "password": "a long pass phrase", "organization": "gravel"}

    response = token(APIClient(), **(right | wrong))

    assert response.status_code == 401
    assert response.json()["code"] == "wrong_sign_in"
    assert not AccessToken.objects.exists()


def test_guessing_a_password_is_stopped_after_ten_times(ada):
    client = APIClient()
    for _ in range(10):
        last = token(client, username="ada", password="guess", organization="gravel")

    assert last.status_code == 429
    assert last.json()["code"] == "throttled"
    right = token(client, username="ada", password="a long pass phrase", organization="gravel")
    assert right.status_code == 429


def test_a_token_ends_with_signing_out(ada):
    client = APIClient()
    given = token(client, username="ada", password="a long pass phrase", organization="gravel")
    client.credentials(HTTP_AUTHORIZATION=f"Token {given.json()['token']}")

    assert client.post("/api/v1/sign-out/").status_code == 204
    assert client.get("/api/v1/sites/").status_code == 401


def test_a_token_shows_nothing_once_its_member_left(ada):
    _, key = AccessToken.objects.create(user=ada, organization=Membership.objects.get(user=ada).organization)
    Membership.objects.filter(user=ada).delete()
    client = APIClient()
    client.credentials(HTTP_AUTHORIZATION=f"Token {key}")

    assert client.get("/api/v1/sites/").status_code == 404


def test_a_page_of_another_site_cannot_post_in_a_members_name(gravel, member):
    client = APIClient(enforce_csrf_checks=True)
    client.force_login(member(gravel), backend="django.contrib.auth.backends.ModelBackend")

    response = client.post("/api/v1/plans/")

    assert response.status_code == 403
    assert not Plan.objects.exclude(state=RunState.DONE).exists()
