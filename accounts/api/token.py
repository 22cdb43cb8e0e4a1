"""Tokens for programs: made with a password, listed and ended by their owner."""

from typing import Any
from uuid import UUID

from django.contrib.auth import authenticate, user_logged_in
from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.exceptions import AuthenticationFailed
from rest_framework.permissions import AllowAny, BasePermission, IsAuthenticated
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from accounts.commands import token
from accounts.gate import unseen
from accounts.models import Person, Token
from darkroom_service.api import paging
from darkroom_service.api.fields import Id, InstantField, Shape, Text, Whole
from darkroom_service.api.schema import PAGE, page_of
from darkroom_service.api.token import TokenAuthentication


class TokenIn(Shape):
    """Who signs in, and what the token is for."""

    username = Text(max_length=100)
    password = serializers.CharField(max_length=200, trim_whitespace=False)
    name = Text(max_length=60, help_text="What it is for, such as bench tablet.")
    days = Whole(low=1, high=365, default=90, help_text="After how many days it runs out.")


class TokenOut(serializers.Serializer):
    """A token of one's own; its secret is never shown again."""

    id = Id(source="public_id")
    name = Text(max_length=60)
    prefix = Text(max_length=25, source="token_key", help_text="How the secret begins.")
    created = InstantField()
    expiry = InstantField(allow_null=True)


class IssuedOut(TokenOut):
    """A token just made, with the secret: the only time it is shown."""

    token = Text(max_length=90)


class InBody(TokenAuthentication):
    """Looks at no header, since the password comes in the body: an old token must not stand in the way."""

    def authenticate(self, request: Request) -> None:
        """Leave the asker unknown."""


class TokensView(APIView):
    """One's own tokens."""

    keyed = False
    throttle_scope = "login"

    def get_permissions(self) -> list[BasePermission]:
        """Let anybody try to sign in; a list is one's own."""
        return [AllowAny() if self.request.method == "POST" else IsAuthenticated()]

    def get_authenticators(self) -> list[Any]:
        """Read no credentials from the header where a password is about to be given."""
        request = getattr(self, "request", None)
        return [InBody()] if request is not None and request.method == "POST" else super().get_authenticators()

    @extend_schema(operation_id="tokens_list", parameters=PAGE, responses=page_of(TokenOut))
    def get(self, request: Request) -> Response:
        """List one's own tokens."""
        rows = Token.objects.filter(user=request.user.pk)
        return paging.page(request, rows, lambda found: TokenOut(found, many=True).data)

    @extend_schema(operation_id="tokens_issue", auth=[], request=TokenIn, responses={201: IssuedOut})
    def post(self, request: Request) -> Response:
        """Sign in with a password and get a token. Too many wrong passwords lock the login name for a while."""
        given = TokenIn.read(request.data)
        made, secret = token.issue(_person(request, given), name=given["name"], days=given["days"])
        body = {**TokenOut(made).data, "token": secret}
        return Response(body, status=status.HTTP_201_CREATED, headers={"Cache-Control": "no-store"})


class TokenView(APIView):
    """One token."""

    @extend_schema(operation_id="tokens_end", responses={204: None})
    def delete(self, request: Request, id: UUID) -> Response:
        """End a token at once."""
        row = Token.objects.filter(user=request.user.pk, public_id=id).first()
        if row is None:
            raise unseen()
        token.end(row)
        return Response(status=status.HTTP_204_NO_CONTENT)


def _person(request: Request, given: dict[str, Any]) -> Person:
    """Return whose password this is; an unknown name and a wrong password are answered alike."""
    person = authenticate(request=request._request, username=given["username"], password=given["password"])
    if isinstance(person, Person):
        # Signing in wipes out the wrong passwords counted before it.
        user_logged_in.send(sender=Person, request=request._request, user=person)
        return person
    raise AuthenticationFailed("Login name and password do not belong together.")
