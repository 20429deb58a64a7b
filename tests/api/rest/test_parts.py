"""`parts`, replacements and kits' contents over HTTP."""

import uuid

import pytest

from inventory.models import Act, Part, Replacement, SupplierPart
from tests.factories.stores import PartFactory, SupplierFactory, shelf, stock

pytestmark = pytest.mark.django_db


def new(**more):
    return {"number": "N-1", "name": "Head gasket", "unit": "EA", "kind": "gasket", "tracked_by": "lot"} | more


def numbers(rows):
    return [row["number"] for row in rows]


def test_a_part_is_entered_and_read(manager):
    answer = manager.send("parts", new(weight_mg=420_000, life={"from": "cure", "years": 7}, price_coins=3100))
    assert answer.status_code == 201
    assert answer.json() == {
        "part": "N-1",
        "compare_key": "N1",
        "kind": "gasket",
        "kind_typed": "gasket",
        "version": 1,
        "same_key": [],
        "warnings": [],
    }
    read = manager.read("parts/N-1")
    assert read["ETag"] == '"1"'
    body = read.json()
    told = {
        name: body[name] for name in ("number", "unit", "base", "life", "weight_mg", "price_coins", "version", "stock")
    }
    assert told == {
        "number": "N-1",
        "unit": "EA",
        "base": "piece",
        "life": {"from": "cure", "years": 7},
        "weight_mg": 420_000,
        "price_coins": 3100,
        "version": 1,
        "stock": [],
    }


def test_an_unknown_kind_is_kept_as_to_be_sorted_with_a_word(manager):
    answer = manager.send("parts", new(kind="gizmo")).json()
    assert (answer["kind"], answer["kind_typed"]) == ("", "gizmo")
    assert "gizmo" in answer["warnings"][0]
    assert numbers(manager.rows("parts", to_be_sorted="true")) == ["N-1"]
    assert manager.rows("parts", to_be_sorted="false") == []


def test_letters_among_digits_warn(manager):
    assert "letter O" in manager.send("parts", new(number="N-2O1")).json()["warnings"][0]


def test_the_same_key_is_refused_until_a_person_says_it_is_another_part(manager):
    manager.send("parts", new())
    refused = manager.send("parts", new(number="n 1"))
    assert (refused.status_code, refused.json()["code"], refused.json()["values"]["known"]) == (
        409,
        "number-known",
        ["N-1"],
    )
    assert manager.send("parts", new(number="n 1", another_part=True)).json()["same_key"] == ["N-1"]
    again = manager.send("parts", new(another_part=True))
    assert (again.status_code, again.json()["code"]) == (409, "number-known")
    assert Part.objects.count() == 2


@pytest.mark.parametrize(
    ("more", "status", "code"),
    [
        ({"number": "--"}, 422, "part-number-unreadable"),
        ({"number": "N\u202e1"}, 422, "part-number-unreadable"),
        ({"unit": "furlong"}, 422, "unit-unknown"),
        ({"unit": "°C"}, 422, "unit-unknown"),
        ({"tracked_by": "serial", "unit": "mL"}, 422, "part-unusable"),
        ({"pack": 0}, 422, "part-unusable"),
        ({"pack": 10**9}, 422, "part-unusable"),
        ({"density_mg_per_ml": 0}, 422, "part-unusable"),
        ({"weight_mg": -1}, 400, "fields-wrong"),
        ({"weight_mg": 1.5}, 400, "fields-wrong"),
        ({"life": {"years": 7}}, 422, "life-rule-unreadable"),
        ({"life": {"from": "cure", "years": 7.5}}, 422, "life-rule-unreadable"),
        ({"life": {"from": ["cure"], "years": 7}}, 422, "life-rule-unreadable"),
        ({"life": []}, 400, "fields-wrong"),
        ({"ring": {"diameter": "4"}}, 422, "part-unusable"),
        ({"ring": {"id_mm": 94.92}}, 422, "part-unusable"),
        ({"tracked_by": "colour"}, 400, "fields-wrong"),
        ({"loose_issue": "yes"}, 400, "fields-wrong"),
        ({"name": " "}, 400, "fields-wrong"),
        ({"name": "x" * 201}, 400, "fields-wrong"),
        ({"version": 7}, 400, "fields-wrong"),
    ],
)
def test_an_unusable_record_is_refused_by_name(manager, more, status, code):
    answer = manager.send("parts", new(**more))
    assert (answer.status_code, answer.json()["code"]) == (status, code), answer.json()
    assert next(iter(more)) in answer.json()["detail"] + str(answer.json()["values"]) or code.endswith("unreadable")
    assert (Part.objects.count(), Act.objects.count()) == (0, 0)


