"""Corrections: every row reversed, true since the moment of the act, at most once, and refused where things moved on."""

import uuid
from datetime import timedelta

import pytest

from inventory.domain.places import PlaceKind
from inventory.models import Act, Movement, Refusal
from inventory.services import things
from inventory.services.correct import correct
from inventory.services.post import Move, post
from inventory.services.receive import ReceiveLine, receive
from inventory.services.run import run
from inventory.services.stops import free_lot, stop_lot
from inventory.services.transfer import TransferLine, transfer
from tests.databases import together
from tests.factories.acts import done, gone, held, item, picked, refused, standing
from tests.factories.stores import NOON, PartFactory, PersonFactory, SupplierFactory, cart, shelf, stamp

LATER = NOON + timedelta(days=3)


def delivery(*lines, at=NOON):
    done_ = receive(
        actor=PersonFactory(), stamp=stamp(at), supplier=SupplierFactory().code, place=shelf().code, lines=list(lines)
    )
    return done_.act_id


def rings(amount=10, at=NOON):
    PartFactory(number="R-1")
    return delivery(ReceiveLine("R-1", amount, lot="B1"), at=at)


@pytest.mark.django_db
def test_a_receipt_is_taken_back_row_by_row_and_was_never_true():
    PartFactory(number="S-1", tracked_by="set", unit="SET")
    PartFactory(number="R-1")
    act = delivery(
        ReceiveLine("R-1", 10, lot="B1"), ReceiveLine("R-1", 4, lot="B2"), ReceiveLine("S-1", 1, serial="S-1")
    )
    body = done(correct, act_id=act, reason="booked twice", stamp=stamp(LATER))
    assert standing() == []
    assert gone("supplier") == []
    correction = Act.objects.get(corrects_id=act)
    assert (correction.occurred_at, correction.recorded_at, correction.reason) == (NOON, LATER, "booked twice")
    assert [(one["part"], one["amount"], one["from"]["place"]) for one in body["reversed"]] == [
        ("S-1", 1, "R1"),
        ("R-1", 4, "R1"),
        ("R-1", 10, "R1"),
    ]
    # Known then, and known now: the rows of both acts tell both.
    before = Movement.objects.filter(act__occurred_at__lte=NOON, act__recorded_at__lt=LATER).count()
    assert (before, Movement.objects.count()) == (3, 6)


@pytest.mark.django_db
def test_at_most_once_and_not_of_a_correction():
    act = rings()
    first = correct(actor=PersonFactory(), stamp=stamp(LATER), act_id=act, reason="booked twice")
    error = refused("corrected-already", correct, act_id=act, reason="once more", stamp=stamp(LATER))
    assert error.values == {"act": act, "corrected_by": first.act_id}
    refused("not-correctable", correct, act_id=first.act_id, reason="it was right", stamp=stamp(LATER))
    assert list(Refusal.objects.order_by("pk").values_list("code", flat=True)) == [
        "corrected-already",
        "not-correctable",
    ]
    assert Act.objects.count() == 2


@pytest.mark.django_db
def test_the_same_key_gets_the_first_answer_again():
    act, actor, key = rings(), PersonFactory(), uuid.uuid4()
    words = {"actor": actor, "act_id": act, "reason": "booked twice"}
    first = correct(stamp=stamp(LATER, key=key), **words)
    again = correct(stamp=stamp(LATER + timedelta(hours=1), key=key), **words)
    assert (again.body, again.replayed, Act.objects.count()) == (first.body, True, 2)
    refused("key-reused", correct, actor=actor, act_id=act, reason="other", stamp=stamp(LATER, key=key))


@pytest.mark.django_db
def test_what_moved_on_or_is_held_is_not_taken_back():
    act = rings()
    ring = item("R-1", "lot=B1")
    shelf("R2")
    onward = transfer(actor=PersonFactory(), stamp=stamp(LATER), lines=[TransferLine(ring.pk, 4, "R1", "R2")])
    error = refused("not-there", correct, act_id=act, reason="booked twice", stamp=stamp(LATER))
    assert (error.values["there"], error.values["asked"]) == (6, 10)
    assert error.ways_out == (f"Take act {onward.act_id} (transfer) back first, if it is wrong too.",)
    done(correct, act_id=onward.act_id, reason="wrong shelf", stamp=stamp(LATER))
    held(ring, cart("cart J1"), 1)
    # Held, and not carried away: there is no act to take back first.
    assert refused("not-there", correct, act_id=act, reason="booked twice", stamp=stamp(LATER)).ways_out == ()
    assert standing() == [("R-1", "lot=B1", "R1", 10)]


