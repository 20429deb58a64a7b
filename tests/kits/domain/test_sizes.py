"""Sizes that stay with an engine: what may still come off; what an entry may say."""

from datetime import date
from itertools import count, permutations

import pytest

from inventory.domain.errors import DomainError
from kits.domain.families import parse_family
from kits.domain.sizes import (
    Entry,
    check_entry,
    counting,
    left_nm,
    may_be_cut_nm,
    millimetres,
    standing_nm,
    standing_sizes,
)
from tests.factories.engines import family, family_document
from tests.fixtures.shop_files import family_document as demo_document

FAMILY = family()
FACTS = {one.name: one for one in FAMILY.sizes}
_ids = count(1)


def entry(name, place, value_nm=None, *, job="J-0", renewed=False, detail=""):
    return Entry(next(_ids), name, place, value_nm, renewed, detail, job, date(2024, 5, 2), "G-1")


def refusal(new, *earlier, its=FAMILY):
    fact = next(one for one in its.sizes if one.name == new.name)
    try:
        check_entry(fact, earlier, new, its.map)
    except DomainError as error:
        return error.code, error.values.get("left_nm")
    return None


# Rowan-6 of the demo shop (invented): recut 0.10 before, at most 0.15 more, the limit 0.25.
def test_a_counterbore_that_was_recut_before_takes_what_is_left():
    rowan = parse_family(demo_document("Rowan-6"))
    before = entry("counterbore", "CYL-2", 100_000)
    assert refusal(entry("counterbore", "CYL-2", 150_000), before, its=rowan) is None
    assert refusal(entry("counterbore", "CYL-2", 150_001), before, its=rowan) == ("size-over-limit", 150_000)
    assert refusal(entry("counterbore", "CYL-3", 250_000), before, its=rowan) is None
    (row,) = standing_sizes(rowan.sizes, [before], rowan.map)
    assert (row.place, row.shown, row.left_nm, row.left_shown) == ("CYL-2", "0.1 mm", 150_000, "0.15 mm")
    # What is judged or proposed for a bore goes by the same record.
    left = {at: may_be_cut_nm(rowan.sizes, [before], f"CYL-{at}/set", rowan.map, 250_000) for at in (2, 3)}
    assert left == {2: 150_000, 3: 250_000}
    assert may_be_cut_nm(rowan.sizes, [before], "CYL-3/set", rowan.map, 0) == 0
    # A new block has all of it again.
    new = entry("counterbore", "ENGINE", 0, renewed=True)
    assert refusal(entry("counterbore", "CYL-2", 250_000), before, new, its=rowan) is None


def test_cuts_add_up_in_any_order_and_a_wider_place_holds_the_narrower_ones():
    seat = FACTS["seat"]
    cuts = [entry("seat", "CYL-1", 40_000), entry("seat", "ENGINE", 30_000), entry("seat", "CYL-1/set", 20_000)]
    for order in permutations(cuts):
        off = {at: standing_nm(seat, counting(order, "seat", f"CYL-{at}/set", FAMILY.map)) for at in (1, 2)}
        assert off == {1: 90_000, 2: 30_000}
        assert left_nm(seat, counting(order, "seat", "CYL-1/set", FAMILY.map)) == 160_000
    # What is cut everywhere is limited by the place that has least left.
    assert refusal(entry("seat", "ENGINE", 160_001), *cuts) == ("size-over-limit", 160_000)
    assert refusal(entry("seat", "ENGINE", 160_000), *cuts) is None


@pytest.mark.parametrize(
    ("new", "earlier", "expected"),
    [
        (entry("pins", "ENGINE", 250_000), (), None),
        (entry("pins", "ENGINE", 500_000), ("pins", "ENGINE", 250_000), None),
        (entry("pins", "ENGINE", 500_001), ("pins", "ENGINE", 250_000), "size-over-limit"),
        (entry("pins", "ENGINE", 0), ("pins", "ENGINE", 250_000), "size-goes-back"),
        (entry("pins", "ENGINE", 249_999), ("pins", "CYL-2", 250_000), "size-goes-back"),
        (entry("pins", "ENGINE", 0, renewed=True), ("pins", "ENGINE", 250_000), None),
        (entry("pins", "BANK-LEFT", 1), (), None),
        (entry("pins", "MAIN-1", 1), (), "size-unusable"),
        (entry("pins", "CYL-9", 1), (), "position-unknown"),
        (entry("pins", "ENGINE"), (), "size-unusable"),
        (entry("seat", "CYL-1", 0), (), "size-unusable"),
        (entry("seat", "CYL-1", -1), (), "size-unusable"),
        (entry("mains", "MAIN-2", 9_000_000), (), None),
        (entry("cover height", "BANK-LEFT", 19_000_000), ("cover height", "BANK-LEFT", 20_000_000), None),
        (entry("thread", "SUMP/bolt-07", detail="M8, 16 mm"), (), None),
        (entry("thread", "SUMP/bolt-07"), (), "size-unusable"),
        (entry("thread", "SUMP/bolt-07", 1, detail="M8"), (), "size-unusable"),
        (entry("thread", "SUMP", detail="M8"), (), "position-unknown"),
        (entry("thread", "ENGINE", detail="M8"), (), "size-unusable"),
    ],
)  # fmt: skip
def test_what_an_entry_may_say(new, earlier, expected):
    refused = refusal(new, *([entry(*earlier)] if earlier else []))
    assert (refused[0] if refused else None) == expected


def test_how_sizes_stand():
    entries = [
        entry("cover height", "BANK-LEFT", 19_999_999),
        entry("cover height", "BANK-RIGHT", 20_000_000),
        entry("thread", "SUMP/bolt-07", detail="M8, 16 mm"),
        entry("thread", "SUMP/bolt-07", detail="M10, 20 mm"),
        entry("nothing we keep", "ENGINE", 5),
    ]
    rows = standing_sizes(FAMILY.sizes, entries, FAMILY.map)
    assert [(row.size, row.place, row.shown, row.within, row.left_nm, row.detail) for row in rows] == [
        ("cover height", "BANK-LEFT", "19.999999 mm", False, None, ""),
        ("cover height", "BANK-RIGHT", "20 mm", True, None, ""),
        ("thread", "SUMP/bolt-07", "", None, None, "M8, 16 mm; M10, 20 mm"),
    ]
    assert millimetres(250_000) == "0.25 mm"


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
