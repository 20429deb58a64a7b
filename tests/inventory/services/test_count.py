"""Counts: what differs is a movement with a reason; holds give way; things with a serial are missing or found by name."""

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.domain.errors import ManyErrors
from inventory.domain.places import PlaceKind
from inventory.services import things
from inventory.services.correct import correct
from inventory.services.count import CountLine, count
from inventory.services.scrap import scrap
from inventory.services.transfer import TransferLine, transfer
from tests.factories.acts import done, ends, gone, held, item, picked, refused, shorts, standing
from tests.factories.stores import NOON, PartFactory, PersonFactory, cart, shelf, stamp, stock

pytestmark = pytest.mark.django_db


def rings(amount: int = 10):
    stock(PartFactory(number="R-1"), amount, lot="B1")
    return item("R-1", "lot=B1")


def sets(*serials: str, place: str = "R1"):
    part = PartFactory(number="S-1", tracked_by="set", unit="SET")
    for serial in serials:
        stock(part, serial=serial, place=shelf(place))
    return part


def test_counted_as_the_books_say_moves_nothing_and_needs_no_reason():
    rings()
    [line] = done(count, place="R1", lines=[CountLine("10 EA", part="R-1", lot="B1")])["lines"]
    assert (line["on_books"], line["counted"], line["difference"], line["said"]) == (10, 10, 0, "as the books say")
    assert gone("count difference") == []


@pytest.mark.parametrize(("counted", "said", "gone_"), [(7, "counted short", 3), (12, "counted over", -2)])
def test_a_difference_is_posted_with_its_reason(counted, said, gone_):
    ring = rings()
    refused("reason-missing", count, place="R1", lines=[CountLine(counted, item_id=ring.pk)])
    [line] = done(count, place="R1", lines=[CountLine(counted, item_id=ring.pk)], reason="torn bag")["lines"]
    assert (line["said"], line["difference"]) == (said, counted - 10)
    assert standing() == [("R-1", "lot=B1", "R1", counted)]
    assert gone("count difference") == [("R-1", "lot=B1", gone_)]


def test_holds_that_no_longer_fit_end_latest_fit_date_first():
    ring = rings()
    early = held(ring, cart("cart J1"), 4, needed_on=date(2025, 2, 1))
    late = held(ring, cart("cart J2"), 3, needed_on=date(2025, 4, 1))
    middle = held(ring, cart("cart J3"), 3, needed_on=date(2025, 3, 1))
    body = done(count, place="R1", lines=[CountLine(5, item_id=ring.pk)], reason="torn bag")
    assert shorts() == [(late.pk, 3), (middle.pk, 3)]
    assert [one["for"] for one in body["shorts"]] == ["cart J2", "cart J3"]
    assert early.pk not in dict(ends())


def test_a_set_is_missing_by_name_and_found_again_by_name():
    sets("S-1", "S-2")
    shelf("R2")
    hold = held(item("S-1", "serial=S-1"), cart("cart J1"))
    [line] = done(count, place="R1", lines=[CountLine(0, part="S-1", serial="S-1")], reason="not on its shelf")["lines"]
    assert (line["said"], line["identity"]) == ("missing", "serial=S-1")
    assert ends() == [(hold.pk, "made impossible")]
    later = stamp(NOON + timedelta(days=2))
    body = done(count, place="R2", lines=[CountLine(1, part="S-1", serial="S-1")], reason="behind a crate", stamp=later)
    assert body["lines"][0]["said"] == "found"
    assert body["lines"][0]["last_seen"] == "counted short, from R1, 2025-01-15"
    assert standing() == [("S-1", "serial=S-1", "R2", 1), ("S-1", "serial=S-2", "R1", 1)]
    assert gone("count difference") == []


def test_a_set_that_the_books_have_elsewhere_is_refused_with_that_place():
    sets("S-1")
    shelf("R2")
    error = refused("serial-elsewhere", count, place="R2", lines=[CountLine(1, part="S-1", serial="S-1")], reason="x")
    assert error.errors[0][1].values["place"] == "R1"
    error = refused(
        "serial-elsewhere", count, place="R1", lines=[CountLine(1, part="S-1", serial="S-1", spot="bin 2")], reason="x"
    )
    assert error.errors[0][1].values["spot"] == "-"


def test_a_set_at_another_spot_of_the_same_place_moves_in_one_count():
    sets("S-1")
    lines = [CountLine(1, part="S-1", serial="S-1", spot="bin 2"), CountLine(0, part="S-1", serial="S-1")]
    body = done(count, place="R1", lines=lines, reason="put into the wrong bin")
    assert [line["said"] for line in body["lines"]] == ["found", "missing"]
    assert standing() == [("S-1", "serial=S-1", "R1", 1)]


def test_scrapped_and_found_again_says_so():
    sets("S-1")
    done(
        scrap,
        place="R1",
        item_id=item("S-1", "serial=S-1").pk,
        amount=1,
        reason="seized",
        who_pays="shop",
        no_photo="none taken",
    )
    body = done(count, place="R1", lines=[CountLine(1, part="S-1", serial="S-1")], reason="it is here")
    assert body["lines"][0]["last_seen"] == "scrapped, from R1, 2025-01-15"


