"""Time lines of items and of matched sets."""

from datetime import date

import pytest

from inventory.domain.errors import DomainError
from inventory.domain.places import PlaceKind
from inventory.models import HoldEnd
from inventory.queries.trace import item_history, set_history
from inventory.services.break_set import break_set
from inventory.services.holding import Promise, end, hold
from inventory.services.receive import ReceiveLine, SetLabel, receive
from inventory.services.run import run
from tests.factories.moves import DAY, engine_place, item_of, move, serial_of, spot, take_back
from tests.factories.stores import NOON, PartFactory, PersonFactory, cart, quarantine, shelf, stamp, stock

pytestmark = pytest.mark.django_db


def matched_set(number: str = "S-0441", part=None):
    part = part or PartFactory(number="SET", tracked_by="set", unit="SET", kind="matched set")
    stock(part, serial=number, set_label=SetLabel(weight_mg=416_000, weighed="with pin"))
    return part, item_of(part, serial=number)


def held(item, cart_spot, *, release: bool, on: date = date(2025, 2, 3)):
    """Hold the set for a cart, and give it up again."""
    made = []

    def make(act):
        made.extend(hold(act, cart_spot, [Promise(item.pk, spot(shelf()).pk, 1, on)]))
        return {}

    def give_up(act):
        end(act, made, HoldEnd.How.RELEASED, "not needed")
        return {}

    for kind, work, day in (("hold", make, 1), ("release", give_up, 2))[: 1 + release]:
        run(
            kind,
            work,
            actor=PersonFactory(username=f"{kind}er"),
            stamp=stamp(NOON + day * DAY),
            request={},
            subject="J1",
        )


def test_the_life_of_a_set_from_receipt_to_engine():
    part, item = matched_set()
    basket, engine = spot(cart("C1")), spot(engine_place("E-1"), "CYL-2/set")
    held(item, basket, release=True)
    move((item, 1, spot(shelf()), basket), kind="pick", at=NOON + 3 * DAY, actor=PersonFactory(username="piet"))
    move((item, 1, basket, engine), kind="fit", at=NOON + 4 * DAY, reason="bore 2", subject="J1")
    found = set_history("SET", "s 0441")
    assert (found.serial, found.part, found.is_set, found.whole, found.damaged) == ("S-0441", "SET", True, True, "")
    assert [(step.kind, step.from_place, step.to_place, step.to_spot, step.said) for step in found.steps] == [
        ("receive", "", "R1", "-", "received from the supplier"),
        ("pick", "R1", "C1", "-", ""),
        ("fit", "C1", "E-1", "CYL-2/set", ""),
    ]
    assert (found.steps[1].by, found.steps[2].reason, found.steps[2].subject) == ("piet", "bore 2", "J1")
    assert [(row.cart, row.needed_on, row.ended, row.by, row.subject, row.why) for row in found.holds] == [
        ("C1", date(2025, 2, 3), "released", "holder", "J1", "not needed")
    ]
    assert [(row.member, row.place, row.kind, row.spot) for row in found.now] == [("", "E-1", "engine", "CYL-2/set")]


def test_an_open_hold_has_no_end():
    _, item = matched_set()
    held(item, spot(cart("C1")), release=False)
    assert [(row.ended, row.ended_at) for row in set_history(None, "S-0441").holds] == [("", None)]


def test_a_broken_set_says_so_and_where_its_members_are():
    part, _ = matched_set()
    quarantine("Q1")
    break_set(
        actor=PersonFactory(username="ines"),
        stamp=stamp(NOON + DAY),
        part="SET",
        serial="S-0441",
        damaged="piston",
        reason="ring land chipped",
        orphan_place="Q1",
        photo_ref="photo 12",
    )
    found = set_history(None, "S-0441")
    assert (found.whole, found.damaged, found.broken_why, found.broken_by) == (
        False, "piston", "ring land chipped", "ines",
    )  # fmt: skip
    assert found.broken_at == NOON + DAY
    assert [(row.member, row.place) for row in found.now] == [("liner", "Q1"), ("pin", "Q1")]
    assert sorted((step.member, step.to_place, step.said) for step in found.steps[1:]) == [
        ("", "", "opened, broken or assembled"),
        ("liner", "Q1", "made by opening, breaking or assembling"),
        ("pin", "Q1", "made by opening, breaking or assembling"),
        ("piston", "", "made by opening, breaking or assembling; scrapped"),
    ]


