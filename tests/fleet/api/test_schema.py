"""The API is described as it is: the schema is whole, and answers fit it."""

from collections.abc import Iterator

import pytest
import schemathesis
from django.core import signals
from django.core.management import call_command
from django.core.wsgi import get_wsgi_application
from django.db import close_old_connections
from hypothesis import HealthCheck, settings
from schemathesis.schemas import BaseSchema

from fleet.exchange.schema import FILES
from fleet.models import AccessToken, Membership, Role, User
from forecasting.outputs import OUTPUTS

from .conftest import plan_of, register_of

pytestmark = pytest.mark.django_db

SENT_AS_FORMS = "/api/v1/decisions/"
ASKED_OF_ANY = "/api/v1/positions/"


def described() -> BaseSchema:
    """The schema without what one piece of code reads for all views, or they would hardly be reached.

    An organization that is made up is refused before anything else is looked at, and three ways to write a
    body make one body three times; each is tried on one view.
    """
    found = schemathesis.openapi.from_wsgi("/api/v1/schema/?format=json", get_wsgi_application())
    for path, operations in found.raw_schema["paths"].items():
        for operation in operations.values():
            asked = operation.get("parameters", [])
            if path != ASKED_OF_ANY:
                operation["parameters"] = [one for one in asked if one["name"] != "organization"]
            bodies = operation.get("requestBody", {}).get("content", {})
            if "application/json" in bodies and path != SENT_AS_FORMS:
                operation["requestBody"]["content"] = {"application/json": bodies["application/json"]}
    return found


schema = described()


def test_the_schema_is_made_without_a_warning(tmp_path):
    call_command("spectacular", "--validate", "--fail-on-warn", "--file", str(tmp_path / "schema.yaml"))

    assert "/api/v1/plan/forecasts/" in (tmp_path / "schema.yaml").read_text()


@pytest.fixture(scope="module")
def signed(kept_for_module) -> Iterator[dict[str, str]]:
    """The headers of an owner whose organization has a row of everything."""
    organization = register_of("gravel")
    plan_of(organization)
    user = User.objects.create_user("ada")
    Membership.objects.create(user=user, organization=organization, role=Role.OWNER)
    _, token = AccessToken.objects.create(user=user, organization=organization)
    # As Django's own test client does: the end of a request must not close the connection of the test.
    signals.request_started.disconnect(close_old_connections)
    signals.request_finished.disconnect(close_old_connections)
    yield {"Authorization": f"Token {token}"}
    signals.request_started.connect(close_old_connections)
    signals.request_finished.connect(close_old_connections)


def check(case, headers: dict[str, str]):
    """The answer to a case, which is no fault of the service and fits the schema."""
    response = case.call(headers=headers | {"Accept-Encoding": "identity"})  # it does not unpack answers
    case.validate_response(
        response,
        checks=[
            schemathesis.checks.not_a_server_error,
            schemathesis.checks.content_type_conformance,
            schemathesis.checks.response_schema_conformance,
        ],
    )
    return response


def test_every_list_answers_as_the_schema_says(signed):
    operations = [result.ok() for result in schema.get_all_operations()]
    lists = [
        one
        for one in operations
        if one.method == "get"
        and not any(asked.get("required") for asked in one.definition.raw.get("parameters", []))
    ]

    answers = {one.path: check(one.Case(), signed).status_code for one in lists}

    # And the plan in force and its comparison, plans, backtests, folders, age rules, decisions, begun kits;
    # layline, threads, flanges, which name nothing where nothing is asked; groups, looks, what-ifs.
    assert len(answers) == len(FILES) + len(OUTPUTS) + 8 + 3 + 3
    assert set(answers.values()) == {200}


def test_an_organization_that_is_made_up_is_asked_for(signed):
    (asked,) = (one.ok() for one in schema.get_all_operations() if one.ok().path == ASKED_OF_ANY)
    assert "organization" in {one["name"] for one in asked.definition.raw["parameters"]}
    assert check(asked.Case(query={"organization": "made-up"}), signed).status_code == 404


# One of each kind of view: the others are made by the same code from the same declarations.
@schema.include(
    path=[
        "/api/v1/sign-in/",
        "/api/v1/positions/",
        "/api/v1/positions/{machine}/{position}/stand-ins/",
        "/api/v1/inspections/{assembly}/{inspected_on}/",
        "/api/v1/plan/changeouts/",
        "/api/v1/decisions/",
        "/api/v1/choices/{assembly}/",
        "/api/v1/plan/kits/{kit}/",
        "/api/v1/plans/",
        "/api/v1/backtests/",
        "/api/v1/backtests/{id}/",
        "/api/v1/folders/",
        "/api/v1/folders/{id}/",
        "/api/v1/stock/receipts/",
        "/api/v1/stock/counts/",
        "/api/v1/bench/kits/",
        "/api/v1/bench/builds/",
        "/api/v1/machine-work/installations/",
        "/api/v1/stock/cancellations/",
        "/api/v1/groups/",
        "/api/v1/groups/look/",
        "/api/v1/looks/{look}/",
        "/api/v1/what-ifs/",
        "/api/v1/identify/layline/",
        "/api/v1/identify/threads/",
    ]
).parametrize()
@settings(
    max_examples=5,
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=[
        HealthCheck.function_scoped_fixture,
        HealthCheck.too_slow,
        HealthCheck.filter_too_much,
    ],
)
def test_whatever_is_asked_the_answer_is_no_fault_and_fits_the_schema(case, signed):
    check(case, signed)
