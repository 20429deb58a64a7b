"""`receipts` over HTTP: what is booked, what is answered, and every way of sending nonsense."""

import json
import uuid

import pytest

from inventory.models import Act, Balance, Movement, Refusal, ShopSetting
from tests.factories.stores import PartFactory, SupplierFactory, cart, quarantine, shelf

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop():
    """A shelf, a supplier, a ring traced by lot, a set and a poured part."""
    shelf("R1")
    cart("cart 1")
    SupplierFactory()
    PartFactory(number="P-1")
    PartFactory(number="S-1", tracked_by="set", unit="SET")
    PartFactory(number="OIL", tracked_by="nothing", unit="LTR", base="microlitre")


def line(**more):
    return {"part": "P-1", "amount": "4 EA", "lot": "L-1"} | more


def delivery(*lines, **more):
    return {"supplier": "maker", "place": "R1", "lines": list(lines) or [line()]} | more


def standing():
    return sorted(
        Balance.objects.filter(real=True).values_list("part__number", "item__identity", "place__code", "amount")
    )


def test_a_delivery_stands_on_the_shelf_and_the_answer_leads_to_its_act(shop, manager):
    answer = manager.send("receipts", delivery(line(total_coins=840), {"part": "OIL", "amount": "2 fl oz"}))
    assert answer.status_code == 201
    act = Act.objects.get()
    assert answer["Location"] == f"/api/v1/acts/{act.pk}"
    assert "Idempotent-Replayed" not in answer
    body = answer.json()
    assert body["receipt"] == act.pk
    assert [(row["part"], row["amount"], row["base"], row["typed"]) for row in body["lines"]] == [
        ("P-1", 4, "piece", "4 EA"),
        # 2 US fluid ounces = 59.147 mL. Source: NIST Handbook 44, appendix C: 1 fl oz = 29.573 53 mL
        ("OIL", 59147, "microlitre", "2 fl oz"),
    ]
    assert standing() == [("OIL", "-", "R1", 59147), ("P-1", "lot=L-1", "R1", 4)]
    assert (act.actor, act.kind) == (manager.person, "receive")


def test_rubber_past_its_day_needs_a_quarantine_and_no_piece_of_it_is_kept_back(shop, manager, client_of):
    quarantine("Q1")
    ShopSetting.objects.create(name="keep_from", value="2020-01-01")
    PartFactory(number="SEAL", kind="O-ring", life={"from": "cure", "years": 7})
    old = {"part": "SEAL", "amount": 5, "lot": "B", "cure_code": "1Q10"}
    refused = manager.send("receipts", delivery(old))
    assert (refused.status_code, refused.json()["code"]) == (422, "quarantine-needed")
    assert refused.json()["lines"][0]["ways_out"] == ["Name a quarantine for it."]
    body = manager.send("receipts", delivery(old, quarantine="Q1")).json()
    assert [(row["place"], row["why"], row["expires_on"]) for row in body["lines"]] == [
        ("Q1", "past its day", "2017-01-01")
    ]
    assert (standing(), "kept_back" in body) == ([("SEAL", "lot=B", "Q1", 5)], False)
    good = {"part": "SEAL", "amount": 5, "lot": "C", "cure_code": "1Q25"}
    assert manager.send("receipts", delivery(good)).json()["kept_back"]["pieces"] == 1
    item = body["lines"][0]["item"]
    out = {"lines": [{"item": item, "amount": 5, "from_place": "Q1", "to_place": "R1"}]}
    answer = client_of("inspector").send("quarantine-releases", out)
    assert (answer.status_code, answer.json()["code"]) == (422, "expired")


