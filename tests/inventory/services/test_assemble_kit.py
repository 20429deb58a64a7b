"""Closed kits made up from loose stock: known inner lots, opened as any box, blocked by a stop of what is inside."""

from collections import Counter

import pytest

from inventory.domain.catalogue import KitLine
from inventory.models import InnerLot, Item, KitAssembly, Lot
from inventory.queries.kits import flattened
from inventory.queries.trace import lot_whereabouts
from inventory.services.assemble_kit import LimbIn, assemble_kit
from inventory.services.correct import correct
from inventory.services.open_item import open_kit
from inventory.services.replacements import add_kit_revision
from inventory.services.stops import stop_lot
from tests.factories.acts import done, gone, held, item, refused, standing
from tests.factories.stores import PartFactory, PersonFactory, cart, quarantine, shelf, site, stamp, stock
from tests.factories.stores_kits import closed_kits, kit

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop():
    """Kit K-1 holds one gasket and three seals; two gaskets, two lots of seals."""
    kit("K-1", {"G-1": 1, "B-1": 3})
    stock(part("G-1"), 2, lot="G/1")
    stock(part("B-1"), 4, lot="B/1")
    stock(part("B-1"), 5, lot="B/2")


def part(number):
    from inventory.models import Part

    return Part.objects.get(number=number)


def limbs(**seals):
    """One gasket, and so many seals of the lots in each box."""
    chosen = seals or {"B/1": 2, "B/2": 1}
    bags = [LimbIn(item("B-1", f"lot={lot}").pk, each, "R1") for lot, each in chosen.items()]
    return [LimbIn(item("G-1", "lot=G/1").pk, 1, "R1"), *bags]


def words(**more):
    facts = {"kit": "K-1", "lot": "OURS-1", "place": "R1", "boxes": 2} | more
    return facts if "contents" in facts else facts | {"contents": limbs()}


def sums(lot, **kinds):
    total = lot_whereabouts(Lot.objects.get(code=lot).pk).sum
    return {name: getattr(total, name) for name in ("received", "loose", "in_closed_kits", "opened", "difference")}


def test_two_boxes_of_known_lots(shop):
    body = done(assemble_kit, **words())
    assert standing() == [
        ("B-1", "lot=B/2", "R1", 3), ("K-1", "lot=OURS-1", "R1", 2)
    ]  # fmt: skip
    assert (body["revision"], body["boxes"], body["expiry_rule"]) == (1, 2, "its contents have no limit")
    assert [(one["lot"], one["each"], one["amount"]) for one in body["inside"]] == [
        ("G/1", 1, 2), ("B/1", 2, 4), ("B/2", 1, 2)
    ]  # fmt: skip
    rows = InnerLot.objects.filter(kit_lot__code="OURS-1").values_list("lot__code", "amount")
    assert sorted(rows) == [("B/1", 2), ("B/2", 1), ("G/1", 1)]
    assert KitAssembly.objects.get().boxes == 2
    assert sums("B/1") == {"received": 4, "loose": 0, "in_closed_kits": 4, "opened": 0, "difference": 0}
    assert sums("B/2") == {"received": 5, "loose": 3, "in_closed_kits": 2, "opened": 0, "difference": 0}


def test_it_is_opened_by_its_record_and_the_lots_come_out_again(shop):
    box = done(assemble_kit, **words())["item"]
    opened = done(open_kit, item_id=box, place="R1")
    assert [(one["part"], one["lot"], one["amount"], one["usable"]) for one in opened["contents"]] == [
        ("B-1", "B/1", 2, "free"), ("B-1", "B/2", 1, "free"), ("G-1", "G/1", 1, "free")
    ]  # fmt: skip
    assert sums("B/1") == {"received": 4, "loose": 2, "in_closed_kits": 2, "opened": 0, "difference": 0}


