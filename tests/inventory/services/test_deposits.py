"""Deposits: every coin an entry, taken back by another; what is outstanding and what is at risk are sums of the rows."""

from datetime import date, timedelta

import pytest

from inventory.models import Act, Deposit, DepositEntry, OldUnit
from inventory.queries.old_units import at_risk, deposits, held_now, rendered_deposits
from inventory.services.correct import correct
from inventory.services.deposits import enter_deposit, reverse_entry, settle_deposit
from inventory.services.old_units import send_back
from inventory.services.scrap import scrap
from tests.factories.acts import done, refused
from tests.factories.cores import brought, maker, paid, pump
from tests.factories.moves import DAY
from tests.factories.stores import NOON, PersonFactory, SupplierFactory, stamp, stock

pytestmark = pytest.mark.django_db
#: 15 January and the maker's 30 days.
LIMIT = date(2025, 2, 14)


def held():
    return {(one.side, one.supplier): one for one in held_now()[0]}


def entry(deposit, what):
    return DepositEntry.objects.get(deposit=deposit, what=what, reverses=None).pk


def test_paid_less_refunded_less_lost_is_outstanding_per_supplier_and_in_all():
    # Two pumps at 45.00 from the maker, one at 60.00 from another; one refunded, 5.00 of the second lost: 40.00 + 60.00, by hand.
    other = SupplierFactory(code="other")
    first, second = paid(), paid()
    paid(6_000, supplier=other.code)
    done(enter_deposit, side="customer", part="PUMP", coins=5_000, subject="J1")
    done(settle_deposit, deposit=first, what="refunded", coins=4_500)
    body = done(settle_deposit, deposit=second, what="lost", coins=500, reason="the shaft was bent")
    assert (body["outstanding_coins"], body["reason"]) == (4_000, "the shaft was bent")
    of_maker = held()["supplier", maker().code]
    assert (of_maker.paid_coins, of_maker.refunded_coins, of_maker.lost_coins, of_maker.outstanding_coins) == (
        9_000, 4_500, 500, 4_000,
    )  # fmt: skip
    assert held()["supplier", "other"].outstanding_coins == 6_000
    assert held()["customer", ""].outstanding_coins == 5_000
    assert held_now()[1] == 10_000
    assert sorted(Deposit.objects.values_list("outstanding_coins", flat=True)) == [0, 4_000, 5_000, 6_000]


def test_an_entry_is_taken_back_by_another_one_and_never_more_than_there_is():
    deposit = paid()
    refused("more-than-outstanding", settle_deposit, deposit=deposit, what="refunded", coins=4_501)
    done(settle_deposit, deposit=deposit, what="refunded", coins=4_000)
    # Of what was paid a part is settled: the payment cannot be undone under it.
    refused("more-than-outstanding", reverse_entry, entry=entry(deposit, "paid"), reason="paid for another pump")
    wrong = entry(deposit, "refunded")
    body = done(reverse_entry, entry=wrong, reason="it was the other deposit")
    assert (body["reverses"], body["what"], body["coins"], body["outstanding_coins"]) == (
        wrong,
        "refunded",
        4_000,
        4_500,
    )
    refused("reversed-already", reverse_entry, entry=wrong, reason="again")
    refused("reversed-already", reverse_entry, entry=body["entry"], reason="and back")
    done(reverse_entry, entry=entry(deposit, "paid"), reason="paid for another pump")
    assert (Deposit.objects.get().outstanding_coins, held_now()[1]) == (0, 0)
    [told] = rendered_deposits(deposits())
    assert [(one.what, one.coins, one.reverses is not None, one.reversed_by is not None) for one in told.entries] == [
        ("paid", 4_500, False, True),
        ("refunded", 4_000, False, True),
        ("refunded", 4_000, True, False),
        ("paid", 4_500, True, False),
    ]
    error = refused("not-correctable", correct, act_id=Act.objects.get(kind="settle deposit").pk, reason="wrong")
    assert error.ways_out == ("Say it anew: the newest word counts.",)


def test_a_deposit_hangs_on_the_delivery_that_brought_the_part_and_on_its_old_unit():
    stock(pump(), 1)
    receipt = Act.objects.get(kind="receive").pk
    unit = brought("T-1", "J1")
    body = done(
        enter_deposit, side="supplier", supplier=maker().code, part="PUMP", coins=4_500, receipt=receipt, unit=unit, subject="J1"
    )  # fmt: skip
    assert (body["due_on"], body["old_unit"]) == ("2025-02-14", unit)
    assert rendered_deposits(deposits())[0].receipt == receipt
    words = {"side": "supplier", "supplier": maker().code, "coins": 1}
    refused("not-found", enter_deposit, **words, part=pump("OTHER").number, receipt=receipt)
    refused("wrong-part", enter_deposit, **words, part="OTHER", unit=unit)
    done(correct, act_id=receipt, reason="not ours")
    refused("not-found", enter_deposit, **words, part="PUMP", receipt=receipt)


