"""From exceptions to problem documents: the rules' own, the framework's, and what nobody expected."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db import OperationalError, connection
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.views import defaults
from rest_framework import exceptions
from rest_framework.response import Response

from api.rest.problems import MEDIA_TYPE, of_domain, problem
from inventory.domain.errors import DomainError
from inventory.domain.text import shown

#: The framework's refusals and the code each is answered with.
FRAMEWORK_CODES: tuple[tuple[type[exceptions.APIException], str], ...] = (
    (exceptions.ParseError, "bad-request"),
    (exceptions.NotAuthenticated, "not-logged-in"),
    (exceptions.AuthenticationFailed, "not-logged-in"),
    (exceptions.PermissionDenied, "not-allowed"),
    (exceptions.NotFound, "not-found"),
    (exceptions.MethodNotAllowed, "method-not-allowed"),
    (exceptions.NotAcceptable, "not-acceptable"),
    (exceptions.UnsupportedMediaType, "media-type"),
    (exceptions.Throttled, "too-many-tries"),
)
#: A request with thousands of wrong lines is answered with the first of them.
MOST_FIELDS = 100


def handler(error: Exception, context: Mapping[str, Any]) -> Response | None:
    """Response of an exception in a view; None for what nobody expected, which stays a 500 without its insides."""
    page = _wants_page(context)
    if isinstance(error, DomainError):
        return _response(of_domain(error), page)
    if isinstance(error, Http404):
        error = exceptions.NotFound(*[str(word) for word in error.args])
    elif isinstance(error, PermissionDenied):
        error = exceptions.PermissionDenied()
    if isinstance(error, OperationalError) and _is_busy(error):
        return _response(problem("database-busy", "The database did not answer in time."), page, {"Retry-After": "1"})
    if isinstance(error, exceptions.ValidationError):
        return _response(_fields(error), page)
    for kind, code in FRAMEWORK_CODES:
        if isinstance(error, kind):
            return _response(problem(code, str(error.detail)), page, _headers(error))
    return None


def _is_busy(error: OperationalError) -> bool:
    """Locked, or out of reach for a moment. SQLite has the same error for a table that is missing, which is a defect."""
    return connection.vendor == "postgresql" or "locked" in str(error) or "busy" in str(error)


def _wants_page(context: Mapping[str, Any]) -> bool:
    """True where a browser is answered with a page for reading."""
    renderer = getattr(context.get("request"), "accepted_renderer", None)
    return getattr(renderer, "format", "json") != "json"


def _response(document: dict[str, Any], page: bool, headers: Mapping[str, str] | None = None) -> Response:
    kind = None if page else MEDIA_TYPE
    return Response(document, status=document["status"], headers=dict(headers or {}), content_type=kind)


def _headers(error: exceptions.APIException) -> dict[str, str]:
    headers = {}
    how, wait = getattr(error, "auth_header", None), getattr(error, "wait", None)
    if how:
        headers["WWW-Authenticate"] = str(how)
    if wait:
        headers["Retry-After"] = str(int(wait))
    return headers


def _fields(error: exceptions.ValidationError) -> dict[str, Any]:
    """Which field is wrong and why, by its path: `lines.2.amount` is the amount of the second line."""
    found: dict[str, list[str]] = {}
    _collect(error.detail, "", found)
    named = dict(list(found.items())[:MOST_FIELDS])
    sentence = "; ".join(f"{path}: {' '.join(messages)}" for path, messages in named.items())
    return problem("fields-wrong", sentence or "The body is malformed.", values={"fields": named, "wrong": len(found)})


def _collect(detail: Any, path: str, found: dict[str, list[str]]) -> None:
    if isinstance(detail, dict):
        for name, inner in detail.items():
            # a list's errors come by index from 0; people count lines from 1
            step = str(name + 1) if isinstance(name, int) else shown(name)
            own = step == "non_field_errors"
            _collect(inner, path if own else f"{path}.{step}" if path else step, found)
    elif isinstance(detail, list):
        if any(isinstance(inner, dict | list) for inner in detail):
            for number, inner in enumerate(detail, 1):
                _collect(inner, f"{path}.{number}" if path else str(number), found)
        else:
            found.setdefault(path or "body", []).extend(str(inner) for inner in detail)
    else:
        found.setdefault(path or "body", []).append(str(detail))


def _plain_problem(code: str, detail: str) -> JsonResponse:
    document = problem(code, detail)
    return JsonResponse(document, status=document["status"], content_type=MEDIA_TYPE)


def _for_program(request: HttpRequest) -> bool:
    return request.path_info.startswith("/api/")


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Django's handler404: a problem document under /api/, Django's page elsewhere."""
    if _for_program(request):
        return _plain_problem("not-found", f"There is no address {shown(request.path_info, 120)}.")
    return defaults.page_not_found(request, exception)


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Django's handler400 (a forged host name, too many fields)."""
    if _for_program(request):
        return _plain_problem("bad-request", "The request is malformed.")
    return defaults.bad_request(request, exception)


def server_error(request: HttpRequest) -> HttpResponse:
    """Django's handler500: nothing of what happened inside is told outside; the service's own output has it."""
    if _for_program(request):
        return _plain_problem("server-error", "The service failed; the log of the service says why.")
    return defaults.server_error(request)
