"""Sizes that stay with an engine: what may still come off; what an entry may say."""

from dataclasses import replace
from datetime import UTC, date, datetime
from itertools import count, permutations
from random import Random

import pytest

from inventory.domain.errors import DomainError
from kits.domain.families import parse_family
from kits.domain.size_facts import totals_of
from kits.domain.sizes import (
    Entry,
    check_entry,
    counting,
    left_here,
    left_nm,
    may_be_cut_nm,
    millimetres,
    standing_nm,
    standing_sizes,
)
from tests.factories.engines import family
from tests.fixtures.shop_files import family_document as demo_document

FAMILY = family()
FACTS = {one.name: one for one in FAMILY.sizes}
_ids = count(1)


def entry(name, place, value_nm=None, *, job="J-0", renewed=False, detail=""):
    return Entry(next(_ids), name, place, value_nm, renewed, detail, job, date(2024, 5, 2), "G-1")


def refusal(new, *earlier, its=FAMILY):
    fact = next(one for one in its.sizes if one.name == new.name)
    try:
        check_entry(fact, earlier, new, its.map, totals_of(its.sizes, fact.name))
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


def test_head_and_deck_together_leave_the_least_of_three_limits():
    deck, head = FACTS["deck"], FACTS["head"]
    off = [entry("deck", "BANK-LEFT", 200_000), entry("head", "BANK-LEFT", 150_000)]
    at = "HEAD-LEFT/gasket"
    # The head's own limit leaves 0.15; both together leave 0.05.
    assert left_nm(head, counting(off, "head", at, FAMILY.map)) == 150_000
    assert left_here(FAMILY.sizes, head, off, at, FAMILY.map) == 50_000
    assert left_here(FAMILY.sizes, deck, off, at, FAMILY.map) == 0
    assert left_here(FAMILY.sizes, head, off, "HEAD-RIGHT/gasket", FAMILY.map) == 300_000
    assert refusal(entry("head", "BANK-LEFT", 50_000), *off) is None
    assert refusal(entry("head", "BANK-LEFT", 50_001), *off) == ("size-over-limit", 50_000)
    # A cut over the whole engine is limited by the bank with the least left.
    assert refusal(entry("head", "ENGINE", 50_001), *off) == ("size-over-limit", 50_000)
    # A new head has its own allowance again, and the deck keeps what is off it.
    new = entry("head", "BANK-LEFT", 0, renewed=True)
    assert left_here(FAMILY.sizes, head, [*off, new], at, FAMILY.map) == 200_000
    assert refusal(entry("head", "BANK-LEFT", 200_000, renewed=True), *off) is None
    assert refusal(entry("head", "BANK-LEFT", 200_001, renewed=True), *off) == ("size-over-limit", 200_000)
    assert refusal(entry("head and deck", "BANK-LEFT", 10_000), *off) == ("size-unusable", None)
    (row,) = [one for one in standing_sizes(FAMILY.sizes, off, FAMILY.map) if one.size == "head and deck"]
    assert (row.shown, row.left_nm) == ("0.35 mm", 50_000)
    assert [one.left_nm for one in standing_sizes(FAMILY.sizes, off, FAMILY.map) if one.size == "head"] == [50_000]


@pytest.mark.parametrize("seed", range(8))
def test_no_order_of_cuts_gets_past_a_limit(seed):
    """Entries at random, each taken or refused: what stands never passes a limit, and a refusal was needed."""
    chance, held = Random(seed), []
    for _ in range(60):
        name, place = chance.choice(["deck", "head"]), chance.choice(["ENGINE", "BANK-LEFT", "BANK-RIGHT"])
        new = entry(name, place, chance.randrange(1, 120_000), renewed=chance.random() < 0.05)
        after = [*held, new]
        off = {
            (one.name, at): sum(
                e.value_nm for part in (one.of or (one.name,)) for e in counting(after, part, at, FAMILY.map)
            )
            for one in FAMILY.sizes
            for at in (one.positions if one.name in ("deck", "head", "head and deck") else ())
            if FAMILY.map.contains(place, at)
        }
        fits = all(value <= FACTS[one].most_nm for (one, _), value in off.items())
        assert (refusal(new, *held) is None) == fits
        if fits:
            held = after


def test_a_new_block_has_threads_as_they_came():
    fixed = entry("thread", "SUMP/bolt-07", detail="M8, 16 mm")
    assert refusal(entry("thread", "ENGINE", renewed=True), fixed) is None
    assert refusal(entry("thread", "ENGINE"), fixed) == ("size-unusable", None)
    assert refusal(entry("thread", "ENGINE", renewed=True, detail="M8"), fixed) == ("size-unusable", None)


def standing(name, entries, its=FAMILY):
    return [(one.place, one.stale) for one in standing_sizes(its.sizes, entries, its.map) if one.size == name]


def test_a_measured_size_stands_until_what_it_was_measured_of_is_cut():
    measured = entry("pin diameter", "ENGINE", 59_990_000)
    assert standing("pin diameter", [measured]) == [("ENGINE", "")]
    # other journals, which are read by the same word, are other pieces
    assert standing("pin diameter", [measured, entry("mains", "ENGINE", 250_000)]) == [("ENGINE", "")]
    # what was ground before was measured as it was
    before = replace(entry("pins", "ENGINE", 250_000), on=date(2024, 5, 1))
    assert standing("pin diameter", [measured, before]) == [("ENGINE", "")]
    same_day = [
        replace(measured, at=datetime(2024, 5, 2, 15, tzinfo=UTC)),
        replace(before, on=date(2024, 5, 2), at=datetime(2024, 5, 2, 9, tzinfo=UTC)),
    ]
    assert standing("pin diameter", same_day) == [("ENGINE", "")]
    # one pin ground: the others stand as they were measured
    ground = entry("pins", "CYL-2", 250_000, job="J-1")
    said = f"pins at CYL-2 was entered since (entry {ground.id} of job J-1, 0.25 mm)"
    assert standing("pin diameter", [measured, ground]) == [("ENGINE", ""), ("ENGINE", said)]
    again = entry("pin diameter", "CYL-2", 59_740_000)
    assert standing("pin diameter", [measured, ground, again]) == [("ENGINE", ""), ("CYL-2", "")]
    # a new crank was not measured either
    new = entry("pins", "ENGINE", 0, renewed=True)
    assert standing("pin diameter", [measured, new]) == [
        ("ENGINE", f"pins at ENGINE was entered since (entry {new.id} of job J-0)")
    ]


def test_a_cut_names_the_measured_sizes_that_it_changes():
    """Rowan-6 of the demo shop (invented): a head that is resurfaced is lower than it was measured; a skimmed deck is another piece."""
    rowan = parse_family(demo_document("Rowan-6"))
    height = entry("head height", "HEAD/gasket", 110_000_000)
    assert standing("head height", [height, entry("deck", "HEAD/gasket", 100_000)], rowan) == [("HEAD/gasket", "")]
    face = entry("head face", "HEAD/gasket", 100_000)
    assert [bool(stale) for _, stale in standing("head height", [height, face], rowan)] == [True]
    (row,) = [one for one in standing_sizes(rowan.sizes, [height, face], rowan.map) if one.size == "head height"]
    assert (row.shown, row.within) == ("110 mm", None)
