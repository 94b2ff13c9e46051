"""Signing a program in and out: a token is good for one member in one organization."""

from django.contrib.auth import authenticate
from django.http import Http404
from django.utils.translation import gettext as _
from drf_spectacular.utils import extend_schema
from knox.auth import TokenAuthentication
from rest_framework import serializers, status
from rest_framework.exceptions import Throttled
from rest_framework.permissions import AllowAny
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from fleet.models import AccessToken
from fleet.permissions import membership_of

from .errors import WrongSignIn


class Credentials(serializers.Serializer):
    """Who signs in, and to which organization (its short name)."""

    username = serializers.CharField()
    password = serializers.CharField(trim_whitespace=False, style={"input_type": "password"})
    organization = serializers.SlugField()


class TokenGiven(serializers.Serializer):
    """The token to send as `Authorization: Token …`; it is shown this once."""

    token = serializers.CharField()
    organization = serializers.SlugField()
    role = serializers.CharField()
    expires_at = serializers.DateTimeField(allow_null=True)


class SignIn(APIView):
    authentication_classes = ()
    permission_classes = (AllowAny,)

    @extend_schema(request=Credentials, responses=TokenGiven)
    def post(self, request: Request) -> Response:
        """Gives a token for one organization. A wrong name, password or organization is answered alike."""
        sent = Credentials(data=request.data)
        sent.is_valid(raise_exception=True)
        named = sent.validated_data
        asked = request._request
        user = authenticate(asked, username=named["username"], password=named["password"])
        if getattr(asked, "axes_locked_out", False):
            asked.axes_locked_out = False  # its middleware would answer with a page
            raise Throttled(detail=_("Too many wrong passwords. Wait a quarter of an hour, then try again."))
        if user is None:
            raise WrongSignIn()
        try:
            membership = membership_of(user, named["organization"])
        except Http404:
            raise WrongSignIn() from None
        made, token = AccessToken.objects.create(user=user, organization=membership.organization)
        given = {
            "token": token,
            "organization": membership.organization.slug,
            "role": membership.role,
            "expires_at": made.expiry,
        }
        return Response(TokenGiven(given).data, headers={"Cache-Control": "no-store"})


class SignOut(APIView):
    authentication_classes = (TokenAuthentication,)

    @extend_schema(request=None, responses={204: None})
    def post(self, request: Request) -> Response:
        """Ends the token that this request is signed with."""
        request.auth.delete()
        return Response(status=status.HTTP_204_NO_CONTENT)