def test_a_part_is_changed_only_in_the_version_that_was_read(manager):
    manager.send("parts", new())
    changed = manager.send("parts/N-1", {"name": "Head gasket, steel", "pack": 5}, method="PATCH", if_match='"1"')
    assert changed.status_code == 201
    assert changed.json() == {
        "part": "N-1",
        "version": 2,
        "changed": {"name": {"from": "Head gasket", "to": "Head gasket, steel"}, "pack": {"from": 1, "to": 5}},
        "warnings": [],
    }
    stale = manager.send("parts/N-1", {"pack": 6}, method="PATCH", if_match='"1"')
    assert (stale.status_code, stale.json()["code"], stale.json()["values"]["version"]) == (412, "version-stale", 2)
    missing = manager.send("parts/N-1", {"pack": 6}, method="PATCH")
    assert (missing.status_code, missing.json()["code"]) == (428, "version-missing")
    forged = manager.send("parts/N-1", {"pack": 6}, method="PATCH", if_match="*")
    assert (forged.status_code, forged.json()["code"]) == (412, "version-stale")
    same = manager.send("parts/N-1", {"pack": 5}, method="PATCH", if_match='"2"')
    assert (same.status_code, same.json()["code"]) == (422, "nothing-changed")
    assert Part.objects.get().pack == 5


def test_a_repeated_change_is_answered_as_the_first_time(manager):
    manager.send("parts", new())
    key = uuid.uuid4()
    first = manager.send("parts/N-1", {"pack": 5}, method="PATCH", if_match='"1"', key=key)
    again = manager.send("parts/N-1", {"pack": 5}, method="PATCH", if_match='"1"', key=key)
    assert (again.status_code, again.content, again["Idempotent-Replayed"]) == (201, first.content, "true")
    assert Part.objects.get().version == 2


@pytest.mark.parametrize("name", ["number", "unit", "tracked_by", "compare_key", "base"])
def test_what_stock_was_booked_by_cannot_be_changed(manager, name):
    manager.send("parts", new())
    answer = manager.send("parts/N-1", {name: "serial"}, method="PATCH", if_match='"1"')
    assert (answer.status_code, answer.json()["code"]) == (400, "fields-wrong")


def test_an_unknown_part_is_answered_with_its_near_misses(manager):
    PartFactory(number="A-201")
    answer = manager.read("parts/A2O1")
    assert (answer.status_code, answer.json()["code"], answer.json()["values"]["near"]) == (404, "not-found", ["A-201"])


@pytest.mark.parametrize("typed", ["A2O1", "a 201", "A-2O1", "A-210", "thermo", "MAKER-9", "shop 7"])
def test_search_forgives(manager, typed):
    # A2O1 for A-201: letter O for zero, as read off a worn label. Source: common practice of the parts counter.
    found = PartFactory(number="A-201", name="Thermostat gasket", shop_number="shop 7")
    SupplierPart.objects.create(supplier=SupplierFactory(), part=found, number="maker-9")
    PartFactory(number="ZZ-99999")
    assert numbers(manager.rows("parts", search=typed)) == ["A-201"]


def test_what_was_searched_for_comes_first_and_a_suppliers_number_is_the_same_however_it_is_written(manager):
    for number in ("A-101", "A-201", "A-210", "B-201"):
        PartFactory(number=number)
    SupplierPart.objects.create(supplier=SupplierFactory(), part=Part.objects.get(number="B-201"), number="OX 44/1-7")
    assert numbers(manager.rows("parts", search="a210")) == ["A-210", "A-201"]
    assert numbers(manager.rows("parts", search="A-201"))[0] == "A-201"
    assert numbers(manager.rows("parts", search="A-201", ordering="-number")) == ["B-201", "A-210", "A-201", "A-101"]
    assert numbers(manager.rows("parts", search="ox44-17")) == ["B-201"]


def test_filters_and_orders(manager):
    PartFactory(number="B", kind="gasket", name="x")
    PartFactory(number="A", kind="seal", name="z")
    sold = PartFactory(number="C", kind="gasket", tracked_by="nothing", compound="FKM", name="y")
    SupplierPart.objects.create(supplier=SupplierFactory(), part=sold)
    assert numbers(manager.rows("parts")) == ["A", "B", "C"]
    assert numbers(manager.rows("parts", ordering="-number")) == ["C", "B", "A"]
    assert numbers(manager.rows("parts", ordering="name")) == ["B", "C", "A"]
    assert numbers(manager.rows("parts", kind="gasket")) == ["B", "C"]
    assert numbers(manager.rows("parts", tracked_by="lot")) == ["A", "B"]
    assert numbers(manager.rows("parts", compound="FKM")) == ["C"]
    assert numbers(manager.rows("parts", supplier="maker")) == ["C"]
    assert numbers(manager.rows("parts", number="A")) == ["A"]


