"""Rows as plain values, where several resources show the same."""

from __future__ import annotations

from typing import Any

from api.rest.amounts import amount


def standing(row: Any) -> dict[str, Any]:
    """A balance with its item, part, spot and place."""
    item = row.item
    part = row.part
    return {
        "item": item.pk,
        "part": part.number,
        "identity": item.identity,
        "lot": item.lot_code,
        "lot_id": item.lot_id,
        "serial": item.serial_number,
        "place": row.place.code,
        "place_kind": row.place.kind,
        "site": row.place.site.code if row.place.site else "",
        "spot": row.spot.name,
        "amount": amount(row.amount, item.base, part.unit),
        "held": amount(row.held, item.base, part.unit),
        "free": amount(row.amount - row.held, item.base, part.unit),
        "expires_on": expiry(item),
        "stopped": bool(row.is_stopped),
    }


def expiry(item: Any) -> Any:
    """The day an item is good until: an opened tube's own, else its lot's."""
    if item.tube:
        return item.tube.use_by
    return item.lot.expires_on if item.lot else None


def person(one: Any) -> dict[str, Any]:
    """Who, by log-in and by name."""
    return {"login": one.username, "name": str(one)}
