"""Scrapped with a reason and who pays."""

import pytest

from inventory.models import Scrap
from inventory.services.correct import correct
from inventory.services.scrap import scrap
from tests.factories.acts import done, ends, gone, held, item, picked, refused, shorts, standing
from tests.factories.stores import PartFactory, PersonFactory, cart, stamp, stock

pytestmark = pytest.mark.django_db


def bolts(amount: int = 10):
    stock(PartFactory(number="B-1"), amount, lot="L1")
    return item("B-1", "lot=L1")


def words(of, amount=1, **changes):
    given = {"place": "R1", "item_id": of.pk, "amount": amount, "reason": "stretched", "who_pays": "job"}
    return {**given, **changes}


def test_scrapped_from_the_shelf_with_who_pays():
    body = done(scrap, **words(bolts(), "4 EA", subject="J1", destroyed=True))
    assert standing() == [("B-1", "lot=L1", "R1", 6)]
    assert gone("scrap") == [("B-1", "lot=L1", 4)]
    assert (body["who_pays"], body["reason"], body["amount"], body["typed"], body["destroyed"]) == (
        "job",
        "stretched",
        4,
        "4 EA",
        True,
    )


def test_holds_that_no_longer_fit_end_latest_first_and_only_as_many_as_needed():
    item_ = bolts()
    first = held(item_, cart("cart J1"), 4)
    second = held(item_, cart("cart J2"), 5)
    body = done(scrap, **words(item_, 3))
    # 10 less 3 leaves 7: the hold for 4 still fits, the later one for 5 does not.
    assert ends() == [(second.pk, "made impossible")]
    assert shorts() == [(second.pk, 5)]
    assert [one["for"] for one in body["shorts"]] == ["cart J2"]
    assert first.pk not in dict(ends())


def test_scrapped_from_a_cart():
    item_ = bolts()
    first, second = held(item_, cart("cart J1"), 4), held(item_, cart("cart J1"), 1)
    picked(first, 4)
    picked(second, 1)
    body = done(scrap, **words(item_, 3, place="cart J1"))
    assert standing() == [("B-1", "lot=L1", "R1", 5), ("B-1", "lot=L1", "cart J1", 2)]
    # What was picked last is what has gone; each pick is short of its own.
    assert shorts() == [(second.pk, 1), (first.pk, 2)]
    assert [(one["for"], one["amount"], one["why"]) for one in body["shorts"]] == [
        ("cart J1", 1, "scrapped: stretched"),
        ("cart J1", 2, "scrapped: stretched"),
    ]
    assert ends() == [(first.pk, "picked"), (second.pk, "picked")]


def test_scrapped_from_a_shelf_a_cart_comes_up_short_of_nothing_that_lies_on_it():
    item_ = bolts()
    picked(held(item_, cart("cart J1"), 4), 4)
    assert done(scrap, **words(item_, 6))["shorts"] == []
    assert shorts() == []


def test_a_whole_set_is_scrapped_with_its_photo_or_the_reason_why_there_is_none():
    stock(PartFactory(number="S-1", tracked_by="set", unit="SET"), serial="S-1")
    stock(PartFactory(number="S-2", tracked_by="set", unit="SET"), serial="S-2")
    first = words(item("S-1", "serial=S-1"))
    assert refused("photo-asked", scrap, **first).message == "Where is the photo of S-1, serial S-1 kept?"
    refused("photo-asked", scrap, **first, photo_ref=" ")
    both = refused("photo-asked", scrap, **first, photo_ref="photo 3", no_photo="too dark")
    assert both.message == "Is there a photo of S-1, serial S-1, or none?"
    assert done(scrap, **first, no_photo="crushed by the van")["no_photo"] == "crushed by the van"
    assert done(scrap, **words(item("S-2", "serial=S-2"), photo_ref="photo 3"))["photo"] == "photo 3"
    assert sorted(Scrap.objects.values_list("photo_ref", "no_photo")) == [("", "crushed by the van"), ("photo 3", "")]
    assert standing() == []


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"reason": ""}, "reason-missing"),
        ({"who_pays": "nobody"}, "who-pays-unknown"),
        ({"amount": 11}, "not-there"),
        ({"amount": 0}, "amount-not-positive"),
        ({"amount": "-1 EA"}, "quantity-negative"),
        ({"amount": "1O EA"}, "quantity-unreadable"),
        ({"spot": "bin 9"}, "not-there"),
        ({"item_id": 0}, "not-found"),
        ({"place": "nowhere"}, "not-found"),
        ({"place": "(scrap)"}, "not-found"),
    ],
)
def test_what_is_refused_scraps_nothing(changes, code):
    refused(code, scrap, **{**words(bolts()), **changes})
    assert standing() == [("B-1", "lot=L1", "R1", 10)]


def test_scrap_is_no_place_to_scrap_from():
    item_ = bolts()
    done(scrap, **words(item_))
    refused("not-found", scrap, **words(item_, place="(scrap)"))


def test_a_scrapping_is_taken_back_but_the_hold_it_ended_is_not():
    item_ = bolts()
    hold = held(item_, cart("cart J1"), 10)
    act = scrap(actor=PersonFactory(), stamp=stamp(), **words(item_, 1))
    body = done(correct, act_id=act.act_id, reason="wrong box")
    assert standing() == [("B-1", "lot=L1", "R1", 10)]
    assert (body["holds_not_restored"], ends()) == ([hold.pk], [(hold.pk, "made impossible")])
