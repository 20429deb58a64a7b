"""What cannot be found in an engine, and what was found. Private to services."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from inventory.domain.errors import DomainError
from inventory.domain.items import Tracked
from inventory.models import Balance, Item, Part
from inventory.services import things
from inventory.services.labelled import lot_named, serial_named
from kits.domain.amounts import PIECE
from kits.domain.most_pieces import most_pieces
from kits.models import Job
from kits.queries.reuse import procedures_of
from kits.queries.scope import scope_of


@dataclass(frozen=True, slots=True)
class FindIn:
    """A part found in the engine, as far as it is known.

    lot, serial   only what can be read on the part; without them the part is "found, not known" and never becomes stock
    whose         "customer" or "shop"
    why_more      why more pieces are there than the position takes by the parts lines
    another_lot, another_serial  a person says that it is another one than what is on record in another spelling
    """

    position: str
    part: str
    amount: str | int = 1
    lot: str = ""
    serial: str = ""
    size: str = ""
    condition: str = ""
    whose: str = "customer"
    why_more: str = ""
    another_lot: bool = False
    another_serial: bool = False


def most_there(job: Job, finds: Sequence[FindIn], parts: Mapping[str, Part]) -> dict[tuple[str, str], int]:
    """(position, part as it was given) → pieces of it that the position takes, by the procedures of the engine's family; empty where every find
    is of one.

    Where a procedure suits no revision of the family any more, the job's own alone speak.
    """
    several = [one for one in finds if one.amount != 1 and parts[one.part].base == PIECE]
    if not several:
        return {}
    scope = scope_of(job)
    try:
        operations = procedures_of(scope)
    except DomainError:
        operations = scope.operations
    return {(one.position, one.part): most_pieces(operations, one.position, parts[one.part].number) for one in several}


def cannot_be(
    one: FindIn,
    part: Part,
    taken: dict[str, list[Balance]],
    before: Sequence[str],
    most: Mapping[tuple[str, str], int],
) -> DomainError | None:
    """Why this line cannot be recorded, None where it can."""
    has_serials = part.tracked_by in (Tracked.SERIAL, Tracked.SET)
    if one.position in taken:
        return _taken(one.position, taken)
    if one.position in before:
        return DomainError("position-taken", f"{one.position} is named twice.", position=one.position)
    if one.serial and not has_serials:
        return DomainError(
            "serial-not-kept", f"{part.number} has no serial numbers; {one.serial} was given.", part=part.number
        )
    if one.lot and has_serials and not one.serial:
        return DomainError(
            "serial-missing", f"{part.number} is told apart by its serial number, not by a lot.", part=part.number
        )
    try:
        amount, _ = things.amount(part, one.amount)
    except DomainError as error:
        return error
    if has_serials and amount > 1:
        return DomainError("serial-is-one", f"{part.number} at {one.position} is one thing.", part=part.number)
    takes = most.get((one.position, one.part), 1)
    if part.base == PIECE and amount > takes and not one.why_more.strip():
        return _more_than_it_takes(one, part, amount, takes)
    return None


def _more_than_it_takes(one: FindIn, part: Part, amount: int, takes: int) -> DomainError:
    return DomainError(
        "more-than-listed",
        f"{one.position} takes {takes} of {part.number} by the parts lines, and {amount} were found there.",
        ways_out=(
            "Look again.",
            "Give the others the positions that they sit at.",
            "Say why there are more (`why_more`).",
        ),
        position=one.position,
        part=part.number,
        listed=takes,
        asked=amount,
    )


def item_found(part: Part, one: FindIn, where: str) -> Item:
    """The thing itself, as far as it is known; `where` names what is not."""
    if one.serial:
        serial, _ = serial_named(part, one.serial, another=one.another_serial, ask=True)
        return things.item(part, serial=serial)
    if one.lot:
        lot, _ = lot_named(
            part, one.lot, another=one.another_lot, ask=True, defaults={"expiry_rule": "found in an engine"}
        )
        return things.item(part, lot=lot)
    return things.item(part, found=where)


def _taken(position: str, taken: dict[str, list[Balance]]) -> DomainError:
    item = taken[position][0].item
    return DomainError(
        "position-taken",
        f"{position} holds {item.called} by our records.",
        ways_out=("Remove it first.",),
        position=position,
        part=item.part.number,
        item=item.called,
    )
