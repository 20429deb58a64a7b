"""Layouts that were accepted, newest first, each with why it does not hold any more; and what of them binds the bench."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from inventory.models import Balance, SetBreak
from inventory.queries.stock import stopped_items
from kits.domain.bench import unknown_liner
from kits.domain.engine_map import EngineMap
from kits.domain.layout_picture import Standing
from kits.models import AcceptedLayout, Job, JobChoice, JobHold, LayoutPlace
from kits.queries.read_again import Again
from kits.queries.results import rendered, results

KIND, SUBJECT = "layout", "ENGINE"


@dataclass(frozen=True, slots=True)
class SetPlace:
    """A set of an accepted layout at its bore."""

    position: str
    serial: str
    turn_deg: int
    shim_nm: int


@dataclass(frozen=True, slots=True)
class Accepted:
    """One accepted layout. `withdrawn`: why it was taken back, empty while it was not; `why`: why it does not hold any more;
    `again`: those of these reasons that are readings taken anew, or cuts; `kept`: the liners that stay, "" for a set that nobody knows."""

    id: int
    places: tuple[SetPlace, ...]
    doubtful: bool
    reason: str
    document: Mapping[str, Any]
    at: datetime
    by: str
    act_id: int
    readings: tuple[int, ...]
    withdrawn: str
    why: tuple[str, ...]
    again: tuple[Again, ...] = ()
    kept: tuple[SetPlace, ...] = ()

    def again_at(self, position: str) -> str:
        """Why its verdict on one bore is to be judged again: the bore or its set was read anew, or cut; "" where it was not."""
        serial = next((one.serial for one in (*self.places, *self.kept) if one.position == position), "")
        return "; ".join(one.text for one in self.again if one.about(position, serial))

    @property
    def stands(self) -> bool:
        """Whether it binds the bench: neither taken back nor stale."""
        return not self.withdrawn and not self.why


def layouts_of(job: Job) -> tuple[Accepted, ...]:
    """Accepted layouts of a job, newest first. One query where there is none, twelve at most."""
    rows = list(
        AcceptedLayout.objects.filter(result__job=job)
        .select_related("withdrawal", "act__actor")
        .prefetch_related("places__serial")
        .order_by("-pk")
    )
    if not rows:
        return ()
    kept = {one.id: one for one in rendered(list(results().filter(pk__in=[row.pk for row in rows]).order_by("pk")))}
    sets = lost_sets(job, {place.serial_id: place.serial.number for row in rows for place in row.places.all()})
    found = []
    for row in rows:
        end = getattr(row, "withdrawal", None)
        places: Sequence[LayoutPlace] = sorted(row.places.all(), key=lambda one: one.pk)
        result = kept[row.pk]
        found.append(
            Accepted(
                id=row.pk,
                places=tuple(SetPlace(one.position, one.serial.number, one.turn_deg, one.shim_nm) for one in places),
                doubtful=row.doubtful,
                reason=row.reason,
                document=result.document,
                at=row.act.occurred_at,
                by=row.act.actor.username,
                act_id=row.act_id,
                readings=result.readings,
                withdrawn=end.reason if end is not None else "",
                why=(*result.why, *(sets[one.serial_id] for one in places if one.serial_id in sets)),
                again=result.again,
                kept=_kept(result.document),
            )
        )
    return tuple(found)


def _kept(document: Mapping[str, Any]) -> tuple[SetPlace, ...]:
    found = []
    for row in document["bores"]:
        if row["stays"]:
            known = row["serial"] != unknown_liner(row["position"].partition("/")[0])
            found.append(SetPlace(row["position"], row["serial"] if known else "", row["turn_deg"], row["shim_nm"]))
    return tuple(found)


def lost_sets(job: Job, serials: Mapping[int, str]) -> dict[int, str]:
    """Which of these sets (by id of the serial) cannot be fitted by a layout any more, and why. Four queries."""
    broken = set(SetBreak.objects.filter(serial__in=serials).values_list("serial_id", flat=True))
    held = set(JobHold.objects.filter(job=job, hold__end__isnull=True).values_list("hold__item_id", flat=True))
    here = {job.cart_id, job.bench_id, job.engine.place_id}
    rows = Balance.objects.filter(item__serial__in=serials, item__member="", real=True, amount__gt=0)
    at = {serial: (item, place) for serial, item, place in rows.values_list("item__serial_id", "item_id", "place_id")}
    stopped = stopped_items([item for item, _ in at.values()])
    found = {}
    for serial, number in serials.items():
        item, place = at.get(serial, (0, 0))
        if serial in broken:
            found[serial] = f"set {number} is broken"
        elif item in stopped:
            found[serial] = f"set {number} is stopped"
        elif place not in here and item not in held:
            found[serial] = f"set {number} is not with the job any more, and not held for it"
    return found


@dataclass(frozen=True, slots=True)
class Binding:
    """What the newest layout binds at the bench. `why` it may not be fitted by; empty: it may; `kept`: liners that stay in their bores; `ring_nm`: base ring
    under every liner, 0 for none."""

    places: Mapping[str, SetPlace]
    why: tuple[str, ...]
    kept: Mapping[str, SetPlace] = field(default_factory=dict)
    ring_nm: int = 0

    def turn_back(self, position: str, serial: str) -> int | None:
        """How far from how it stood the old liner of a bore goes back by it; None where it says nothing of it, or does not hold."""
        place = self.kept.get(position)
        return place.turn_deg if place is not None and not self.why and place.serial in ("", serial) else None

    def of(self, position: str, serial: str) -> SetPlace | None:
        """The place in the layout of a bore, or of a set that is taken to another one."""
        there = self.places.get(position)
        return there or next((one for one in self.places.values() if serial and one.serial == serial), None)


def binding_of(job: Job) -> Binding | None:
    """The newest layout, without the bores for which a person said something later; None where none was accepted. One query then."""
    found = layouts_of(job)
    if not found:
        return None
    newest = found[0]
    later = set(
        JobChoice.objects.filter(job=job, choice=JobChoice.BORE, act_id__gt=newest.act_id).values_list(
            "place", flat=True
        )
    )
    why = (f"it was taken back: {newest.withdrawn}",) if newest.withdrawn else newest.why
    places, kept = (
        {one.position: one for one in rows if one.position not in later} for rows in (newest.places, newest.kept)
    )
    return Binding(places, why, kept, newest.document["ring_nm"])


def standing_of(engine_map: EngineMap) -> Standing:
    """How the engine stands before the technician: the front is nearest to the first or to the last bore of each head."""
    first = engine_map.numbering_end == engine_map.front
    nearest = tuple(min(numbers) if first else max(numbers) for _, numbers in engine_map.banks)
    return Standing(f"at the {engine_map.numbering_end}", engine_map.front, nearest)
