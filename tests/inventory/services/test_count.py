"""Counts: what differs is a movement with a reason; holds give way; things with a serial are missing or found by name."""

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.domain.errors import ManyErrors
from inventory.domain.places import PlaceKind
from inventory.models import Act, CountedLine
from inventory.services import things
from inventory.services.correct import correct
from inventory.services.count import CountLine, count
from inventory.services.receive import ReceiveLine, receive
from inventory.services.scrap import scrap
from inventory.services.transfer import TransferLine, transfer
from tests.factories.acts import done, ends, gone, held, item, picked, refused, shorts, standing
from tests.factories.counting import may_recount
from tests.factories.stores import NOON, PartFactory, PersonFactory, cart, received, shelf, stamp, stock

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


def test_an_older_count_that_is_sent_after_a_newer_one_is_not_booked_a_second_time():
    ring = rings(100)
    later = NOON + timedelta(hours=2)
    done(count, place="R1", lines=[CountLine(98, item_id=ring.pk)], reason="torn", stamp=stamp(later))
    then = stamp(NOON + timedelta(hours=1), recorded_at=later + timedelta(hours=1))
    many = refused(
        "counted-since", count, place="R1", lines=[CountLine(98, item_id=ring.pk)], reason="torn", stamp=then
    )
    ((number, error),) = many.errors
    newer = Act.objects.get(kind="count")
    assert (number, error.values["act"], error.values["counted_at"]) == (1, newer.pk, later)
    assert error.message == (
        f"R-1, lot B1 was counted at R1 by {newer.actor.username} since, at 2025-01-15T14:00+00:00: "
        "an older count changes nothing any more."
    )
    # as the books had it then, or at another spot, it is taken
    assert (
        done(count, place="R1", lines=[CountLine(100, item_id=ring.pk)], stamp=then_again(1))["lines"][0]["difference"]
        == 0
    )
    at_bin = [CountLine(1, item_id=ring.pk, spot="bin 2")]
    assert done(count, place="R1", lines=at_bin, reason="found", stamp=then_again(2))["lines"][0]["difference"] == 1
    # once the newer one is taken back, the older one says what is missing
    done(correct, act_id=newer.pk, reason="the wrong bag", stamp=stamp(later + timedelta(hours=1)))
    body = done(count, place="R1", lines=[CountLine(98, item_id=ring.pk)], reason="torn", stamp=then_again(3))
    assert (body["lines"][0]["difference"], gone("count difference")) == (-2, [("R-1", "lot=B1", 1)])


def then_again(minutes):
    """So many minutes past one, told at four."""
    return stamp(NOON + timedelta(hours=1, minutes=minutes), recorded_at=NOON + timedelta(hours=4))


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


@pytest.mark.parametrize("lot", ["b1", "B-1", " b 1 ", "Ｂ1"])
def test_a_lot_in_another_spelling_is_the_one_on_record(lot):
    rings()
    [line] = done(count, place="R1", lines=[CountLine("10 EA", part="R-1", lot=lot)])["lines"]
    assert (line["identity"], line["difference"]) == ("lot=B1", 0)


def test_spellings_that_were_kept_apart_are_asked_about_and_a_part_in_another_spelling_is_named():
    rings()
    received("R1", [ReceiveLine("R-1", 4, lot="B-1", another_lot=True)])
    [line] = done(count, place="R1", lines=[CountLine("4 EA", part="R-1", lot="B-1")])["lines"]
    assert line["identity"] == "lot=B-1"
    with pytest.raises(ManyErrors) as caught:
        done(count, place="R1", lines=[CountLine("4 EA", part="R-1", lot="b 1"), CountLine(1, part="r-1", lot="B1")])
    codes = {line: (error.code, error.values) for line, error in caught.value.errors}
    assert codes[1][0] == "spelling-ambiguous" and codes[1][1]["known"] == ["B-1", "B1"]
    assert codes[2][0] == "not-found" and codes[2][1]["near"] == ["R-1"]


def test_a_serial_in_another_spelling_is_the_one_on_record_and_one_that_never_was_is_not_found():
    sets("S-1")
    [line] = done(count, place="R1", lines=[CountLine(1, part="S-1", serial="s 1")])["lines"]
    assert line["identity"] == "serial=S-1"
    refused("not-found", count, place="R1", lines=[CountLine(1, part="S-1", serial="S-2")])


