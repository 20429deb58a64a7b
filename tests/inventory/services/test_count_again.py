"""A count by hand that is far off waits for a second person's count, by the rule of the count sheets."""

from dataclasses import replace
from datetime import timedelta

import pytest

from inventory.domain.errors import ManyErrors
from inventory.domain.places import PlaceKind
from inventory.models import CountedLine, Movement, Part
from inventory.services import things
from inventory.services.correct import correct
from inventory.services.count import CountLine, count
from inventory.services.transfer import TransferLine, transfer
from tests.factories.acts import done, gone, held, item, picked, refused, standing
from tests.factories.counting import may_recount
from tests.factories.stores import NOON, PartFactory, PersonFactory, cart, quarantine, shelf, site, stamp, stock

pytestmark = pytest.mark.django_db
#: Of a hundred: the tolerance of the shop as it is set up allows five.
ALLOWED = 5


@pytest.fixture
def edda():
    return may_recount()


def seals(amount=100):
    stock(PartFactory(number="SEAL"), amount, lot="A", place=shelf("R1"), at=NOON - timedelta(days=1))
    return item("SEAL", "lot=A").pk


def told(caught):
    return [(number, error.code) for number, error in caught.value.errors]


def test_within_what_the_class_allows_one_person_is_enough(edda):
    line = CountLine(100 - ALLOWED, item_id=seals())
    body = done(count, place="R1", lines=[line], reason="torn bag")
    assert [(one["difference"], one["alone"]) for one in body["lines"]] == [(-ALLOWED, False)]


def test_further_off_it_waits_for_somebody_else_who_is_not_told_what_the_books_say(edda):
    its = seals()
    many = refused("recount-needed", count, place="R1", lines=[CountLine(94, item_id=its)], reason="torn bag")
    ((_, error),) = many.errors
    assert error.values["people"] == ["edda"]
    assert "100" not in f"{error.message} {error.ways_out} {error.values}"
    # Why it differs is not asked before: that question says what the books have.
    refused("recount-needed", count, place="R1", lines=[CountLine(94, item_id=its)])
    # It is no matter of which way it is off.
    refused("recount-needed", count, place="R1", lines=[CountLine(106, item_id=its)], reason="a bag more")
    assert (gone("count difference"), CountedLine.objects.count()) == ([], 0)
    two = [CountLine(94, item_id=its, counted_again="94 EA")]
    refused("reason-missing", count, place="R1", lines=two, second=edda)
    (line,) = done(count, place="R1", lines=two, second=edda, reason="torn bag")["lines"]
    assert (line["difference"], line["counted_by"][1:], line["alone"]) == (-6, ["edda"], False)
    assert standing() == [("SEAL", "lot=A", "R1", 94)]


def test_a_sheet_is_a_way_out_on_shelves_only(edda):
    its = seals()
    ((_, on_shelf),) = refused(
        "recount-needed", count, place="R1", lines=[CountLine(94, item_id=its)], reason="x"
    ).errors
    assert [way.split(":")[0] for way in on_shelf.ways_out] == [
        "Name who counted again (second",
        "Open a count sheet over it",
    ]
    stock(PartFactory(number="BOLT"), 9, lot="Q", place=quarantine("Q1"), at=NOON - timedelta(days=1))
    lines = [CountLine(8, item_id=item("BOLT", "lot=Q").pk)]
    ((_, aside),) = refused("recount-needed", count, place="Q1", lines=lines, reason="x").errors
    assert len(aside.ways_out) == 1


def test_two_who_found_different_amounts_count_until_two_find_the_same(edda):
    its = seals()
    refused(
        "recount-needed",
        count,
        place="R1",
        lines=[CountLine(90, item_id=its, counted_again=91)],
        second=edda,
        reason="x",
    )
    assert Movement.objects.filter(act__kind="count").count() == 0
    # The second is the newer one: as the books say, or nearly, it stands, as it does on a sheet.
    (line,) = done(count, place="R1", lines=[CountLine(90, item_id=its, counted_again=99)], second=edda, reason="x")[
        "lines"
    ]
    assert (line["counted"], line["difference"]) == (99, -1)


