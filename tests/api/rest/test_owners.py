"""`owners` over HTTP: personal data for those who need it, changed only as it was read, and nowhere else on record."""

import json
import uuid

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.models import Act, Outcome, Owner, Refusal
from tests.api.rest.clients import somebody
from tests.api.rest.described import DescribedClient

pytestmark = pytest.mark.django_db

OWNER = {"name": "Someone Invented", "address": "1 Quay Lane", "telephone": "555 0100", "email": "someone@example.org"}


def client(role):
    return DescribedClient(somebody(role))


@pytest.fixture
def office():
    return client("parts manager")


def test_an_owner_is_entered_read_and_changed(office):
    key = uuid.uuid4()
    made = office.send("owners", OWNER, key=key)
    number = Owner.objects.get().pk
    assert (made.status_code, made.json()) == (201, {"owner": number, "version": 1})
    assert office.send("owners", OWNER, key=key).json() == made.json()
    read = office.read(f"owners/{number}")
    assert (read["ETag"], read.json()) == ('"1"', {"id": number, **OWNER, "version": 1})
    changed = office.send(f"owners/{number}", {"telephone": "555 0101"}, method="PATCH", if_match='"1"')
    assert changed.json() == {"owner": number, "version": 2, "changed": ["telephone"]}
    assert office.rows("owners") == [{"id": number, **OWNER, "telephone": "555 0101", "version": 2}]


def test_a_change_of_what_was_not_read_is_refused(office):
    number = office.send("owners", OWNER).json()["owner"]
    for header, status, code in (({}, 428, "version-missing"), ({"if_match": '"7"'}, 412, "version-stale")):
        answer = office.send(f"owners/{number}", {"name": "Other"}, method="PATCH", **header)
        assert (answer.status_code, answer.json()["code"]) == (status, code)
    assert Owner.objects.get().name == OWNER["name"]


def test_personal_data_stands_with_the_owner_alone(office):
    number = office.send("owners", OWNER).json()["owner"]
    office.send(f"owners/{number}", {"name": "Another Name"}, method="PATCH", if_match='"1"')
    office.send(f"owners/{number}", {"name": "Third Name"}, method="PATCH", if_match='"1"')
    kept = json.dumps([list(model.objects.values()) for model in (Act, Outcome, Refusal)], default=str)
    assert Refusal.objects.count() == 1
    assert [word for word in (*OWNER.values(), "Another Name", "Third Name") if word in kept] == []


@pytest.mark.parametrize("role", ["storekeeper", "technician", "inspector", "apprentice"])
def test_who_may_not_read_gets_nothing_by_any_method(office, role):
    number = office.send("owners", OWNER).json()["owner"]
    person = client(role)
    for path in ("owners", f"owners/{number}", "owners/999"):
        assert person.read(path).json()["code"] == "not-allowed"
        assert person.head(f"/api/v1/{path}").status_code == 403
    # Who sells at the counter enters the buyer, and reads nobody.
    may_enter = person.send("owners", OWNER).status_code == 201
    assert may_enter == (role == "storekeeper")
    change = person.send(f"owners/{number}", {"name": "x"}, method="PATCH", if_match='"1"')
    assert change.json()["code"] == "not-allowed"


@pytest.mark.parametrize("role", ["owner", "warranty clerk"])
def test_who_may_read(office, role):
    number = office.send("owners", OWNER).json()["owner"]
    assert client(role).read(f"owners/{number}").json()["name"] == OWNER["name"]
    assert client("warranty clerk").send("owners", OWNER).json()["code"] == "not-allowed"


@pytest.mark.parametrize(
    ("method", "path", "body", "status", "code"),
    [
        ("POST", "owners", {}, 400, "fields-wrong"),
        ("POST", "owners", {"name": "x" * 201}, 400, "fields-wrong"),
        ("POST", "owners", {"name": "x", "email": "no"}, 400, "fields-wrong"),
        ("POST", "owners", {"name": "x", "shoe": 43}, 400, "fields-wrong"),
        ("PATCH", "owners/{}", {}, 422, "nothing-given"),
        ("PATCH", "owners/{}", {"name": OWNER["name"]}, 422, "nothing-changed"),
        ("PATCH", "owners/999", {"name": "x"}, 404, "not-found"),
    ],
)
def test_what_cannot_be_is_refused_by_name(office, method, path, body, status, code):
    number = office.send("owners", OWNER).json()["owner"]
    answer = office.send(path.format(number), body, method=method, if_match='"1"')
    assert (answer.status_code, answer.json()["code"]) == (status, code), answer.content
    assert office.read("owners/999").json()["code"] == "not-found"
    assert office.send("owners", OWNER, key="").json()["code"] == "key-missing"


@pytest.mark.parametrize("owners", [1, 3])
def test_the_list_costs_four_queries_however_long(office, owners):
    """The token, the permissions of the person and of the groups, the rows."""
    for _ in range(owners):
        office.send("owners", OWNER)
    with CaptureQueriesContext(connection) as queries:
        assert len(office.rows("owners")) == owners
    assert len(queries) == 4, [query["sql"] for query in queries]


def test_a_new_engine_is_booked_for_its_owner(rebuild):
    number = rebuild.did(rebuild.manager, "owners", OWNER)["owner"]
    rebuild.booked(owner=number)
    assert Owner.objects.get(engines__number="T4-00211").pk == number
