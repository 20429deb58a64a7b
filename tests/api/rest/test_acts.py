"""`acts`, corrections and `refusals`."""

import uuid
from datetime import timedelta

import pytest

from inventory.domain.places import BOOKS_ONLY
from inventory.models import Act, Balance, Refusal
from inventory.services import things
from tests.factories.stores import NOON, PartFactory, PersonFactory, shelf, stock

pytestmark = pytest.mark.django_db


@pytest.fixture
def received():
    shelf("R1")
    stock(
        PartFactory(number="P-1"), 4, lot="L-1", actor=PersonFactory(username="piet", first_name="Piet", last_name="S")
    )
    return Act.objects.get()


def test_an_act_says_who_when_what_and_what_was_answered(received, manager):
    body = manager.read(f"acts/{received.pk}").json()
    outcome = body.pop("outcome")
    assert body == {
        "id": received.pk,
        "key": str(received.key),
        "kind": "receive",
        "actor": {"login": "piet", "name": "Piet S"},
        "occurred_at": "2025-01-15T12:00:00Z",
        "recorded_at": "2025-01-15T12:00:00Z",
        "device": "",
        "device_at": None,
        "place": "R1",
        "subject": "",
        "reason": "",
        "corrects": None,
        "corrected_by": None,
        "movements": [
            {
                "item": outcome["lines"][0]["item"],
                "part": "P-1",
                "identity": "lot=L-1",
                "amount": {"amount": 4, "base": "piece", "shown": "4 EA"},
                "said_from": "received from the supplier",
                "from_spot": "-",
                "said_to": "R1",
                "to_spot": "-",
            }
        ],
    }
    assert outcome["receipt"] == received.pk


def test_a_correction_takes_an_act_back_once(received, manager):
    answer = manager.send(f"acts/{received.pk}/corrections", {"reason": "wrong delivery"})
    assert answer.status_code == 201
    told = answer.json()
    assert (told["corrects"], told["kind"], told["reversed"][0]["amount"]) == (received.pk, "receive", 4)
    assert told["reversed"][0] | {"item": 0} == {
        "part": "P-1",
        "item": 0,
        "amount": 4,
        "from": {"place": "R1", "spot": "-"},
        "to": {"place": "", "spot": ""},
        "said": "taken back: received from the supplier",
    }
    correction = Act.objects.get(corrects=received)
    moved = manager.read(f"acts/{correction.pk}").json()["movements"]
    assert [(row["said_from"], row["said_to"]) for row in moved] == [("R1", "taken back: received from the supplier")]
    assert answer["Location"] == f"/api/v1/acts/{correction.pk}"
    assert correction.occurred_at == received.occurred_at
    assert manager.read(f"acts/{received.pk}").json()["corrected_by"] == correction.pk
    assert manager.read(f"acts/{correction.pk}").json()["corrects"] == received.pk
    assert Balance.objects.get(real=True).amount == 0
    twice = manager.send(f"acts/{received.pk}/corrections", {"reason": "again"})
    assert (twice.status_code, twice.json()["code"]) == (409, "corrected-already")


@pytest.mark.parametrize(
    ("path", "body", "code"),
    [
        ("acts/999999/corrections", {"reason": "x"}, "not-found"),
        ("acts/{act}/corrections", {"reason": "   "}, "fields-wrong"),
        ("acts/{act}/corrections", {"reason": None}, "fields-wrong"),
        ("acts/{act}/corrections", {"reason": "x", "act": 4}, "fields-wrong"),
        ("acts/{act}/corrections", {"reason": "x" * 2001}, "fields-wrong"),
    ],
)
def test_what_cannot_be_corrected_is_named(received, manager, path, body, code):
    assert manager.send(path.format(act=received.pk), body).json()["code"] == code
    assert Act.objects.count() == 1


@pytest.mark.parametrize("kind", sorted(BOOKS_ONLY))
def test_what_only_the_books_have_is_no_place_to_anybody(received, manager, kind):
    code = things.books_only(kind).place.code
    item = Balance.objects.get(real=True).item_id
    line = {"item": item, "from_place": code, "to_place": "R1"}
    assert [row["code"] for row in manager.rows("places")] == ["R1"]
    assert manager.rows("balances", place=code) == []
    for address in (f"places/{code}", f"places/{code}/contents"):
        assert manager.read(address).json()["code"] == "not-found"
    for address, body in {
        "transfers": {"lines": [line | {"amount": 1}]},
        "counts": {"place": code, "lines": []},
        "scraps": {"item": item, "place": code, "amount": 1, "reason": "x", "who_pays": "shop"},
        "receipts": {"supplier": "maker", "place": code, "lines": [{"part": "P-1", "amount": 1, "lot": "L-1"}]},
    }.items():
        assert manager.send(address, body).json()["code"] == "not-found", address
    assert Act.objects.count() == 1


