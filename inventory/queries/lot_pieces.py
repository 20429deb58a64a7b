"""How many pieces of a lot were there to be looked at."""

from __future__ import annotations

from datetime import datetime

from inventory.domain.items import Base
from inventory.domain.places import BOOKS_ONLY, PlaceKind
from inventory.models import Balance
from inventory.queries.counting import amounts_at

#: Nobody takes a sample out of an engine.
_NOT_HERE = BOOKS_ONLY | {PlaceKind.ENGINE}


def pieces_on_hand(lot_id: int, at: datetime) -> int | None:
    """Pieces of a lot in the shop's places at a moment, as known now; what is inside closed kits is not among them, what was opened is.

    None where some of it is measured (an opened tube, a length): that gives samples without a number. Three queries at most.
    """
    rows = Balance.objects.filter(item__lot=lot_id).exclude(spot__place__kind__in=[kind.value for kind in _NOT_HERE])
    pairs = {(item, spot): base for item, spot, base in rows.values_list("item", "spot", "item__base")}
    amounts = amounts_at((item, spot, at) for item, spot in pairs)
    there = [(pairs[item, spot], amount) for (item, spot, _), amount in amounts.items() if amount > 0]
    if any(base != Base.PIECE for base, _ in there):
        return None
    return sum(amount for _, amount in there)
