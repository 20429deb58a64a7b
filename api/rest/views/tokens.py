"""Logging in and out for programs and benches."""

from __future__ import annotations

from typing import Any

from django.contrib.auth import authenticate
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import exceptions, status
from rest_framework.permissions import AllowAny, IsAuthenticated
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.authentication import MOST_FAILURES, WAIT, who_tries
from api.rest.problems import refuse
from api.rest.schema import ALWAYS, login, refusal_responses
from api.rest.serializers.tokens import LoginSerializer, TokenSerializer
from api.rest.views.base import View, actor_of
from inventory.services.logins import count_try, drop_token, forget_tries, token_of

_LOG_OUT = (*ALWAYS, "not-allowed", "media-type", "body-too-large")


class TokensView(View):
    """`tokens`: POST name and password for a token, DELETE to make one's token worthless."""

    def get_permissions(self) -> list[Any]:
        """Everybody may try to log in."""
        return [IsAuthenticated() if self.request.method == "DELETE" else AllowAny()]

    def get_authenticators(self) -> list[Any]:
        """A worn-out token does not keep anybody from logging in."""
        return [] if self.request and self.request.method == "POST" else super().get_authenticators()

    @login("tokens_create", "Log in: name and password for a token", LoginSerializer, TokenSerializer)
    def post(self, request: Request) -> Response:
        """The person's token; made at the first log-in."""
        parsed = LoginSerializer(data=request.data)
        parsed.is_valid(raise_exception=True)
        name = parsed.validated_data["username"]
        who = who_tries(name, request)
        if count_try(actor=None, who=who, now=timezone.now(), window=WAIT) > MOST_FAILURES:
            raise exceptions.Throttled(
                WAIT.total_seconds(), "Too many failed log-ins for this name; wait and try again."
            )
        person = authenticate(request._request, username=name, password=parsed.validated_data["password"])
        if person is None:
            raise refuse("not-logged-in", "Name or password is wrong.")
        forget_tries(actor=person, who=who)
        return Response({"token": token_of(actor=person)}, status=status.HTTP_201_CREATED)

    @extend_schema(
        operation_id="tokens_drop",
        summary="Log out: the token is worth nothing any more",
        responses={204: None, **refusal_responses(_LOG_OUT)},
    )
    def delete(self, request: Request) -> Response:
        """Drop the token of who asks; also when there is none."""
        drop_token(actor=actor_of(request))
        return Response(status=status.HTTP_204_NO_CONTENT)

    delete.refusals = frozenset(_LOG_OUT)  # type: ignore[attr-defined]  # functions take attributes; read by the tests