def test_a_stop_of_an_inner_lot_blocks_the_boxes_and_ends_their_holds(shop):
    box = Item.objects.get(pk=done(assemble_kit, **words())["item"])
    hold = held(box, cart("cart J1"))
    body = done(stop_lot, lot_id=Lot.objects.get(code="B/2").pk, reason="leaks reported")
    assert [short["hold"] for short in body["shorts"]] == [hold.pk]
    assert [(one["kit"], one["lot"], one["amount"]) for one in body["where"]["closed_kits"]] == [("K-1", "OURS-1", 2)]
    again = words(lot="OURS-2", boxes=1, contents=limbs(**{"B/2": 3}))
    assert refused("stopped", assemble_kit, **again).values["lines"][0]["line"] == 2


def test_it_is_taken_back_while_the_boxes_are_closed(shop):
    before = standing()
    act = assemble_kit(actor=PersonFactory(), stamp=stamp(), **words())
    done(correct, act_id=act.act_id, reason="the wrong seals")
    assert (standing(), gone("conversion")) == (before, [])
    assert sums("B/1") == {"received": 4, "loose": 4, "in_closed_kits": 0, "opened": 0, "difference": 0}
    act = assemble_kit(actor=PersonFactory(), stamp=stamp(), **words(lot="OURS-2"))
    done(open_kit, item_id=act.body["item"], place="R1")
    refused("not-there", correct, act_id=act.act_id, reason="too late")


def test_what_is_held_for_a_job_is_not_packed(shop):
    held(item("G-1", "lot=G/1"), cart("cart J1"), 1)
    error = refused("not-there", assemble_kit, **words())
    assert [one["for"] for one in error.values["holders"]] == ["cart J1"]
    done(assemble_kit, **words(boxes=1))


def test_a_box_goes_into_a_box_and_its_lots_are_still_found(shop):
    kit("K-2", {"K-1": 1, "O-1": 2})
    stock(part("O-1"), 2, lot="O/1")
    inner = done(assemble_kit, **words())["item"]
    outer = [LimbIn(inner, 1, "R1"), LimbIn(item("O-1", "lot=O/1").pk, 2, "R1")]
    body = done(assemble_kit, **words(kit="K-2", lot="OURS-9", boxes=1, contents=outer))
    assert sums("B/1") == {"received": 4, "loose": 0, "in_closed_kits": 4, "opened": 0, "difference": 0}
    where = done(stop_lot, lot_id=Lot.objects.get(code="B/1").pk, reason="leaks reported")["where"]
    assert [(one["kit"], one["amount"]) for one in where["closed_kits"]] == [("K-1", 2), ("K-2", 2)]
    out = done(open_kit, item_id=body["item"], place="R1")["contents"]
    box = next(one for one in out if one["part"] == "K-1")
    assert (box["lot"], box["amount"]) == ("OURS-1", 1)
    lots = [one["lot"] for one in done(open_kit, item_id=box["item"], place="R1")["contents"]]
    assert lots == ["B/1", "B/2", "G/1"]
    assert sums("B/1") == {"received": 4, "loose": 2, "in_closed_kits": 2, "opened": 0, "difference": 0}


def test_a_kit_never_contains_itself_not_even_by_an_older_box(shop):
    """K-2 held a K-1 once; by its newest contents it does not, and K-1 holds K-2 now: a box from before still has a K-1 in it."""
    kit("K-2", {"K-1": 1, "G-1": 1})
    closed_kits("K-2", 1, lot="OLD")
    done(add_kit_revision, kit="K-2", lines=[KitLine("G-1", 1)])
    done(add_kit_revision, kit="K-1", lines=[KitLine("K-2", 1)])
    box = LimbIn(item("K-2", "lot=OLD").pk, 1, "R1")
    assert refused("kit-loop", assemble_kit, **words(boxes=1, contents=[box])).values["lines"][0]["line"] == 1
    closed_kits("K-2", 1, lot="NEW")
    done(assemble_kit, **words(boxes=1, contents=[LimbIn(item("K-2", "lot=NEW").pk, 1, "R1")]))


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({"kit": "K-9"}, "not-found"),
        ({"kit": "G-1"}, "not-a-kit"),
        ({"lot": " "}, "lot-missing"),
        ({"boxes": 0}, "amount-not-positive"),
        ({"boxes": 1001}, "amount-too-large"),
        ({"boxes": 3}, "not-there"),
        ({"place": "Q1"}, "wrong-place"),
        ({"place": "R9"}, "wrong-place"),
        ({"place": "nowhere"}, "not-found"),
        ({"contents": []}, "nothing-given"),
        ({"contents": [LimbIn(999_999, 1, "R1")]}, "not-found"),
    ],
)
def test_what_is_refused_packs_nothing(shop, changed, code):
    quarantine("Q1")
    shelf("R9", at=site("FAR"))
    before = standing()
    refused(code, assemble_kit, **words(**changed))
    assert (standing(), Lot.objects.filter(code="OURS-1").count()) == (before, 0)


