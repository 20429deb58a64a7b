"""Where things have been: an item's movements, a matched set's or another serial's life. A lot: see `whereabouts`."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db.models import QuerySet

from inventory.domain.errors import DomainError
from inventory.domain.part_numbers import compare_key
from inventory.domain.places import SAID_FROM, SAID_TO, PlaceKind, is_real
from inventory.models import Balance, Hold, Movement, Serial
from inventory.queries.whereabouts import lot_whereabouts

__all__ = ["HoldOf", "MemberAt", "SetHistory", "Step", "item_history", "lot_whereabouts", "set_history"]


@dataclass(frozen=True, slots=True)
class Step:
    """One movement of an item, as a person is told.

    said       "received from the supplier", "scrapped", … where one side is only our books' own; empty between real places
    from_place, to_place   codes of real places, empty where there is none
    corrects   act that this one took back; corrected_by: act that took this one back (both stay visible)
    """

    item_id: int
    member: str
    act_id: int
    kind: str
    subject: str
    occurred_at: datetime
    recorded_at: datetime
    by: str
    reason: str
    from_place: str
    from_spot: str
    to_place: str
    to_spot: str
    said: str
    amount: int
    corrects: int | None
    corrected_by: int | None


@dataclass(frozen=True, slots=True)
class HoldOf:
    """A hold that a thing had: for which cart, needed when, and how it ended (empty: it is held now)."""

    hold_id: int
    act_id: int
    made_at: datetime
    by: str
    subject: str
    cart: str
    needed_on: date
    ended: str
    ended_at: datetime | None
    why: str


@dataclass(frozen=True, slots=True)
class MemberAt:
    """Where a serial, or a member of a broken set, stands now; `member` is empty for the whole."""

    item_id: int
    member: str
    place: str
    kind: str
    spot: str


@dataclass(frozen=True, slots=True)
class SetHistory:
    """The life of one serial number.

    whole      False once the set was broken; then `broken` says which member was damaged, why, when, by whom
    now        where it stands, or where the members of a broken set stand; nothing for what was scrapped or given away
    steps      every movement, in order, the members' too
    """

    serial_id: int
    serial: str
    part: str
    is_set: bool
    whole: bool
    damaged: str
    broken_why: str
    broken_at: datetime | None
    broken_by: str
    now: tuple[MemberAt, ...]
    steps: tuple[Step, ...]
    holds: tuple[HoldOf, ...]


def item_history(item_ids: Iterable[int]) -> tuple[Step, ...]:
    """Every movement of these items, in the order in which they happened. One query."""
    return _steps(Movement.objects.filter(item__in=list(item_ids)))


def set_history(part_number: str | None, serial: str) -> SetHistory:
    """Where a matched set, or anything else with a serial number, has been and is. Four queries.

    part_number   None: of any part. The number is looked up as printed, then forgiving of case, spaces and dashes.
    Raises DomainError "not-found"; "serial-ambiguous" (values: parts) when several parts have that number.
    """
    found = _serial(part_number, serial)
    broken = getattr(found, "broken", None)
    return SetHistory(
        serial_id=found.pk,
        serial=found.number,
        part=found.part.number,
        is_set=hasattr(found, "matched_set"),
        whole=broken is None,
        damaged=broken.damaged if broken else "",
        broken_why=broken.why if broken else "",
        broken_at=broken.act.occurred_at if broken else None,
        broken_by=broken.act.actor.username if broken else "",
        now=_now(found),
        steps=_steps(Movement.objects.filter(item__serial=found)),
        holds=_holds(found),
    )


def _serial(part_number: str | None, text: str) -> Serial:
    try:
        key = compare_key(text)
    except DomainError as error:
        raise DomainError("not-found", f"There is no serial number {text[:60]!r}.", serial=text[:60]) from error
    rows = Serial.objects.filter(compare_key=key)
    if part_number is not None:
        rows = rows.filter(part__number=part_number)
    found = list(rows.select_related("part", "matched_set", "broken__act__actor").order_by("part__number", "number"))
    exact = [row for row in found if row.number == text]
    if not found:
        of = f" of {part_number}" if part_number else ""
        raise DomainError("not-found", f"There is no serial number {text[:60]}{of}.", serial=text[:60])
    if len(exact or found) > 1:
        said = [f"{row.part.number} {row.number}" for row in exact or found]
        raise DomainError(
            "serial-ambiguous",
            f"{text[:60]} is the serial number of {', '.join(said)}.",
            ways_out=("Say which part.",),
            serial=text[:60],
            parts=[row.part.number for row in exact or found],
        )
    return (exact or found)[0]


def _steps(rows: QuerySet[Movement]) -> tuple[Step, ...]:
    values = rows.order_by("act__occurred_at", "pk").values_list(
        "item_id",
        "item__member",
        "act_id",
        "act__kind",
        "act__subject",
        "act__occurred_at",
        "act__recorded_at",
        "act__actor__username",
        "act__reason",
        "from_spot__place__code",
        "from_spot__name",
        "from_spot__place__kind",
        "to_spot__place__code",
        "to_spot__name",
        "to_spot__place__kind",
        "amount",
        "act__corrects_id",
        "act__corrected_by__pk",
    )
    return tuple(_step(row) for row in values)


def _step(row: Sequence[Any]) -> Step:
    *head, from_place, from_spot, from_kind, to_place, to_spot, to_kind, amount, corrects, corrected_by = row
    origin, target = PlaceKind(from_kind), PlaceKind(to_kind)
    sides: list[Any] = []
    for kind, place, spot in ((origin, from_place, from_spot), (target, to_place, to_spot)):
        sides += [place, spot] if is_real(kind) else ["", ""]
    said = [SAID_FROM.get(origin, ""), SAID_TO.get(target, "")]
    words = "; ".join(word for word in said if word)
    values: list[Any] = [*head, *sides, words, amount, corrects, corrected_by]
    return Step(*values)


def _holds(serial: Serial) -> tuple[HoldOf, ...]:
    values = (
        Hold.objects.filter(item__serial=serial)
        .order_by("pk")
        .values_list(
            "pk",
            "act_id",
            "act__occurred_at",
            "act__actor__username",
            "act__subject",
            "to_spot__place__code",
            "needed_on",
            "end__how",
            "end__act__occurred_at",
            "end__why",
        )
    )
    return tuple(HoldOf(*row[:7], row[7] or "", row[8], row[9] or "") for row in values)


def _now(serial: Serial) -> tuple[MemberAt, ...]:
    values = (
        Balance.objects.filter(item__serial=serial, real=True, amount__gt=0)
        .order_by("item__member")
        .values_list("item_id", "item__member", "place__code", "place__kind", "spot__name")
    )
    return tuple(MemberAt(*row) for row in values)
