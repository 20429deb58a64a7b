"""`places`, what stands in them, and `balances`."""

import pytest

from inventory.models import Place
from tests.factories.stores import PartFactory, cart, quarantine, shelf, site, stock

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop():
    shelf("R1", walk_order=2)
    shelf("R2", at=site("QY"), walk_order=1)
    quarantine("Q1")
    cart("cart 7")
    oil = PartFactory(number="OIL", tracked_by="nothing", unit="LTR", base="microlitre")
    stock(oil, 5_000_000, place=shelf("R1"))
    stock(PartFactory(number="P-1"), 4, lot="L-1", place=shelf("R1"))
    stock(PartFactory(number="P-2"), 6, lot="L-2", place=shelf("R2", at=site("QY")))


def codes(rows):
    return [row["code"] for row in rows]


def said(rows):
    return [(row["part"], row["place"], row["amount"]["shown"]) for row in rows]


def test_places_are_real_ones_only(shop, manager):
    assert codes(manager.rows("places")) == ["Q1", "R1", "R2", "cart 7"] or codes(manager.rows("places")) == [
        "cart 7",
        "Q1",
        "R1",
        "R2",
    ]  # fmt: skip - PostgreSQL may order capitals by the language of its database
    assert manager.read("places/R2").json() == {
        "code": "R2",
        "name": "",
        "kind": "shelf",
        "site": "QY",
        "walk_order": 1,
    }
    assert manager.read("places/(supplier)").json()["code"] == "not-found"
    assert codes(manager.rows("places", kind="shelf", ordering="walk_order")) == ["R2", "R1"]
    assert codes(manager.rows("places", site="QY")) == ["R2"]
    assert manager.read("places", kind="supplier").json()["code"] == "fields-wrong"


def test_contents_of_a_place(shop, manager):
    assert said(manager.rows("places/R1/contents")) == [("OIL", "R1", "5.000 L"), ("P-1", "R1", "4 EA")]
    assert said(manager.rows("places/R1/contents", unit="US gal")) == [
        # 1 US gallon = 3.785 411 784 L. Source: NIST Handbook 44, appendix C
        ("OIL", "R1", "1.3209 US gal"),
        ("P-1", "R1", "4 EA"),
    ]
    assert manager.rows("places/Q1/contents") == []
    assert manager.read("places/nowhere/contents").json()["code"] == "not-found"
    assert manager.rows("places/cart%207/contents") == []


def test_balances_and_their_filters(shop, manager):
    everything = [("OIL", "R1", "5.000 L"), ("P-1", "R1", "4 EA"), ("P-2", "R2", "6 EA")]
    assert said(manager.rows("balances")) == everything
    assert said(manager.rows("balances", part="P-1")) == everything[1:2]
    assert said(manager.rows("balances", lot="L-2")) == everything[2:]
    assert said(manager.rows("balances", place="R1")) == everything[:2]
    assert said(manager.rows("balances", site="QY")) == everything[2:]
    assert said(manager.rows("balances", place_kind="shelf")) == everything
    assert said(manager.rows("balances", place_kind="cart")) == []
    assert said(manager.rows("balances", held="true")) == []
    assert said(manager.rows("balances", held="false")) == everything
    assert said(manager.rows("balances", stopped="false")) == everything
    assert said(manager.rows("balances", expires_before="2099-01-01")) == []
    assert said(manager.rows("balances", serial="S")) == []


def test_lists_of_three_cost_as_many_queries_as_lists_of_one(manager, django_assert_num_queries):
    stock(PartFactory(), 4, place=shelf("R1"))
    manager.rows("places")
    # who asks, and the page; for the contents the place too
    for path, queries in (("balances", 2), ("places/R1/contents", 3)):
        with django_assert_num_queries(queries):
            assert len(manager.rows(path)) == 1
    stock(PartFactory(), 4, place=shelf("R1"))
    stock(PartFactory(tracked_by="set"), serial="S", place=shelf("R1"))
    for path, queries in (("balances", 2), ("places/R1/contents", 3)):
        with django_assert_num_queries(queries):
            assert len(manager.rows(path)) == 3
    with django_assert_num_queries(2):
        assert len(manager.rows("places")) == 1
    shelf("R2")
    quarantine("Q1")
    with django_assert_num_queries(2):
        assert len(manager.rows("places")) == 3


def test_a_new_shop_makes_its_sites_and_places_over_http(manager):
    answer = manager.send("sites", {"code": "MAIN", "name": "Main shop"})
    assert (answer.status_code, answer.json()) == (201, {"site": "MAIN", "name": "Main shop", "warnings": []})
    assert manager.rows("sites") == [{"code": "MAIN", "name": "Main shop"}]
    rack = {"code": "RACK-1", "kind": "shelf", "site": "MAIN", "name": "rack 1", "walk_order": 1}
    answer = manager.send("places", {"places": [rack, {"code": "Q1", "kind": "quarantine"}]})
    made = [
        rack | {"warnings": []},
        {"code": "Q1", "kind": "quarantine", "site": "", "name": "", "walk_order": 0} | {"warnings": []},
    ]
    assert (answer.status_code, answer.json()) == (201, {"places": made})
    assert manager.read("places/RACK-1").json() == rack
    stock(PartFactory(), 1, place=Place.objects.get(code="RACK-1"))
    assert len(manager.rows("places/RACK-1/contents")) == 1


def test_what_reads_like_another_is_made_with_a_warning(manager):
    manager.send("sites", {"code": "S1", "name": "one"})
    assert manager.send("sites", {"code": "SI", "name": "two"}).json()["warnings"] == [
        "SI reads like S1, which is a site already."
    ]
    for code, warnings in (("R-10", []), ("R-11", []), ("r1O", ["r1O reads like R-10, which is a place already."])):
        answer = manager.send("places", {"places": [{"code": code, "kind": "shelf", "site": "S1"}]})
        assert (answer.status_code, answer.json()["places"][0]["warnings"]) == (201, warnings), code


def test_places_are_made_all_or_none_and_every_refused_line_is_named(shop, manager):
    lines = [
        {"code": "NEW", "kind": "van"},
        {"code": "R1", "kind": "shelf", "site": "TS"},
        {"code": "NEW", "kind": "van"},
        {"code": "R9", "kind": "shelf", "site": "QI"},
        {"code": "R9", "kind": "shelf"},
        {"code": "(scrap)", "kind": "quarantine"},
    ]
    answer = manager.send("places", {"places": lines})
    assert [(row["line"], row["code"]) for row in answer.json()["lines"]] == [
        (2, "place-exists"),
        (3, "place-exists"),
        (4, "not-found"),
        (5, "not-found"),
        (6, "wrong-place"),
    ]
    assert not Place.objects.filter(code__in=["NEW", "R9"]).exists()
    for path, body, code in (
        ("places", {"places": []}, "nothing-given"),
        ("places", {"places": [{"code": "X", "kind": "engine"}]}, "fields-wrong"),
        ("places", {"places": [{"code": " ", "kind": "van"}]}, "fields-wrong"),
        ("sites", {"code": "QY", "name": "again"}, "site-exists"),
        ("sites", {"code": "X" * 21, "name": "long"}, "fields-wrong"),
    ):
        assert manager.send(path, body).json()["code"] == code, (path, body)


def test_only_who_keeps_the_catalogue_makes_places(client_of):
    for path in ("sites", "places"):
        assert client_of("storekeeper").send(path, {}).json()["code"] == "not-allowed"
