"""What tests of the stores' acts need again and again: items by their words, holds for a cart, what stands where."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest

from inventory.domain.errors import DomainError
from inventory.models import Balance, Hold, HoldEnd, Item, Person, Place, Short
from inventory.services import holding, things
from inventory.services.run import Done, run
from tests.factories.stores import NOON, PersonFactory, stamp


def item(part: str, identity: str = "-") -> Item:
    """An item by its part number and identity text."""
    return Item.objects.get(part__number=part, identity=identity)


def held(of: Item, cart: Place, amount: int = 1, *, needed_on: date = date(2025, 2, 1), shelf: str = "R1") -> Hold:
    """A hold of an item at a shelf for a cart, through the one transaction of an act."""

    def work(act: Any) -> dict[str, Any]:
        spot = things.spot(things.place(shelf))
        rows = holding.hold(act, things.spot(cart), [holding.Promise(of.pk, spot.pk, amount, needed_on)])
        return {"hold": rows[0].pk}

    request = {"item": of.pk, "cart": cart.code, "amount": amount}
    done: Done = run("hold", work, actor=PersonFactory(), stamp=stamp(NOON), request=request)
    return Hold.objects.get(pk=done.body["hold"])


def picked(hold: Hold, amount: int) -> None:
    """Pick a hold: shelf to cart."""

    def work(act: Any) -> dict[str, Any]:
        rows = holding.open_holds([hold.pk])
        holding.pick(act, [(rows[hold.pk], amount)])
        return {}

    run("pick", work, actor=PersonFactory(), stamp=stamp(NOON), request={"hold": hold.pk, "amount": amount})


def standing() -> list[tuple[str, str, str, int]]:
    """(part, identity, place, amount) of everything in real places, sorted."""
    rows = Balance.objects.filter(amount__gt=0, real=True)
    return sorted(rows.values_list("part__number", "item__identity", "place__code", "amount"))


def gone(kind: str) -> list[tuple[str, str, int]]:
    """(part, identity, amount) of what the books have at one of their own places, sorted."""
    rows = Balance.objects.filter(place__kind=kind).exclude(amount=0)
    return sorted(rows.values_list("part__number", "item__identity", "amount"))


def ends() -> list[tuple[int, str]]:
    """(hold id, how it ended), sorted."""
    return sorted(HoldEnd.objects.values_list("hold_id", "how"))


def shorts() -> list[tuple[int | None, int]]:
    """(hold id, amount) of every short, in the order in which they were raised."""
    return list(Short.objects.order_by("pk").values_list("hold_id", "amount"))


def refused(code: str, call: Callable[..., Any], **arguments: Any) -> DomainError:
    """The call is refused with that code; actor and stamp are made up where not given."""
    arguments = {"actor": PersonFactory() if "actor" not in arguments else arguments["actor"], **arguments}
    arguments.setdefault("stamp", stamp())
    with pytest.raises(DomainError) as caught:
        call(**arguments)
    assert caught.value.code == code, caught.value
    return caught.value


def done(call: Callable[..., Done], *, actor: Person | None = None, **arguments: Any) -> dict[str, Any]:
    """The outcome of a call by somebody, at noon unless a stamp is given."""
    arguments.setdefault("stamp", stamp())
    return call(actor=actor or PersonFactory(), **arguments).body