def test_at_its_limit_the_amount_at_risk_is_listed():
    here, lost, sent = brought("T-1", "J1"), brought("T-2", "J2"), brought("T-3", "J3")
    deposits_ = [paid(coins, unit=unit) for coins, unit in ((4_000, here), (4_100, lost), (4_200, sent), (4_300, None))]
    done(
        scrap, place="CRATES", item_id=OldUnit.objects.get(pk=lost).item_id, amount=1, reason="crushed", who_pays="shop"
    )
    done(send_back, supplier=maker().code, units=[sent], stamp=stamp(NOON + DAY))
    assert at_risk(date(2025, 2, 13)) == ([], 0)
    found, total = at_risk(LIMIT)
    assert [(one.deposit, one.why, one.days_left, one.tag, one.job, one.place) for one in found] == [
        (deposits_[0], "the old unit was not sent back", 0, "T-1", "J1", "CRATES"),
        (deposits_[1], "the old unit is missing", 0, "T-2", "J2", ""),
        (deposits_[3], "no old unit is tagged for it", 0, "", "", ""),
    ]
    assert total == 4_000 + 4_100 + 4_300
    assert (at_risk(date(2025, 2, 4), 10)[1], at_risk(date(2025, 2, 3), 10)[1]) == (total, 0)
    assert at_risk(LIMIT, supplier="nobody") == ([], 0)
    # What is refunded or written off is at risk no longer.
    done(settle_deposit, deposit=deposits_[0], what="refunded", coins=4_000)
    done(settle_deposit, deposit=deposits_[1], what="lost", coins=4_100, reason="crushed")
    assert at_risk(LIMIT)[1] == 4_300


def test_sent_back_too_late_it_stays_at_risk_until_the_money_is_there():
    unit = brought("T-1", "J1")
    deposit = paid(unit=unit)
    done(send_back, supplier=maker().code, units=[unit], stamp=stamp(NOON + 31 * DAY))
    [one], total = at_risk(date(2025, 3, 1))
    assert (one.why, one.days_left, total) == ("the old unit was sent back after its limit", -15, 4_500)
    done(settle_deposit, deposit=deposit, what="refunded", coins=4_500)
    assert at_risk(date(2025, 3, 1)) == ([], 0)


def test_a_deposit_without_a_limit_of_its_own_has_that_of_its_old_unit_and_the_first_of_two_counts():
    bare = SupplierFactory(code="bare").code
    unit = brought("T-1", "J1", supplier=bare, send_back_by=date(2025, 1, 20))
    bound = paid(4_000, supplier=bare, unit=unit)
    later = paid(5_000, supplier=bare, unit=unit, due_on=date(2025, 3, 1))
    paid(6_000, supplier=bare)
    found, total = at_risk(date(2025, 1, 20))
    assert [(one.deposit, one.due_on, one.days_left) for one in found] == [
        (bound, date(2025, 1, 20), 0), (later, date(2025, 1, 20), 0)
    ]  # fmt: skip
    assert total == 9_000


def test_the_limit_comes_from_what_was_said_then_the_part_s_terms_then_the_supplier_s():
    plain = SupplierFactory(code="plain", send_back_days=60)
    bare = SupplierFactory(code="bare")
    days = [
        done(enter_deposit, side="supplier", part=pump().number, coins=1, **more)["due_on"]
        for more in (
            {"supplier": maker().code, "due_on": date(2025, 5, 1)},
            {"supplier": maker().code},
            {"supplier": plain.code},
            {"supplier": bare.code},
        )
    ]
    assert days == ["2025-05-01", "2025-02-14", "2025-03-16", None]


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({"coins": 0}, "amount-not-positive"),
        ({"coins": 10**18}, "amount-too-large"),
        ({"supplier": "nobody"}, "not-found"),
        ({"supplier": ""}, "not-found"),
        ({"part": "PUNP"}, "not-found"),
        ({"unit": 999}, "not-found"),
        ({"due_on": date(2025, 1, 14)}, "dates-turned"),
        ({"side": "customer"}, "nothing-given"),
        ({"side": "customer", "supplier": ""}, "nothing-given"),
    ],
)
def test_what_is_no_deposit(changed, code):
    words = {"side": "supplier", "supplier": maker().code, "part": pump().number, "coins": 1}
    refused(code, enter_deposit, **words | changed)
    assert Deposit.objects.count() == 0


def test_what_cannot_be_settled_or_taken_back():
    deposit = paid()
    refused("not-found", settle_deposit, deposit=999, what="refunded", coins=1)
    refused("reason-missing", settle_deposit, deposit=deposit, what="lost", coins=1)
    refused("amount-not-positive", settle_deposit, deposit=deposit, what="refunded", coins=0)
    refused("not-found", reverse_entry, entry=999, reason="wrong")
    refused("reason-missing", reverse_entry, entry=entry(deposit, "paid"), reason=" ")
    assert DepositEntry.objects.count() == 1


@pytest.mark.parametrize("several", [1, 3])
def test_the_queries_do_not_grow_with_the_lists(several, django_assert_num_queries):
    for number in range(several):
        paid(unit=brought(f"T-{number}", "J1"))
    with django_assert_num_queries(2):
        assert len(rendered_deposits(deposits())) == several
    with django_assert_num_queries(1):
        held_now()
    with django_assert_num_queries(6):
        assert len(at_risk(LIMIT)[0]) == several


def test_the_same_key_is_one_payment():
    mark, somebody, words = (
        stamp(),
        PersonFactory(),
        {"side": "supplier", "supplier": maker().code, "part": pump().number},
    )
    first = enter_deposit(actor=somebody, stamp=mark, coins=4_500, **words)
    assert enter_deposit(actor=somebody, stamp=mark, coins=4_500, **words).body == first.body
    assert held_now()[1] == 4_500


def test_nothing_of_a_deposit_is_settled_before_the_day_on_which_it_was_paid():
    deposit = paid()
    early = stamp(NOON - timedelta(days=1))
    refused("dates-turned", settle_deposit, deposit=deposit, what="refunded", coins=500, stamp=early)
    done(settle_deposit, deposit=deposit, what="refunded", coins=500, stamp=stamp(NOON.replace(hour=1)))
    assert held()["supplier", maker().code].outstanding_coins == 4_000
