"""Each invariant of the audit: one row is damaged behind the guards, and the audit names that very row and no other."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from inventory.domain.places import PlaceKind
from inventory.models import (
    Act,
    Balance,
    DemandMark,
    Deposit,
    Hold,
    HoldEnd,
    InnerLot,
    Item,
    KeptPiece,
    KitAssembly,
    Movement,
    Part,
    ReceiptLine,
    SetBreak,
    SetMatch,
    SetMatchMember,
    Spot,
    ValueCarried,
)
from inventory.queries.audit import audit, every_check
from inventory.services import holding, things
from inventory.services.assemble_kit import LimbIn, assemble_kit
from inventory.services.break_set import break_set
from inventory.services.correct import correct
from inventory.services.count import CountLine, count
from inventory.services.demand_marks import mark_demand
from inventory.services.deposits import settle_deposit
from inventory.services.rows import adapted
from inventory.services.run import run
from inventory.services.value_points import carry_forward
from tests.factories.acts import done, held, item, picked
from tests.factories.cores import paid
from tests.factories.damage import execute, lift_guards, lift_primary_key
from tests.factories.stores import NOON, PartFactory, PersonFactory, cart, quarantine, shelf, stamp, stock
from tests.factories.stores_kits import kit
from tests.inventory.queries.damaged_claims import CLAIM_DAMAGES
from tests.inventory.queries.damaged_loans import LOAN_DAMAGES
from tests.inventory.queries.damaged_orders import ORDER_DAMAGES
from tests.inventory.queries.damaged_outside import OUTSIDE_DAMAGES
from tests.inventory.queries.damaged_transfers import TRANSFER_DAMAGES

Finding = tuple[str, str, int | str]


@dataclass(frozen=True)
class Shop:
    """A small shop whose books are right: ten rings (2 picked, 3 held), a whole set, a broken one, a count taken back."""

    ring: Item
    whole: Item
    broken: Item
    r1: Spot
    r2: Spot
    open: Hold
    picked: Hold
    released: Hold
    correction: Act

    def balance(self, of: Item, place: str) -> Balance:
        return Balance.objects.get(item=of, place__code=place)


def small_shop() -> Shop:
    stock(PartFactory(number="R-1"), 10, lot="B1")
    sets = PartFactory(number="S-1", tracked_by="set", unit="SET")
    stock(sets, serial="S-1")
    stock(sets, serial="S-2")
    quarantine("Q1")
    ring, near, far = item("R-1", "lot=B1"), things.spot(shelf("R1")), things.spot(shelf("R2"))
    still_open, taken, given_up = (held(ring, cart(f"cart J{n}"), amount) for n, amount in ((1, 3), (2, 2), (3, 1)))
    picked(taken, 2)

    def release(act: Act) -> dict[str, object]:
        holding.end(act, [given_up], HoldEnd.How.RELEASED, "not needed")
        return {}

    run("release", release, actor=PersonFactory(), stamp=stamp(), request={})
    done(
        break_set, part="S-1", serial="S-2", damaged="liner", reason="chipped", orphan_place="Q1", photo_ref="photo 12"
    )
    words = {"place": "R1", "lines": [CountLine(7, item_id=ring.pk)], "reason": "torn bag"}
    counted = count(actor=PersonFactory(), stamp=stamp(), **words)
    back = correct(actor=PersonFactory(), stamp=stamp(), act_id=counted.act_id, reason="overlooked")
    return Shop(
        ring,
        item("S-1", "serial=S-1"),
        item("S-1", "serial=S-2"),
        near,
        far,
        still_open,
        taken,
        given_up,
        Act.objects.get(pk=back.act_id),
    )


def set_balance(row: Balance, **columns: object) -> None:
    names = ", ".join(f"{name} = %s" for name in columns)
    assert execute(f"UPDATE inventory_balance SET {names} WHERE id = %s", [*columns.values(), row.pk]) == 1


def wrong_amount(shop: Shop) -> list[Finding]:
    row = shop.balance(shop.ring, "R1")
    set_balance(row, amount=row.amount + 1)
    return [("balance-is-the-sum", "balance", row.pk), ("lot-adds-up-to-received", "lot", shop.ring.lot_id)]


def missing_balance(shop: Shop) -> list[Finding]:
    execute("DELETE FROM inventory_balance WHERE id = %s", [shop.balance(shop.ring, "cart J2").pk])
    return [("balance-exists", "item", shop.ring.pk), ("lot-adds-up-to-received", "lot", shop.ring.lot_id)]


def wrong_held(shop: Shop) -> list[Finding]:
    row = shop.balance(shop.ring, "R1")
    set_balance(row, held=row.held + 1)
    return [("held-is-the-open-holds", "balance", row.pk)]


def kept_twice(shop: Shop) -> list[Finding]:
    row = shop.balance(shop.ring, "R1")
    for _ in range(2):
        KeptPiece.objects.create(
            act=shop.open.act, lot=shop.ring.lot, item=shop.ring, spot=shop.open.from_spot, amount=1
        )
    set_balance(row, held=row.held + 2)
    return [("kept-once-a-lot", "lot", shop.ring.lot_id)]


def month_unmarked_before_it_was_marked(shop: Shop) -> list[Finding]:
    done(mark_demand, part="R-1", month=date(2025, 1, 1), reason="a recall")
    act = shop.correction
    DemandMark.objects.create(act=act, part=shop.ring.part, month="2024-12", exceptional=False)
    return [("demand-mark-says-something-new", "demandmark", act.pk)]


def hold_of_nothing(shop: Shop) -> list[Finding]:
    act = shop.open.act
    Hold.objects.create(
        act=act, item=shop.ring, from_spot=shop.r2, to_spot=shop.open.to_spot, amount=1, needed_on=shop.open.needed_on
    )
    return [("hold-has-a-balance", "item", shop.ring.pk)]


def below_nothing(shop: Shop) -> list[Finding]:
    scrap = things.books_only(PlaceKind.SCRAP)
    Movement.objects.create(act=shop.open.act, item=shop.ring, amount=100, from_spot=shop.r1, to_spot=scrap)
    row = shop.balance(shop.ring, "R1")
    set_balance(row, amount=row.amount - 100)
    made = Balance.objects.get(pk=row.pk)
    made.pk, made.spot, made.place, made.amount, made.held = None, scrap, scrap.place, 100, 0
    made.real = made.pickable = made.in_shop = False
    made.save(force_insert=True)
    return [("real-place-not-negative", "balance", row.pk)]


def held_beyond_amount(shop: Shop) -> list[Finding]:
    row = shop.balance(shop.ring, "R1")
    set_balance(row, held=row.amount + 1)
    return [("held-is-the-open-holds", "balance", row.pk), ("real-place-not-negative", "balance", row.pk)]


def wrong_mark(column: str) -> Callable[[Shop], list[Finding]]:
    def damage(shop: Shop) -> list[Finding]:
        row = shop.balance(shop.ring, "R1")
        other = {"part_id": shop.whole.part_id, "place_id": shop.r2.place_id}
        set_balance(row, **{column: other[column] if column in other else not getattr(row, column)})
        return [("balance-says-what-its-item-and-place-say", "balance", row.pk)]

    return damage


def one_set_twice(shop: Shop) -> list[Finding]:
    source = things.books_only(PlaceKind.SUPPLIER)
    Movement.objects.create(act=shop.open.act, item=shop.whole, amount=1, from_spot=source, to_spot=shop.r2)
    out = shop.balance(shop.whole, "(supplier)")
    set_balance(out, amount=out.amount - 1)
    twin = shop.balance(shop.whole, "R1")
    twin.pk, twin.spot, twin.place = None, shop.r2, shop.r2.place
    twin.save(force_insert=True)
    return [("single-in-one-place", "item", shop.whole.pk)]


def broken_but_whole(shop: Shop) -> list[Finding]:
    SetBreak.objects.create(serial=shop.whole.serial, act=shop.open.act, damaged="pin", why="bent")
    serial = shop.whole.serial_id
    return [("set-whole-or-broken", "serial", serial), *[("broken-set-left-three", "serial", serial)] * 3]


def member_went_elsewhere(shop: Shop) -> list[Finding]:
    piston = item("S-1", "serial=S-2|member=piston")
    assert execute("UPDATE inventory_movement SET act_id = %s WHERE item_id = %s", [shop.open.act_id, piston.pk]) == 1
    return [("broken-set-left-three", "serial", shop.broken.serial_id)]


def missing_by_word_only(shop: Shop) -> list[Finding]:
    execute("UPDATE inventory_setbreak SET missing = 'pin' WHERE serial_id = %s", [shop.broken.serial_id])
    return [("broken-set-left-three", "serial", shop.broken.serial_id)]


def halves_without_a_break(shop: Shop) -> list[Finding]:
    assert execute("DELETE FROM inventory_setbreak WHERE serial_id = %s", [shop.broken.serial_id]) == 1
    return [("set-whole-or-broken", "serial", shop.broken.serial_id)] * 2


def matched_into(shop: Shop, member: Item, *serials: Item) -> None:
    """Behind the books: this member went into sets of these serials."""
    for whole in serials:
        match = SetMatch.objects.create(serial=whole.serial, act=shop.open.act, signed_by=shop.open.act.actor)
        SetMatchMember.objects.create(match=match, member=member.member, item=member)


def one_member_of_two_sets(shop: Shop) -> list[Finding]:
    scrapped = item("S-1", "serial=S-2|member=liner")
    matched_into(shop, scrapped, shop.whole, shop.broken)
    return [("member-of-one-set", "item", scrapped.pk)]


def member_and_loose(shop: Shop) -> list[Finding]:
    orphan = item("S-1", "serial=S-2|member=piston")
    matched_into(shop, orphan, shop.whole)
    return [("member-not-loose", "item", orphan.pk)]


def picked_beyond_the_hold(shop: Shop) -> list[Finding]:
    execute("UPDATE inventory_holdend SET picked = 7 WHERE hold_id = %s", [shop.picked.pk])
    return [("hold-picked-within-amount", "hold", shop.picked.pk), ("picked-hold-was-moved", "hold", shop.picked.pk)]


def picked_without_a_move(shop: Shop) -> list[Finding]:
    execute("UPDATE inventory_holdend SET picked = 1 WHERE hold_id = %s", [shop.picked.pk])
    return [("picked-hold-was-moved", "hold", shop.picked.pk)]


def ended_twice(shop: Shop) -> list[Finding]:
    lift_primary_key("inventory_holdend")
    copied = "INSERT INTO inventory_holdend SELECT * FROM inventory_holdend WHERE hold_id = %s"
    assert execute(copied, [shop.released.pk]) == 1
    return [("hold-ends-once", "hold", shop.released.pk)]


def less_received(shop: Shop) -> list[Finding]:
    row = shop.balance(shop.ring, "(supplier)")
    set_balance(row, amount=row.amount + 4)
    return [("balance-is-the-sum", "balance", row.pk), ("lot-adds-up-to-received", "lot", shop.ring.lot_id)]


def receipt_says_more(shop: Shop) -> list[Finding]:
    row = ReceiptLine.objects.get(item=shop.ring)
    execute("UPDATE inventory_receiptline SET amount = 11 WHERE id = %s", [row.pk])
    return [("receipt-line-was-moved", "receiptline", row.pk)]


def no_outcome(shop: Shop) -> list[Finding]:
    execute("DELETE FROM inventory_outcome WHERE act_id = %s", [shop.open.act_id])
    return [("act-has-an-outcome", "act", shop.open.act_id)]


def reversal_lost(shop: Shop) -> list[Finding]:
    row = Movement.objects.get(act=shop.correction)
    execute("UPDATE inventory_movement SET act_id = %s WHERE id = %s", [shop.open.act_id, row.pk])
    return [("correction-reverses-every-row", "act", shop.correction.pk)]


def reversal_of_another_amount(shop: Shop) -> list[Finding]:
    execute("UPDATE inventory_movement SET amount = 2 WHERE act_id = %s", [shop.correction.pk])
    rows = sorted(shop.balance(shop.ring, place).pk for place in ("R1", "(count difference)"))
    return [
        *(("balance-is-the-sum", "balance", row) for row in rows),
        ("correction-reverses-every-row", "act", shop.correction.pk),
    ]


def a_box() -> KitAssembly:
    """A closed kit of two seals, made up here."""
    kit("K-1", {"B-1": 2})
    stock(Part.objects.get(number="B-1"), 2, lot="B/1")
    limb = LimbIn(item("B-1", "lot=B/1").pk, 2, "R1")
    done(assemble_kit, kit="K-1", lot="OURS", contents=[limb], place="R1")
    return KitAssembly.objects.get()


def box_says_more(shop: Shop) -> list[Finding]:
    row = a_box()
    InnerLot.objects.filter(kit_lot=row.lot).update(amount=3)
    return [("made-up-kit-holds-what-went-in", "kitassembly", row.pk)]


def box_forgets_a_lot(shop: Shop) -> list[Finding]:
    row = a_box()
    InnerLot.objects.filter(kit_lot=row.lot).delete()
    return [("made-up-kit-holds-what-went-in", "kitassembly", row.pk)]


def a_box_too_many(shop: Shop) -> list[Finding]:
    row = a_box()
    lift_guards("inventory_kitassembly")
    execute("UPDATE inventory_kitassembly SET boxes = 2 WHERE act_id = %s", [row.pk])
    return [("made-up-kit-holds-what-went-in", "kitassembly", row.pk)] * 2


def a_deposit() -> Deposit:
    """45.00 paid, 5.00 refunded."""
    row = Deposit.objects.get(pk=paid(4_500))
    done(settle_deposit, deposit=row.pk, what="refunded", coins=500)
    return row


def outstanding_by_word(shop: Shop) -> list[Finding]:
    row = a_deposit()
    execute("UPDATE inventory_deposit SET outstanding_coins = 4500 WHERE id = %s", [row.pk])
    return [("deposit-adds-up", "deposit", row.pk)]


def entry_lost(shop: Shop) -> list[Finding]:
    row = a_deposit()
    lift_guards("inventory_depositentry")
    execute("DELETE FROM inventory_depositentry WHERE deposit_id = %s AND what = 'refunded'", [row.pk])
    return [("deposit-adds-up", "deposit", row.pk)]


def takes_back_another_amount(shop: Shop) -> list[Finding]:
    row = a_deposit()
    wrong = row.entries.get(what="refunded")
    back = row.entries.create(act=wrong.act, what="refunded", coins=400, reverses=wrong)
    execute("UPDATE inventory_deposit SET outstanding_coins = 4400 WHERE id = %s", [row.pk])
    return [("entry-takes-back-its-like", "depositentry", back.pk)]


def correction_of_another_day(shop: Shop) -> list[Finding]:
    earlier = shop.correction.occurred_at - timedelta(days=1)
    execute("UPDATE inventory_act SET occurred_at = %s WHERE id = %s", [adapted(earlier), shop.correction.pk])
    return [("correction-has-its-moment", "act", shop.correction.pk)]


def carried_for_nothing(shop: Shop) -> list[Finding]:
    carry_forward(actor=None, today=(NOON + timedelta(days=9)).date(), each=1)
    execute("UPDATE inventory_partcarried SET kept = '{}' WHERE part_id = %s", [shop.ring.part_id])
    return [("value-carried-is-the-walk", "valuecarried", ValueCarried.objects.get().pk)]


DAMAGES: list[tuple[str, Callable[[Shop], list[Finding]]]] = [
    ("balance-is-the-sum", wrong_amount),
    ("balance-exists", missing_balance),
    ("held-is-the-open-holds", wrong_held),
    ("hold-has-a-balance", hold_of_nothing),
    ("kept-once-a-lot", kept_twice),
    ("demand-mark-says-something-new", month_unmarked_before_it_was_marked),
    ("real-place-not-negative", below_nothing),
    ("real-place-not-negative", held_beyond_amount),
    ("balance-says-what-its-item-and-place-say", wrong_mark("part_id")),
    ("balance-says-what-its-item-and-place-say", wrong_mark("place_id")),
    ("balance-says-what-its-item-and-place-say", wrong_mark("real")),
    ("balance-says-what-its-item-and-place-say", wrong_mark("single")),
    ("balance-says-what-its-item-and-place-say", wrong_mark("pickable")),
    ("balance-says-what-its-item-and-place-say", wrong_mark("in_shop")),
    ("single-in-one-place", one_set_twice),
    ("set-whole-or-broken", broken_but_whole),
    ("set-whole-or-broken", halves_without_a_break),
    ("broken-set-left-three", member_went_elsewhere),
    ("broken-set-left-three", missing_by_word_only),
    ("member-of-one-set", one_member_of_two_sets),
    ("member-not-loose", member_and_loose),
    ("hold-picked-within-amount", picked_beyond_the_hold),
    ("picked-hold-was-moved", picked_without_a_move),
    ("hold-ends-once", ended_twice),
    ("lot-adds-up-to-received", less_received),
    ("receipt-line-was-moved", receipt_says_more),
    ("made-up-kit-holds-what-went-in", box_says_more),
    ("made-up-kit-holds-what-went-in", box_forgets_a_lot),
    ("made-up-kit-holds-what-went-in", a_box_too_many),
    ("deposit-adds-up", outstanding_by_word),
    ("deposit-adds-up", entry_lost),
    ("entry-takes-back-its-like", takes_back_another_amount),
    *ORDER_DAMAGES,
    *LOAN_DAMAGES,
    *TRANSFER_DAMAGES,
    *CLAIM_DAMAGES,
    *OUTSIDE_DAMAGES,
    ("act-has-an-outcome", no_outcome),
    ("correction-reverses-every-row", reversal_lost),
    ("correction-reverses-every-row", reversal_of_another_amount),
    ("correction-has-its-moment", correction_of_another_day),
    ("value-carried-is-the-walk", carried_for_nothing),
]
TABLES = [
    f"inventory_{table}"
    for table in ("balance", "movement", "hold", "holdend", "setbreak", "receiptline", "outcome", "act")
]


@pytest.mark.damages_books
@pytest.mark.parametrize(("invariant", "damage"), DAMAGES, ids=[name for name, _ in DAMAGES])
def test_the_audit_names_the_damaged_row_and_no_other(invariant, damage, shop_database):
    shop = small_shop()
    assert audit() == []
    lift_guards(*TABLES)
    expected = damage(shop)
    assert invariant in {name for name, _, _ in expected}
    assert sorted((one.invariant, one.table, one.row) for one in audit()) == sorted(expected)


def test_every_invariant_has_its_damage():
    assert {invariant for invariant, _ in DAMAGES} == {check.invariant for check in every_check()}


@pytest.mark.django_db
def test_the_command_says_that_the_books_are_right(capsys):
    small_shop()
    call_command("audit")
    assert capsys.readouterr().out == (
        f"the books are right: {Act.objects.count()} acts, {Movement.objects.count()} movements\n"
    )


@pytest.mark.damages_books
def test_the_command_prints_what_is_wrong_and_exits_with_one(shop_database, capsys):
    shop = small_shop()
    lift_guards("inventory_balance")
    row = shop.balance(shop.ring, "R1")
    set_balance(row, held=5)
    with pytest.raises(CommandError) as failed:
        call_command("audit")
    assert failed.value.returncode == 1
    assert capsys.readouterr().out == (
        f"held-is-the-open-holds: balance {row.pk}: says 5 held, the open holds and what is kept add up to 3\n"
    )