def test_an_act_that_was_taken_back_stays_in_the_time_line_with_what_took_it_back():
    part, item = matched_set()
    wrong = move((item, 1, spot(shelf()), spot(quarantine())), kind="transfer", at=NOON + DAY)
    back = take_back(wrong, NOON + 5 * DAY)
    steps = item_history([item.pk])
    assert [(step.kind, step.corrects, step.corrected_by) for step in steps] == [
        ("receive", None, None),
        ("transfer", None, back.act_id),
        ("correct", wrong.act_id, None),
    ]
    assert (steps[2].occurred_at, steps[2].recorded_at) == (NOON + DAY, NOON + 5 * DAY)


def test_one_serial_of_two_parts_asks_which():
    matched_set("S-1", PartFactory(number="A", tracked_by="set", unit="SET"))
    matched_set("S-1", PartFactory(number="B", tracked_by="set", unit="SET"))
    with pytest.raises(DomainError) as refused:
        set_history(None, "S-1")
    assert (refused.value.code, refused.value.values["parts"]) == ("serial-ambiguous", ["A", "B"])
    assert set_history("B", "S-1").part == "B"


def test_the_number_as_printed_goes_before_one_that_only_compares_equal():
    part, _ = matched_set("S-1")
    line = ReceiveLine(part.number, 1, serial="S1", set_label=SetLabel(), another_serial=True)
    receive(actor=PersonFactory(), stamp=stamp(), supplier="maker", place="R1", lines=[line])
    assert [set_history(None, text).serial for text in ("S-1", "S1")] == ["S-1", "S1"]
    with pytest.raises(DomainError) as refused:
        set_history(None, "s 1")
    assert refused.value.code == "serial-ambiguous"


@pytest.mark.parametrize("text", ["S-9999", "", "\0", "S" * 500])
def test_an_unknown_serial(text):
    matched_set()
    with pytest.raises(DomainError) as refused:
        set_history(None, text)
    assert refused.value.code == "not-found"
    with pytest.raises(DomainError):
        set_history("OTHER", "S-0441")


@pytest.mark.parametrize("text", ["S-O441", "S-0414", "s 0441 1"])
def test_an_unknown_serial_is_answered_with_those_that_are_near(text):
    """A letter for a digit, two swapped, one too many: what is read over the telephone."""
    part, _ = matched_set("S-0441")
    for of in (None, part.number):
        with pytest.raises(DomainError) as refused:
            set_history(of, text)
        assert (refused.value.code, refused.value.values["near"]) == ("not-found", ["S-0441"])
        assert refused.value.message.endswith(" Near: S-0441.")


def test_a_serial_in_letters_of_another_script_is_the_same():
    matched_set("S-0441")
    assert set_history(None, "\N{CYRILLIC CAPITAL LETTER DZE}-0441").serial == "S-0441"


def test_a_serial_that_is_no_set():
    part = PartFactory(number="PUMP", tracked_by="serial")
    stock(part, serial="P-1")
    move((item_of(part, serial="P-1"), 1, spot(shelf()), spot(PlaceKind.SCRAP)), kind="scrap", at=NOON + DAY)
    found = set_history("PUMP", "P-1")
    assert (found.is_set, found.whole, found.now, found.steps[1].said) == (False, True, (), "scrapped")
    assert found.serial_id == serial_of(part, "P-1").pk


@pytest.mark.parametrize("times", [1, 3])
def test_the_queries_do_not_grow_with_the_answer(times, django_assert_num_queries):
    part, item = matched_set()
    places = [spot(shelf()), spot(quarantine())]
    for number in range(times):
        move((item, 1, *(places if number % 2 == 0 else places[::-1])), at=NOON + number * DAY)
    with django_assert_num_queries(5):
        assert len(set_history("SET", "S-0441").steps) == times + 1
    with django_assert_num_queries(1):
        assert len(item_history([item.pk])) == times + 1