def test_a_count_that_is_entered_late_is_not_booked_a_second_time_where_it_was_counted_since():
    """Seven of ten were there on the 17th, and on the 20th, when that was booked; the older count comes in after it, from a device."""
    ring = rings()
    second = {"second": may_recount(), "reason": "torn bag"}

    def counted(day: int, amount: int) -> dict:
        line = CountLine(amount, item_id=ring.pk, counted_again=amount)
        return {"place": "R1", "lines": [line], "stamp": stamp(NOON.replace(day=day)), **second}

    done(count, **counted(20, 7))
    error = refused("counted-since", count, **counted(17, 7))
    assert isinstance(error, ManyErrors)
    assert standing() == [("R-1", "lot=B1", "R1", 7)]
    # As the books of its moment say, it is no difference and is kept.
    done(count, **counted(17, 10))
    # Later than the newest it counts.
    [line] = done(count, **counted(21, 6))["lines"]
    assert (line["on_books"], line["difference"]) == (7, -1)


def late(day: int):
    """What happened at noon of that day and is entered on the 31st."""
    return stamp(NOON.replace(day=day), recorded_at=NOON.replace(day=31))


def test_what_is_entered_late_and_may_be_what_a_count_found_waits_for_that_count_to_be_taken_back():
    """Ten on the books; four were carried off on the 16th and not entered; six are counted on the 20th, and booked."""
    ring = rings()
    shelf("R2")
    line = CountLine(6, item_id=ring.pk, counted_again=6)
    short = {"lines": [line], "place": "R1", "second": may_recount(), "reason": "looked everywhere"}
    done(count, stamp=stamp(NOON.replace(day=20)), **short)
    carried = {"lines": [TransferLine(ring.pk, 4, "R1", "R2")]}
    error = refused("counted-since", transfer, stamp=late(16), **carried)
    found = CountedLine.objects.get()
    assert error.values["count"] == found.act_id
    # what came then is no such thing, nor is what was carried after the count
    done(transfer, stamp=late(21), lines=[TransferLine(ring.pk, 1, "R1", "R2")])
    done(correct, act_id=found.act_id, reason="they lie on R2", stamp=late(31))
    done(transfer, stamp=late(16), **carried)
    assert standing() == [("R-1", "lot=B1", "R1", 5), ("R-1", "lot=B1", "R2", 5)]


def test_a_delivery_that_is_entered_late_is_not_booked_beside_the_count_that_found_it_over():
    ring = rings()
    more = {"supplier": "maker", "place": "R1", "lines": [ReceiveLine("R-1", 4, lot="B1")]}
    line = CountLine(14, item_id=ring.pk, counted_again=14)
    over = {"lines": [line], "place": "R1", "second": may_recount(), "reason": "no note was found"}
    done(count, stamp=stamp(NOON.replace(day=20)), **over)
    refused("counted-since", receive, stamp=late(16), **more)
    # at another spot, and after the count, it is another delivery
    done(receive, stamp=late(16), **more | {"place": shelf("R2").code})
    done(receive, stamp=late(21), **more)
    assert standing() == [("R-1", "lot=B1", "R1", 18), ("R-1", "lot=B1", "R2", 4)]


def test_a_count_that_found_what_the_books_said_stands_in_nobodys_way():
    ring = rings()
    shelf("R2")
    done(count, place="R1", lines=[CountLine(10, item_id=ring.pk)], stamp=stamp(NOON.replace(day=20)))
    done(transfer, lines=[TransferLine(ring.pk, 4, "R1", "R2")], stamp=late(16))
    assert standing() == [("R-1", "lot=B1", "R1", 6), ("R-1", "lot=B1", "R2", 4)]


def test_what_is_counted_short_on_a_cart_is_short_by_name_too():
    stock(PartFactory(number="B-1"), 10, lot="L1")
    hold = held(item("B-1", "lot=L1"), cart("cart J1"), 4)
    picked(hold, 4)
    body = done(count, place="cart J1", lines=[CountLine(3, part="B-1", lot="L1")], reason="one is not there")
    assert shorts() == [(hold.pk, 1)]
    assert [(one["for"], one["amount"], one["why"]) for one in body["shorts"]] == [
        ("cart J1", 1, "counted short: one is not there")
    ]
