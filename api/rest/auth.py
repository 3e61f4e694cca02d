"""Tokens: a person signs in with e-mail and password and gets one for a device; each can be revoked."""

from typing import Any

from django.contrib.auth import authenticate
from django.http import HttpResponse
from django.urls import path
from django.utils import timezone
from drf_spectacular.utils import OpenApiExample, OpenApiResponse, extend_schema
from knox.models import AuthToken, get_token_model
from knox.settings import knox_settings
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.throttling import ScopedRateThrottle

from api.http import fields
from api.http.kinds import NotSignedIn
from api.http.permissions import PUBLIC, SIGNED_IN, may_by_method
from api.http.view import View
from api.rest.shapes import listed
from inventory.people.models import User
from inventory.problems import Missing

SHOWN = 16
"""Hexadecimal digits of the digest by which a token is called; they tell nothing of the token."""


class Credentials(fields.Body):
    """What a person signs in with."""

    email = fields.Text(max_length=254)
    password = fields.Text(max_length=1000, trim_whitespace=False)


class TokenMade(serializers.Serializer[Any]):
    """A new token: shown this once, kept only as a digest."""

    id = serializers.CharField()
    token = serializers.CharField()
    expires_at = serializers.DateTimeField()


class Token(serializers.Serializer[Any]):
    """A token of one's own."""

    id = serializers.CharField()
    made_at = serializers.DateTimeField()
    expires_at = serializers.DateTimeField(allow_null=True)
    current = serializers.BooleanField(help_text="Whether this request was made with it.")


class SignInThrottle(ScopedRateThrottle):
    """Counts attempts to sign in, by address."""

    scope_attr = "sign_in_scope"


class Tokens(View):
    """One's tokens."""

    permission_classes = [may_by_method(GET=SIGNED_IN, POST=PUBLIC)]
    sign_in_scope = "sign-in"

    def get_throttles(self) -> list[Any]:
        """Signing in has a limit of its own."""
        return [SignInThrottle()] if self.request.method == "POST" else super().get_throttles()

    def get_authenticators(self) -> list[Any]:
        """Whoever signs in is nobody yet; a worn-out token must not keep anyone from getting a new one."""
        request = getattr(self, "request", None)
        return [] if request is not None and request.method == "POST" else super().get_authenticators()

    @extend_schema(
        operation_id="tokens_list", summary="List one's own tokens", responses=listed(Token()), tags=["tokens"]
    )
    def get(self, request: Request) -> Response:
        """The tokens of whoever asks that have not run out."""
        now = timezone.now()
        rows = get_token_model().objects.filter(user=request.user, expiry__gt=now).order_by("-created", "digest")
        shown = [_shown(row, request.auth) for row in rows]
        return Response({"items": Token(shown, many=True).data, "next": None})

    @extend_schema(
        operation_id="tokens_make",
        summary="Sign in: make a token",
        description="The same answer, after the same time, for an unknown address and a wrong password. A person has"
        " at most 20 tokens; the oldest gives way.",
        request=Credentials,
        responses={201: OpenApiResponse(TokenMade)},
        examples=[
            OpenApiExample(
                "A contractor",
                {"email": "crew@harrowmere.example", "password": "correct horse battery staple"},
                request_only=True,
            )
        ],
        tags=["tokens"],
    )
    def post(self, request: Request) -> Response:
        """Check the password and make a token."""
        given = self.read(Credentials)
        user = authenticate(request._request, username=given["email"].lower(), password=given["password"])
        if not isinstance(user, User):
            raise NotSignedIn("the e-mail address or the password is wrong")
        _make_room(user)
        row, token = get_token_model().objects.create(user)
        shown = {"id": row.digest[:SHOWN], "token": token, "expires_at": row.expiry}
        return Response(TokenMade(shown).data, status=201, headers={"Cache-Control": "no-store"})


class OneToken(View):
    """One of one's tokens."""

    permission_classes = [may_by_method(DELETE=SIGNED_IN)]

    @extend_schema(
        operation_id="tokens_revoke", summary="Revoke a token", request=None, responses={204: None}, tags=["tokens"]
    )
    def delete(self, request: Request, token_id: str) -> HttpResponse:
        """Revoke it; it is worth nothing from now on."""
        mine = get_token_model().objects.filter(user=request.user, digest__startswith=token_id)
        if len(token_id) != SHOWN or not mine.delete()[0]:
            raise Missing("you have no such token")
        return HttpResponse(status=204)


def _shown(row: AuthToken, current: object) -> dict[str, Any]:
    return {
        "id": row.digest[:SHOWN],
        "made_at": row.created,
        "expires_at": row.expiry,
        "current": isinstance(current, AuthToken) and current.pk == row.pk,
    }


def _make_room(user: User) -> None:
    rows = get_token_model().objects.filter(user=user)
    rows.filter(expiry__lte=timezone.now()).delete()
    newest = rows.order_by("-created")[: knox_settings.TOKEN_LIMIT_PER_USER - 1].values_list("pk", flat=True)
    rows.exclude(pk__in=list(newest)).delete()


urlpatterns = [
    path("tokens", Tokens.as_view(), name="tokens"),
    path("tokens/<slug:token_id>", OneToken.as_view(), name="token"),
]
