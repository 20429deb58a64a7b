"""A client of the service for tests. Every refusal it meets must be one that the operation's description names, and be kept."""

from __future__ import annotations

import json
import uuid
from typing import Any

from django.urls import Resolver404, resolve
from rest_framework.test import APIClient

from api.rest.problems import MEDIA_TYPE
from inventory.domain.error_codes import CODES
from inventory.models import Person, Refusal
from inventory.services.logins import token_of
from tests.factories.stores import PersonFactory


def somebody(role: str) -> Person:
    """A new person with one role, as the roles were set up by the migrations."""
    from django.contrib.auth.models import Group

    person: Person = PersonFactory()
    person.groups.add(Group.objects.get(name=role))
    return person


#: Statuses of what is refused by a rule, or because somebody else was first: who tried that stays on record.
BY_A_RULE = (409, 422)


def kept_of(request: dict[str, Any]) -> list[str]:
    """Codes of the refusals that are on record for the key of a write, in the order in which they were met."""
    if request["REQUEST_METHOD"] in ("GET", "HEAD"):
        return []
    try:
        key = uuid.UUID(request.get("HTTP_IDEMPOTENCY_KEY", ""))
    except ValueError:
        return []
    return list(Refusal.objects.filter(key=key).order_by("pk").values_list("code", flat=True))


class ShopClient(APIClient):
    """Requests under /api/v1/ as one person, or as nobody."""

    def __init__(self, person: Person | None = None) -> None:
        super().__init__()
        self.person = person
        if person is not None:
            self.credentials(HTTP_AUTHORIZATION=f"Token {token_of(actor=person)}")

    def request(self, **kwargs: Any) -> Any:
        """One request; a refusal that the description does not name, or of which the shop keeps no row, fails the test."""
        before = kept_of(kwargs)
        answer = super().request(**kwargs)
        page = answer.headers.get("Content-Type", "").startswith("text/html")
        if 400 <= answer.status_code < 500 and kwargs["PATH_INFO"].startswith("/api/") and not page and answer.content:
            self.check_described(kwargs["PATH_INFO"], kwargs["REQUEST_METHOD"], answer)
        if answer.status_code in BY_A_RULE and kwargs["REQUEST_METHOD"] not in ("GET", "HEAD"):
            newest = kept_of(kwargs)[len(before) :]
            assert newest == [answer.json()["code"]], f"{kwargs['PATH_INFO']}: kept {newest}, not {answer.json()}"
        return answer

    def check_described(self, path: str, method: str, answer: Any) -> None:
        """The shape of a problem document, its code in the table, and the code named by the operation."""
        document = answer.json()
        assert answer["Content-Type"] == MEDIA_TYPE
        assert set(document) == {"type", "title", "status", "detail", "code", "values", "ways_out", "lines"}
        meaning = CODES[document["code"]]
        assert (document["status"], document["title"]) == (meaning.status, meaning.title)
        assert document["status"] == answer.status_code
        try:
            view = resolve(path).func.view_class
        except Resolver404:
            return
        operation = getattr(view, method.lower().replace("head", "get"), None)
        if hasattr(operation, "refusals") and document["code"] != "method-not-allowed":
            met = {document["code"], *(line["code"] for line in document["lines"])}
            assert met - operation.refusals == set(), f"{method} {path}: {document['detail']}"

    def read(self, path: str, **parameters: Any) -> Any:
        """GET."""
        return self.get(f"/api/v1/{path}", parameters)

    def rows(self, path: str, **parameters: Any) -> list[Any]:
        """The first page of a list."""
        answer = self.read(path, **parameters)
        assert answer.status_code == 200, answer.content
        return answer.json()["results"]

    def send(
        self, path: str, body: Any, *, key: uuid.UUID | str | None = None, method: str = "POST", **headers: Any
    ) -> Any:
        """A write with a new key, unless one is given; "" sends none. A text or bytes body is sent as it is."""
        raw = body if isinstance(body, str | bytes) else json.dumps(body)
        more = {f"HTTP_{name.upper()}": value for name, value in headers.items()}
        if key != "":
            more["HTTP_IDEMPOTENCY_KEY"] = str(key or uuid.uuid4())
        return self.generic(method, f"/api/v1/{path}", raw, content_type="application/json", **more)