def test_a_count_that_was_sent_later_is_compared_with_what_stood_there_then():
    ring = rings()
    shelf("R2")
    done(transfer, lines=[TransferLine(ring.pk, 4, "R1", "R2")], stamp=stamp(NOON + timedelta(hours=2)))
    then = stamp(NOON + timedelta(hours=1), recorded_at=NOON + timedelta(hours=3))
    [line] = done(count, place="R1", lines=[CountLine(10, item_id=ring.pk)], stamp=then)["lines"]
    assert (line["on_books"], line["difference"]) == (10, 0)
    then = stamp(NOON + timedelta(hours=1), recorded_at=NOON + timedelta(hours=3))
    done(count, place="R1", lines=[CountLine(9, item_id=ring.pk)], reason="one dropped", stamp=then)
    assert standing() == [("R-1", "lot=B1", "R1", 5), ("R-1", "lot=B1", "R2", 4)]


def test_a_count_that_leaves_less_than_nothing_later_is_refused():
    ring = rings()
    shelf("R2")
    done(transfer, lines=[TransferLine(ring.pk, 4, "R1", "R2")], stamp=stamp(NOON + timedelta(hours=2)))
    later = NOON + timedelta(hours=3)
    then = stamp(NOON + timedelta(hours=1), recorded_at=later)
    refused("not-there", count, place="R1", lines=[CountLine(1, item_id=ring.pk)], reason="gone", stamp=then)
    done(transfer, lines=[TransferLine(ring.pk, 4, "R2", "R1")], stamp=stamp(later))
    then = stamp(NOON + timedelta(hours=1), recorded_at=later)
    refused("backdated-below-zero", count, place="R1", lines=[CountLine(1, item_id=ring.pk)], reason="gone", stamp=then)
    assert standing() == [("R-1", "lot=B1", "R1", 10)]


def test_every_refused_line_is_named_and_nothing_is_posted():
    ring = rings()
    sets("S-1")
    with pytest.raises(ManyErrors) as caught:
        count(
            actor=PersonFactory(),
            stamp=stamp(),
            place="R1",
            reason="yearly",
            lines=[
                CountLine(9, item_id=ring.pk),
                CountLine(9, part="R-1", lot="B1"),
                CountLine(-1, item_id=ring.pk, spot="bin 2"),
                CountLine(2, part="S-1", serial="S-1"),
                CountLine(1, part="R-1", lot="B9"),
                CountLine(1, item_id=0),
                CountLine("4 mL", item_id=ring.pk, spot="bin 3"),
            ],
        )
    assert [(number, error.code) for number, error in caught.value.errors] == [
        (2, "counted-twice"),
        (3, "amount-negative"),
        (4, "serial-is-one"),
        (5, "not-found"),
        (6, "not-found"),
        (7, "quantity-wrong-dimension"),
    ]
    assert standing() == [("R-1", "lot=B1", "R1", 10), ("S-1", "serial=S-1", "R1", 1)]


def test_where_there_is_nothing_to_count():
    ring = rings()
    things.make_place("engine 7", PlaceKind.ENGINE, site=None)
    refused("wrong-place", count, place="engine 7", lines=[CountLine(1, item_id=ring.pk)], reason="x")
    refused("nothing-given", count, place="R1", lines=[])
    refused("too-many-lines", count, place="R1", lines=[CountLine(1, item_id=ring.pk)] * 2001, reason="x")


def test_ten_lines_cost_as_many_queries_as_two():
    part = PartFactory(number="R-1")
    for index in range(12):
        stock(part, 5, lot=f"B{index}")
    actor = PersonFactory()
    things.books_only(PlaceKind.COUNT_DIFFERENCE)
    counts = []
    for chosen in (range(2), range(2, 12)):
        lines = [CountLine(4 + 2 * (index % 2), part="R-1", lot=f"B{index}") for index in chosen]
        with CaptureQueriesContext(connection) as queries:
            count(actor=actor, stamp=stamp(), place="R1", lines=lines, reason="yearly")
        counts.append(len(queries))
    assert counts[0] == counts[1]


def test_a_count_is_taken_back():
    ring = rings()
    act = count(actor=PersonFactory(), stamp=stamp(), place="R1", lines=[CountLine(7, item_id=ring.pk)], reason="bag")
    done(correct, act_id=act.act_id, reason="the other bag was overlooked")
    assert standing() == [("R-1", "lot=B1", "R1", 10)]
    assert gone("count difference") == []


def test_what_is_counted_short_on_a_cart_is_short_by_name_too():
    stock(PartFactory(number="B-1"), 10, lot="L1")
    hold = held(item("B-1", "lot=L1"), cart("cart J1"), 4)
    picked(hold, 4)
    body = done(count, place="cart J1", lines=[CountLine(3, part="B-1", lot="L1")], reason="one is not there")
    assert shorts() == [(hold.pk, 1)]
    assert [(one["for"], one["amount"], one["why"]) for one in body["shorts"]] == [
        ("cart J1", 1, "counted short: one is not there")
    ]
