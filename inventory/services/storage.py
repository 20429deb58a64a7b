"""What places offer, and the log of their temperatures: entries are added and withdrawn, never changed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import datetime

from inventory import locks
from inventory.domain.articles import a
from inventory.domain.errors import DomainError, ManyErrors
from inventory.domain.product_sheets import read_temperature
from inventory.domain.storage import read_range, unusable, word
from inventory.models import Act, Person, PlaceStorage, TemperatureReading, TemperatureWithdrawal
from inventory.services import things
from inventory.services.run import Body, Done, Stamp, run
from inventory.services.storing import STORES

MOST_CLASSES = 40


@dataclass(frozen=True, slots=True)
class TemperatureIn:
    """One reading of the log: when, the temperature as typed with its unit, which thermometer or recorder."""

    at: datetime
    value: str
    thermometer: str


def offer_storage(
    *,
    actor: Person,
    stamp: Stamp,
    place: str,
    spot: str = "",
    classes: Sequence[str] = (),
    low: str = "",
    high: str = "",
    note: str = "",
) -> Done:
    """Say what a place, or one spot of it, offers: storage classes, and between which temperatures it stays. The newest word counts.

    What lies there already is not moved by it. Outcome: {"place", "spot", "classes", "low_mk", "high_mk", "note"}.
    Raises "not-found", "wrong-place", "nothing-given", "storage-unusable".
    """

    def work(act: Act) -> Body:
        its = things.place(place)
        if its.kind not in STORES:
            raise DomainError("wrong-place", f"{place} is {a(its.kind)}: nothing is stored there.", place=place)
        if len(classes) > MOST_CLASSES:
            raise unusable(f"{len(classes)} classes; at most {MOST_CLASSES} are kept")
        words = sorted({word(one, "class") for one in classes} - {""})
        lowest, highest = read_range(low, high)
        if not words and lowest is None and highest is None:
            raise DomainError("nothing-given", f"What does {place} offer?", place=place)
        PlaceStorage.objects.create(
            act=act, place=its, spot=spot, classes=words, low_mk=lowest, high_mk=highest, note=note
        )
        return {"place": place, "spot": spot, "classes": words, "low_mk": lowest, "high_mk": highest, "note": note}

    request = {"place": place, "spot": spot, "classes": sorted(classes), "low": low, "high": high, "note": note}
    return run("offer storage", work, actor=actor, stamp=stamp, request=request, subject=place[:80])


def log_temperatures(*, actor: Person, stamp: Stamp, place: str, readings: Sequence[TemperatureIn]) -> Done:
    """Add readings to the log of a place: all or none. None is of a time after the act.

    Outcome: {"place", "readings": [{"id", "at", "value_mk"}]}. Raises "not-found", "wrong-place", "nothing-given"; ManyErrors
    "storage-unusable" (no thermometer, a time to come), those of amounts.
    """

    def work(act: Act) -> Body:
        if not readings:
            raise DomainError("nothing-given", "No temperature was given.")
        its = things.place(place)
        if its.kind not in STORES:
            raise DomainError("wrong-place", f"{place} is {a(its.kind)}: nothing is stored there.", place=place)
        rows, errors = [], []
        for number, one in enumerate(readings, 1):
            try:
                rows.append(_read(act, its.pk, one))
            except DomainError as error:
                errors.append((number, error))
        if errors:
            raise ManyErrors(tuple(errors))
        TemperatureReading.objects.bulk_create(rows)
        return {
            "place": place,
            "readings": [{"id": row.pk, "at": row.at.isoformat(), "value_mk": row.value_mk} for row in rows],
        }

    request = {"place": place, "readings": [asdict(one) for one in readings]}
    return run("log temperatures", work, actor=actor, stamp=stamp, request=request, subject=place[:80])


def _read(act: Act, place: int, one: TemperatureIn) -> TemperatureReading:
    if not one.thermometer.strip():
        raise unusable("it names no thermometer or recorder")
    if one.at > act.occurred_at:
        raise unusable(f"{one.at.isoformat()} is after the act")
    return TemperatureReading(
        act=act, place_id=place, at=one.at, value_mk=read_temperature(one.value), typed=one.value[:40],
        thermometer=one.thermometer,
    )  # fmt: skip


def withdraw_temperature(*, actor: Person, stamp: Stamp, reading: int, reason: str) -> Done:
    """A reading of a log was wrong: it stays with the reason, and never counted; notes that rested on it are gone, a gap may open.

    Outcome: {"reading", "reason"}. Raises "not-found", "withdrawn-already", "reason-missing".
    """

    def work(act: Act) -> Body:
        if not reason.strip():
            raise DomainError("reason-missing", f"Why does reading {reading} not count?")
        locks.name("temperature", str(reading))
        row = TemperatureReading.objects.filter(pk=reading).select_related("withdrawal").first()
        if row is None:
            raise DomainError("not-found", f"There is no reading {reading} of a temperature.", reading=reading)
        end = getattr(row, "withdrawal", None)
        if end is not None:
            raise DomainError("withdrawn-already", f"Reading {reading} was withdrawn: {end.reason}", reading=reading)
        TemperatureWithdrawal.objects.create(reading=row, act=act, reason=reason)
        return {"reading": reading, "reason": reason}

    request = {"reading": reading, "reason": reason}
    return run("withdraw temperature", work, actor=actor, stamp=stamp, request=request, reason=reason)
