"""Every refusal of the API in one form: a code for programs, a text for people, the fields that are wrong."""

from django.core.exceptions import RequestDataTooBig
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from rest_framework import exceptions, serializers, status
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView, exception_handler

from fleet.services.errors import Overtaken, ServiceError
from fleet.services.shop.errors import BuildQuestioned, BuildRefused


class FieldError(serializers.Serializer):
    """What is wrong with one field of what was sent."""

    field = serializers.CharField()
    code = serializers.CharField()
    text = serializers.CharField()


class Error(serializers.Serializer):
    """A refusal: what is wrong, where, and what would be right."""

    code = serializers.CharField()
    text = serializers.CharField()
    fields_wrong = FieldError(many=True)


class WrongSignIn(exceptions.APIException):
    status_code = status.HTTP_401_UNAUTHORIZED
    default_code = "wrong_sign_in"
    default_detail = gettext_lazy("No member of that organization has this name and password.")


class TooMuchSent(exceptions.APIException):
    status_code = status.HTTP_413_REQUEST_ENTITY_TOO_LARGE
    default_code = "too_much_sent"
    default_detail = gettext_lazy(
        "Nothing was stored: a request may hold 20 MB. Send less at a time, or a fleet folder to "
        "/api/v1/folders/."
    )


class NoPlan(exceptions.NotFound):
    default_code = "no_plan"
    default_detail = gettext_lazy("There is no plan yet. Ask for one with POST /api/v1/plans/.")


class OrganizationMissing(exceptions.ValidationError):
    default_code = "organization_missing"
    default_detail = gettext_lazy(
        "You belong to several organizations. Name one: ?organization=… with its short name."
    )


class Nowhere(APIView):
    """Every address of the API that there is not; a page would answer for it otherwise."""

    schema = None
    authentication_classes = ()
    permission_classes = ()

    def initial(self, request: Request, *args, **kwargs) -> None:
        raise exceptions.NotFound(
            _("There is no such address. /api/v1/docs/ lists them; each ends with a slash.")
        )


def answer_error(error: Exception, context: dict) -> Response | None:
    """The answer to a refusal; None for a fault of the service, which then is a 500 and stands in the log."""
    if isinstance(error, ServiceError):
        findings = error.findings if isinstance(error, (BuildRefused, BuildQuestioned)) else []
        told = [{"field": one.field, "code": one.code, "text": one.text} for one in findings]
        return Response(
            {"code": error.code, "text": str(error), "fields_wrong": told},
            status=status.HTTP_409_CONFLICT if isinstance(error, Overtaken) else status.HTTP_400_BAD_REQUEST,
        )
    response = exception_handler(TooMuchSent() if isinstance(error, RequestDataTooBig) else error, context)
    if response is None:
        return None
    detail = response.data
    if isinstance(detail, dict) and set(detail) == {"detail"}:
        response.data = {"code": detail["detail"].code, "text": str(detail["detail"]), "fields_wrong": []}
    else:
        wrong = list(_fields_wrong(detail))
        text = " ".join(f"{one['field']}: {one['text']}" if one["field"] else one["text"] for one in wrong)
        code = "invalid" if any(one["field"] for one in wrong) else wrong[0]["code"]
        response.data = {"code": code, "text": text, "fields_wrong": [one for one in wrong if one["field"]]}
    return response


def _fields_wrong(detail, field: str = ""):
    if isinstance(detail, dict):
        for name, inner in detail.items():
            yield from _fields_wrong(inner, f"{field}.{name}" if field else name)
    elif isinstance(detail, list):
        for inner in detail:
            yield from _fields_wrong(inner, field)
    else:
        yield {"field": field, "code": detail.code, "text": str(detail)}
