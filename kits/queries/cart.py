"""The cart: lines laid into trays in order of work, sets and heavy things on the floor of the trolley."""

from __future__ import annotations

from typing import Any

from kits.domain.trays import Cart, TrayLine, lay_out
from kits.queries.job_list import JobList

#: Kinds that stand on the trolley's floor as closed boxes (common practice: boxed sets are not stacked into trays).
FLOOR_KINDS = frozenset({"matched set", "kit of sets"})


def cart_of(listed: JobList) -> Cart:
    """The list laid out on the cart; poured parts (by volume or weight) ride in their tray without a counted weight."""
    lines = []
    for line in listed.lines:
        part = listed.parts[line.part]
        counted = line.base == "piece"
        lines.append(
            TrayLine(
                key=str(line.number),
                pieces=line.amount if counted else 1,
                piece_mg=part.weight_mg if counted else None,
                preferred=f"{line.operation}/{line.tray}",
                floor=part.kind in FLOOR_KINDS,
                tools=line.tools,
            )
        )
    return lay_out(lines, listed.shop.tray_limit_mg)


def cart_document(listed: JobList) -> dict[str, Any]:
    """The cart as JSON: {"trays": [{tray, weight_g, lines, tools}], "floor": [{line, pieces, by_hoist}]}; line numbers."""
    cart = cart_of(listed)
    return {
        "trays": [
            {
                "tray": tray.number,
                "weight_g": (tray.weight_mg + 500) // 1000,
                "lines": [{"line": int(laid.key), "pieces": laid.pieces} for laid in tray.lines],
                "not_weighed": [int(key) for key in tray.unweighed],
                "tools": list(tray.tools),
            }
            for tray in cart.trays
        ],
        "floor": [
            {"line": int(one.key), "pieces": one.pieces, "by_hoist": one.by_hoist, "tools": list(one.tools)}
            for one in cart.floor
        ],
    }
