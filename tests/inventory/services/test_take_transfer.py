"""By the van to another site: sent by a note, signed for line by line, every difference told by name and explained."""

from datetime import date, timedelta

import pytest
from django.db.models import Sum

from inventory.domain.errors import ManyErrors
from inventory.domain.transfers import How
from inventory.models import Balance, Movement, Part, ShopSetting
from inventory.queries.transfers import late_notes, note, rendered_notes
from inventory.queries.valuation import stock_value
from inventory.queries.value_walk import AsOf
from inventory.services.correct import correct
from inventory.services.count import CountLine, count
from inventory.services.explain_transfer import explain_in_transit
from inventory.services.scrap import scrap
from inventory.services.stops import stop_lot
from inventory.services.take_transfer import OtherLine, TakeLine, take_in
from inventory.services.transfer import ReleaseLine, TransferLine, release_quarantine, transfer
from inventory.services.transfer_notes import SendLine, send_to_site
from tests.factories.acts import done, ends, gone, held, item, refused, standing
from tests.factories.stores import NOON, PartFactory, PersonFactory, cart, shelf, stamp, stock
from tests.factories.vans import Road, person, road

pytestmark = pytest.mark.django_db


@pytest.fixture
def way() -> Road:
    return road()


def seen(number: int):
    return rendered_notes([note(number)])[0]


def ring_sum() -> tuple[int, int]:
    """What the movements brought in of the rings, and what stands everywhere, the van too."""
    came = Movement.objects.filter(item__part__number="R-1", from_spot__place__real=False).aggregate(all=Sum("amount"))
    went = Movement.objects.filter(item__part__number="R-1", to_spot__place__real=False).aggregate(all=Sum("amount"))
    there = Balance.objects.filter(part__number="R-1", real=True).aggregate(all=Sum("amount"))
    return (came["all"] or 0) - (went["all"] or 0), there["all"] or 0


def test_what_rides_is_at_neither_shelf_but_owned_and_comes_to_the_other_site_signed_by_another_person(way):
    ShopSetting.objects.create(name="travel_days", value={"TS": {"QUAY": 2}})
    number = way.sent()
    told = seen(number)
    assert (told.state, told.sent_by, told.driver, told.expected_on) == ("on the way", "piet", "lio", date(2025, 1, 17))
    assert standing() == [("R-1", "lot=B1", "R1", 6), ("R-1", "lot=B1", "VAN", 4)]
    assert ring_sum() == (10, 10)
    worth = stock_value(AsOf.of(None, None))["rows"]
    assert [(row["part"], row["amount"]) for row in worth] == [("R-1", 10)]
    for who in (way.sender, way.driver):
        error = refused("second-person-needed", take_in, actor=who, note=number, lines=[TakeLine(1, 4, "Y1")])
        assert error.values["people"] == ["cass"]
    body = way.taken(number, TakeLine(1, "4 EA", "Y1", "bin 2"))
    assert (body["differences"], body["alone"], body["put"][0]["to"]) == ([], False, {"place": "Y1", "spot": "bin 2"})
    assert standing() == [("R-1", "lot=B1", "R1", 6), ("R-1", "lot=B1", "Y1", 4)]
    assert (seen(number).state, seen(number).taken_by, late_notes()) == ("done", "cass", [])
    refused("done-already", take_in, actor=way.receiver, note=number, lines=[TakeLine(1, 4, "Y1")])


def test_where_the_site_has_nobody_else_who_drove_signs_and_that_is_said(way):
    way.receiver.is_active = False
    way.receiver.save(update_fields=["is_active"])
    number = way.sent()
    assert way.taken(number, actor=way.driver)["alone"] is True
    assert seen(number).alone is True


