"""Problem documents: one shape for every refusal, and nothing of the insides when something breaks."""

import logging
import re

import pytest
from django.db import OperationalError
from django.test import Client

from api.rest import problems
from api.rest.views import parts as parts_view
from inventory.domain.error_codes import CODES
from inventory.domain.errors import DomainError, ManyErrors
from tests.api.rest.clients import ShopClient

pytestmark = pytest.mark.django_db


def test_a_batch_says_every_refused_line():
    error = ManyErrors(
        ((2, DomainError("not-found", "No such part: X.", part="X")), (5, DomainError("undated", "no date")))
    )
    assert problems.of_domain(error) == {
        "type": "/docs/errors#not-found",
        "title": "There is no such thing.",
        "status": 404,
        "detail": "line 2: No such part: X.; line 5: no date",
        "code": "not-found",
        "values": {},
        "ways_out": [],
        "lines": [
            {"line": 2, "code": "not-found", "detail": "No such part: X.", "values": {"part": "X"}, "ways_out": []},
            {"line": 5, "code": "undated", "detail": "no date", "values": {}, "ways_out": []},
        ],
    }


def test_every_code_has_a_document_and_an_unpublished_one_has_none():
    for code, meaning in CODES.items():
        assert problems.problem(code, "x")["status"] == meaning.status
    with pytest.raises(KeyError):
        problems.problem("no-such-code", "x")


@pytest.mark.parametrize(
    "path", ["/api/v1/", "/api/v1/partz", "/api/v1/parts/", "/api/v2/parts", "/api/", "/api/v1/acts/x"]
)
@pytest.mark.parametrize("method", ["get", "post", "put", "patch", "delete"])
def test_an_unknown_address_is_a_problem_document_for_everybody(path, method):
    answer = getattr(Client(), method)(path)
    assert (answer.status_code, answer["Content-Type"], answer.json()["code"]) == (
        404,
        problems.MEDIA_TYPE,
        "not-found",
    )


def test_a_method_that_is_not_taken_says_which_are(manager):
    answer = manager.send("balances", {})
    assert (answer.status_code, answer["Allow"]) == (405, "GET, HEAD")
    answer = manager.get("/api/v1/receipts")
    assert (answer.status_code, answer.json()["code"], answer["Allow"]) == (405, "method-not-allowed", "POST")
    assert manager.options("/api/v1/parts").status_code == 405


def test_a_form_that_nobody_can_give_is_refused(manager):
    answer = manager.get("/api/v1/parts", headers={"Accept": "application/xml"})
    assert (answer.status_code, answer.json()["code"]) == (406, "not-acceptable")


def test_a_browser_reads_a_page_without_any_form_that_writes(manager):
    answer = manager.get("/api/v1/parts", headers={"Accept": "text/html"})
    page = answer.content.decode()
    assert (answer.status_code, answer["Content-Type"]) == (200, "text/html; charset=utf-8")
    assert 'method="POST"' not in page.replace('action="/api/v1/session/logout/', "")
    assert "<textarea" not in page
    assert "<title>Parts, Matchbore</title>" in page
    doors = re.findall('<li><a href="([^"]+)">', page)
    assert {"/api/v1/jobs", "/api/v1/engines", "/docs/errors"} <= set(doors)
    assert [manager.get(door).status_code for door in doors if "logout" not in door] == [200] * len(doors)
    refused = manager.get("/api/v1/parts/none", headers={"Accept": "text/html"})
    assert (refused.status_code, refused["Content-Type"]) == (404, "text/html; charset=utf-8")
    assert "not-found" in refused.content.decode()


@pytest.fixture
def broken(monkeypatch, manager):
    """A client for which reading parts fails in the way that the test says."""

    def breaks_with(error):
        def rows(self):
            raise error

        monkeypatch.setattr(parts_view.PartsView, "rows", rows)
        manager.handler.raise_request_exception = False
        manager.raise_request_exception = False
        return manager

    return breaks_with


def test_what_nobody_expected_is_a_500_that_tells_nothing(broken, caplog):
    caplog.set_level(logging.CRITICAL, "django.request")
    answer = broken(RuntimeError("password=secret")).read("parts")
    assert (answer.status_code, answer.json()["code"]) == (500, "server-error")
    assert b"secret" not in answer.content
    assert answer["Content-Type"] == problems.MEDIA_TYPE


def test_a_busy_database_asks_to_come_again(broken):
    answer = broken(OperationalError("database is locked at /secret")).read("parts")
    assert (answer.status_code, answer.json()["code"], answer["Retry-After"]) == (503, "database-busy", "1")
    assert b"secret" not in answer.content


@pytest.mark.sqlite_only
def test_a_missing_table_is_not_a_busy_database(broken, caplog):
    caplog.set_level(logging.CRITICAL, "django.request")
    assert broken(OperationalError("no such table: inventory_part")).read("parts").json()["code"] == "server-error"


def test_a_forged_host_is_refused_in_the_same_shape(caplog):
    caplog.set_level(logging.CRITICAL, "django.security")
    answer = ShopClient().get("/api/v1/parts", headers={"Host": "evil.example"})
    assert (answer.status_code, answer.json()["code"]) == (400, "bad-request")


def test_a_load_balancer_is_answered_plainly():
    answer = Client().get("/healthz")
    assert (answer.status_code, answer.content, answer["Content-Type"]) == (200, b"ok\n", "text/plain; charset=utf-8")
    assert Client().post("/healthz").status_code == 405
