"""What the description of the API says of every operation."""

from drf_spectacular.openapi import AutoSchema
from drf_spectacular.utils import OpenApiParameter

from .errors import Error
from .members import MemberView

ORGANIZATION = OpenApiParameter(
    "organization",
    str,
    description="The organization's short name, for a person of several; a token names its own.",
)


class Described(AutoSchema):
    """Adds what all operations have: refusals in one form, and whose data it is about."""

    def get_override_parameters(self) -> list:
        given = super().get_override_parameters()
        return [*given, ORGANIZATION] if isinstance(self.view, MemberView) else given

    def _get_response_bodies(self, direction="response") -> dict:
        bodies = super()._get_response_bodies(direction)
        return bodies | {"default": self._get_response_for_code(Error, "default", direction=direction)}
