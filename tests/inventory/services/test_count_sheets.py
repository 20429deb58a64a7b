"""Count sheets: opened, counted blind, counted again by somebody else where far off, booked once against the books of that moment."""

from datetime import timedelta

import pytest

from inventory.domain.errors import ManyErrors
from inventory.models import CountedLine, CountSheet, Person, Site, StorageCheck
from inventory.queries.count_sheets import blind, differences, sheet_by_number
from inventory.services.correct import correct
from inventory.services.count import CountLine, count
from inventory.services.count_sheets import BinIn, open_sheet, post_sheet
from inventory.services.enter_counts import SheetLineIn, enter_counts, recount
from inventory.services.transfer import TransferLine, transfer
from tests.factories.acts import done, ends, gone, held, item, refused, standing
from tests.factories.counting import entered, may_recount, minutes, sheet_of, two_bins
from tests.factories.stores import NOON, PartFactory, PersonFactory, cart, quarantine, shelf, stock

pytestmark = pytest.mark.django_db
LOOKED = ["stem seal", "O-ring"]


def read(sheet):
    return differences(sheet_by_number(sheet))


def test_a_sheet_names_what_to_count_and_not_how_much_there_is():
    two_bins()
    sheet = sheet_of("SEAL", "D-RING")
    said = blind(sheet_by_number(sheet))
    assert [(one["part"], [line["lot"] for line in one["lines"]]) for one in said["bins"]] == [
        ("SEAL", ["A"]),
        ("D-RING", ["B", "C"]),
    ]
    assert [one["stored"].split(",")[0] for one in said["bins"]] == ["unhung and unstretched"] * 2
    assert not {"amount", "on_books", "counted", "difference"} & set(said["bins"][0]["lines"][0])
    assert (read(sheet)["lines"], read(sheet)["to_count"]) == ([], [1, 2, 3])


def test_far_off_is_counted_again_by_another_person_before_anything_is_booked():
    two_bins()
    edda = may_recount()
    promised = held(item("SEAL", "lot=A"), cart("cart J1"), 35)
    sheet, piet = sheet_of("SEAL"), PersonFactory()
    first = entered(sheet, {1: 31}, actor=piet)
    assert [(one["line"], one["standing"]) for one in first["lines"]] == [(1, "to count again")]
    # The second person is not told what the first one found, nor what the books say.
    assert read(sheet)["lines"] == []
    refused("recount-needed", post_sheet, stamp=minutes(5), sheet=sheet, reason="nine are missing")
    lines = [SheetLineIn(31, 1)]
    assert first_code(recount, actor=piet, sheet=sheet, lines=lines) == "second-person-needed"
    assert first_code(enter_counts, sheet=sheet, lines=lines) == "counted-already"
    entered(sheet, {1: 31}, at=10, service=recount, actor=edda)
    assert first_code(recount, sheet=sheet, lines=lines) == "recount-not-asked"
    refused("reason-missing", post_sheet, stamp=minutes(20), sheet=sheet)
    body = done(post_sheet, stamp=minutes(20), sheet=sheet, reasons={1: "nine are missing"})
    (line,) = body["lines"]
    assert (line["on_books"], line["counted"], line["difference"], line["reason"]) == (40, 31, -9, "nine are missing")
    assert [(one["kind"], one["moved"]) for one in line["last_moves"]] == [("receive", 40)]
    assert (gone("count difference"), ends()) == ([("SEAL", "lot=A", 9)], [(promised.pk, "made impossible")])
    refused("sheet-booked", post_sheet, stamp=minutes(30), sheet=sheet, reason="again")
    assert (read(sheet)["lines"][0]["on_books"], read(sheet)["booked_act"]) == (40, CountedLine.objects.get().act_id)


def test_where_nobody_else_may_count_again_one_persons_count_is_booked_and_says_so():
    two_bins()
    site = Site.objects.get(code="TS")
    piet = may_recount("piet", home_site=site)
    may_recount("cass", home_site=Site.objects.create(code="QUAY"))  # of another site
    may_recount("gone", home_site=site, is_active=False)
    sheet = sheet_of("SEAL", "D-RING")
    entered(sheet, {1: 31, 2: 4, 3: 6}, actor=piet)
    edda = may_recount(home_site=site)
    error = refused("recount-needed", post_sheet, stamp=minutes(5), sheet=sheet, reason="nine are missing", actor=piet)
    assert (error.values["lines"], error.values["people"]) == ([1], ["edda"])
    Person.objects.filter(pk=edda.pk).update(is_active=False)
    body = done(post_sheet, stamp=minutes(5), sheet=sheet, reason="nine are missing", actor=piet)
    assert [(one["difference"], one["counted_by"], one["alone"]) for one in body["lines"]] == [
        (-9, ["piet"], True), (0, ["piet"], False), (0, ["piet"], False),
    ]  # fmt: skip
    assert gone("count difference") == [("SEAL", "lot=A", 9)]


