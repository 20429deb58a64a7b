"""Deposits: paid to a supplier, taken in from a customer, refunded, lost; an entry is taken back by another one."""

from __future__ import annotations

from datetime import date

from django.db.models import F

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.domain.old_units import Side, What, check_coins, limit_day, outstanding
from inventory.domain.receiving import check_follows
from inventory.models import Act, Deposit, DepositEntry, OldUnit, Part, Person, Receipt, Supplier
from inventory.queries.catalogue import no_such_supplier
from inventory.queries.days import shop_day
from inventory.queries.old_units import send_back_days
from inventory.services import lookup, things
from inventory.services.run import Body, Done, Stamp, run


def enter_deposit(
    *,
    actor: Person,
    stamp: Stamp,
    side: str,
    part: str,
    coins: int,
    supplier: str = "",
    subject: str = "",
    receipt: int | None = None,
    unit: int | None = None,
    due_on: date | None = None,
) -> Done:
    """A deposit was paid to a supplier, or taken in from the customer of a job.

    side      "supplier", with the supplier's code; "customer", with the job as `subject`
    part      what it was paid for; receipt: act of the delivery that brought it; unit: the old unit that it hangs on, where it is there
    due_on    last day for sending the old unit back; left out: by the supplier's terms for the part, else by the supplier's
    Outcome: {"deposit", "entry", "side", "supplier", "job", "part", "coins", "due_on", "old_unit", "outstanding_coins"}.
    Raises DomainError "not-found", "nothing-given", "wrong-part", "amount-not-positive", "amount-too-large", "dates-turned".
    """
    request = {
        "side": side, "part": part, "coins": coins, "supplier": supplier, "subject": subject, "receipt": receipt, "unit": unit,
        "due_on": due_on,
    }  # fmt: skip

    def work(act: Act) -> Body:
        check_coins(coins)
        paid_to = _paid_to(Side(side), supplier, subject)
        of = things.parts_by_number([part])[part]
        day = shop_day(act.occurred_at)
        limit = due_on or (limit_day(day, send_back_days(paid_to, of)) if paid_to else None)
        if limit is not None and limit < day:
            raise DomainError(
                "dates-turned", f"{limit} lies before the day it was paid, {day}.", due_on=limit.isoformat()
            )
        row = Deposit.objects.create(
            side=side, supplier=paid_to, part=of, job=subject, receipt=_receipt(receipt, paid_to, of), unit=_unit(unit, of),
            due_on=limit, outstanding_coins=coins,
        )  # fmt: skip
        entry = DepositEntry.objects.create(deposit=row, act=act, what=What.PAID, coins=coins)
        return {
            "deposit": row.pk,
            "entry": entry.pk,
            "side": side,
            "supplier": supplier,
            "job": subject,
            "part": part,
            "coins": coins,
            "due_on": limit,
            "old_unit": unit,
            "outstanding_coins": coins,
        }

    return run("enter deposit", work, actor=actor, stamp=stamp, request=request, subject=subject)


def settle_deposit(*, actor: Person, stamp: Stamp, deposit: int, what: str, coins: int, reason: str = "") -> Done:
    """Part of a deposit, or all of it, was refunded, or is lost and written off with its reason.

    Outcome: {"deposit", "entry", "what", "coins", "outstanding_coins", "reason"}.
    Raises DomainError "not-found", "reason-missing", "more-than-outstanding", "amount-not-positive", "amount-too-large",
    "dates-turned" before it was paid.
    """
    request = {"deposit": deposit, "what": what, "coins": coins, "reason": reason}

    def work(act: Act) -> Body:
        check_coins(coins)
        if What(what) is What.LOST:
            lookup.need_reason(reason, f"Why is deposit {deposit} lost?")
        row = _locked(deposit)
        paid_on = shop_day(row.entries.order_by("pk").values_list("act__occurred_at", flat=True)[0])
        check_follows("It was settled", shop_day(act.occurred_at), "it was paid", paid_on)
        entry = _entry(act, row, What(what), coins)
        return {
            "deposit": row.pk,
            "entry": entry.pk,
            "what": what,
            "coins": coins,
            "outstanding_coins": row.outstanding_coins,
            "reason": reason,
        }

    return run("settle deposit", work, actor=actor, stamp=stamp, request=request, reason=reason)


