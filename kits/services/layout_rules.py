"""What an accepted layout asks of the bench. Private to services: an open transaction is there."""

from __future__ import annotations

from collections.abc import Collection

from inventory.domain.errors import DomainError
from inventory.models import Item
from kits.domain.standing_verdicts import SET_KIND
from kits.models import Job
from kits.queries.layouts import Binding, binding_of, layouts_of

ASK_AGAIN = ("Ask for a layout again, and accept it.", "Say which set goes where, with the reason.")


def off_layout(binding: Binding | None, item: Item, position: str, clock_deg: int | None) -> DomainError | None:
    """Why a set may not go in by the newest layout of its job; None where it may, or no layout speaks of it.

    clock_deg  how far it is turned, clockwise seen from the head, from how it was read; None: not said
    """
    serial = item.serial.number if item.serial is not None else ""
    place = binding.of(position, serial) if binding is not None and serial else None
    if binding is None or place is None:
        return None
    if binding.why:
        said = f"The layout of {place.position} does not hold any more: {'; '.join(binding.why)}."
        return DomainError("layout-stale", said, ways_out=ASK_AGAIN, position=position, why=list(binding.why))
    if (place.position, place.serial) != (position, serial):
        said = f"{serial} into {position}: by the layout {place.serial} goes into {place.position}."
        ways = ("Check the marks on liner and block.", "Gauge again, take the layout back and accept another.")
        return DomainError("wrong-bore", said, ways_out=ways, position=position, item=item.pk)
    if place.turn_deg != (clock_deg or 0):
        said = f"{serial} goes into {position} turned {place.turn_deg}° clockwise seen from the head, not {clock_deg or 0}°."
        turned = ("Turn the liner until its mark points to the front, and say how it is turned.",)
        return DomainError("wrong-turn", said, ways_out=turned, position=position, turn_deg=place.turn_deg)
    return None


def refuse_under_layout(job: Job, positions: Collection[str]) -> None:
    """DomainError "layout-accepted" where an accepted layout speaks of one of these bores and was not taken back. One query where
    there is none."""
    newest = next(iter(layouts_of(job)), None)
    if newest is None or newest.withdrawn:
        return
    named = sorted(set(positions) & {one.position for one in newest.places})
    if named:
        raise already_accepted(job, newest.id, newest.by, named)


def already_accepted(job: Job, layout: int, by: str, positions: Collection[str]) -> DomainError:
    """The refusal "layout-accepted"."""
    return DomainError(
        "layout-accepted",
        f"Job {job.number} has layout {layout}, accepted by {by}, for {', '.join(positions)}.",
        ways_out=(f"Take layout {layout} back first, with the reason.",),
        layout=layout,
        by=by,
        positions=list(positions),
    )


def binding_for(job: Job, items: Collection[Item]) -> Binding | None:
    """What the newest layout binds, where a set, or anything else with a serial, is fitted."""
    asked = any(item.serial is not None or item.part.kind == SET_KIND for item in items)
    return binding_of(job) if asked else None