def test_acts_are_never_changed_over_http(received, manager):
    for method in ("PUT", "PATCH", "DELETE", "POST"):
        answer = manager.send(f"acts/{received.pk}", {}, method=method)
        assert answer.status_code in (403, 405), method
    assert Act.objects.count() == 1


def test_filters_and_orders_of_acts(received, manager):
    stock(PartFactory(number="P-2"), 4, at=NOON + timedelta(days=2), actor=PersonFactory(username="cass"))
    first, second = Act.objects.order_by("pk").values_list("pk", flat=True)
    everything = {
        "kind": "receive",
        "place": "R1",
        "occurred_from": "2025-01-15T12:00:00Z",
        "recorded_before": "2025-02-01T00:00:00+01:00",
    }
    for name, value in everything.items():
        assert [row["id"] for row in manager.rows("acts", **{name: value})] == [second, first], name
    for name, value in {
        "actor": "piet",
        "occurred_before": "2025-01-16T00:00:00Z",
        "recorded_before": "2025-01-15T12:00:01Z",
    }.items():
        assert [row["id"] for row in manager.rows("acts", **{name: value})] == [first], name
    assert [row["id"] for row in manager.rows("acts", recorded_from="2025-01-16T00:00:00Z")] == [second]
    assert [row["id"] for row in manager.rows("acts", subject="P-2")] == []
    assert [row["id"] for row in manager.rows("acts", ordering="-occurred_at")] == [second, first]
    assert [row["id"] for row in manager.rows("acts", ordering="pk")] == [first, second]
    for wrong in ("yesterday", "2025-13-01T00:00:00Z", "0000"):
        assert manager.read("acts", occurred_from=wrong).json()["code"] == "fields-wrong"


def test_refusals_are_kept_and_can_be_read(received, manager):
    key = uuid.uuid4()
    refused = manager.send("acts/999999/corrections", {"reason": "x"}, key=key).json()
    row = Refusal.objects.get()
    assert manager.rows("refusals") == [
        {
            "id": row.pk,
            "key": str(key),
            "kind": "correct",
            "actor": {"login": manager.person.username, "name": str(manager.person)},
            "recorded_at": row.recorded_at.isoformat().replace("+00:00", "Z"),
            "subject": "",
            "code": "not-found",
            "message": refused["detail"],
            "values": {"act": 999999},
        }
    ]
    assert len(manager.rows("refusals", code="not-found", kind="correct", actor=manager.person.username)) == 1
    assert manager.rows("refusals", code="not-free") == []
    assert manager.read("refusals", code="no-such-code").json()["code"] == "fields-wrong"


@pytest.mark.parametrize("path", ["acts", "refusals"])
def test_the_newest_come_first_and_pages_stay_as_more_comes_in(received, manager, path):
    def more() -> None:
        stock(PartFactory(), 1)
        manager.send("acts/999999/corrections", {"reason": "x"})

    for _ in range(5):
        more()
    numbers = list((Act if path == "acts" else Refusal).objects.order_by("-pk").values_list("pk", flat=True))
    answer, walked = manager.read(path, page_size=2).json(), []
    while answer["next"]:
        walked += [row["id"] for row in answer["results"]]
        more()
        answer = manager.get(answer["next"]).json()
    assert walked + [row["id"] for row in answer["results"]] == numbers


def test_a_list_of_three_costs_as_many_queries_as_a_list_of_one(received, manager, django_assert_num_queries):
    manager.rows("acts")
    manager.send("acts/999999/corrections", {"reason": "x"})
    for path in ("acts", "refusals"):
        with django_assert_num_queries(2):
            assert len(manager.rows(path)) == 1
    stock(PartFactory(), 1)
    manager.send(f"acts/{received.pk}/corrections", {"reason": "x"})
    for _ in range(2):
        manager.send("acts/999999/corrections", {"reason": "x"})
    for path in ("acts", "refusals"):
        with django_assert_num_queries(2):
            assert len(manager.rows(path)) == 3