def test_what_did_not_come_is_in_transit_unexplained_until_somebody_says_what_became_of_it(way):
    number = way.sent(SendLine(way.ring.pk, 9, "R1", for_job="J-9"))
    explain = {"note": number, "line": 1, "reason": "asked the driver"}
    refused("transfer-on-the-way", explain_in_transit, how=How.COUNTED_SHORT, amount=1, **explain)
    [late] = late_notes()
    assert (late.unexplained, late.late_from, late.jobs) == (False, date(2025, 1, 16), ("J-9",))
    body = way.taken(number, TakeLine(1, 2, "Y1"))
    assert body["differences"] == ["line 1: 7 of 9 R-1, lot B1 did not come"]
    [late] = late_notes()
    assert (late.unexplained, late.late_from) == (True, date(2025, 1, 15))
    assert late.what.startswith("line 1: 7 of 9 R-1 B1; note ")
    assert seen(number).state == "in transit, unexplained"
    refused("reason-missing", explain_in_transit, how=How.FOUND, amount=1, **explain | {"reason": " "})
    refused("more-than-outstanding", explain_in_transit, how=How.COUNTED_SHORT, amount=8, **explain)
    refused("who-pays-unknown", explain_in_transit, how=How.SCRAPPED, amount=1, **explain)
    refused("wrong-place", explain_in_transit, how=How.FOUND, amount=1, place="R1", **explain)
    refused(
        "second-person-needed", explain_in_transit, actor=way.driver, how=How.FOUND, amount=1, place="Y1", **explain
    )
    done(explain_in_transit, how=How.FOUND, amount=2, place="Y1", **explain)
    done(explain_in_transit, how=How.SENT_BACK, amount=2, place="R1", **explain)
    done(explain_in_transit, how=How.SCRAPPED, amount=1, who_pays="shop", **explain)
    assert ring_sum() == (9, 9)
    body = done(explain_in_transit, how=How.COUNTED_SHORT, amount=2, **explain)
    assert (body["in_transit"], body["to"]) == (0, None)
    assert standing() == [("R-1", "lot=B1", "R1", 3), ("R-1", "lot=B1", "Y1", 4)]
    assert (gone("scrap"), gone("count difference")) == ([("R-1", "lot=B1", 1)], [("R-1", "lot=B1", 2)])
    [line] = seen(number).lines
    assert (line.came, line.found_later, line.sent_back, line.scrapped, line.counted_short) == (2, 2, 2, 1, 2)
    assert (seen(number).state, late_notes(), ring_sum()) == ("done", [], (7, 7))


def test_what_comes_over_the_note_is_taken_off_its_bin_and_holds_that_no_longer_fit_end_by_name(way):
    hold = held(way.ring, cart("cart J1"), 5)
    number = way.sent()
    body = way.taken(number, TakeLine(1, 6, "Y1"))
    assert body["differences"] == [f"2 R-1, lot B1: 2 more than line 1 of note {number} has; the books had it at R1"]
    assert [(one["hold"], one["for"]) for one in body["shorts"]] == [(hold.pk, "cart J1")]
    assert (ends(), standing()) == (
        [(hold.pk, "made impossible")],
        [("R-1", "lot=B1", "R1", 4), ("R-1", "lot=B1", "Y1", 6)],
    )
    # More than the books have anywhere is counted over: it is there.
    second = way.sent()
    body = way.taken(second, TakeLine(1, 5, "Y1"))
    assert body["differences"][0].endswith("counted over")
    assert (gone("count difference"), ring_sum()) == ([("R-1", "lot=B1", -1)], (11, 11))


def test_another_lot_or_serial_than_was_sent_is_told_and_the_one_that_was_sent_waits(way):
    stock(Part.objects.get(number="R-1"), 3, lot="B2", place=shelf("R2"))
    stock(PartFactory(number="S-1", tracked_by="set", unit="SET"), serial="S-1")
    stock(Part.objects.get(number="S-1"), serial="S-2")
    number = way.sent(SendLine(way.ring.pk, 4, "R1"), SendLine(item("S-1", "serial=S-1").pk, 1, "R1"))
    others = (
        OtherLine(3, "Y1", part="R-1", lot="B2", line=1),
        OtherLine(1, "Y1", part="S-1", serial="s 2", line=2),
    )
    body = way.taken(number, TakeLine(1, 1, "Y1"), TakeLine(2, 0), others=others)
    assert body["differences"] == [
        "line 1: 3 of 4 R-1, lot B1 did not come",
        "line 2: 1 of 1 S-1, serial S-1 did not come",
        f"3 R-1, lot B2: instead of R-1, lot B1, line 1 of note {number}; the books had it at R2",
        f"1 S-1, serial S-2: instead of S-1, serial S-1, line 2 of note {number}; the books had it at R1",
    ]
    assert [(one.line, one.part, one.lot or one.serial, one.place) for one in seen(number).over] == [
        (1, "R-1", "B2", "Y1"),
        (2, "S-1", "S-2", "Y1"),
    ]
    assert ("S-1", "serial=S-1", "VAN", 1) in standing() and ("S-1", "serial=S-2", "Y1", 1) in standing()
    # What the books never had is refused by name, and with it the whole signature.
    other = way.sent()
    lines, never = [TakeLine(1, 4, "Y1")], [OtherLine(1, "Y1", part="R-1", lot="B9")]
    error = refused("not-found", take_in, actor=way.receiver, note=other, lines=lines, others=never)
    assert isinstance(error, ManyErrors) and [at for at, _ in error.errors] == [2]


