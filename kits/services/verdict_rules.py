"""What verdicts on clearance, ring gaps and the height of liners ask of the bench. Private to services: an open transaction is there."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence, Set

from inventory.domain.errors import DomainError
from inventory.models import Item
from kits.domain.engine_map import EngineMap
from kits.domain.standing_verdicts import BINDS, SET_KIND, Liner, Said, Undecided, binding, set_put_aside
from kits.models import Job
from kits.queries.heights import heights_open
from kits.queries.standing_verdicts import LeftOut, heights_speaking, verdicts_on

_BOUND = frozenset(kind for kinds in BINDS.values() for kind in kinds)


def verdicts_for(
    job: Job, items: Collection[Item], positions: Set[str], closing: Set[str], under: Set[str]
) -> list[Said]:
    """The verdicts that count on the job, where anything is fitted that one may speak of; no query else.

    positions  that are filled; closing: those that close over liners; under: parts that lie under liners
    """
    speaks = any(item.part.kind in _BOUND or item.part.number in under for item in items) or not closing.isdisjoint(
        positions
    )
    if not speaks:
        return []
    return verdicts_on(job, {item.serial_id for item in items if item.serial_id is not None})


def refuse_sets_that_fail(sets: Iterable[LeftOut]) -> None:
    """DomainError "verdict-fails" where a set that somebody names goes into no engine by what was measured of it, on whatever job."""
    for one in sets:
        raise set_fails(one.serial, one.why)


def set_fails(serial: str, why: str) -> DomainError:
    """The refusal of a set that goes into no engine by what was measured of it."""
    return DomainError(
        "verdict-fails",
        f"Set {serial}: {why}.",
        ways_out=("Take another set.", "Read it again and judge it anew, where a reading was wrong."),
        serial=serial,
    )


def open_under(
    job: Job, said: Sequence[Said], positions: Set[str], closing: Set[str], coming: Mapping[str, Item], old: Set[str]
) -> list[Undecided]:
    """Liners whose height is on no record, or doubtful, where something is fitted that may close over them.

    coming  use position → what goes in there by this act; old: positions to which an old part goes back by it
    """
    if closing.isdisjoint(positions):
        return []
    liners = [
        Liner(position.partition("/")[0], item.serial_number, position in old)
        for position, item in coming.items()
        if item.part.kind == SET_KIND
    ]
    return heights_open(job, liners, said)


def height_undecided(
    undecided: Iterable[Undecided], engine_map: EngineMap, position: str, closing: Set[str]
) -> DomainError | None:
    """Why a liner may not be closed over: its height is on no record, or doubtful, and nobody has signed for that."""
    if position not in closing:
        return None
    holder = engine_map.position(position).holder
    found = [one for one in undecided if engine_map.contains(holder, one.liner.cylinder)]
    if not found:
        return None
    return DomainError(
        "height-undecided",
        f"{position} closes over {'; '.join(one.said for one in found)}.",
        ways_out=(
            "Read liner and bore, without rubber, and judge the height there.",
            "Somebody who may, and who did not fit it, lets it be with a reason.",
        ),
        position=position,
        cylinders=[one.liner.cylinder for one in found],
    )


def failing_under(
    job: Job, said: Sequence[Said], positions: Set[str], closing: Set[str], coming: Mapping[str, Item]
) -> dict[str, Said]:
    """Cylinder → the verdict on its liner's height, where it fails or is to be judged again and something is fitted that may close
    over it.

    coming  use position → what goes in there by this act
    """
    if closing.isdisjoint(positions):
        return {}
    sets = {
        position.partition("/")[0]: item.serial.number
        for position, item in coming.items()
        if item.part.kind == SET_KIND and item.serial is not None
    }
    return heights_speaking(job, sets, said)


def closes_over(
    failing: Mapping[str, Said], engine_map: EngineMap, position: str, closing: Set[str]
) -> DomainError | None:
    """Why a liner may not be closed over: it was gauged, and its height fails or is to be judged again. None where nothing speaks
    against it."""
    if position not in closing:
        return None
    holder = engine_map.position(position).holder
    for place, one in sorted(failing.items()):
        if engine_map.contains(holder, place):
            if not one.fails:
                return judge_again(one, f"{position} closes over {place}", position)
            why = f": {'; '.join(one.why)}" if one.why else ""
            return DomainError(
                "verdict-fails",
                f"{position} closes over {place}: the height of its liner fails by result {one.id}{why}.",
                ways_out=(
                    "Take the liner out, put right what is under it or fit another set, and judge it again.",
                    "Read it again and judge it anew, where a reading was wrong.",
                ),
                position=position,
                result=one.id,
                kind=one.kind,
                subject=one.subject,
            )
    return None


def judge_again(one: Said, what: str, position: str) -> DomainError:
    """The refusal of what a verdict spoke of before it was read anew, or cut."""
    return DomainError(
        "verdict-stale",
        f"{what}: result {one.id}, {one.kind} of {one.subject}, does not say it any more: {one.again}.",
        ways_out=("Judge it again, by what was read since.", "Withdraw what was read wrongly."),
        position=position,
        result=one.id,
        kind=one.kind,
        subject=one.subject,
    )


def forbidden(said: Sequence[Said], item: Item, position: str) -> DomainError | None:
    """Why a set or its rings may not go in by what was measured; None where nothing speaks against it."""
    serial = item.serial_number
    aside = set_put_aside(said, serial) if serial else None
    if aside is not None:
        return DomainError(
            "set-put-aside",
            f"{item.called} into {position}: result {aside.id} puts the set aside: {'; '.join(aside.why)}{aside.told}.",
            ways_out=("Bring it back: the set goes to quarantine whole.", "Read it again and judge it anew."),
            position=position,
            item=item.pk,
            result=aside.id,
        )
    place = position.partition("/")[0]
    for one in binding(said, place, serial, item.part.kind):
        if not one.fails and one.again:
            return judge_again(one, f"{item.called} into {position}", position)
        if one.fails:
            why = f": {'; '.join(one.why)}" if one.why else ""
            return DomainError(
                "verdict-fails",
                f"{item.called} into {position}: the {one.kind} of {one.subject} fails by result {one.id}{one.told}{why}.",
                ways_out=(
                    "Fit another one, read it there, and judge again.",
                    "Read it again and judge it anew, where a reading was wrong.",
                ),
                position=position,
                item=item.pk,
                result=one.id,
                kind=one.kind,
                subject=one.subject,
            )
    return None
