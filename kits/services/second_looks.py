"""Nothing that a second person has to look at leaves the cart unseen. Private to services: nothing is written."""

from __future__ import annotations

import json
from collections.abc import Sequence

from inventory.domain.catalogue import LOOKED_AT_TWICE
from inventory.domain.errors import DomainError
from inventory.queries import by_hand
from inventory.queries.stock import Standing
from kits.models import Job


def refuse_not_looked_at(job: Job, on_cart: Sequence[Standing]) -> None:
    """DomainError "second-look-missing" names every picked line of a set or bearing on the cart that nobody looked at again.

    One query, none where no such thing is on the cart.
    """
    items = {row.item_id: row for row in on_cart if row.kind in LOOKED_AT_TWICE}
    if not items:
        return
    rows = by_hand.rows(_PICKED.format(by_hand.marks(len(items))), [job.pk, *items])
    left = {item: row.amount for item, row in items.items()}
    lines = []
    for hold, item, positions, picked, picker, seen in rows:
        if left[item] > 0 and not seen:
            thing = items[item]
            shares = json.loads(positions) if isinstance(positions, str) else positions
            lines.append(
                {
                    "hold": hold,
                    "part": thing.part,
                    "lot": thing.lot_code,
                    "serial": thing.serial,
                    "positions": [share[0] for share in shares],
                    "picked_by": picker,
                }
            )
        left[item] -= picked
    if not lines:
        return
    lines.sort(key=lambda one: int(one["hold"]))
    named = "; ".join(f"{one['part']} {one['serial'] or one['lot']}".strip() for one in lines)
    raise DomainError(
        "second-look-missing",
        f"A second person has not looked at: {named}.",
        ways_out=("Somebody else than the picker looks at them and says so.",),
        lines=lines,
    )


#: What was picked last lies on the cart: what was picked of the same thing before it was carried on, or brought back.
_PICKED = """
    SELECT k.hold_id, h.item_id, k.positions, e.picked, u.username, s.hold_id
    FROM kits_jobhold k
    JOIN inventory_hold h ON h.id = k.hold_id
    JOIN inventory_holdend e ON e.hold_id = k.hold_id
    JOIN inventory_act a ON a.id = e.act_id
    JOIN inventory_person u ON u.id = a.actor_id
    LEFT JOIN kits_secondlook s ON s.hold_id = k.hold_id
    WHERE k.job_id = %s AND e.how = 'picked' AND COALESCE(s.wrong, '') = '' AND h.item_id IN ({})
    ORDER BY e.act_id DESC, k.hold_id DESC"""