def test_a_replacement_is_entered_shown_on_both_sides_and_withdrawn(manager):
    PartFactory(number="OLD")
    PartFactory(number="NEW")
    PartFactory(number="PLATE")
    answer = manager.send(
        "parts/OLD/replacements",
        {
            "news": [{"part": "NEW", "numerator": 2, "denominator": 3}],
            "fate": "use only below a number",
            "engine_below": "T4-00450",
            "noted_on": "2024-05-01",
            "companions": [{"part": "NEW", "needs": "PLATE", "pieces": 2}],
        },
    )
    assert answer.status_code == 201
    line = manager.read("parts/NEW").json()["replacements"][0]
    assert line["companions"] == [{"part": "NEW", "needs": "PLATE", "pieces": 2}]
    assert manager.read("parts/OLD").json()["replacements"] == [line]
    told = (
        line["old"],
        line["way"],
        line["news"],
        line["fate"],
        line["engine_below"],
        line["noted_on"],
        line["withdrawn"],
    )
    assert told == (
        "OLD",
        "one way",
        [{"part": "NEW", "numerator": 2, "denominator": 3}],
        "use only below a number",
        "T4-00450",
        "2024-05-01",
        False,
    )
    path = f"replacements/{line['id']}/withdrawals"
    assert manager.send(path, {"reason": "notice taken back"}).json()["withdrawn"] is True
    assert manager.read("parts/NEW").json()["replacements"][0]["withdrawn"] is True
    again = manager.send(path, {"reason": "twice"})
    assert (again.status_code, again.json()["code"]) == (422, "nothing-changed")


def test_a_circle_of_replacements_is_refused_and_printed(manager):
    for number in ("A", "B", "C"):
        PartFactory(number=number)
    for old, to in (("A", "B"), ("B", "C")):
        assert manager.send(f"parts/{old}/replacements", {"news": [{"part": to}]}).status_code == 201
    answer = manager.send("parts/C/replacements", {"news": [{"part": "A"}]})
    assert (answer.status_code, answer.json()["code"]) == (422, "replacement-loop")
    assert "C → A → B → C" in answer.json()["detail"]
    assert Replacement.objects.count() == 2


@pytest.mark.parametrize(
    ("body", "code"),
    [
        ({"news": [{"part": "A"}]}, "replacement-self"),
        ({"news": [{"part": "B", "numerator": 0}]}, "replacement-ratio"),
        ({"news": [{"part": "B", "denominator": 0}]}, "replacement-ratio"),
        ({"news": [{"part": "B"}, {"part": "B"}], "way": "one to several"}, "replacement-unusable"),
        ({"news": [{"part": "B"}, {"part": "C"}]}, "replacement-unusable"),
        ({"news": [{"part": "B"}], "engine_below": "T4-1"}, "replacement-unusable"),
        ({"news": [{"part": "B"}], "fate": "use only below a number"}, "replacement-unusable"),
        ({"news": [{"part": "B", "numerator": 2}], "way": "both ways"}, "replacement-ratio"),
        ({"news": [{"part": "B"}], "way": "both ways", "engine_from": "T4-1"}, "replacement-unusable"),
        ({"news": [{"part": "Z"}]}, "not-found"),
        ({"news": [{"part": "LITRES"}]}, "replacement-unusable"),
        ({"news": []}, "fields-wrong"),
        ({"news": [{"part": "B"}], "way": "sideways"}, "fields-wrong"),
        ({"news": [{"part": "B", "ratio": "1:2"}]}, "fields-wrong"),
    ],
)
def test_an_unusable_replacement_is_refused(manager, body, code):
    PartFactory(number="LITRES", unit="LTR", base="microlitre", tracked_by="nothing")
    for number in ("A", "B", "C"):
        PartFactory(number=number)
    assert manager.send("parts/A/replacements", body).json()["code"] == code
    assert Replacement.objects.count() == 0


def test_a_changed_kit_is_a_new_revision(manager):
    PartFactory(number="K", kind="kit")
    for number in ("A", "B"):
        PartFactory(number=number)
    path = "parts/K/kit-revisions"
    contents = [{"part": "A", "amount": 4}, {"part": "B", "amount": 1}]
    assert manager.send(path, {"contents": contents}).json() == {
        "kit": "K",
        "revision": 1,
        "also": [],
        "contents": contents,
    }
    assert manager.send(path, {"contents": contents[::-1]}).json()["code"] == "nothing-changed"
    assert manager.send(path, {"contents": [{"part": "A", "amount": 5}]}).json()["revision"] == 2
    assert manager.read("parts/K").json()["kit_revisions"] == [
        {"revision": 2, "contents": [{"part": "A", "amount": 5}]},
        {"revision": 1, "contents": contents},
    ]
    assert manager.read("parts/A").json()["in_kits"] == [{"kit": "K", "kit_revision": 2, "amount": 5}]
    assert manager.read("parts/B").json()["in_kits"] == []


