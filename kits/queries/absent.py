"""What of a pick list is not with the cart when it is handed over: named one by one, whatever the reason."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.db.models import QuerySet

from inventory.domain.quantities import shown_amount
from inventory.models import Balance, HoldEnd
from kits.domain.requirements import Key
from kits.domain.serving import Promised
from kits.domain.spans import spans
from kits.models import JobHold, PickList
from kits.queries.job_list import JobList, to_buy_in
from kits.queries.served import JobPromise, fitted, promises_of, served


@dataclass(slots=True)
class Absent:
    """Something that a list asks for and that is neither on the cart, at the bench, fitted, reused, nor not needed.

    name       how a person names it: the part, the code of a choice that is still open, the position of parts in conflict or of what
               is to be bought in and has no part named yet
    also       other names for it: the part that is held, or was short, in place of the listed one
    amount     how much is not there, whole `base` units; 0 where it is not known, because nothing is chosen
    """

    name: str
    what: str
    base: str = "piece"
    amount: int = 0
    positions: list[str] = field(default_factory=list)
    step: str = ""
    why: str = ""
    also: frozenset[str] = frozenset()

    def document(self) -> dict[str, Any]:
        """As JSON."""
        return {
            "name": self.name,
            "what": self.what,
            "amount": self.amount,
            "base": self.base,
            "shown": shown_amount(self.amount, self.base) if self.amount else "",
            "positions": list(dict.fromkeys(self.positions)),
            "step": self.step,
            "why": self.why,
        }

    def sentence(self) -> str:
        """In one line of words."""
        much = f" {shown_amount(self.amount, self.base)}" if self.amount else ""
        where = ", ".join(spans(list(dict.fromkeys(self.positions))))
        return f"{self.name}{much} ({'; '.join(filter(None, (where, self.why)))})"


def absent_of(
    listed: JobList, row: PickList, promised: Sequence[Promised]
) -> tuple[list[Absent], list[dict[str, Any]]]:
    """Everything that the pick list and, at its steps, the job's list of now ask for and that is not here, in order of work; and
    the bins to count for it.

    What is still held and not picked, what was short when it was held, what was asked for since, choices still open without
    all their candidates here, positions at which parts are in conflict, what is to be bought in and has no name yet. An extra asks for itself alone, a layout for what it
    holds. promised: all of `promised_of`. Two queries where everything is here, else some ten.
    """
    here = served(listed, [one for one in promised if not one.open]).amounts
    if _all_here(listed, row, promised, here):
        return [], []
    promises = promises_of(listed.job)
    absent = _absent(listed, row, promises, here)
    return absent, _bins_to_count(row, promises, absent)


def _all_here(
    listed: JobList, row: PickList, promised: Sequence[Promised], here: Mapping[tuple[Key, str], int]
) -> bool:
    """Nothing of this list is still held or was picked short, nothing waits for a person, every line has what it takes."""
    steps = set(row.document.get("steps", ()))
    return (
        not row.document.get("extra")
        and not listed.settled.open_choices
        and not any(one.needs_person for one in listed.conflicts)
        and not to_buy_in(listed)
        and not any(one.newness == row.pk and (one.open or one.amount < one.asked) for one in promised)
        and all(
            here.get((key, line.part), 0) >= amount
            for line in listed.lines
            if not steps or f"{line.operation}/{line.step}" in steps
            for key, amount in zip(line.keys, line.amounts, strict=True)
        )
    )


def _absent(
    listed: JobList, row: PickList, promises: Sequence[JobPromise], here: Mapping[tuple[Key, str], int]
) -> list[Absent]:
    mine = [one for one in promises if one.pick_list_id == row.pk]
    extra = row.document.get("extra")
    alone = [_extra(extra, mine)] if extra else []
    found = alone if extra or "layout" in row.document else list(_of_list(listed, row, promises, here))
    named = {one.name for one in found} | {name for one in found for name in one.also}
    chosen = {part for one in listed.settled.open_choices for _, parts in one.candidates for part in parts}
    for promise in mine:  # held, not picked, and no longer asked for: it is on the paper all the same
        part = promise.hold.item.part
        if promise.open and part.number not in named and not (promise.on_approval and part.number in chosen):
            places = [share[0] for share in promise.shares]
            found.append(
                Absent(part.number, "part", promise.hold.item.base, promise.hold.amount, places, "", _held(promise))
            )
    return [one for one in found if one.amount or one.what != "part"]


def _extra(extra: Mapping[str, Any], mine: Sequence[JobPromise]) -> Absent:
    lack = max(0, extra["amount"] - sum(one.picked for one in mine))
    base = next((one.hold.item.base for one in mine), "piece")
    held = next((_held(one) for one in mine if one.open), "short when it was asked for")
    return Absent(extra["part"], "part", base, lack, list(extra["positions"]), "", held)


def _held(promise: JobPromise) -> str:
    spot = promise.hold.from_spot
    return f"held at {spot.place.code}{'' if spot.name == '-' else ' ' + spot.name}, not picked"


def _of_list(
    listed: JobList, row: PickList, promises: Sequence[JobPromise], here: Mapping[tuple[Key, str], int]
) -> Iterator[Absent]:
    steps = set(row.document.get("steps", ()))
    yield from _parts(listed, row, promises, here, steps)
    inside = {one.key for one in fitted(listed.job, listed.explosion.requirements.keys())}
    yield from _choices(listed, here, inside, steps)
    on_lines = {key for line in listed.lines for key in line.keys}
    waiting = on_lines | {key for one in listed.settled.open_choices for key in one.keys} | inside
    for conflict in listed.conflicts:
        key = (conflict.position, conflict.make)
        skip = key in waiting or conflict.position in listed.scope.not_needed
        if conflict.needs_person and not skip and _at_steps(listed, [key], steps):
            yield Absent(conflict.position, "conflict", positions=[conflict.position], why=conflict.detail)
            waiting.add(key)
    for bought in to_buy_in(listed):
        place = bought["position"]
        if (place, 1) not in waiting and (not steps or bought["step"] in steps):
            why = f"to be bought in: {bought['shown']} {bought['text']}; no part is named for it yet"
            yield Absent(place, "buy-in", positions=[place], step=bought["step"], why=why)


def _parts(
    listed: JobList,
    row: PickList,
    promises: Sequence[JobPromise],
    here: Mapping[tuple[Key, str], int],
    steps: Collection[str],
) -> Iterator[Absent]:
    """Lines of which something lacks, drawn together by part."""
    shorts = row.act.outcome.body.get("shorts", [])
    instead: dict[str, set[str]] = defaultdict(set)
    reasons: dict[str, str] = {wanted: f"its hold was {how}: {why}" for wanted, how, why in _ended(row)}
    for short in shorts:
        instead[short["wanted"]].add(short["part"])
        reasons[short["wanted"]] = f"short when it was held: {short['why']}"
    for promise in promises:
        if promise.open:
            instead[promise.wanted].add(promise.hold.item.part.number)
            reasons[promise.wanted] = _held(promise)
    found: dict[tuple[str, str], Absent] = {}
    for line in listed.lines:
        step = f"{line.operation}/{line.step}"
        if steps and step not in steps:
            continue
        for key, name, amount in zip(line.keys, line.positions, line.amounts, strict=True):
            lack = amount - here.get((key, line.part), 0)
            if lack <= 0:
                continue
            one = found.setdefault(
                (line.part, line.base),
                Absent(
                    line.part, "part", line.base, step=step, also=frozenset(instead[line.part] - {line.part}),
                    why=reasons.get(line.part, "not held on this list, or brought in too small a number"),
                ),
            )  # fmt: skip
            one.amount += lack
            one.positions.append(name)
    yield from found.values()


def _ended(row: PickList) -> QuerySet[JobHold, tuple[str, str, str]]:
    """What was held on this list and ended unpicked, oldest end first: (wanted part, how, why)."""
    gone = JobHold.objects.filter(pick_list=row, hold__end__isnull=False).exclude(hold__end__how=HoldEnd.How.PICKED)
    return gone.order_by("hold__end__act").values_list("wanted__number", "hold__end__how", "hold__end__why")


def _choices(
    listed: JobList, here: Mapping[tuple[Key, str], int], inside: Collection[Key], steps: Collection[str]
) -> Iterator[Absent]:
    """Choices still open, by their code, unless every candidate is here to choose from."""
    offered: dict[Key, list[bool]] = defaultdict(list)
    for line in listed.candidates:
        for key, amount in zip(line.keys, line.amounts, strict=True):
            offered[key].append(here.get((key, line.part), 0) >= amount)
    found: dict[str, Absent] = {}
    for choice in listed.settled.open_choices:
        keys = [
            key
            for key in choice.keys
            if key not in inside and key[0] not in listed.scope.not_needed and not (offered[key] and all(offered[key]))
        ]
        if not keys or not _at_steps(listed, keys, steps):
            continue
        parts = ", ".join(part for _, members in choice.candidates for part in members)
        why = f"{choice.text}: not chosen, and not all candidates are here ({parts})"
        one = found.setdefault(choice.choice, Absent(choice.choice, "choice", why=why))
        one.positions += [key[0] for key in keys]
    yield from found.values()


def _at_steps(listed: JobList, keys: Sequence[Key], steps: Collection[str]) -> bool:
    """Whether any of these keys is worked at one of the steps; no steps: the whole list."""
    work = (
        f"{operation}/{step}"
        for key in keys
        for candidate in listed.explosion.requirements[key].candidates
        for operation, step, _ in candidate.work
    )
    return not steps or any(step in steps for step in work)


def _bins_to_count(row: PickList, promises: Sequence[JobPromise], absent: Sequence[Absent]) -> list[dict[str, Any]]:
    """Bins in which the books have what nobody brought: held on this list and not picked, or picked short, and missing now.

    One entry a bin and thing, with what the books say lies there. One query.
    """
    names = {name for one in absent for name in (one.name, *one.also)}
    suspect = [
        one
        for one in promises
        if one.pick_list_id == row.pk
        and (one.open or one.picked < one.hold.amount)
        and (one.on_approval or one.hold.item.part.number in names or one.wanted in names)
    ]
    if not suspect:
        return []
    books = {
        (item, spot): amount
        for item, spot, amount in Balance.objects.filter(
            item__in={one.hold.item_id for one in suspect}, spot__in={one.hold.from_spot_id for one in suspect}
        ).values_list("item_id", "spot_id", "amount")
    }
    found: dict[tuple[int, int], dict[str, Any]] = {}
    for one in sorted(suspect, key=lambda one: (one.hold.from_spot.place.walk_order, one.hold.pk)):
        hold, item = one.hold, one.hold.item
        found[hold.item_id, hold.from_spot_id] = {
            "place": hold.from_spot.place.code,
            "spot": hold.from_spot.name,
            "item": item.pk,
            "spot_id": hold.from_spot_id,
            "part": item.part.number,
            "lot": item.lot_code,
            "serial": item.serial_number,
            "tube": item.tube.number if item.tube else "",
            "on_books": books.get((hold.item_id, hold.from_spot_id), 0),
            "base": item.base,
        }
    return list(found.values())
