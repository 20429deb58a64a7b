"""The fact `sizes` of a family: read, or every problem named."""

import pytest

from inventory.domain.errors import DomainError
from kits.domain.families import parse_family
from kits.domain.limits import Limits
from kits.domain.size_facts import plain, totals_of
from tests.factories.engines import family, family_document

FACTS = {one.name: one for one in family().sizes}


def test_what_is_stated_is_read():
    total = FACTS["head and deck"]
    assert (total.of, total.most_nm, total.positions) == (("deck", "head"), 400_000, FACTS["deck"].positions)
    assert totals_of(FACTS.values(), "deck") == (total,)
    assert totals_of(FACTS.values(), "seat") == ()
    assert FACTS["thread"].inserts == {"m8, 16 mm": ("SUMP-BOLT",), "m10, 20 mm": ("BIG-BOLT", "BIG-STUD")}
    assert plain("  M10,  20 mm ") == "m10, 20 mm"
    measured = FACTS["pin diameter"]
    assert (measured.read, measured.takes) == ("journal-diameter", {})
    assert measured.spans["undersize"] == Limits(59_730_000, 59_750_000)


@pytest.mark.parametrize(
    "wrong",
    [
        {"kind": "colour"},
        {"at": "NOWHERE/bolt"},
        {"choice": "none such"},
        {"takes": {"standard": "0 mm"}},
        {"finding": "none such"},
        {"finding": "low"},
        {"most": "0.25"},
        {"most": "recut_most of shims"},
        {"low": "2 mm", "high": "1 mm"},
        {"name": "seat"},
    ],
)
def test_a_fact_that_cannot_be_read_is_named(wrong):
    document = family_document()
    document["facts"]["sizes"][0] |= wrong
    with pytest.raises(DomainError) as caught:
        parse_family(document)
    assert caught.value.code == "family-unusable"
    assert "facts, sizes" in str(caught.value.values)


@pytest.mark.parametrize(
    ("name", "wrong"),
    [
        ("thread", {"inserts": [{"insert": "M8", "parts": []}]}),
        ("thread", {"inserts": [{"insert": "M8", "parts": ["A"]}, {"insert": " m8", "parts": ["B"]}]}),
        ("thread", {"read": "journal-diameter"}),
        ("deck", {"inserts": [{"insert": "M8", "parts": ["A"]}]}),
        ("deck", {"of": ["seat"]}),
        ("deck", {"changes": ["depth"]}),
        ("thread", {"changes": []}),
        ("pin diameter", {"changes": ["journal-diameter"]}),
        ("head and deck", {"of": ["deck"]}),
        ("head and deck", {"of": ["deck", "pins"]}),
        ("head and deck", {"of": ["deck", "none such"]}),
        ("head and deck", {"most": None}),
        ("pin diameter", {"read": "weight"}),
        ("pin diameter", {"read": "colour"}),
        ("pin diameter", {"takes": {"standard": {"low": "1 mm", "high": "2 mm"}}}),
        ("pin diameter", {"takes": {"standard": "0 mm", "undersize": "0.25 mm"}}),
        (
            "pin diameter",
            {"takes": {"standard": {"low": "2 mm", "high": "1 mm"}, "undersize": {"low": "1 mm", "high": "1 mm"}}},
        ),
    ],
)
def test_what_does_not_belong_to_its_kind_is_named(name, wrong):
    document = family_document()
    (entry,) = [one for one in document["facts"]["sizes"] if one["name"] == name]
    entry |= wrong
    with pytest.raises(DomainError) as caught:
        parse_family(document)
    assert caught.value.code == "family-unusable"
    assert "facts, sizes" in str(caught.value.values)


def test_what_a_size_changes_is_usual_or_said():
    document = family_document()
    deck, head = (one for one in document["facts"]["sizes"] if one["name"] in ("deck", "head"))
    deck["changes"], head["changes"] = ["block-depth"], []
    its = {one.name: one.changes for one in parse_family(document).sizes}
    assert (its["deck"], its["head"]) == (frozenset({"block-depth"}), frozenset())
    assert its["pins"] == its["mains"] == frozenset({"journal-diameter"})
    assert {"block-depth", "counterbore-depth", "protrusion", "piston-projection"} <= its["seat"]
    assert its["thread"] == its["pin diameter"] == its["head and deck"] == frozenset()