def test_of_what_is_of_high_value_one_piece_is_too_much(edda):
    its = seals()
    dear = PartFactory(number="BLOCK", price_coins=90_000)
    stock(dear, 102, lot="B", place=shelf("R1"), at=NOON - timedelta(days=20))
    block = item("BLOCK", "lot=B")
    picked(held(block, cart("cart J1"), 2), 2)
    with pytest.raises(ManyErrors) as caught:
        lines = [CountLine(99, item_id=its), CountLine(99, item_id=block.pk)]
        count(actor=PersonFactory(), stamp=stamp(), place="R1", lines=lines, reason="x")
    assert told(caught) == [(2, "recount-needed")]


def test_a_thing_with_a_number_is_missed_and_found_by_two(edda):
    part = PartFactory(number="S-1", tracked_by="set", unit="SET")
    stock(part, serial="S-7", place=shelf("R1"), at=NOON - timedelta(days=1))
    gone_ = CountLine(0, part="S-1", serial="S-7")
    refused("recount-needed", count, place="R1", lines=[gone_], reason="not on its shelf")
    done(count, place="R1", lines=[replace(gone_, counted_again=0)], second=edda, reason="not on its shelf")
    here = CountLine(1, part="S-1", serial="S-7")
    refused("recount-needed", count, place="R1", lines=[here], reason="behind a crate")
    done(count, place="R1", lines=[replace(here, counted_again=1)], second=edda, reason="behind a crate")
    assert (standing(), gone("count difference")) == ([("S-1", "serial=S-7", "R1", 1)], [])


def test_a_thing_that_stands_elsewhere_is_told_so_before_anybody_counts_again(edda):
    part = PartFactory(number="S-1", tracked_by="set", unit="SET")
    stock(part, serial="S-7", place=shelf("R2"), at=NOON - timedelta(days=1))
    shelf("R1")
    lines = [CountLine(1, part="S-1", serial="S-7")]
    refused("serial-elsewhere", count, place="R1", lines=lines, reason="it is here")


@pytest.mark.parametrize(
    ("who", "again", "code"),
    [
        ("first", 90, "second-person-needed"),
        (None, 90, "second-person-needed"),
        ("anybody", 90, "may-not-count-again"),
        ("edda", None, "recount-needed"),
    ],
)
def test_the_second_is_somebody_else_who_may(edda, who, again, code):
    its, first = seals(), may_recount("piet")
    second = {"first": first, None: None, "anybody": PersonFactory(), "edda": edda}[who]
    lines = [CountLine(90, item_id=its, counted_again=again)]
    refused(code, count, actor=first, place="R1", lines=lines, second=second, reason="torn bag")


def test_who_is_alone_at_the_site_books_it_and_the_line_says_so():
    its = seals()
    may_recount("cass", home_site=site("QUAY"))
    may_recount("gone", is_active=False)
    lines = [CountLine(90, item_id=its)]
    (line,) = done(count, actor=may_recount("piet"), place="R1", lines=lines, reason="torn bag")["lines"]
    assert (line["difference"], line["counted_by"], line["alone"]) == (-10, ["piet"], True)
    # Somebody of no site may be at any.
    may_recount()
    refused("recount-needed", count, place="R1", lines=[CountLine(80, item_id=its)], reason="torn bag")


def counted(its, amount, place="R1", **more):
    """Counted so many of it, by one person, for a reason."""
    return done(count, place=place, lines=[CountLine(amount, item_id=its)], reason="torn bag", **more)["lines"][0]


def test_many_counts_within_the_tolerance_come_no_further_together_than_one(edda):
    its = seals()
    assert counted(its, 97)["difference"] == -3
    # three of a hundred were taken off by one person: of 97 four may be off
    (again,) = refused("recount-needed", count, place="R1", lines=[CountLine(94, item_id=its)], reason="x").errors
    assert again[1].message.startswith("SEAL, lot A was found off by one person each time, and together it is too much")
    assert not [word for word in ("97", "100", "-3") if word in f"{again[1].message} {again[1].values}"]
    assert counted(its, 96)["difference"] == -1
    refused("recount-needed", count, place="R1", lines=[CountLine(95, item_id=its)], reason="torn bag")
    # as the books say, one person's word changes nothing, and makes nothing good
    assert counted(its, 96)["said"] == "as the books say"
    refused("recount-needed", count, place="R1", lines=[CountLine(95, item_id=its)], reason="torn bag")
    # back towards what two people stood for, one person's word is enough
    assert counted(its, 98)["difference"] == 2
    assert [row.by_two for row in CountedLine.objects.order_by("pk")] == [False] * 4