def test_a_sheet_knows_what_one_persons_counts_changed_since_two_found_the_same():
    two_bins()
    edda, seal = may_recount(), item("SEAL", "lot=A").pk
    # of forty two may be off
    first = sheet_of("SEAL")
    assert entered(first, {1: 38})["lines"][0]["standing"] == "counted"
    done(post_sheet, stamp=minutes(5), sheet=first, reason="two torn")
    assert not CountedLine.objects.get().by_two
    second = sheet_of("SEAL")
    assert entered(second, {1: 37}, at=10)["lines"][0]["standing"] == "to count again"
    refused("recount-needed", post_sheet, stamp=minutes(15), sheet=second, reason="one more")
    entered(second, {1: 37}, at=20, service=recount, actor=edda)
    done(post_sheet, stamp=minutes(25), sheet=second, reason="one more")
    assert CountedLine.objects.latest("pk").by_two
    # two people stood for 37: of these one may be off, on paper as by hand
    third = sheet_of("SEAL")
    assert entered(third, {1: 36}, at=30)["lines"][0]["standing"] == "counted"
    by_hand = {"place": "R1", "reason": "one more", "looked_at": LOOKED, "stamp": minutes(31)}
    done(count, lines=[CountLine(36, item_id=seal)], **by_hand)
    refused("recount-needed", count, lines=[CountLine(35, item_id=seal)], **by_hand | {"stamp": minutes(32)})
    assert done(post_sheet, stamp=minutes(35), sheet=third, reason="none left")["counted_since"] == [1]


def test_a_line_of_a_sheet_waits_where_another_bin_of_the_part_was_counted_off_meanwhile():
    seal = PartFactory(number="SEAL", kind="stem seal")
    for lot, place in (("A", "R1"), ("B", "R2"), ("C", "R3")):
        stock(seal, 100, lot=lot, place=shelf(place), at=NOON - timedelta(days=1))
    may_recount()
    sheet = sheet_of("SEAL")
    assert entered(sheet, {1: 95})["lines"][0]["standing"] == "counted"
    for lot, place in (("B", "R2"), ("C", "R3")):
        line = CountLine(95, part="SEAL", lot=lot)
        done(count, place=place, lines=[line], reason="torn", looked_at=LOOKED, stamp=minutes(2))
    # fifteen of three hundred are too many of two hundred and ninety: the booking asks anew, under the locks
    refused("recount-needed", post_sheet, stamp=minutes(5), sheet=sheet, reason="five torn")
    assert read(sheet)["to_count_again"] == [1]
    assert done(post_sheet, stamp=minutes(5), sheet=sheet, reason="counted another day", leave_out=[1])["lines"] == []


def first_code(call, **arguments):
    """The code of the first refused line."""
    with pytest.raises(ManyErrors) as caught:
        call(**{"actor": PersonFactory(), "stamp": minutes(15), "looked_at": LOOKED} | arguments)
    return caught.value.errors[0][1].code


def test_what_was_moved_since_it_was_counted_stays_out_of_the_difference():
    two_bins()
    shelf("R2")
    sheet, seal = sheet_of("SEAL"), item("SEAL", "lot=A")
    entered(sheet, {1: 39}, at=10)
    done(transfer, lines=[TransferLine(seal.pk, 15, "R1", "R2")], stamp=minutes(20))
    (line,) = done(post_sheet, stamp=minutes(30), sheet=sheet, reason="one torn")["lines"]
    assert (line["on_books"], line["difference"]) == (40, -1)
    assert ("SEAL", "lot=A", "R1", 24) in standing()


def test_what_was_counted_by_hand_since_is_not_booked_again():
    two_bins()
    sheet, seal = sheet_of("SEAL", "D-RING"), item("SEAL", "lot=A")
    entered(sheet, {1: 39, 2: 4}, at=10)
    by_hand = CountLine(39, item_id=seal.pk)
    done(count, place="R1", lines=[by_hand], reason="one torn", looked_at=LOOKED, stamp=minutes(20))
    body = done(post_sheet, stamp=minutes(30), sheet=sheet, reason="one torn")
    assert (body["counted_since"], body["not_counted"], [one["part"] for one in body["lines"]]) == (
        [1],
        [3],
        ["D-RING"],
    )
    assert gone("count difference") == [("SEAL", "lot=A", 1)]


