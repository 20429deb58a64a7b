"""What an accepted layout asks of the bench. Private to services: an open transaction is there."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from inventory.domain.errors import DomainError
from inventory.models import Item
from kits.domain.requirements import Key
from kits.domain.standing_verdicts import SET_KIND
from kits.models import Job
from kits.queries.job_list import JobList, sits_in
from kits.queries.layouts import Binding, binding_of, layouts_of

ASK_AGAIN = ("Ask for a layout again, and accept it.", "Say which set goes where, with the reason.")


def off_layout(binding: Binding | None, item: Item, position: str, clock_deg: int | None) -> DomainError | None:
    """Why a set may not go in by the newest layout of its job; None where it may, or no layout speaks of it.

    clock_deg  how far it is turned, clockwise seen from the head, from how it was read; None: not said
    """
    serial = item.serial_number
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


def bare_by_layout(
    binding: Binding | None,
    listed: JobList,
    coming: Mapping[str, Item],
    issued: Mapping[Key, Collection[tuple[str, str]]],
) -> dict[str, tuple[str, str]]:
    """Bore of a set that comes in → (use position, part) of the shim or base ring that its layout lays under it, where that is not in and
    does not come with it. No query where the layout lays none under these.

    issued  (listed part, part promised in its place) for a key
    """
    family = listed.scope.family
    if binding is None or binding.why:
        return {}
    shims, rings = (
        dict(zip(one.sizes_nm, one.parts, strict=False)) if one else {}
        for one in (family.facts.shims, family.facts.base_rings)
    )
    places = {
        position: binding.of(position, item.serial.number) or binding.kept.get(position)
        for position, item in coming.items()
        if item.serial is not None
    }
    laid = [
        (position, part)
        for position, place in places.items()
        for part in (place and shims.get(place.shim_nm), place and rings.get(binding.ring_nm))
        if part
    ]
    there = (sits_in(listed.job) if laid else {}) | {name: item.part.number for name, item in coming.items()}
    bare = {}
    for position, part in laid:
        holder = family.map.position(position).holder
        for key, requirement in listed.explosion.requirements.items():
            offered = {one.part for one in requirement.candidates}
            if part not in offered or family.map.position(key[0]).holder != holder:
                continue
            if there.get(key[0], "") not in {part, *(other for wanted, other in issued.get(key, ()) if wanted == part)}:
                bare[position] = (key[0], part)
    return bare


def not_on_its_shim(bare: Mapping[str, tuple[str, str]], position: str) -> DomainError | None:
    """The refusal "shim-missing"."""
    if position not in bare:
        return None
    under, part = bare[position]
    said = f"By the layout {part} lies at {under} before the liner goes into {position}."
    return DomainError(
        "shim-missing", said, ways_out=("Fit it first, or with the liner.",), position=position, under=under, part=part
    )


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