def test_every_line_is_answered_once_and_every_refused_one_is_named(way):
    number = way.sent(SendLine(way.ring.pk, 2, "R1"), SendLine(way.ring.pk, 2, "R1"))
    for lines, left, twice in (([(1, 2)], [2], []), ([(1, 2), (1, 0), (2, 2)], [], [1])):
        given = [TakeLine(line, amount, "Y1") for line, amount in lines]
        error = refused("line-unanswered", take_in, actor=way.receiver, note=number, lines=given)
        assert (error.values["left_out"], error.values["twice"]) == (left, twice)
    lines = [TakeLine(1, 2, "R1"), TakeLine(2, 2, "Y9"), TakeLine(3, 1, "Y1")]
    error = refused("wrong-place", take_in, actor=way.receiver, note=number, lines=lines)
    assert isinstance(error, ManyErrors)
    assert [(at, one.code) for at, one in error.errors] == [(1, "wrong-place"), (2, "not-found"), (3, "not-found")]


def test_only_free_stock_that_may_be_used_leaves_its_shelf(way):
    held(way.ring, cart("cart J1"), 8)
    early = NOON - timedelta(days=1)
    stock(PartFactory(number="O-1"), 2, lot="OLD", printed_on=date(2025, 1, 14), place=shelf("R1"), at=early)
    stock(PartFactory(number="T-1"), 2, lot="STOP", place=shelf("R1"))
    done(stop_lot, lot_id=item("T-1", "lot=STOP").lot_id, reason="leaks")
    on_cart = shelf("R3")
    lines = [
        SendLine(way.ring.pk, 3, "R1"),
        SendLine(item("O-1", "lot=OLD").pk, 1, "R1"),
        SendLine(item("T-1", "lot=STOP").pk, 1, "R1"),
        SendLine(way.ring.pk, 1, on_cart.code),
    ]
    given = {"van": "VAN", "to_site": "QUAY", "lines": lines}
    error = refused("not-there", send_to_site, actor=way.sender, **given)
    assert isinstance(error, ManyErrors)
    assert [(at, one.code) for at, one in error.errors] == [
        (1, "not-there"),
        (2, "expired"),
        (3, "stopped"),
        (4, "not-there"),
    ]
    assert error.errors[0][1].values["holders"][0]["for"] == "cart J1"
    for code, more in (
        ("wrong-place", {"van": "R1"}),
        ("wrong-place", {"to_site": "TS"}),
        ("wrong-place", {"lines": [SendLine(way.ring.pk, 1, "R1"), SendLine(way.ring.pk, 1, "Y1")]}),
        ("not-found", {"to_site": "QUAX"}),
        ("nothing-given", {"lines": []}),
        ("dates-turned", {"lines": [SendLine(way.ring.pk, 1, "R1")], "expected_on": date(2025, 1, 14)}),
    ):
        refused(code, send_to_site, actor=way.sender, **given | more)
    assert standing()[-1] == ("T-1", "lot=STOP", "R1", 2)


def test_a_lot_that_is_stopped_in_the_van_is_blocked_there_and_comes_to_quarantine(way):
    number = way.sent()
    body = done(stop_lot, lot_id=way.ring.lot_id, reason="leaks reported")
    assert body["where"]["totals"] == {"shelf": 6, "van": 4}
    assert seen(number).lines[0].stopped is True
    lines = [TakeLine(1, 3, "Y1")]
    refused("quarantine-needed", take_in, actor=way.receiver, note=number, lines=lines)
    refused("wrong-place", take_in, actor=way.receiver, note=number, lines=lines, quarantine="Q1")
    body = way.taken(number, *lines, quarantine="YQ")
    assert [(one["to"]["place"], one["words"]) for one in body["put"]] == [("YQ", "it is stopped")]
    explain = {"note": number, "line": 1, "reason": "stayed behind", "how": How.SENT_BACK, "amount": 1}
    refused("quarantine-needed", explain_in_transit, place="R1", **explain)
    done(explain_in_transit, place="Q1", **explain)