def test_what_two_people_found_alike_is_where_it_begins_anew(edda):
    its = seals()
    assert counted(its, 95)["difference"] == -ALLOWED
    two = [CountLine(95, item_id=its, counted_again=95)]
    assert done(count, place="R1", lines=two, second=edda)["lines"][0]["said"] == "as the books say"
    assert CountedLine.objects.latest("pk").by_two
    assert counted(its, 91)["difference"] == -4
    refused("recount-needed", count, place="R1", lines=[CountLine(90, item_id=its)], reason="torn bag")
    # two who found it within the tolerance, but not alike, stand for nothing
    apart = [CountLine(92, item_id=its, counted_again=91)]
    assert done(count, place="R1", lines=apart, second=edda, reason="x")["lines"][0]["said"] == "as the books say"
    refused("recount-needed", count, place="R1", lines=[CountLine(90, item_id=its)], reason="torn bag")
    alike = [CountLine(90, item_id=its, counted_again=90)]
    assert done(count, place="R1", lines=alike, second=edda, reason="x")["lines"][0]["difference"] == -1
    assert counted(its, 87)["difference"] == -3


def test_a_count_that_was_taken_back_is_nobodys_word(edda):
    its = seals()
    counted(its, 95)
    done(correct, act_id=CountedLine.objects.get().act_id, reason="the wrong bag")
    assert counted(its, 96)["difference"] == -4
    two = [CountLine(95, item_id=its, counted_again=95)]
    done(count, place="R1", lines=two, second=edda, reason="torn bag")
    done(correct, act_id=CountedLine.objects.get(by_two=True).act_id, reason="not of this bin")
    refused("recount-needed", count, place="R1", lines=[CountLine(94, item_id=its)], reason="torn bag")


def test_what_was_carried_to_another_spot_is_not_forgotten(edda):
    its = seals()
    shelf("R2")
    assert counted(its, 95)["difference"] == -ALLOWED
    done(transfer, lines=[TransferLine(its, 95, "R1", "R2")])
    # there nothing of it was ever counted; of the part at the site five of a hundred were, and of 95 four may be off
    refused("recount-needed", count, place="R2", lines=[CountLine(94, item_id=its)], reason="torn bag")
    # at another site it is another stock
    seal = Part.objects.get(number="SEAL")
    stock(seal, 100, lot="Q", place=shelf("Q1", at=site("QUAY")), at=NOON - timedelta(days=1))
    may_recount("cass", home_site=site("QUAY"))
    assert counted(item("SEAL", "lot=Q").pk, 97, place="Q1")["difference"] == -3


def test_who_is_alone_goes_on_alone_and_every_line_says_so_until_two_count():
    its = seals()
    piet = may_recount("piet")
    assert [counted(its, amount, actor=piet)["alone"] for amount in (95, 94, 93)] == [False, True, True]
    edda = may_recount()
    refused("recount-needed", count, actor=piet, place="R1", lines=[CountLine(92, item_id=its)], reason="torn bag")
    two = [CountLine(93, item_id=its, counted_again=93)]
    done(count, actor=piet, place="R1", lines=two, second=edda)
    assert counted(its, 92, actor=piet)["alone"] is False


def test_where_no_site_is_small_counts_add_up_too(edda):
    aside = things.make_place("ASIDE", PlaceKind.QUARANTINE, site=None)
    stock(PartFactory(number="SEAL"), 100, lot="A", place=aside, at=NOON - timedelta(days=1))
    its = item("SEAL", "lot=A").pk
    assert [counted(its, amount, place="ASIDE")["alone"] for amount in (97, 96)] == [False, False]
    refused("recount-needed", count, place="ASIDE", lines=[CountLine(95, item_id=its)], reason="torn bag")
