"""The cart: what a pick list brings, laid into trays in order of work, sets and heavy things on the floor of the trolley."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from inventory.domain.quantities import round_half_even
from inventory.models import Part
from inventory.queries.shop import Shop
from kits.domain.listing import ListLine
from kits.domain.trays import Cart, Laid, TrayLine, lay_out

#: Kinds that stand on the trolley's floor as closed boxes (common practice: boxed sets are not stacked into trays).
FLOOR_KINDS = frozenset({"matched set", "kit of sets"})
#: Nothing goes on the cart.
EMPTY: dict[str, Any] = {"trays": [], "floor": []}


@dataclass(frozen=True, slots=True)
class Load:
    """So many pieces of a part for one line; of what is kept by volume or weight, its amount in base units.

    pieces  0: it rides in the tray of an earlier line (a tube that closes several joints), and is counted there
    """

    line: ListLine
    part: Part
    pieces: int


def cart_of(loads: Iterable[Load], shop: Shop) -> Cart:
    """Loads in order of work laid out on the cart.

    The list has its lines by step, and within a step by the tray that the procedure prefers: that is the order they are laid in.
    """
    return lay_out([_line(load) for load in loads], shop.tray_limit_mg, shop.tray_limit_ul)


def _line(load: Load) -> TrayLine:
    part, pieces = load.part, load.pieces
    weight_mg, size_ul = part.weight_mg, part.packed_ul
    if not pieces:
        pieces, weight_mg, size_ul = 1, 0, 0
    elif part.base == "milligram":
        pieces, weight_mg = 1, pieces
    elif part.base == "microlitre":
        density = part.density_mg_per_ml
        pieces, weight_mg, size_ul = 1, round_half_even(Fraction(pieces * density, 1000)) if density else None, pieces
    return TrayLine(
        str(load.line.number), pieces, weight_mg, size_ul, floor=part.kind in FLOOR_KINDS, tools=load.line.tools
    )


def cart_document(cart: Cart, first: int = 1) -> dict[str, Any]:
    """The cart as JSON: {"trays": [{tray, weight_g, size_ml, lines, not_weighed, not_sized, tools}], "floor": [{line, pieces,
    by_hoist, tools}]}; line numbers. `first`: number of the top tray, behind those of the job's earlier lists."""
    return {
        "trays": [
            {
                "tray": tray.number + first - 1,
                "weight_g": (tray.weight_mg + 500) // 1000,
                "size_ml": (tray.size_ul + 500) // 1000,
                "lines": _together(tray.lines),
                "not_weighed": _numbers(tray.unweighed),
                "not_sized": _numbers(tray.unsized),
                "tools": list(tray.tools),
            }
            for tray in cart.trays
        ],
        "floor": [
            {"line": int(one.key), "pieces": one.pieces, "by_hoist": one.by_hoist, "tools": list(one.tools)}
            for one in cart.floor
        ],
    }


def _together(lines: Sequence[Laid]) -> list[dict[str, int]]:
    """One entry a line: a replacement may bring a line as two parts."""
    pieces: dict[int, int] = {}
    for laid in lines:
        pieces[int(laid.key)] = pieces.get(int(laid.key), 0) + laid.pieces
    return [{"line": line, "pieces": number} for line, number in pieces.items()]


def _numbers(keys: Sequence[str]) -> list[int]:
    return list(dict.fromkeys(int(key) for key in keys))


def trays_of(document: dict[str, Any]) -> dict[int, int]:
    """Line → the first tray that it lies in; what stands on the floor is not in it."""
    return {one["line"]: tray["tray"] for tray in reversed(document["trays"]) for one in reversed(tray["lines"])}
