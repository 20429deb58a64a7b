"""A liner goes in as it stood when its height was judged. Private to services: an open transaction is there."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence, Set

from inventory.domain.errors import DomainError
from inventory.models import Item, Person
from kits.domain.as_judged import sizes_under
from kits.domain.requirements import Key
from kits.domain.standing_verdicts import HEIGHT, SET_KIND, Said, binding
from kits.queries.job_list import JobList, sits_in
from kits.queries.layouts import Binding
from kits.queries.standing_verdicts import sets_standing

#: Who signs for a liner that goes in otherwise: whoever may let a liner be whose height is doubtful.
MAY_SIGN = "kits.act_let_height_be"


def must_sign(checker: Person | None, reason: str) -> None:
    """DomainError "not-signed" where a reason is given that nobody signs who may."""
    if reason.strip() and (checker is None or not checker.has_perm(MAY_SIGN)):
        raise DomainError(
            "not-signed",
            "A liner that goes in otherwise than its height was judged is signed by somebody who may let a height be.",
            ways_out=("Name that person as the checker.", "Judge the height as the liner goes in."),
            checker=str(checker) if checker is not None else None,
        )


def otherwise_than_judged(
    listed: JobList,
    said: Sequence[Said],
    layout: Binding | None,
    coming: Mapping[str, Item],
    turned: Mapping[str, int | None],
    old: Set[str],
    issued: Mapping[Key, Collection[tuple[str, str]]],
) -> dict[str, tuple[Said, tuple[str, ...]]]:
    """Use position of a set, or of a shim or base ring under one that stands → the verdict on the height, and what is otherwise than
    it was judged. Two queries where such a verdict stands and such a thing comes in; none else. Where a layout speaks of the bore, it binds.

    coming  use position → what goes in there by this act; turned: how far each old or new set is turned, None: nobody said
    old     positions to which an old part goes back by it; issued: (listed part, part promised in its place) for a key
    """
    heights = [one for one in said if one.kind == HEIGHT and one.stood is not None]
    engine_map = listed.scope.family.map

    def at(position: str) -> str:
        """The cylinder that holds a position, in whatever group of the map it stands."""
        return engine_map.position(position).holder if engine_map.is_position(position) else _cylinder(position)

    touched = {at(position) for position in coming} & {_cylinder(one.subject) for one in heights}
    instead = {pair for pairs in issued.values() for pair in pairs}
    sizes = sizes_under(listed.scope.family.facts, instead) if touched else ({}, {})
    mine = {
        position: item
        for position, item in coming.items()
        if at(position) in touched and (item.part.kind == SET_KIND or any(item.part.number in known for known in sizes))
    }
    if not mine:
        return {}
    there = sits_in(listed.job) | {position: item.part.number for position, item in coming.items()}
    standing, found = sets_standing(listed.job), {}
    for position, item in mine.items():
        is_set, cylinder = item.part.kind == SET_KIND, at(position)
        serial = (item.serial.number if item.serial is not None else "") if is_set else standing.get(cylinder, "")
        if not is_set and (cylinder not in standing or any(at(one) == cylinder for one in turned)):
            continue
        if _laid_out(layout, cylinder):
            continue
        # A verdict that names no set is of the liner that stood there: of an old one that goes back, not of a new one.
        spoken = [one for one in heights if one.set == serial or (position in old and not one.set)]
        newest = next(iter(binding(spoken, cylinder, serial, SET_KIND)), None)
        if newest is None or newest.stood is None:
            continue
        under = [
            {known[part] for place, part in there.items() if part in known and at(place) == cylinder} for known in sizes
        ]
        turn = turned.get(position, 0) if is_set else newest.stood.turn_deg
        unlike = newest.stood.unlike(turn, *under, old=position in old)
        if unlike:
            found[position] = (newest, unlike)
    return found


def not_as_judged(
    otherwise: Mapping[str, tuple[Said, tuple[str, ...]]], position: str, signed: bool
) -> DomainError | None:
    """The refusal "not-as-judged"; None where nothing is otherwise, or somebody signs for it."""
    if position not in otherwise or signed:
        return None
    verdict, unlike = otherwise[position]
    return DomainError(
        "not-as-judged",
        f"{position} would go in otherwise than result {verdict.id} judged its height: {'; '.join(unlike)}.",
        ways_out=(
            "Fit it as it was judged.",
            "Judge its height as it goes in.",
            "Somebody who may let a height be checks it, and it is said why.",
        ),
        position=position,
        result=verdict.id,
        otherwise=list(unlike),
    )


def doubt_of(otherwise: Mapping[str, tuple[Said, tuple[str, ...]]], position: str, reason: str) -> tuple[str, ...]:
    """What is kept with a fitting that went in otherwise than judged; () where nothing is otherwise."""
    if position not in otherwise:
        return ()
    verdict, unlike = otherwise[position]
    return (f"otherwise than result {verdict.id} judged its height ({'; '.join(unlike)}): {reason}",)


def parts_under(listed: JobList) -> set[str]:
    """Numbers of the shims and base rings of the family."""
    facts = listed.scope.family.facts
    return {part for fact in (facts.shims, facts.base_rings) if fact is not None for part in fact.parts}


def _cylinder(position: str) -> str:
    return position.partition("/")[0]


def _laid_out(layout: Binding | None, cylinder: str) -> bool:
    if layout is None or layout.why:
        return False
    return any(_cylinder(one) == cylinder for one in (*layout.places, *layout.kept))