def reverse_entry(*, actor: Person, stamp: Stamp, entry: int, reason: str) -> Done:
    """An entry of a deposit was wrong: another one takes it back. A payment is taken back only while nothing of it is settled.

    Outcome: {"deposit", "entry", "reverses", "what", "coins", "outstanding_coins", "reason"}.
    Raises DomainError "not-found", "reason-missing", "reversed-already", "more-than-outstanding".
    """
    request = {"entry": entry, "reason": reason}

    def work(act: Act) -> Body:
        lookup.need_reason(reason, f"Why is entry {entry} taken back?")
        known = DepositEntry.objects.filter(pk=entry).values_list("deposit_id", flat=True).first()
        if known is None:
            raise DomainError("not-found", f"There is no entry {entry} of a deposit.", entry=entry)
        row = _locked(known)
        wrong = DepositEntry.objects.select_related("reversed_by").get(pk=entry)
        if wrong.reverses_id is not None or getattr(wrong, "reversed_by", None) is not None:
            raise DomainError(
                "reversed-already", f"Entry {entry} was taken back, or takes one back itself.", entry=entry
            )
        made = _entry(act, row, What(wrong.what), wrong.coins, reverses=wrong)
        return {
            "deposit": row.pk,
            "entry": made.pk,
            "reverses": entry,
            "what": wrong.what,
            "coins": wrong.coins,
            "outstanding_coins": row.outstanding_coins,
            "reason": reason,
        }

    return run("reverse deposit entry", work, actor=actor, stamp=stamp, request=request, reason=reason)


def _entry(act: Act, row: Deposit, what: What, coins: int, reverses: DepositEntry | None = None) -> DepositEntry:
    """The entry, and what is outstanding after it; the deposit is locked."""
    change = outstanding([(what, coins, reverses is not None)])
    if row.outstanding_coins + change < 0:
        raise DomainError(
            "more-than-outstanding",
            f"{row.outstanding_coins} coins of deposit {row.pk} are outstanding, not {coins}.",
            deposit=row.pk,
            outstanding_coins=row.outstanding_coins,
            asked=coins,
        )
    made: DepositEntry = DepositEntry.objects.create(deposit=row, act=act, what=what, coins=coins, reverses=reverses)
    Deposit.objects.filter(pk=row.pk).update(outstanding_coins=F("outstanding_coins") + change)
    row.outstanding_coins += change
    return made


def _locked(deposit: int) -> Deposit:
    locks.row(Deposit._meta.db_table, [deposit])
    row = Deposit.objects.filter(pk=deposit).first()
    if row is None:
        raise DomainError("not-found", f"There is no deposit {deposit}.", deposit=deposit)
    return row


def _paid_to(side: Side, code: str, subject: str) -> Supplier | None:
    if side is Side.CUSTOMER:
        if code or not subject:
            raise DomainError("nothing-given", "A customer's deposit names the job, and no supplier.", side=side.value)
        return None
    found = Supplier.objects.filter(code=code).first()
    if found is None:
        raise no_such_supplier(code)
    return found


def _receipt(act_id: int | None, supplier: Supplier | None, part: Part) -> Receipt | None:
    """The delivery that brought the part, from that supplier."""
    if act_id is None:
        return None
    found = Receipt.objects.filter(
        pk=act_id, supplier=supplier, lines__item__part=part, act__corrected_by__isnull=True
    ).first()
    if found is None:
        raise DomainError(
            "not-found",
            f"Receipt {act_id} brought no {part.number} from that supplier.",
            receipt=act_id,
            part=part.number,
        )
    return found


def _unit(number: int | None, part: Part) -> OldUnit | None:
    if number is None:
        return None
    found = OldUnit.objects.filter(pk=number, act__corrected_by__isnull=True).select_related("item__part").first()
    if found is None:
        raise DomainError("not-found", f"There is no old unit {number}.", old_unit=number)
    if found.item.part_id != part.pk:
        raise DomainError("wrong-part", f"Old unit {number} is {found.item.part.number}.", part=part.number)
    return found
