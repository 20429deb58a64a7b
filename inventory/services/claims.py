"""Claims on suppliers: what was delivered is rejected, goes back with a note, and is credited or refused."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass

from inventory import locks
from inventory.domain.articles import a
from inventory.domain.errors import DomainError, ManyErrors
from inventory.domain.places import NO_SPOT, PlaceKind
from inventory.domain.receiving import Settled, check_follows, check_settles, rejecting
from inventory.models import (
    Act,
    Credit,
    Item,
    Person,
    Place,
    ReceiptLine,
    Reject,
    Spot,
    Supplier,
    SupplierReturn,
    SupplierReturnLine,
)
from inventory.queries import deliveries
from inventory.queries.catalogue import no_such_supplier
from inventory.queries.days import shop_day
from inventory.queries.sellers import sellers_of_items
from inventory.services import lookup, things
from inventory.services.accepting import note_gone, rejected_left
from inventory.services.post import Move, post
from inventory.services.run import Body, Done, Stamp, run

MOST_LINES = 500
#: Where what is rejected may lie, and from where it goes back: carts and benches have ways of their own to bring it there.
LIES_AT = frozenset({PlaceKind.SHELF, PlaceKind.QUARANTINE})


@dataclass(frozen=True, slots=True)
class ReturnLine:
    """So much of an item that goes back, and the credit asked for all of it in coins; `reject`: the claim it answers."""

    item_id: int
    place: str
    amount: str | int
    coins: int
    spot: str = NO_SPOT
    reject: int | None = None


def reject(
    *,
    actor: Person,
    stamp: Stamp,
    line: int,
    amount: str | int,
    place: str,
    reason: str,
    spot: str = NO_SPOT,
    quarantine: str = "",
    photos: Sequence[str] = (),
) -> Done:
    """Reject so much of a delivered line, wherever it lies: a claim on its supplier. A matched set is rejected whole.

    line        the receipt's own number of the line; place, spot: where the rejected ones lie
    quarantine  where they go from a shelf; photos: where they are kept
    Outcome: {"rejects": claims (two where some of it had been accepted), "line", "supplier", "order", "part", "item", "amount", "base", "place", "reason", "photos", "photo_missing"}.
    Raises DomainError "not-found", "reason-missing", "wrong-place", "not-there", "more-than-delivered", "quarantine-needed", "dates-turned"
    (before it came), those of amounts. Taken back by a correction of the act, as long as nothing of it went back.
    """
    request = {
        "line": line, "amount": amount, "place": place, "spot": spot, "quarantine": quarantine, "reason": reason,
        "photos": list(photos),
    }  # fmt: skip

    def work(act: Act) -> Body:
        lookup.need_reason(reason, f"Why is delivered line {line} rejected?")
        row = _line(act, line)
        item = lookup.item(row.item_id)
        number, _ = lookup.amount(item, amount)
        lies, aside = _lies_and_goes(place, quarantine)
        lookup.lock([(item, lies)])
        locks.row(ReceiptLine._meta.db_table, [row.pk])
        there = lies.kind == PlaceKind.QUARANTINE
        how = rejecting(deliveries.delivered([row])[row.pk], number, there)
        here = things.spot(lies, spot)
        _check_free(item, here, number)
        if not there:
            if aside is None:
                raise DomainError(
                    "quarantine-needed",
                    f"{lookup.label(item)} lies at {place}: what is rejected goes to quarantine.",
                    ways_out=("Name a quarantine for it.",),
                    place=place,
                )
            post(act, [Move(item, number, here, things.spot(aside))])
        said = {"line": row, "act": act, "reason": reason.strip(), "photos": list(photos)}
        made = [
            Reject.objects.create(amount=part, after=after, **said)
            for part, after in ((how.before, False), (how.after, True))
            if part
        ]
        return {
            "rejects": [one.pk for one in made],
            "line": row.pk,
            "supplier": row.receipt.supplier.code,
            "order": row.order_line.order.number if row.order_line else "",
            "part": item.part.number,
            "item": item.pk,
            "amount": number,
            "base": item.base,
            "place": place if there or aside is None else aside.code,
            "reason": reason.strip(),
            "photos": list(photos),
            "photo_missing": not photos,
        }

    return run("reject", work, actor=actor, stamp=stamp, request=request, reason=reason)


def return_to_supplier(*, actor: Person, stamp: Stamp, supplier: str, note: str, lines: Sequence[ReturnLine]) -> Done:
    """Goods go back to a supplier under a return note; all of them or none. Taken back by a correction, as long as nothing is settled.
    What others delivered does not go to this one, claim or none; what nobody on record delivered (stock that was counted over) may.

    Outcome: {"supplier", "note", "lines": [{line, item, part, amount, base, from, reject, coins}], "coins"}.
    Raises ManyErrors by line: "not-found", "wrong-place", "not-there", "wrong-supplier", "wrong-part", "more-than-outstanding", "claim-unnamed", "dates-turned",
    "old-unit-known", "part-unusable" (an opened tube), "amount-not-positive"; DomainError "nothing-given", "too-many-lines", "not-found".
    """
    request = {"supplier": supplier, "note": note, "lines": [asdict(line) for line in lines]}

    def work(act: Act) -> Body:
        if not lines or not note.strip():
            raise DomainError("nothing-given", "A return has a note and at least one line.")
        if len(lines) > MOST_LINES:
            raise DomainError("too-many-lines", f"{len(lines)} lines; at most {MOST_LINES}.", lines=len(lines))
        to = Supplier.objects.filter(code=supplier).first()
        if to is None:
            raise no_such_supplier(supplier)
        items = lookup.items(line.item_id for line in lines)
        places = {line.place: things.place(line.place) for line in lines}
        lookup.lock((items[line.item_id], places[line.place]) for line in lines if line.item_id in items)
        claimed = _claims([line.reject for line in lines if line.reject is not None])
        sent = SupplierReturn.objects.create(act=act, supplier=to, note=note.strip())
        out = things.books_only(PlaceKind.SUPPLIER)
        moves, rows = [], []
        errors: list[tuple[int, DomainError]] = []
        unclaimed: list[tuple[int, Item, Spot]] = []
        taken: dict[lookup.Pair, int] = {}
        for number, line in enumerate(lines, 1):
            try:
                item, here, amount = _sendable(line, items, things.spot(places[line.place], line.spot))
                taken[item.pk, here.pk] = taken.get((item.pk, here.pk), 0) + amount
                _check_free(item, here, taken[item.pk, here.pk])
                answered = _answers(act, line, item, amount, to, claimed)
            except DomainError as error:
                errors.append((number, error))
                continue
            moves.append(Move(item, amount, here, out))
            rows.append(SupplierReturnLine(sent=sent, item=item, reject=answered, amount=amount, coins=line.coins))
            if answered is None:
                unclaimed.append((number, item, here))
        errors += _of_others(unclaimed, to)
        errors += _unnamed_claims(unclaimed, to, claimed)
        if errors:
            raise ManyErrors(tuple(sorted(errors, key=lambda pair: pair[0])))
        post(act, moves)
        stored = SupplierReturnLine.objects.bulk_create(rows)
        note_gone(act, [(move.item.pk, move.amount, move.from_spot.place) for move in moves])
        said = [
            {
                "line": row.pk,
                "item": move.item.pk,
                "part": row.item.part.number,
                "amount": row.amount,
                "base": row.item.base,
                "from": {"place": move.from_spot.place.code, "spot": move.from_spot.name},
                "reject": row.reject_id,
                "coins": row.coins,
            }
            for row, move in zip(stored, moves, strict=True)
        ]
        return {"supplier": to.code, "note": sent.note, "lines": said, "coins": sum(row.coins for row in stored)}

    return run(
        "return to supplier", work, actor=actor, stamp=stamp, request=request, subject=supplier[:80], reason=note
    )


def enter_credit(*, actor: Person, stamp: Stamp, line: int, what: str, coins: int, reason: str = "") -> Done:
    """A supplier credited so much of what is awaited for a returned line, or refused it (with the reason).

    Outcome: {"line", "credit", "what", "coins", "awaited_coins"}. Raises DomainError "not-found", "reason-missing",
    "amount-not-positive", "more-than-outstanding", "dates-turned". Taken back by a correction of the act.
    """
    request = {"line": line, "what": what, "coins": coins, "reason": reason}

    def work(act: Act) -> Body:
        locks.row(SupplierReturnLine._meta.db_table, [line])
        row = deliveries.return_lines().filter(pk=line).first()
        if row is None:
            raise DomainError("not-found", f"There is no returned line {line}.", line=line)
        if what == Settled.REFUSED:
            lookup.need_reason(reason, f"Why does {row.sent.supplier.code} refuse the credit?")
        check_follows("It was settled", shop_day(act.occurred_at), "it went back", shop_day(row.sent.act.occurred_at))
        claim = deliveries.claims([row])[row.pk]
        check_settles(claim, coins)
        made = Credit.objects.create(line=row, act=act, what=Settled(what), coins=coins)
        return {
            "line": line,
            "credit": made.pk,
            "what": made.what,
            "coins": coins,
            "awaited_coins": claim.awaited - coins,
        }

    return run("enter credit", work, actor=actor, stamp=stamp, request=request, reason=reason)


def _line(act: Act, number: int) -> ReceiptLine:
    """The delivered line that is rejected; DomainError "not-found", "dates-turned" where it had not come by then."""
    rows = deliveries.standing_lines().select_related("aside", "receipt__supplier", "receipt__act", "order_line__order")
    found = rows.filter(pk=number).first()
    if found is None:
        raise DomainError("not-found", f"There is no delivered line {number}.", line=number)
    check_follows("It was rejected", shop_day(act.occurred_at), "it came", shop_day(found.receipt.act.occurred_at))
    return found


def _lies_and_goes(place: str, quarantine: str) -> tuple[Place, Place | None]:
    """Where what is rejected lies, and the quarantine it goes to, if one is named; DomainError "wrong-place"."""
    lies, aside = things.place(place), things.place(quarantine) if quarantine else None
    if lookup.kind(lies) not in LIES_AT:
        raise DomainError("wrong-place", f"{place} is {a(lies.kind)}: bring it to quarantine first.", place=place)
    if aside is not None and aside.kind != PlaceKind.QUARANTINE:
        raise DomainError("wrong-place", f"{quarantine} is {a(aside.kind)}, no quarantine.", place=quarantine)
    return lies, aside


def _check_free(item: Item, here: Spot, amount: int) -> None:
    row = lookup.balances([(item.pk, here.pk)]).get((item.pk, here.pk))
    if row is None or row.amount - row.held < amount:
        raise lookup.not_free(item, here, amount, row)


def _sendable(line: ReturnLine, items: dict[int, Item], here: Spot) -> tuple[Item, Spot, int]:
    item = items.get(line.item_id)
    if item is None:
        raise DomainError("not-found", f"There is no item {line.item_id}.", item=line.item_id)
    if lookup.kind(here.place) not in LIES_AT:
        raise DomainError("wrong-place", f"{line.place} is {a(here.place.kind)}: bring it to quarantine first.")
    if item.tube_id is not None:
        raise DomainError("part-unusable", f"{item.called} is opened: it is used or scrapped, not sent back.")
    if line.coins <= 0:
        raise DomainError("amount-not-positive", f"{line.coins} coins are no credit to ask for.", coins=line.coins)
    if item.single:
        lookup.refuse_old_unit(item)
    return item, here, lookup.amount(item, line.amount)[0]


def _claims(ids: Sequence[int]) -> dict[int, tuple[Reject, int]]:
    """Claims by id with how much of each is not sent back yet, locked."""
    locks.row(Reject._meta.db_table, ids)
    back = deliveries.returned(ids)
    return {row.pk: (row, row.amount - back.get(row.pk, 0)) for row in deliveries.rejects().filter(pk__in=ids)}


def _of_others(lines: Sequence[tuple[int, Item, Spot]], to: Supplier) -> list[tuple[int, DomainError]]:
    """Lines without a claim that this supplier never delivered, while others did."""
    sellers = sellers_of_items(item for _, item, _ in lines) if lines else {}
    errors = []
    for number, item, _ in lines:
        if sellers[item.pk] and to.code not in sellers[item.pk]:
            said = ", ".join(sorted(sellers[item.pk]))
            error = DomainError(
                "wrong-supplier",
                f"{to.code} never delivered {lookup.label(item)}: it came from {said}.",
                ways_out=(
                    f"Send it back to {said}.",
                    f"If it came from {to.code}, take that delivery back and enter it as theirs.",
                ),
                item=lookup.label(item),
                supplier=to.code,
                delivered_by=sorted(sellers[item.pk]),
            )
            errors.append((number, error))
    return errors


def _unnamed_claims(
    every: Sequence[tuple[int, Item, Spot]], to: Supplier, claimed: Mapping[int, tuple[Reject, int]]
) -> list[tuple[int, DomainError]]:
    """Lines out of quarantine that name no claim, while claims on that supplier for such a thing are open: in quarantine the rejected ones
    go first, and a claim that is not named would stay open for ever. `claimed`: what this return leaves of those that it names."""
    lines = [(number, item) for number, item, here in every if here.place.kind == PlaceKind.QUARANTINE]
    if not lines:
        return []
    rows = list(deliveries.rejects().filter(line__item__in={item.pk for _, item in lines}, line__receipt__supplier=to))
    back = deliveries.returned(row.pk for row in rows)
    left = {row.pk: claimed[row.pk][1] if row.pk in claimed else row.amount - back.get(row.pk, 0) for row in rows}
    errors = []
    for number, item in lines:
        still = [row.pk for row in rows if row.line.item_id == item.pk and left[row.pk] > 0]
        if still and rejected_left(item.pk) > 0:
            said = ", ".join(f"claim {pk}: {left[pk]}" for pk in still)
            error = DomainError(
                "claim-unnamed",
                f"Of {lookup.label(item)} rejected ones are to go back first ({said}): which claim is it?",
                ways_out=("Name the claim (reject).", "Take the claim back, if they are good."),
                item=lookup.label(item),
                claims=still,
            )
            errors.append((number, error))
    return errors


def _answers(
    act: Act, line: ReturnLine, item: Item, amount: int, to: Supplier, claimed: dict[int, tuple[Reject, int]]
) -> Reject | None:
    """The claim that a returned line answers; what is left of it is taken."""
    if line.reject is None:
        return None
    if line.reject not in claimed:
        raise DomainError("not-found", f"There is no claim {line.reject}.", reject=line.reject)
    row, left = claimed[line.reject]
    if row.line.item_id != item.pk:
        raise DomainError("wrong-part", f"Claim {row.pk} is about {row.line.item.called}.", reject=row.pk)
    if row.line.receipt.supplier_id != to.pk:
        raise DomainError(
            "wrong-supplier", f"Claim {row.pk} is on {row.line.receipt.supplier.code}.", reject=row.pk, supplier=to.code
        )
    check_follows("It went back", shop_day(act.occurred_at), "it was rejected", shop_day(row.act.occurred_at))
    if amount > left:
        raise DomainError(
            "more-than-outstanding",
            f"{left} of claim {row.pk} were not sent back yet.",
            reject=row.pk,
            outstanding=left,
        )
    claimed[row.pk] = (row, left - amount)
    return row
