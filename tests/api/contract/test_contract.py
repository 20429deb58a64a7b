"""The description of the service and the service itself, held against each other.

schemathesis makes requests out of the description, good ones and bad ones, and judges the answers by it. Every operation is
exercised, and each also answers a good request with 2xx in the form that the description promises.
"""

from __future__ import annotations

import copy
import re
import uuid
from typing import Any

import hypothesis
import pytest
import schemathesis
from django.contrib.staticfiles import finders
from django.core.cache import cache
from django.core.signals import request_finished, request_started
from django.core.wsgi import get_wsgi_application
from django.db import close_old_connections
from drf_spectacular.generators import SchemaGenerator
from rest_framework.test import APIClient
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from api.rest.words import code_table
from inventory.domain.error_codes import CODES
from inventory.models import Refusal
from inventory.queries.audit import audit
from inventory.services.logins import token_of
from tests import databases
from tests.api.contract.claims import GOOD_CLAIMS
from tests.api.contract.cores import GOOD_CORES
from tests.api.contract.counting import GOOD_COUNTING
from tests.api.contract.lists import GOOD_LISTS
from tests.api.contract.loans import GOOD_LOANS
from tests.api.contract.measuring import GOOD_MEASURING
from tests.api.contract.off_job import GOOD_OFF_JOB
from tests.api.contract.orders import GOOD_ORDERS
from tests.api.contract.rebuilds import GOOD_JOBS
from tests.api.contract.shops import GOOD as GOOD_STORES
from tests.api.contract.shops import everybody, stores
from tests.api.contract.transfers import GOOD_TRANSFERS

#: Operation -> a request that it answers with 2xx.
GOOD = (
    GOOD_STORES
    | GOOD_JOBS
    | GOOD_LISTS
    | GOOD_MEASURING
    | GOOD_CORES
    | GOOD_ORDERS
    | GOOD_LOANS
    | GOOD_COUNTING
    | GOOD_TRANSFERS
    | GOOD_OFF_JOB
    | GOOD_CLAIMS
)
CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
]
#: Few, because every run of the tests makes them, good ones and bad ones, for each operation.
EXAMPLES = 3
#: Statuses of what is refused by a rule, or because somebody else was first.
BY_A_RULE = (409, 422)
DESCRIPTION = SchemaGenerator().get_schema(public=True)
PUBLISHED = {
    operation["operationId"]: (path, method)
    for path, operations in DESCRIPTION["paths"].items()
    for method, operation in operations.items()
    if isinstance(operation, dict) and "operationId" in operation
}


@pytest.fixture(scope="module")
def shop(template_database, django_db_blocker):
    """A database with the small shop in it, for all tests of this module: who asks, and the headers of somebody who may do all."""
    with django_db_blocker.unblock(), databases.clone(template_database, "contract"):
        actor = everybody()
        stores(everybody("storekeeper"))
        yield actor, {"Authorization": f"Token {token_of(actor=actor)}"}


def in_the_tests_transaction(application: Any) -> Any:
    """The service inside the test's own transaction: it must not close the connection around a request, as it does elsewhere.

    Django's test client, by which a job is brought as far as a request needs, connects the closing again after each request.
    """

    def called(environ: Any, start_response: Any) -> Any:
        for moment in (request_started, request_finished):
            moment.disconnect(close_old_connections)
        return application(environ, start_response)

    return called


@pytest.fixture(scope="module")
def description():
    """The description as schemathesis reads it, answered by the service in this process."""
    schema = schemathesis.openapi.from_dict(copy.deepcopy(DESCRIPTION))
    schema.app = in_the_tests_transaction(get_wsgi_application())
    return schema


@pytest.fixture
def service(shop, description, django_db_blocker):
    """Description, person and headers; what the test does to the shop is undone, and the books are whole before that."""
    cache.clear()
    with django_db_blocker.unblock(), databases.rolled_back():
        yield description, *shop
        assert audit() == []
    for moment in (request_started, request_finished):
        moment.connect(close_old_connections)


def operation_of(schema: Any, name: str) -> Any:
    path, method = PUBLISHED[name]
    return schema[path][method.upper()]


def test_the_good_requests_are_those_of_every_published_operation():
    assert sorted(GOOD) == sorted(PUBLISHED)


@pytest.mark.parametrize("name", sorted(PUBLISHED))
def test_a_good_request_is_answered_with_2xx_as_described(service, name):
    schema, actor, headers = service
    good = GOOD[name](actor)
    operation = operation_of(schema, name)
    case = operation.Case(
        path_parameters=dict(good.path),
        query=dict(good.query),
        headers={"Idempotency-Key": str(uuid.uuid4()), **good.headers},
        **({"body": good.body, "media_type": "application/json"} if good.body is not None else {}),
    )
    answer = case.call(headers=headers)
    assert 200 <= answer.status_code < 300, answer.content
    case.validate_response(answer, checks=CHECKS)