def test_straight_into_quarantine_needs_a_reason_and_keeps_it(shop, manager):
    quarantine("Q1")
    undated = PartFactory(number="SEAL", life={"from": "cure", "years": 7})
    lines = [line(), {"part": undated.number, "amount": 2, "lot": "B", "spot": "low"}]
    refused = manager.send("receipts", delivery(*lines, place="Q1", reason=" "))
    assert (refused.status_code, refused.json()["code"]) == (422, "reason-missing")
    assert standing() == []
    answer = manager.send("receipts", delivery(*lines, place="Q1", reason="box was wet"))
    assert answer.status_code == 201
    first, second = answer.json()["lines"]
    assert (first["place"], first["quarantined"]) == ("Q1", "box was wet")
    assert (second["place"], second["spot"], second["expires_on"]) == ("Q1", "low", None)
    assert second["quarantined"] not in ("", "box was wet")
    assert Act.objects.get().reason == "box was wet"


def test_a_repeated_key_gives_the_same_answer_and_moves_nothing(shop, manager):
    key = uuid.uuid4()
    first = manager.send("receipts", delivery(), key=key)
    again = manager.send("receipts", delivery(), key=key)
    assert (again.status_code, again.content, again["Location"]) == (201, first.content, first["Location"])
    assert again["Idempotent-Replayed"] == "true"
    assert standing() == [("P-1", "lot=L-1", "R1", 4)]
    assert Movement.objects.count() == 1


def test_a_repeated_key_with_other_content_is_a_conflict(shop, manager):
    key = uuid.uuid4()
    manager.send("receipts", delivery(), key=key)
    again = manager.send("receipts", delivery(line(amount="5 EA")), key=key)
    assert (again.status_code, again.json()["code"]) == (409, "key-reused")
    assert standing() == [("P-1", "lot=L-1", "R1", 4)]


def test_a_key_of_somebody_else_is_a_conflict(shop, manager, client_of):
    key = uuid.uuid4()
    manager.send("receipts", delivery(), key=key)
    other = client_of("storekeeper").send("receipts", delivery(), key=key)
    assert (other.status_code, other.json()["code"]) == (409, "key-reused")


@pytest.mark.parametrize(
    "key", ["", "4", "zzzzzzzz-0000-0000-0000-000000000000", "{12345678-1234-1234-1234-1234567890}"]
)
def test_a_write_without_a_proper_key_is_refused(shop, manager, key):
    answer = manager.send("receipts", delivery(), key=key)
    assert (answer.status_code, answer.json()["code"]) == (400, "key-missing")
    assert standing() == []


def test_every_refused_line_is_named_with_its_value(shop, manager):
    answer = manager.send(
        "receipts",
        delivery(line(), line(part="P-9"), line(amount="0 EA"), line(amount="3,5 EA"), {"part": "S-1", "amount": 1}),
    )
    document = answer.json()
    assert (answer.status_code, document["code"]) == (404, "not-found")
    assert [(row["line"], row["code"]) for row in document["lines"]] == [
        (2, "not-found"),
        (3, "amount-not-positive"),
        (4, "quantity-unreadable"),
        (5, "serial-missing"),
    ]
    assert document["lines"][0]["detail"] == "No such part: P-9. Near: P-1."
    assert document["lines"][0]["values"] == {"part": "P-9", "near": ["P-1"]}
    assert document["lines"][2]["values"] == {"typed": "3,5 EA"}
    assert document["lines"][2]["ways_out"] == ["write 3.5 or 3500"]
    assert standing() == []
    assert Refusal.objects.get().code == "not-found"


