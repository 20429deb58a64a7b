"""What places offer, what lies there, the log of their temperatures, and what the log says of a lot."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import asdict
from datetime import datetime, timedelta
from typing import Any

from inventory.domain.errors import DomainError
from inventory.domain.storage import RULES, Needs, Offer, degrees, read_needs
from inventory.domain.temperature_log import Logged, StorageNote, notes_on, stays_of
from inventory.models import (
    Balance,
    Lot,
    Movement,
    Part,
    Place,
    PlaceStorage,
    Spot,
    StorageCheck,
    StorageWord,
    TemperatureReading,
)
from inventory.queries.catalogue import place as place_by_code
from inventory.queries.shop import shop


def needs_of(part: Part) -> Needs:
    """What a part needs where it lies."""
    return read_needs(part.storage) if part.storage else Needs()


def offers_at(spots: Iterable[Spot]) -> dict[int, Offer | None]:
    """Spot → what it offers: its own word, else its place's; None: nobody said. One query."""
    wanted = {spot.pk: spot for spot in spots}
    rows = PlaceStorage.objects.filter(place_id__in={one.place_id for one in wanted.values()}).order_by("pk")
    newest = {(row.place_id, row.spot): Offer(frozenset(row.classes), row.low_mk, row.high_mk) for row in rows}
    return {pk: newest.get((spot.place_id, spot.name), newest.get((spot.place_id, ""))) for pk, spot in wanted.items()}


def lying_at(place_ids: Collection[int]) -> dict[int, list[Part]]:
    """Place → the parts that lie there and say something of their storage. Two queries."""
    ids: dict[int, list[int]] = defaultdict(list)
    rows = Balance.objects.filter(place_id__in=place_ids, amount__gt=0).exclude(part__storage={})
    for place, part in rows.order_by("place_id", "part_id").values_list("place_id", "part_id").distinct():
        ids[place].append(part)
    parts = Part.objects.in_bulk({part for those in ids.values() for part in those})
    return {place: [parts[part] for part in those] for place, those in ids.items()}


def storage_of(code: str) -> dict[str, Any]:
    """What a place and its spots were said to offer, the newest of each first and marked. Three queries; DomainError "not-found"."""
    its = place_by_code(code)
    seen: set[str] = set()
    said = []
    for row in PlaceStorage.objects.filter(place=its).select_related("act__actor").order_by("-pk"):
        said.append(
            {
                "spot": row.spot,
                "classes": row.classes,
                "low_mk": row.low_mk,
                "high_mk": row.high_mk,
                "low": "" if row.low_mk is None else degrees(row.low_mk),
                "high": "" if row.high_mk is None else degrees(row.high_mk),
                "note": row.note,
                "by": row.act.actor.username,
                "since": row.act.occurred_at,
                "counts": row.spot not in seen,
            }
        )
        seen.add(row.spot)
    return {"place": code, "offers": said}


def temperatures_of(code: str) -> dict[str, Any]:
    """The log of a place, the newest first, withdrawn readings too. Two queries; DomainError "not-found"."""
    its = place_by_code(code)
    rows = (
        TemperatureReading.objects.filter(place=its).select_related("act__actor", "withdrawal").order_by("-at", "-pk")
    )
    return {
        "place": code,
        "readings": [
            {
                "id": row.pk,
                "at": row.at,
                "value_mk": row.value_mk,
                "typed": row.typed,
                "thermometer": row.thermometer,
                "by": row.act.actor.username,
                "withdrawn": row.withdrawal.reason if getattr(row, "withdrawal", None) else "",
            }
            for row in rows
        ],
    }