def exercise(operation: Any, mode: Any, headers: dict[str, str]) -> list[int]:
    """Made-up requests of one mode; the statuses they were answered with. A failure names the check."""
    met: list[int] = []

    @hypothesis.given(case=operation.as_strategy(generation_mode=mode))
    @hypothesis.settings(
        max_examples=EXAMPLES,
        deadline=None,
        database=None,
        suppress_health_check=list(hypothesis.HealthCheck),
        phases=[hypothesis.Phase.generate],
    )
    def run(case: Any) -> None:
        before = Refusal.objects.count()
        answer = case.call(headers=headers)
        met.append(answer.status_code)
        case.validate_response(answer, checks=CHECKS)
        kept = list(Refusal.objects.order_by("pk").values_list("code", flat=True)[before:])
        by_a_rule = operation.method.upper() != "GET" and answer.status_code in BY_A_RULE
        refused = [answer.json()["code"]] if by_a_rule else []
        assert [code for code in kept if CODES[code].status in BY_A_RULE] == refused

    run()
    return met


@pytest.mark.parametrize("name", sorted(PUBLISHED))
def test_made_up_requests_are_answered_as_described(service, name):
    schema, _, headers = service
    operation = operation_of(schema, name)
    assert exercise(operation, schemathesis.GenerationMode.POSITIVE, headers) != []
    # where nothing but text is asked for, nothing that is made up is wrong
    if len(operation.body):
        assert exercise(operation, schemathesis.GenerationMode.NEGATIVE, headers) != []


def test_the_checks_would_see_a_wrong_answer(service):
    _, _, headers = service
    wrong = copy.deepcopy(DESCRIPTION)
    wrong["components"]["schemas"]["SupplierDetail"]["required"].append("a field that no answer has")
    schema = schemathesis.openapi.from_dict(wrong)
    schema.app = in_the_tests_transaction(get_wsgi_application())
    case = operation_of(schema, "suppliers_read").Case(path_parameters={"code": "maker"})
    with pytest.raises(BaseExceptionGroup, match="a field that no answer has"):
        case.call_and_validate(headers=headers, checks=CHECKS)


def test_every_operation_names_its_refusals_and_every_write_its_key():
    for name, (path, method) in PUBLISHED.items():
        operation = DESCRIPTION["paths"][path][method]
        statuses = set(operation["responses"])
        parameters = {parameter["name"] for parameter in operation.get("parameters", ())}
        assert {"400", "406", "503"} <= statuses, name
        assert "401" in statuses, name
        writes = method != "get" and path != "/api/v1/tokens"
        assert ("Idempotency-Key" in parameters) == writes, name
        if writes:
            assert {"201", "403", "409", "413", "415", "422"} <= statuses, name
        if method == "patch":
            assert {"412", "428"} <= statuses and "If-Match" in parameters, name
        for status, answer in operation["responses"].items():
            if status.startswith(("4", "5")):
                assert set(answer["content"]) - {"text/html"} == {"application/problem+json"}, name
                for code in re.findall(r"\[([a-z-]+)\]", answer["description"]):
                    assert str(CODES[code].status) == status, (name, code)


def test_the_published_tables_are_the_codes_of_the_program():
    rows = re.findall(r"^\| ([a-z-]+) \| (\d+) \| (.+) \|$", DESCRIPTION["info"]["description"], re.MULTILINE)
    published = [(code, str(meaning.status), meaning.title) for code, meaning in CODES.items()]
    assert rows == published
    assert code_table() in DESCRIPTION["info"]["description"]
    page = APIClient().get("/docs/errors").content.decode()
    shown = re.findall(r'<tr id="([a-z-]+)"><th scope="row"><code>\1</code></th><td>(\d+)</td>', page)
    assert shown == [(code, status) for code, status, _ in published]
    problem = DESCRIPTION["components"]["schemas"]["Problem"]["properties"]["code"]
    assert sorted(CODES) == sorted(problem.get("enum") or DESCRIPTION["components"]["schemas"]["CodeEnum"]["enum"])


def test_the_description_and_its_pages_come_without_a_log_in_and_without_the_internet():
    client = APIClient()
    assert client.get("/api/v1/schema").status_code == 200
    page = client.get("/api/v1/docs").content.decode()
    loaded = re.findall(r'(?:src|href)="([^"]+)"', page)
    assert loaded
    assert [address for address in loaded if "//" in address] == []
    for address in loaded:
        assert finders.find(address.removeprefix("/static/")), address