#: (what is sent, HTTP status, code, text that the detail must hold). Each is bad in one way only.
HOSTILE = [
    (delivery(line(amount="O EA")), 422, "quantity-unreadable", "O EA"),
    (delivery(line(amount="4 furlongs")), 422, "quantity-unit-unknown", "furlongs"),
    (delivery(line(amount="4 mL")), 422, "quantity-wrong-dimension", "4 mL"),
    (delivery(line(amount="2.5 EA")), 422, "quantity-not-whole", "2.5 EA"),
    (delivery(line(amount="9**9**9 mm")), 422, "quantity-unreadable", "9**9**9 mm"),
    (delivery(line(amount=-4)), 422, "amount-not-positive", "-4"),
    (delivery(line(amount=0)), 422, "amount-not-positive", "0"),
    (delivery(line(amount="-4 EA")), 422, "quantity-negative", "-4 EA"),
    (delivery(line(amount="999999999999 EA"), line(amount="9" * 40)), 422, "quantity-unreadable", "line 2"),
    (delivery(line(amount=True)), 400, "fields-wrong", "lines.1.amount"),
    (delivery(line(amount=1.5)), 400, "fields-wrong", "1.5"),
    (delivery(line(amount=None)), 400, "fields-wrong", "lines.1.amount"),
    (delivery(line(amount=["4 EA"])), 400, "fields-wrong", "lines.1.amount"),
    (delivery(line(part="P-I")), 404, "not-found", "P-I"),
    (delivery(line(part=1)), 400, "fields-wrong", "lines.1.part"),
    (delivery(line(lot="")), 422, "lot-missing", "P-1"),
    (delivery(line(colour="red")), 400, "fields-wrong", "lines.1.colour"),
    (delivery(line(total_coins=-1)), 400, "fields-wrong", "lines.1.total_coins"),
    (delivery(line(total_coins="840")), 400, "fields-wrong", "840"),
    (delivery(line(made_on="2025-02-30")), 400, "fields-wrong", "lines.1.made_on"),
    (delivery(line(made_on="0001-01-01")), 400, "fields-wrong", "0001-01-01"),
    (delivery(line(lot="L" * 61)), 400, "fields-wrong", "lines.1.lot"),
    (delivery(line(inner_lots={"P-1": 4})), 400, "fields-wrong", "lines.1.inner_lots"),
    (delivery(supplier="nobody"), 404, "not-found", "nobody"),
    (delivery(place="nowhere"), 404, "not-found", "nowhere"),
    (delivery(place="cart 1"), 422, "wrong-place", "cart 1"),
    (delivery(surprise=1), 400, "fields-wrong", "surprise"),
    (delivery(occurred_at="2999-01-01T00:00:00Z"), 422, "from-the-future", "2999"),
    (delivery(occurred_at="2025-01-01T00:00:00"), 400, "fields-wrong", "2025-01-01T00:00:00"),
    (delivery(occurred_at="0001-01-01T00:00:00+14:00"), 400, "fields-wrong", "0001-01-01"),
    (delivery(occurred_at=20250101), 400, "fields-wrong", "20250101"),
    (delivery(lines={}), 400, "fields-wrong", "lines"),
    ({"supplier": "maker", "place": "R1", "lines": []}, 422, "nothing-given", "line"),
    ({}, 400, "fields-wrong", "supplier"),
    ([], 400, "bad-request", "object"),
    ("4", 400, "bad-request", "object"),
    ("", 400, "fields-wrong", "supplier"),
    (" ", 400, "bad-request", "JSON"),
    ("{", 400, "bad-request", "line 1"),
    ('{"lines": NaN}', 400, "bad-request", "NaN"),
    ('{"lines": -Infinity}', 400, "bad-request", "-Infinity"),
    ('{"lines": 1e999}', 400, "bad-request", "1e999"),
    ('{"lines": 9007199254740993}', 400, "bad-request", "9007199254740993"),
    ('{"lines": ' + "9" * 5000 + "}", 400, "bad-request", "999"),
    ('{"place": "R1", "place": "R2"}', 400, "bad-request", "place"),
    ('{"place": "R\\u0000"}', 400, "bad-request", "place"),
    ('{"pl\\u0000ce": "R"}', 400, "bad-request", "name of a field"),
    ('{"place": "\\ud800"}', 400, "bad-request", "place"),
    ("[" * 30 + "]" * 30, 400, "bad-request", "deeper"),
    ("[" * 200_000, 400, "bad-request", "deeper"),
    (b'{"place": "\xff"}', 400, "bad-request", "UTF-8"),
    (b"\xff\xfe{\x00}\x00", 400, "bad-request", "UTF-8"),
    ('{"place": "' + "R" * 2_200_000 + '"}', 413, "body-too-large", "2097152"),
]