def test_a_thing_that_the_sheet_does_not_name_gets_a_line():
    two_bins()
    stock(PartFactory(number="BOLT"), 3, lot="X", place=shelf("R1"))
    stock(PartFactory(number="RING-2"), 3, lot="X")
    sheet = sheet_of("SEAL")
    seals = item("SEAL", "lot=A")
    done(transfer, lines=[TransferLine(seals.pk, 40, "R1", shelf("R2").code)], stamp=minutes(0))
    other = sheet_of("BOLT", "SEAL")
    unknown = SheetLineIn(2, bin=2, lot="Z")
    assert first_code(enter_counts, sheet=other, lines=[unknown]) == "not-found"
    assert first_code(enter_counts, sheet=other, lines=[SheetLineIn(2, bin=9, lot="A")]) == "not-found"
    body = done(enter_counts, sheet=other, lines=[SheetLineIn("2 EA", bin=2, lot="A")], looked_at=LOOKED)
    assert [(one["line"], one["part"], one["standing"]) for one in body["lines"]] == [(2, "SEAL", "to count again")]
    assert blind(sheet_by_number(other))["bins"][1]["lines"][0]["found"] is True
    assert sheet != other


def test_a_count_that_was_entered_wrongly_is_taken_back_until_the_sheet_is_booked():
    two_bins()
    sheet, piet = sheet_of("SEAL"), PersonFactory()
    wrong = enter_counts(actor=piet, stamp=minutes(1), sheet=sheet, lines=[SheetLineIn(4, 1)], looked_at=LOOKED).act_id
    done(correct, act_id=wrong, reason="four were typed for forty", stamp=minutes(2))
    done_again = enter_counts(
        actor=piet, stamp=minutes(3), sheet=sheet, lines=[SheetLineIn(40, 1)], looked_at=LOOKED
    ).act_id
    done(post_sheet, stamp=minutes(4), sheet=sheet)
    refused("not-correctable", correct, act_id=done_again, reason="once more", stamp=minutes(5))
    assert gone("count difference") == []


def test_a_booking_that_is_taken_back_brings_the_difference_back():
    two_bins()
    sheet = sheet_of("SEAL")
    entered(sheet, {1: 39})
    posted = post_sheet(actor=PersonFactory(), stamp=minutes(9), sheet=sheet, reason="one torn")
    done(correct, act_id=posted.act_id, reason="it lay on a cart", stamp=minutes(12))
    assert (gone("count difference"), ("SEAL", "lot=A", "R1", 40) in standing()) == ([], True)
    assert read(sheet)["taken_back"] is True
    refused("sheet-booked", post_sheet, stamp=minutes(15), sheet=sheet, reason="again")


def test_a_sheet_is_closed_without_booking_anything():
    two_bins()
    may_recount()
    sheet = sheet_of("SEAL", "D-RING")
    entered(sheet, {1: 10})
    refused("recount-needed", post_sheet, stamp=minutes(5), sheet=sheet, reason="no time")
    refused("reason-missing", post_sheet, stamp=minutes(5), sheet=sheet, leave_out=[1])
    refused("not-found", post_sheet, stamp=minutes(5), sheet=sheet, reason="no time", leave_out=[1, 9])
    body = done(post_sheet, stamp=minutes(5), sheet=sheet, reason="no time", leave_out=[1])
    assert (body["lines"], body["left_out"], body["not_counted"]) == ([], [1], [2, 3])


def test_how_things_are_stored_rides_along():
    stock(PartFactory(number="GASKET", kind="gasket"), 3, lot="G", place=shelf("R1"), at=NOON - timedelta(days=1))
    quarantine("Q1")
    sheet = sheet_of("GASKET")
    bent = [SheetLineIn(3, 1, stored_wrongly="stood on edge")]
    refused("storage-unchecked", enter_counts, stamp=minutes(1), sheet=sheet, lines=bent)
    done(enter_counts, stamp=minutes(1), sheet=sheet, lines=bent, looked_at=["gasket"])
    refused("wrong-place", post_sheet, stamp=minutes(2), sheet=sheet)
    done(post_sheet, stamp=minutes(2), sheet=sheet, quarantine="Q1")
    assert standing() == [("GASKET", "lot=G", "Q1", 3)]
    assert list(StorageCheck.objects.values_list("wrong", "set_aside")) == [("stood on edge", True)]


def test_bins_are_shelves_of_the_site_each_once():
    two_bins()
    quarantine("Q1")
    bins = [BinIn("R1", "SEAL"), BinIn("Q1", "SEAL"), BinIn("R1", "NONE"), BinIn("R1", "SEAL"), BinIn("R7", "SEAL")]
    error = refused("wrong-place", open_sheet, site="TS", bins=bins)
    assert [(number, one.code) for number, one in error.errors] == [
        (2, "wrong-place"),
        (3, "not-found"),
        (4, "counted-twice"),
        (5, "not-found"),
    ]
    refused("nothing-given", open_sheet, site="TS", bins=[])
    refused("not-found", open_sheet, site="XX", bins=bins)
    assert CountSheet.objects.count() == 0


def test_a_sheet_is_not_booked_before_it_was_counted():
    two_bins()
    sheet = sheet_of("SEAL")
    entered(sheet, {1: 40}, at=30)
    refused("dates-turned", post_sheet, stamp=minutes(5), sheet=sheet)