def storage_notes(lot_ids: Collection[int], now: datetime) -> dict[int, tuple[StorageNote, ...]]:
    """Lot → what the logs of the places where it lay say of it, as of a moment; lots without a note are left out.

    Five queries at most, one where no place keeps a log or no lot was asked for.
    """
    logs: dict[int, list[Logged]] = defaultdict(list)
    rows = TemperatureReading.objects.filter(withdrawal__isnull=True, at__lte=now).order_by("at", "pk")
    for pk, place, at, value in rows.values_list("pk", "place_id", "at", "value_mk") if lot_ids else ():
        logs[place].append(Logged(pk, at, value))
    if not logs:
        return {}
    codes = dict(Place.objects.filter(pk__in=logs).values_list("pk", "code"))
    moves = _moves(lot_ids, logs, now)
    longest = timedelta(hours=shop().temperature_hours)
    named = {codes[place]: log for place, log in logs.items()}
    found: dict[int, tuple[StorageNote, ...]] = {}
    for lot in Lot.objects.filter(pk__in=moves).select_related("part"):
        here = [(at, codes[place], amount) for at, place, amount in moves[lot.pk]]
        if notes := notes_on(stays_of(here), named, needs_of(lot.part), longest, now):
            found[lot.pk] = notes
    return found


def _moves(
    lot_ids: Collection[int], places: Collection[int], now: datetime
) -> dict[int, list[tuple[datetime, int, int]]]:
    """Lot → what of it came to these places and went (below zero). What was taken back counts as if it had not been. One query."""
    columns = ("item__lot_id", "act__occurred_at", "from_spot__place_id", "to_spot__place_id", "amount")
    rows = Movement.objects.filter(
        item__lot_id__in=lot_ids,
        act__occurred_at__lte=now,
        act__corrected_by__isnull=True,
        act__corrects__isnull=True,
    )
    found: dict[int, list[tuple[datetime, int, int]]] = defaultdict(list)
    for lot, at, left, came, amount in rows.order_by("pk").values_list(*columns):
        if left in places:
            found[lot].append((at, left, -amount))
        if came in places:
            found[lot].append((at, came, amount))
    return found


def lot_storage(lot_id: int, now: datetime) -> dict[str, Any]:
    """How a lot is stored and was: the rule of its kind, what its part needs, notes by the logs, words at putting it somewhere, what
    counts found. Nine queries at most; DomainError "not-found"."""
    lot = Lot.objects.filter(pk=lot_id).select_related("part").first()
    if lot is None:
        raise DomainError("not-found", f"There is no lot {lot_id}.", lot=lot_id)
    needs = needs_of(lot.part)
    words = StorageWord.objects.filter(item__lot=lot, act__corrected_by__isnull=True)
    return {
        "lot_id": lot.pk,
        "lot": lot.code,
        "part": lot.part.number,
        "rule": RULES.get(lot.part.kind, ""),
        "needs": {
            "class": needs.store_class,
            "low": "" if needs.low_mk is None else degrees(needs.low_mk),
            "high": "" if needs.high_mk is None else degrees(needs.high_mk),
            "group": needs.group,
            "apart_from": sorted(needs.apart_from),
        },
        "notes": said(storage_notes([lot.pk], now).get(lot.pk, ())),
        "words": [
            {
                "at": row.act.occurred_at,
                "by": row.act.actor.username,
                "place": row.spot.place.code,
                "spot": row.spot.name,
                "asked": row.asked,
                "word": row.word,
            }
            for row in words.select_related("act__actor", "spot__place").order_by("pk")
        ],
        "checks": [
            {
                "at": row.act.occurred_at,
                "by": row.act.actor.username,
                "place": row.spot.place.code,
                "spot": row.spot.name,
                "wrong": row.wrong,
                "set_aside": row.set_aside,
            }
            for row in StorageCheck.objects.filter(item__lot=lot, act__corrected_by__isnull=True)
            .select_related("act__actor", "spot__place")
            .order_by("pk")
        ],
    }


def said(notes: Sequence[StorageNote]) -> list[dict[str, Any]]:
    """Notes as plain values."""
    return [asdict(one) | {"readings": list(one.readings)} for one in notes]