def test_one_bag_twice_a_known_lot_and_a_kit_without_lots(shop):
    bag = limbs(**{"B/1": 3})[1]
    refused("counted-twice", assemble_kit, **words(boxes=1, contents=[*limbs(**{"B/1": 3}), bag]))
    assert (
        "B-1: 3 go in, 2 were given"
        in refused("kit-incomplete", assemble_kit, **words(contents=limbs(**{"B/1": 2}))).message
    )
    done(assemble_kit, **words(boxes=1))
    refused("lot-known", assemble_kit, **words(boxes=1))
    kit("K-3", {"G-1": 1}, tracked_by="nothing")
    refused("kit-unusable", assemble_kit, **words(kit="K-3"))


def test_a_kit_that_holds_a_changed_one_is_changed_with_it_and_old_boxes_keep_the_old():
    kit("K-1", {"B-1": 8})
    outer = kit("K-2", {"K-1": 1, "O-1": 2})
    kit("K-3", {"K-2": 1})
    closed_kits("K-2", 1, lot="OLD")
    body = done(add_kit_revision, kit="K-1", lines=[KitLine("B-1", 9)])
    assert body["also"] == [{"kit": "K-2", "revision": 2}, {"kit": "K-3", "revision": 2}]
    closed_kits("K-2", 1, lot="NEW")
    revisions = {one.revision: one.pk for one in outer.kit_revisions.all()}
    told = flattened(list(revisions.values()))
    assert told[revisions[1]] == Counter({"B-1": 8, "O-1": 2})
    assert told[revisions[2]] == Counter({"B-1": 9, "O-1": 2})
    for lot, seals in (("OLD", 8), ("NEW", 9)):
        box = item("K-2", f"lot={lot}").pk
        out = done(open_kit, item_id=box, place="R1", inner_lots={"K-1": f"in {lot}", "O-1": "O/1"})
        inner = next(one["item"] for one in out["contents"] if one["part"] == "K-1")
        inside = done(open_kit, item_id=inner, place="R1", inner_lots={"B-1": "B/1"})
        assert [(one["part"], one["amount"]) for one in inside["contents"]] == [("B-1", seals)]


def test_the_boxes_are_good_as_long_as_their_shortest_lived_content():
    kit("K-1", {"G-1": 1, "B-1": 1})
    for number, day in (("G-1", "2030-06-30"), ("B-1", "2028-03-31")):
        stock(part(number), 1, lot=f"{number}/1")
        Lot.objects.filter(code=f"{number}/1").update(expires_on=day)
    both = [LimbIn(item(number, f"lot={number}/1").pk, 1, "R1") for number in ("G-1", "B-1")]
    body = done(assemble_kit, **words(boxes=1, contents=both))
    assert (body["expires_on"], body["expiry_rule"]) == ("2028-03-31", "earliest of its contents: B-1, lot B-1/1")


def test_a_loose_part_that_nobody_traces_is_packed_without_a_lot():
    PartFactory(number="W-1", tracked_by="nothing")
    kit("K-1", {"W-1": 2})
    stock(part("W-1"), 5)
    body = done(assemble_kit, **words(contents=[LimbIn(item("W-1").pk, "2 EA", "R1")]))
    assert [(one["lot"], one["amount"]) for one in body["inside"]] == [("", 4)]
    assert standing() == [("K-1", "lot=OURS-1", "R1", 2), ("W-1", "-", "R1", 1)]
