"""What a maker's stop forbids on jobs that work by an older revision. Private to services: nothing is written."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping

from inventory.domain.errors import DomainError
from kits.domain.requirements import Key
from kits.domain.revisions import Newer, parts_at
from kits.models import JobHold
from kits.queries.job_list import JobList
from kits.queries.revisions import maker_stops, newer_of


def stopped_error(stop: Newer, where: Collection[str] = ()) -> DomainError:
    """The refusal; where: use positions that it is about."""
    at = f"{', '.join(sorted(set(where)))}: " if where else ""
    return DomainError(
        "stopped-by-maker",
        f"{at}{stop.sentence()}",
        ways_out=(f"Take {stop.code} revision {stop.newest} over to the job.",),
        bulletin=stop.stop,
        of=stop.code,
        has=stop.has,
        revision=stop.newest,
        positions=sorted(set(where)),
    )


def refuse_stopped(listed: JobList, keys: Iterable[Key]) -> None:
    """DomainError "stopped-by-maker" where one of these keys of the list is under a maker's stop."""
    _refuse(maker_stops(listed), keys)


def _refuse(stops: Mapping[Key, Newer], keys: Iterable[Key]) -> None:
    found = [key for key in keys if key in stops]
    if found:
        first = stops[found[0]]
        raise stopped_error(first, [key[0] for key in found if stops[key] is first])


def refuse_stopped_extra(listed: JobList, parts: Collection[str], positions: Collection[str]) -> None:
    """One more of a part (one of `parts`: it and what replaces it): at these positions, or where the list has it."""
    stops = maker_stops(listed)
    if positions:
        _refuse(stops, [key for key in stops if key[0] in positions])
    elif parts_at(listed.explosion, stops).intersection(parts):
        _refuse(stops, [key for key in stops if parts_at(listed.explosion, [key]).intersection(parts)])


def refuse_stopped_cart(listed: JobList, items: Collection[int]) -> None:
    """Things on the cart that were picked for what is under a maker's stop. One query, none where nothing is."""
    stops = maker_stops(listed)
    if not stops:
        return
    rows = JobHold.objects.filter(job=listed.job, hold__item__in=items, hold__end__how="picked")
    for wanted, positions in rows.values_list("wanted__number", "positions"):
        if positions:
            _refuse(stops, [(share[0], share[1]) for share in positions])
        else:
            refuse_stopped_extra(listed, [wanted], ())


def refuse_stopped_job(listed: JobList) -> None:
    """No job is closed under a maker's stop, whatever is fitted already."""
    for one in newer_of(listed.scope):
        if one.stopped:
            raise stopped_error(one)