@pytest.mark.django_db
def test_what_was_away_in_between_is_not_taken_back():
    act = rings()
    ring = item("R-1", "lot=B1")
    shelf("R2")
    for start, end, days in (("R1", "R2", 1), ("R2", "R1", 2)):
        done(transfer, lines=[TransferLine(ring.pk, 10, start, end)], stamp=stamp(NOON + timedelta(days=days)))
    error = refused("backdated-below-zero", correct, act_id=act, reason="booked twice", stamp=stamp(LATER))
    assert error.values["level"] == -10


@pytest.mark.django_db
def test_a_pick_is_taken_back_and_the_hold_is_not_restored():
    rings()
    ring = item("R-1", "lot=B1")
    hold = held(ring, cart("cart J1"), 4)
    picked(hold, 4)
    act = Act.objects.get(kind="pick")
    body = done(correct, act_id=act.pk, reason="wrong bag", stamp=stamp(LATER))
    assert standing() == [("R-1", "lot=B1", "R1", 10)]
    assert body["holds_not_restored"] == [hold.pk]
    assert body["note"] == "The holds that the act ended stay ended: hold again."


@pytest.mark.django_db
def test_holds_and_stops_have_their_own_way_out():
    rings()
    ring = item("R-1", "lot=B1")
    held(ring, cart("cart J1"), 4)
    stop = stop_lot(actor=PersonFactory(), stamp=stamp(), lot_id=ring.lot_id, reason="leaks reported")
    free = free_lot(
        actor=PersonFactory(), stamp=stamp(), lot_id=ring.lot_id, stop_id=stop.body["stop"], reason="another lot"
    )
    hold = Act.objects.get(kind="hold")
    ways = [
        refused("not-correctable", correct, act_id=pk, reason="x", stamp=stamp(LATER)).ways_out
        for pk in (hold.pk, stop.act_id, free.act_id)
    ]
    assert ways == [("Release the holds.",), ("Free it.",), ("Stop it again.",)]


@pytest.mark.django_db
def test_unknown_acts_and_missing_reasons():
    act = rings()
    refused("not-found", correct, act_id=0, reason="x")
    refused("reason-missing", correct, act_id=act, reason="  ", stamp=stamp(LATER))
    assert standing() == [("R-1", "lot=B1", "R1", 10)]


@pytest.mark.django_db
def test_a_thing_that_was_carried_on_in_the_same_act_comes_all_the_way_back():
    rings()
    ring = item("R-1", "lot=B1")
    ring.part.refresh_from_db()
    van = things.spot(things.make_place("van", PlaceKind.VAN, site=None))
    near, far = things.spot(shelf("R1")), things.spot(shelf("R2"))

    def work(act):
        post(act, [Move(ring, 3, near, van)])
        post(act, [Move(ring, 3, van, far)])
        return {}

    act = run("carry", work, actor=PersonFactory(), stamp=stamp(), request={})
    assert ("R-1", "lot=B1", "R2", 3) in standing()
    done(correct, act_id=act.act_id, reason="never left", stamp=stamp(LATER))
    assert standing() == [("R-1", "lot=B1", "R1", 10)]


def test_two_at_once_take_an_act_back_once(shop_database):
    act = rings()
    people = [PersonFactory() for _ in range(4)]
    ended = together(
        [
            lambda person=person: correct(actor=person, stamp=stamp(LATER), act_id=act, reason="booked twice")
            for person in people
        ]
    )
    codes = sorted(getattr(one.error, "code", repr(one.error)) for one in ended if one.error is not None)
    assert codes == ["corrected-already"] * 3
    assert Act.objects.filter(corrects_id=act).count() == 1
    assert standing() == []
    assert Refusal.objects.count() == 3