def test_out_of_quarantine_it_rides_into_quarantine_and_who_brought_it_in_anywhere_does_not_release_it(way):
    keeper = PersonFactory()
    done(transfer, actor=keeper, lines=[TransferLine(way.ring.pk, 5, "R1", "Q1")], note="bag torn")
    number = way.sent(SendLine(way.ring.pk, 5, "Q1"))
    refused("quarantine-needed", take_in, actor=way.receiver, note=number, lines=[TakeLine(1, 5, "Y1")])
    way.taken(number, TakeLine(1, 5, "YQ"))
    back = [ReleaseLine(way.ring.pk, 5, "YQ", "Y1")]
    for who in (keeper, way.receiver):
        refused("second-person-needed", release_quarantine, actor=who, lines=back)
    refused("other-site", release_quarantine, lines=[ReleaseLine(way.ring.pk, 5, "YQ", "R1")])
    done(release_quarantine, lines=back)
    assert standing() == [("R-1", "lot=B1", "R1", 5), ("R-1", "lot=B1", "Y1", 5)]


def test_what_is_in_the_van_belongs_to_its_note_and_is_neither_counted_nor_scrapped_past_it(way):
    number = way.sent()
    spot = f"note {number}"
    refused("wrong-place", count, place="VAN", lines=[CountLine(3, item_id=way.ring.pk, spot=spot)], reason="x")
    given = {"place": "VAN", "spot": spot, "item_id": way.ring.pk, "amount": 1, "reason": "wet", "who_pays": "shop"}
    refused("wrong-place", scrap, **given)


def test_a_note_is_taken_back_while_nobody_signed_and_a_signature_while_nothing_was_explained(way):
    act = send_to_site(
        actor=way.sender, stamp=stamp(), van="VAN", to_site="QUAY", lines=[SendLine(way.ring.pk, 4, "R1")]
    )
    later = stamp(NOON + timedelta(days=1))
    taken = take_in(actor=way.receiver, stamp=later, note=act.act_id, lines=[TakeLine(1, 3, "Y1")])
    refused("not-correctable", correct, act_id=act.act_id, reason="never left", stamp=stamp(NOON + timedelta(days=2)))
    said = explain_in_transit(
        actor=person("boss", "TS", "parts manager"), stamp=stamp(NOON + timedelta(days=1)), note=act.act_id, line=1,
        how=How.COUNTED_SHORT, amount=1, reason="lost",
    )  # fmt: skip
    when = stamp(NOON + timedelta(days=2))
    refused("not-correctable", correct, act_id=taken.act_id, reason="x", stamp=when)
    for one in (said, taken):
        done(correct, act_id=one.act_id, reason="it was another note", stamp=stamp(NOON + timedelta(days=2)))
    assert (seen(act.act_id).state, standing()[-1]) == ("on the way", ("R-1", "lot=B1", "VAN", 4))
    way.taken(act.act_id, stamp=stamp(NOON + timedelta(days=2)))
    other = send_to_site(
        actor=way.sender, stamp=stamp(NOON + timedelta(days=3)), van="VAN", to_site="QUAY",
        lines=[SendLine(way.ring.pk, 1, "R1")],
    )  # fmt: skip
    done(correct, act_id=other.act_id, reason="the van broke down", stamp=stamp(NOON + timedelta(days=3)))
    assert seen(other.act_id).state == "taken back"
    refused("done-already", take_in, actor=way.receiver, note=other.act_id, lines=[TakeLine(1, 1, "Y1")])


def test_nobody_signs_for_a_note_before_it_left(way):
    note = way.sent()
    early = {"actor": way.receiver, "stamp": stamp(NOON - timedelta(days=1)), "note": note}
    refused("dates-turned", take_in, lines=[TakeLine(1, 0)], **early)
    way.taken(note, TakeLine(1, 4, "Y1"))