@pytest.mark.parametrize(("body", "status", "code", "named"), HOSTILE, ids=range(len(HOSTILE)))
def test_nonsense_is_refused_by_name_and_nothing_is_stored(shop, manager, body, status, code, named):
    answer = manager.send("receipts", body)
    document = answer.json()
    assert (answer.status_code, document["code"]) == (status, code), document
    assert named in document["detail"]
    assert (Act.objects.count(), Movement.objects.count(), standing()) == (0, 0, [])
    assert list(Refusal.objects.values_list("code", flat=True)) in ([], [code])


def test_ten_thousand_lines_are_refused_by_their_number(shop, manager):
    answer = manager.send("receipts", delivery(*[line()] * 10_000))
    document = answer.json()
    assert (answer.status_code, document["code"], document["values"]) == (
        422,
        "too-many-lines",
        {"lines": 10_000, "most": 2000},
    )
    assert standing() == []


def test_only_json_is_read(shop, manager):
    answer = manager.post(
        "/api/v1/receipts",
        {"supplier": "maker"},
        format=None,
        content_type="application/x-www-form-urlencoded",
        HTTP_IDEMPOTENCY_KEY=str(uuid.uuid4()),
    )  # fmt: skip - one request reads better in one piece
    assert (answer.status_code, answer.json()["code"]) == (415, "media-type")


def test_a_query_parameter_of_a_write_is_refused(shop, manager):
    answer = manager.send("receipts?dry_run=true", delivery())
    assert (answer.status_code, answer.json()["code"]) == (400, "parameter-unknown")
    assert standing() == []


def test_rubber_without_a_date_goes_to_quarantine_when_one_is_named(shop, manager):
    PartFactory(number="O-1", life={"from": "cure", "years": 7})
    quarantine("Q1")
    ring = {"part": "O-1", "amount": 20, "lot": "B1"}
    refused = manager.send("receipts", delivery(ring)).json()
    assert (refused["code"], refused["lines"][0]["code"]) == ("undated", "undated")
    answer = manager.send("receipts", delivery(ring, quarantine="Q1"))
    assert [(row["place"], bool(row["quarantined"])) for row in answer.json()["lines"]] == [("Q1", True)]


def test_an_act_that_happened_earlier_says_so(shop, manager):
    manager.send(
        "receipts",
        delivery(occurred_at="2024-03-01T12:00:00+01:00", device="bench 3", device_at="2024-03-01T12:00:05Z"),
    )
    act = Act.objects.get()
    assert (act.occurred_at.isoformat(), act.device) == ("2024-03-01T11:00:00+00:00", "bench 3")
    assert act.device_at.isoformat() == "2024-03-01T12:00:05+00:00"
    assert act.recorded_at.year >= 2025


def test_a_body_is_the_same_however_its_fields_are_ordered(shop, manager):
    key = uuid.uuid4()
    body = delivery()
    manager.send("receipts", body, key=key)
    turned = json.dumps(dict(reversed(list(body.items()))))
    assert manager.send("receipts", turned, key=key)["Idempotent-Replayed"] == "true"


def test_more_than_the_books_hold_does_not_come_together(client_of):
    """Each amount alone is one that every reader of JSON holds exactly (RFC 7493, section 2.2); their sum is not."""
    PartFactory(number="P-1", tracked_by="nothing")
    shelf("R1")
    body = {"supplier": SupplierFactory().code, "place": "R1", "lines": [{"part": "P-1", "amount": 2**53 - 1}]}
    client = client_of("storekeeper")
    assert client.send("receipts", body).status_code == 201
    body["lines"][0]["amount"] = 1
    refused = client.send("receipts", body)
    assert (refused.status_code, refused.json()["code"]) == (422, "quantity-too-large")
    assert (refused.json()["values"]["part"], refused.json()["values"]["amount"]) == ("P-1", str(2**53))
    assert [row["amount"]["amount"] for row in client.rows("places/R1/contents")] == [2**53 - 1]
