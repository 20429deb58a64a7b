"""A shop that keeps one sealed ring of each lot from 2025 on."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from inventory.models import Balance, Item, Place, ShopSetting
from inventory.services import things
from inventory.services.post import Move, post
from inventory.services.run import run
from tests.factories.acts import item
from tests.factories.stores import PartFactory, PersonFactory, shelf, stamp, stock


def switch_on() -> None:
    """The shop keeps one of each lot received from 2025 on."""
    ShopSetting.objects.update_or_create(name="keep_from", defaults={"value": "2025-01-01"})


def rings(amount: int = 10, **more: Any) -> Item:
    """So many rings of lot B on R1, of which one is kept."""
    switch_on()
    stock(PartFactory(number="RING-K", kind="O-ring"), amount, lot="B", place=shelf("R1"), **more)
    return item("RING-K", "lot=B")


def stands(place: str = "R1") -> tuple[int, int]:
    """(amount, held) of the rings at a place."""
    row = Balance.objects.get(part__number="RING-K", place__code=place)
    return row.amount, row.held


def went(ring: Item, amount: int, to: Place, at: datetime) -> None:
    """So many went from R1 to a place."""

    def work(act: Any) -> dict[str, Any]:
        post(act, [Move(ring, amount, things.spot(things.place("R1")), things.spot(to))])
        return {}

    run("fit", work, actor=PersonFactory(), stamp=stamp(at), request={"to": to.code})
