"""Which lots keep a piece: the one statement that asks the books, beside the rule in plain words for one lot after the other."""

from datetime import date, timedelta
from itertools import product

import pytest

from inventory.domain.keeping import KeepRules
from inventory.models import Act, Balance, Item, KeptEnd, KeptPiece, Lot, Part, Place, Spot
from inventory.services.keeping import to_keep
from inventory.services.run import run
from tests.factories.stores import NOON, PartFactory, PersonFactory, cart, shelf, stamp

pytestmark = [pytest.mark.django_db, pytest.mark.damages_books]

#: From 2024 on: the demo shop's rule (invented).
SINCE = date(2024, 1, 1)
RULES = KeepRules(SINCE, frozenset({"O-ring", "seal"}))
BEFORE = SINCE - timedelta(days=1)
#: Of the lot, of the kit that it came in, of the kit around that: "" is no kit at all.
CAME = list(product((None, BEFORE, SINCE), ("", None, BEFORE, SINCE), ("", None, SINCE)))
PARTS = [
    ("O-ring", "piece", "lot"),
    ("seal", "piece", "lot"),
    ("gasket", "piece", "lot"),
    ("O-ring", "microlitre", "lot"),
    ("O-ring", "piece", "nothing"),
]
#: (amount, held) on two shelves and on a cart.
LIES = [
    ((1, 0), (0, 0), (0, 0)),
    ((2, 0), (0, 0), (0, 0)),
    ((2, 1), (0, 0), (0, 0)),
    ((1, 0), (1, 0), (0, 0)),
    ((3, 3), (2, 0), (0, 0)),
    ((1, 0), (0, 0), (5, 0)),
]
KEPT = ["", "kept", "released", "missing"]


def keeps(kind, base, tracked, came, lies, kept):
    """Index of the shelf where one of the lot is kept, None for nowhere."""
    on_shelves = lies[:2]
    days = [day for day in came if day not in ("", None)]
    # A kit around one that was never in a kit is none.
    if came[1] == "":
        days = [came[0]] if came[0] else []
    if kind not in RULES.kinds or base != "piece" or tracked != "lot" or not days or days[0] < SINCE:
        return None
    if sum(amount - held for amount, held in on_shelves) < 2 or kept in ("kept", "released"):
        return None
    return next(at for at, (amount, held) in enumerate(on_shelves) if amount > held)


@pytest.fixture
def act(db):
    run("count", lambda act: {}, actor=PersonFactory(), stamp=stamp(), request={})
    return Act.objects.get()


@pytest.mark.parametrize("kept", KEPT)
def test_the_books_and_the_rule_name_the_same_lots(act, kept):
    kit_part = PartFactory(number="K", kind="kit")
    parts = [PartFactory(kind=kind, base=base, tracked_by=tracked) for kind, base, tracked in PARTS]
    spots = [Spot.objects.get_or_create(place=place, name="-")[0] for place in (shelf("R1"), shelf("R2"), cart("C"))]
    expected = set()
    scenes = [*product(parts[:1], CAME, LIES), *product(parts[1:], CAME[-1:], LIES)]
    for number, (part, came, lies) in enumerate(scenes):
        its = lot_of(part, kit_part, number, came)
        lay(its, part, spots, lies)
        if kept:
            keep(act, its, spots[0], kept)
        at = keeps(part.kind, part.base, part.tracked_by, came, lies, kept)
        if at is not None:
            expected.add((its.pk, spots[at].pk, part.pk, spots[at].place.site_id, its.lot_id))
    found = to_keep(RULES)
    assert {(one.item_id, one.spot_id, one.part_id, one.site_id, one.lot_id) for one in found} == expected
    assert (len(found) == len(expected)) and bool(expected) is (kept in ("", "missing"))


def lot_of(part, kit_part, number, came):
    inside = None
    if came[1] != "":
        around = item_of(kit_part, f"O{number}", came[2]) if came[2] != "" else None
        inside = item_of(kit_part, f"I{number}", came[1], around)
    return item_of(part, f"L{number}", came[0], inside)


def item_of(part, code, came, inside=None):
    lot = Lot.objects.create(part=part, code=code, compare_key=code, received_on=came)
    return Item.objects.create(
        part=part, lot=lot, identity=f"lot={code}", from_kit=inside, base=part.base, single=False
    )


def lay(item, part: Part, spots, lies):
    Balance.objects.bulk_create(
        Balance(
            item=item,
            spot=spot,
            place=spot.place,
            part=part,
            amount=amount,
            held=held,
            real=True,
            single=False,
            pickable=Place.objects.get(pk=spot.place_id).kind == "shelf",
            in_shop=True,
            last_at=NOON,
        )
        for spot, (amount, held) in zip(spots, lies, strict=True)
        if amount
    )


def keep(act, item, spot, how):
    one = KeptPiece.objects.create(act=act, lot=item.lot, item=item, spot=spot, amount=1)
    if how != "kept":
        KeptEnd.objects.create(kept=one, act=act, how=how, why="said so")


@pytest.mark.parametrize("rules", [KeepRules(None, RULES.kinds), KeepRules(SINCE, frozenset())])
def test_a_shop_that_names_no_day_or_no_kind_keeps_none(act, rules):
    assert to_keep(rules) == []
