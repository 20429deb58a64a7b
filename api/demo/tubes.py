"""The opened tubes that stand in the cupboard on the reference day, each weighed."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from api.demo.catalogue import Say
from api.demo.files import document, moment, once, stamp
from api.demo.stock import Buyer
from inventory.services.open_tube import open_tube, weigh_tube
from inventory.services.receive import receive


def open_tubes(actor: Any, buyer: Buyer, say: Say) -> None:
    """A closed tube was delivered and opened some days ago; today's weighing says what it still holds."""
    today = document("shop")["reference_day"]
    for number, row in enumerate(document("opening")["open_tubes"], 1):
        opened = date.fromisoformat(row["opened_on"])
        delivered = once(
            receive,
            actor=actor,
            stamp=stamp(f"tube {number} delivered", moment(opened - timedelta(days=1), 7)),
            supplier=buyer.parts[row["part"]]["supplier"],
            place=row["place"],
            lines=list(buyer.lines(row["part"], 1, opened - timedelta(days=1), f"tube {number}")),
            note="closed tubes",
        )
        made = once(
            open_tube,
            actor=actor,
            stamp=stamp(f"tube {number} opened", moment(opened, 14)),
            item_id=delivered["lines"][0]["item"],
            place=row["place"],
            tube_number=f"OPEN-{number}",
        )
        weighed = once(
            weigh_tube,
            actor=actor,
            stamp=stamp(f"tube {number} weighed", moment(today, 7)),
            tube=made["tube"],
            weight=row["scale_reads_mg"],
            reason="used on earlier jobs, weighed before the day's work",
        )
        if round(weighed["content_ul"], -2) != row["content_ul"]:
            raise AssertionError(f"tube {number} holds {weighed['content_ul']} µL, not {row['content_ul']}")
    say(f"{len(document('opening')['open_tubes'])} opened tubes, weighed")
