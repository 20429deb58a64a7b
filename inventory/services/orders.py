"""Purchase orders: placed with a supplier, acknowledged with its days, closed for what will not come."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import date

from inventory import locks
from inventory.domain.errors import DomainError, ManyErrors
from inventory.domain.orders import MOST_LINES, check_given_up
from inventory.domain.receiving import check_follows
from inventory.models import (
    Act,
    Loan,
    OrderLine,
    OrderLineEnd,
    OrderPromise,
    Part,
    Person,
    PurchaseOrder,
    Supplier,
    SupplierPart,
)
from inventory.queries import orders as read
from inventory.queries.catalogue import no_such_parts, no_such_supplier
from inventory.queries.days import shop_day
from inventory.queries.joins import kept_parts
from inventory.services import lookup, things
from inventory.services.run import Body, Done, Stamp, run

MOST_CHARACTERS = 40


@dataclass(frozen=True, slots=True)
class OrderLineIn:
    """One line: `amount` as text with a unit or in whole base units, or so many `packs` as the supplier sells them.

    total_coins   for all of it; promised_on: the day the supplier named; job: number of the job it is for
    """

    part: str
    amount: str | int | None = None
    packs: int | None = None
    total_coins: int | None = None
    promised_on: date | None = None
    job: str = ""


@dataclass(frozen=True, slots=True)
class PromiseIn:
    """The day on which a supplier says that a line will be there."""

    line: int
    promised_on: date


@dataclass(frozen=True, slots=True)
class EndIn:
    """So much of a line will not come: all that is outstanding where no amount is given; text with a unit or base units."""

    line: int
    amount: str | int | None = None


def place_order(
    *, actor: Person, stamp: Stamp, order: str, supplier: str, lines: Sequence[OrderLineIn], note: str = ""
) -> Done:
    """Order from a supplier, under a number that the shop gives once.

    Outcome: {"order", "supplier", "note", "lines": [{line, part, amount, base, typed, total_coins, promised_on, job, doubts}]}; `doubts`:
    less than the supplier's least order, no whole packs. Two records that were joined are ordered as the one that is kept.
    Raises ManyErrors by line, DomainError "order-known", "not-found", "nothing-given", "too-many-lines", "text-too-long".
    """
    request = {"order": order, "supplier": supplier, "note": note, "lines": [asdict(line) for line in lines]}

    def work(act: Act) -> Body:
        if not lines:
            raise DomainError("nothing-given", "An order needs at least one line.")
        if len(lines) > MOST_LINES:
            raise DomainError("too-many-lines", f"{len(lines)} lines; at most {MOST_LINES}.", lines=len(lines))
        number = order.strip()
        if not number or len(number) > MOST_CHARACTERS:
            raise DomainError(
                "text-too-long" if number else "nothing-given", "An order has a number of 1 to 40 characters."
            )
        seller = Supplier.objects.filter(code=supplier).first()
        if seller is None:
            raise no_such_supplier(supplier)
        locks.name("purchase order", number)
        if PurchaseOrder.objects.filter(number=number).exists():
            raise DomainError(
                "order-known", f"Order {number} is on record.", ways_out=("Give it a number of its own.",), order=number
            )
        parts = kept_parts({line.part for line in lines})
        sold = {row.part_id: row for row in SupplierPart.objects.filter(supplier=seller, part__in=parts.values())}
        made = PurchaseOrder.objects.create(act=act, number=number, supplier=seller, note=note)
        rows, said = _lines(made, lines, parts, sold)
        stored = OrderLine.objects.bulk_create(rows)
        OrderPromise.objects.bulk_create(
            OrderPromise(line=row, act=act, promised_on=line.promised_on)
            for row, line in zip(stored, lines, strict=True)
            if line.promised_on is not None
        )
        return {"order": number, "supplier": seller.code, "note": note, "lines": said}

    return run("order", work, actor=actor, stamp=stamp, request=request, subject=order[:80])


def _lines(
    made: PurchaseOrder, lines: Sequence[OrderLineIn], parts: dict[str, Part], sold: dict[int, SupplierPart]
) -> tuple[list[OrderLine], list[Body]]:
    missing = dict.fromkeys(line.part for line in lines if line.part not in parts)
    unknown = no_such_parts(list(missing)) if missing else {}
    rows, said, errors = [], [], []
    for number, line in enumerate(lines, 1):
        try:
            if line.part not in parts:
                raise unknown[line.part]
            part = parts[line.part]
            terms = sold.get(part.pk)
            amount, typed = _amount(part, line, terms)
            if line.total_coins is not None and line.total_coins < 0:
                raise DomainError("amount-negative", f"A total of {line.total_coins} is below nothing.")
            day = shop_day(made.act.occurred_at)
            if line.promised_on is not None and line.promised_on < day:
                raise DomainError("dates-turned", f"{line.promised_on} lies before the order of {day}.", line=number)
        except DomainError as error:
            errors.append((number, error))
            continue
        rows.append(
            OrderLine(
                order=made,
                line=number,
                part=part,
                amount=amount,
                typed=typed[:40],
                total_coins=line.total_coins,
                job=line.job,
            )
        )
        said.append(
            {
                "line": number,
                "part": part.number,
                "amount": amount,
                "base": part.base,
                "typed": typed,
                "total_coins": line.total_coins,
                "promised_on": line.promised_on,
                "job": line.job,
                "doubts": _doubts(amount, terms),
            }
        )
    if errors:
        raise ManyErrors(tuple(errors))
    return rows, said


def _amount(part: Part, line: OrderLineIn, terms: SupplierPart | None) -> tuple[int, str]:
    if (line.amount is None) == (line.packs is None):
        raise DomainError(
            "nothing-given", f"{part.number}: an amount or a number of packs, one of both.", part=part.number
        )
    if line.amount is not None:
        return things.amount(part, line.amount)
    packs, pack = line.packs or 0, terms.pack if terms else part.pack
    amount, _ = things.amount(part, packs * pack)
    return amount, f"{packs} packs of {pack}"


def _doubts(amount: int, terms: SupplierPart | None) -> list[str]:
    if terms is None:
        return []
    doubts = []
    if amount < terms.least_order:
        doubts.append(f"the least order is {terms.least_order}")
    if amount % terms.pack:
        doubts.append(f"it is sold in packs of {terms.pack}")
    return doubts


def acknowledge(*, actor: Person, stamp: Stamp, order: str, lines: Sequence[PromiseIn], note: str = "") -> Done:
    """The supplier says when lines will be there. What it had promised before stays, and is counted where it passed.

    Outcome: {"order", "note", "lines": [{line, promised_on, before: the promise until now}]}.
    Raises ManyErrors by line ("not-found", "dates-turned"), DomainError "not-found", "nothing-given".
    """
    request = {"order": order, "note": note, "lines": [asdict(line) for line in lines]}

    def work(act: Act) -> Body:
        found = _locked(act, order, lines)
        day = shop_day(found.act.occurred_at)
        mine = {row.line: row for row in found.lines.all()}
        facts = read.facts_of(mine.values())
        said, errors = [], []
        for number, one in enumerate(lines, 1):
            if one.line not in mine:
                errors.append((number, _no_line(order, one.line)))
            elif one.promised_on < day:
                error = DomainError("dates-turned", f"{one.promised_on} lies before the order of {day}.", line=one.line)
                errors.append((number, error))
            else:
                before = [row for row in facts[mine[one.line].pk].promises if row[1] <= shop_day(act.occurred_at)]
                said.append(
                    {"line": one.line, "promised_on": one.promised_on, "before": before[-1][0] if before else None}
                )
        if errors:
            raise ManyErrors(tuple(errors))
        OrderPromise.objects.bulk_create(
            OrderPromise(line=mine[one.line], act=act, promised_on=one.promised_on) for one in lines
        )
        return {"order": order, "note": note, "lines": said}

    return run("acknowledge order", work, actor=actor, stamp=stamp, request=request, subject=order[:80], reason=note)


def close_lines(*, actor: Person, stamp: Stamp, order: str, lines: Sequence[EndIn], reason: str) -> Done:
    """What is still to come of lines will not come any more. Taken back by a correction of the act.

    Outcome: {"order", "reason", "lines": [{line, part, given_up, outstanding, loans}]}; loans: those that run and the line was to pay back.
    Raises ManyErrors by line ("not-found", "line-done", "more-than-outstanding", those of amounts), DomainError "reason-missing", "dates-turned".
    """
    request = {"order": order, "reason": reason, "lines": [asdict(line) for line in lines]}

    def work(act: Act) -> Body:
        lookup.need_reason(reason, f"Why is order {order} closed?")
        found = _locked(act, order, lines)
        mine = {row.line: row for row in found.lines.select_related("part")}
        facts = read.facts_of(mine.values())
        loans = Loan.objects.filter(order_line__in=mine.values(), end__isnull=True).order_by("pk")
        pays = list(loans.values_list("order_line", "pk"))
        rows, said, errors, seen = [], [], [], set()
        for number, one in enumerate(lines, 1):
            try:
                if one.line not in mine or one.line in seen:
                    raise _no_line(order, one.line)
                row = mine[one.line]
                asked = None if one.amount is None else things.amount(row.part, one.amount)[0]
                state = facts[row.pk].state
                amount = check_given_up(state, one.line, asked)
            except DomainError as error:
                errors.append((number, error))
                continue
            seen.add(one.line)
            rows.append(OrderLineEnd(line=row, act=act, amount=amount))
            said.append(
                {
                    "line": one.line,
                    "part": row.part.number,
                    "given_up": amount,
                    "outstanding": state.outstanding - amount,
                    "loans": [loan for line, loan in pays if line == row.pk],
                }
            )
        if errors:
            raise ManyErrors(tuple(errors))
        OrderLineEnd.objects.bulk_create(rows)
        return {"order": order, "reason": reason, "lines": said}

    return run("close order lines", work, actor=actor, stamp=stamp, request=request, subject=order[:80], reason=reason)


def _locked(act: Act, order: str, lines: Sequence[object]) -> PurchaseOrder:
    """The order, locked against deliveries and closings at the same moment; DomainError "dates-turned" where the act lies before it."""
    if not lines:
        raise DomainError("nothing-given", f"No line of order {order} was given.", order=order)
    found = read.order(order)
    locks.row(PurchaseOrder._meta.db_table, [found.pk])
    check_follows(f"Said of order {order}", shop_day(act.occurred_at), "it was placed", shop_day(found.act.occurred_at))
    return found


def _no_line(order: str, line: int) -> DomainError:
    return DomainError("not-found", f"Order {order} has no line {line}, or it is named twice.", order=order, line=line)