@pytest.mark.parametrize(
    ("body", "code", "said"),
    [
        ({"contents": [{"part": "K", "amount": 1}]}, "kit-loop", "K → K"),
        ({"contents": [{"part": "BIG", "amount": 1}]}, "kit-loop", "K → BIG → MID → K"),
        ({"contents": [{"part": "A", "amount": 0}]}, "kit-unusable", "0 of A"),
        ({"contents": [{"part": "A", "amount": 1}, {"part": "A", "amount": 2}]}, "kit-unusable", "A stands twice"),
        ({"contents": [{"part": "Z", "amount": 1}]}, "not-found", "Z"),
        ({"contents": []}, "fields-wrong", "contents"),
    ],
)
def test_unusable_contents_are_refused(manager, body, code, said):
    PartFactory(number="A")
    for number in ("K", "MID", "BIG"):
        PartFactory(number=number, kind="kit")
    manager.send("parts/MID/kit-revisions", {"contents": [{"part": "K", "amount": 1}]})
    manager.send("parts/BIG/kit-revisions", {"contents": [{"part": "MID", "amount": 1}]})
    document = manager.send("parts/K/kit-revisions", body).json()
    assert document["code"] == code
    assert said in document["detail"]


def test_what_holds_other_parts_is_a_kit_and_stays_one(manager):
    PartFactory(number="K", kind="gasket")
    PartFactory(number="A")
    body = {"contents": [{"part": "A", "amount": 1}]}
    refused = manager.send("parts/K/kit-revisions", body).json()
    assert (refused["code"], refused["detail"]) == ("kit-unusable", "K is a gasket: only a kit holds other parts.")

    def change(kind):
        return manager.send("parts/K", {"kind": kind}, method="PATCH", if_match=manager.read("parts/K")["ETag"])

    assert change("kit").status_code == manager.send("parts/K/kit-revisions", body).status_code == 201
    assert change("gasket").json()["code"] == "part-unusable"
    assert change("kit of sets").status_code == 201


def test_a_new_number_that_looks_like_one_on_record_warns(manager):
    manager.send("parts", new(number="Q-10"))
    said = manager.send("parts", new(number="Q-IO")).json()
    assert said["warnings"] == ["Q-IO looks like Q-10, which is in the catalogue: is it that one?"]


def test_stock_is_shown_in_the_unit_asked_for(manager):
    shelf("R1")
    oil = PartFactory(number="OIL", tracked_by="nothing", unit="LTR", base="microlitre")
    stock(oil, 946_353)
    shown = [
        manager.read("parts/OIL", **more).json()["stock"][0]["amount"]
        for more in ({}, {"unit": "mL"}, {"unit": "OZA"}, {"unit": "mm"})
    ]
    # 1 US quart = 32 US fl oz = 946.353 mL. Source: NIST Handbook 44, appendix C
    assert [row["shown"] for row in shown] == ["0.946 L", "946.35 mL", "32.000 US fl oz", "0.946 L"]
    assert {(row["amount"], row["base"]) for row in shown} == {(946_353, "microlitre")}
    answer = manager.read("parts/OIL", unit="furlong")
    assert (answer.status_code, answer.json()["code"]) == (422, "unit-unknown")


def test_a_list_of_three_costs_as_many_queries_as_a_list_of_one(manager, django_assert_num_queries):
    manager.rows("parts")
    PartFactory()
    # who asks, and the page
    with django_assert_num_queries(2):
        assert len(manager.rows("parts")) == 1
    PartFactory.create_batch(2)
    with django_assert_num_queries(2):
        assert len(manager.rows("parts")) == 3


def test_a_part_costs_as_many_queries_whatever_is_known_of_it(manager, django_assert_num_queries):
    shelf("R1")
    part, kit, other = PartFactory(number="A"), PartFactory(number="K", kind="kit"), PartFactory(number="B")
    # who asks, part, joins, records of its key, stock, replacements, kit revisions, kits it is in, sellers, procedures
    with django_assert_num_queries(10):
        manager.read("parts/A")
    for _ in range(3):
        stock(part, 4)
    manager.send("parts/A/replacements", {"news": [{"part": "B"}]})
    manager.send("parts/K/kit-revisions", {"contents": [{"part": "A", "amount": 4}]})
    SupplierPart.objects.create(supplier=SupplierFactory(), part=part)
    # and the new parts of the replacements, and their companions
    with django_assert_num_queries(12):
        body = manager.read("parts/A").json()
    assert (len(body["stock"]), len(body["replacements"]), len(body["in_kits"]), len(body["sold_by"])) == (3, 1, 1, 1)
    assert (kit.number, other.number) == ("K", "B")
