"""Counting in turn as it is read: classes from the shop's own movements, bins that are due, accuracy."""

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.models import Balance, Part, ShopSetting
from inventory.queries.bins_due import bins_due
from inventory.queries.counting import count_accuracy, count_classes
from inventory.services.correct import correct
from inventory.services.count import CountLine, count
from inventory.services.count_sheets import post_sheet
from tests.factories.acts import done, held, item, picked
from tests.factories.counting import DAY_BEFORE, entered, minutes, sheet_of, two_bins
from tests.factories.stores import NOON, PartFactory, PersonFactory, cart, shelf, stamp, stock

pytestmark = pytest.mark.django_db
DAY = NOON.date()


def classes():
    return {one["part"]: (one["count_class"], one["used"], one["value_coins"]) for one in count_classes(DAY)}


def test_classes_follow_what_the_movements_used_at_the_price_of_the_record():
    for number, price, use in (("BLOCK", 50_000, 2), ("PUMP", 9_000, 2), ("BOLT", 100, 20), ("NUT", 0, 30)):
        part = PartFactory(number=number, price_coins=price or None)
        stock(part, 60, lot="A", at=NOON - timedelta(days=200))
        picked(held(item(number, "lot=A"), cart(f"cart {number}"), use), use)
    Part.objects.filter(number="NUT").update(life={"from": "cure", "years": 7})
    # What is poured is priced by the litre and booked by the microlitre.
    oil = PartFactory(number="OIL", unit="LTR", base="microlitre", price_coins=300)
    stock(oil, 60_000_000, lot="A", at=NOON - timedelta(days=200))
    picked(held(item("OIL", "lot=A"), cart("cart OIL"), 5_000_000), 5_000_000)
    assert classes() == {
        "BLOCK": ("high value", 2, 100_000),
        "PUMP": ("middle value", 2, 18_000),
        "BOLT": ("low value", 20, 2_000),
        "NUT": ("nuisance", 30, 0),
        "OIL": ("low value", 5_000_000, 1_500),
    }


def counted(part: str, lot: str, amount: int, at, **more):
    line = CountLine(amount, item_id=item(part, f"lot={lot}").pk)
    looked_at = ["stem seal", "O-ring"]
    return count(
        actor=PersonFactory(), stamp=stamp(at), place="R1", lines=[line], looked_at=looked_at, reason="torn", **more
    )


def test_a_bin_is_due_by_its_class_and_the_longest_not_counted_comes_first():
    two_bins()
    ShopSetting.objects.create(name="count_low_days", value=30)
    stock(PartFactory(number="BOLT"), 5, lot="D", place=shelf("R1"), at=NOON - timedelta(days=90))
    later = NOON + timedelta(days=40)
    counted("BOLT", "D", 5, NOON + timedelta(days=1))
    counted("SEAL", "A", 40, NOON + timedelta(days=3))
    counted("D-RING", "B", 4, NOON)  # lot C of the same bin was never counted
    due = bins_due("TS", later.date())
    assert [(row["part"], row["last_counted"] is None, row["days_over"]) for row in due["bins"]] == [
        ("D-RING", True, None),
        ("BOLT", False, 9),
        ("SEAL", False, 7),
    ]
    assert [row["part"] for row in bins_due("TS", later.date(), 2)["bins"]] == ["D-RING", "BOLT"]
    # On the day on which it is due, and not before; asked for, it comes first whenever it is.
    assert [row["part"] for row in bins_due("TS", date(2025, 2, 14))["bins"]] == ["D-RING"]
    assert [row["part"] for row in bins_due("TS", date(2025, 2, 15))["bins"]] == ["D-RING", "BOLT"]
    seals = Balance.objects.get(part__number="SEAL", place__code="R1")
    asked = bins_due("TS", DAY, asked=[(seals.spot_id, seals.part_id)])["bins"]
    assert [(row["part"], row["asked"]) for row in asked] == [("SEAL", True), ("D-RING", False)]
    # What stands on a sheet is not proposed twice.
    sheet_of("D-RING")
    said = bins_due("TS", later.date())
    assert ([row["part"] for row in said["bins"]], said["on_sheets"]) == (["BOLT", "SEAL"], 1)


def test_packs_that_are_not_broken_and_do_not_come_out_even_are_due_until_they_are_counted():
    """Ten to a pack: seventeen are odd, twenty are not, and where packs are issued loose any count will do (common practice)."""
    before = NOON - timedelta(days=60)
    for number, pieces, loose in (("ODD", 10, False), ("EVEN", 20, False), ("LOOSE", 17, True)):
        stock(PartFactory(number=number, pack=10, loose_issue=loose), pieces, lot="A", place=shelf("R1"), at=before)
        counted(number, "A", pieces, before + timedelta(days=1))
    assert bins_due("TS", DAY)["bins"] == []
    for number in ("ODD", "LOOSE"):
        stock(Part.objects.get(number=number), 7, lot="A", place=shelf("R1"), at=DAY_BEFORE)
    (due,) = bins_due("TS", DAY)["bins"]
    assert (due["part"], due["odd"], due["last_counted"] is None) == ("ODD", True, False)
    counted("ODD", "A", 17, NOON)
    assert bins_due("TS", DAY)["bins"] == []


def test_an_odd_bin_is_not_due_again_by_the_booking_of_its_own_sheet_nor_by_a_hold():
    before = NOON - timedelta(days=2)
    stock(PartFactory(number="ODD", pack=10, loose_issue=False), 20, lot="A", place=shelf("R1"), at=before)
    sheet = sheet_of("ODD")
    entered(sheet, {1: 19}, at=1)
    # Booked an hour after it was counted: that is when the books say that one left.
    done(post_sheet, stamp=minutes(60), sheet=sheet, reason="one is torn")
    held(item("ODD", "lot=A"), cart("cart J1"), 1)
    assert bins_due("TS", DAY)["bins"] == []
    stock(Part.objects.get(number="ODD"), 10, lot="A", place=shelf("R1"), at=NOON + timedelta(minutes=90))
    assert [(row["part"], row["odd"]) for row in bins_due("TS", DAY)["bins"]] == [("ODD", True)]


def test_accuracy_is_the_share_of_lines_that_were_as_the_books_said():
    two_bins()
    sheet = sheet_of("SEAL", "D-RING")
    entered(sheet, {1: 39, 2: 4, 3: 6}, at=1)
    done(post_sheet, stamp=minutes(2), sheet=sheet, reason="torn")
    wrong = counted("SEAL", "A", 30, NOON + timedelta(minutes=3))
    said = count_accuracy(DAY, DAY)
    assert (said["lines"], said["right"], said["share"]) == (4, 2, "0.500")
    done(correct, act_id=wrong.act_id, reason="they lay beside it", stamp=minutes(9))
    said = count_accuracy(DAY, DAY)
    assert (said["lines"], said["right"]) == (3, 2)
    assert [one["lines"] for one in said["classes"]] == [0, 0, 3, 0]
    assert count_accuracy(DAY + timedelta(days=1), DAY + timedelta(days=1))["share"] is None


def test_as_many_queries_at_three_bins_as_at_one():
    two_bins()
    met = []
    for number in ("X-1", "X-2"):
        with CaptureQueriesContext(
            connection,
        ) as seen:
            bins_due("TS", DAY)
        met.append(len(seen))
        stock(PartFactory(number=number), 5, place=shelf("R1"))
    assert met == [12, 12]
