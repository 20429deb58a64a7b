"""Where things have been: an item's movements, a matched set's or another serial's life. A lot: see `whereabouts`."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, NamedTuple

from inventory.domain.errors import DomainError
from inventory.domain.part_numbers import compare_key
from inventory.domain.places import PlaceKind, is_real, said_from, said_to
from inventory.models import Serial
from inventory.queries.by_hand import marks, moment, rows
from inventory.queries.catalogue import no_such
from inventory.queries.snapshot import snapshot
from inventory.queries.whereabouts import lot_whereabouts

__all__ = [
    "CoreWorth",
    "HoldOf",
    "MatchedAgain",
    "MemberAt",
    "SetHistory",
    "Step",
    "item_history",
    "lot_whereabouts",
    "set_history",
]


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
class MatchedAgain:
    """A member that went from a broken set (or from a part by itself) into a set that was matched again.

    part, serial   of the other end: where it came from, or the set that it went into; item_id: the thing as it was known before
    by, signed_by  who matched it, and the second person
    """

    member: str
    item_id: int
    part: str
    serial: str
    act_id: int
    at: datetime
    by: str
    signed_by: str


@dataclass(frozen=True, slots=True)
class CoreWorth:
    """What a broken set is worth as a core, as somebody decided; no coins: nothing."""

    value_coins: int | None
    act_id: int
    at: datetime
    by: str
    reason: str


@dataclass(frozen=True, slots=True)
class SetHistory:
    """The life of one serial number.

    whole      False once the set was broken; then it is said which member was damaged or missing, why, when, by whom, and where the
               photo is kept or why there is none
    now        where it stands, or where the members of a broken set stand; nothing for what was scrapped or given away
    steps      every movement, in order, the members' too
    made_of    of a set that was matched again: where each member came from; went_into: of a broken one, where its members are now
    core_values   decisions on its worth as a core, oldest first: the last one counts
    """

    serial_id: int
    serial: str
    part: str
    is_set: bool
    whole: bool
    damaged: str
    missing: tuple[str, ...]
    broken_why: str
    photo: str
    no_photo: str
    broken_at: datetime | None
    broken_by: str
    now: tuple[MemberAt, ...]
    steps: tuple[Step, ...]
    holds: tuple[HoldOf, ...]
    made_of: tuple[MatchedAgain, ...]
    went_into: tuple[MatchedAgain, ...]
    core_values: tuple[CoreWorth, ...]


def item_history(item_ids: Iterable[int]) -> tuple[Step, ...]:
    """Every movement of these items, in the order in which they happened. One query."""
    wanted = list(item_ids)
    return _steps(f"m.item_id IN ({marks(len(wanted))})", wanted) if wanted else ()


def set_history(part_number: str | None, serial: str) -> SetHistory:
    """Where a matched set, or anything else with a serial number, has been and is. Five queries.

    part_number   None: of any part. The number is looked up as printed, then forgiving of case, spaces and dashes.
    Raises DomainError "not-found"; "serial-ambiguous" (values: parts) when several parts have that number.
    """
    with snapshot():
        found = _serial(part_number, serial)
        made_of, went_into, core_values = _beside(found.pk)
        return SetHistory(
            serial_id=found.pk,
            serial=found.number,
            part=found.part,
            is_set=found.is_set,
            whole=found.broken_at is None,
            damaged=found.damaged or "",
            missing=tuple((found.missing or "").split()),
            broken_why=found.broken_why or "",
            photo=found.photo or "",
            no_photo=found.no_photo or "",
            broken_at=moment(found.broken_at),
            broken_by=found.broken_by or "",
            now=_now(found.pk),
            steps=_steps("i.serial_id = %s", [found.pk]),
            holds=_holds(found.pk),
            made_of=made_of,
            went_into=went_into,
            core_values=core_values,
        )


class _Serial(NamedTuple):
    """A serial number; the last seven are empty while it is whole."""

    pk: int
    number: str
    part: str
    is_set: bool
    damaged: str | None
    missing: str | None
    photo: str | None
    no_photo: str | None
    broken_why: str | None
    broken_at: datetime | None
    broken_by: str | None


_SERIALS = """
    SELECT r.id, r.number, p.number, m.serial_id IS NOT NULL, k.damaged, k.missing, k.photo_ref, k.no_photo,
           k.why, a.occurred_at, u.username
    FROM inventory_serial r
    JOIN inventory_part p ON p.id = r.part_id
    LEFT JOIN inventory_matchedset m ON m.serial_id = r.id
    LEFT JOIN inventory_setbreak k ON k.serial_id = r.id
    LEFT JOIN inventory_act a ON a.id = k.act_id
    LEFT JOIN inventory_person u ON u.id = a.actor_id
    WHERE r.compare_key = %s"""


def _no_such_serial(part_number: str | None, text: str) -> DomainError:
    """The refusal "not-found" of a serial number, with those that were probably meant. One query."""
    known = Serial.objects.filter(part__number=part_number) if part_number else Serial.objects.all()
    what = f"serial number of {part_number}" if part_number else "serial number"
    return no_such(what, text, known.values_list("number", flat=True), value="serial")


def _serial(part_number: str | None, text: str) -> _Serial:
    try:
        key = compare_key(text)
    except DomainError as error:
        raise _no_such_serial(part_number, text) from error
    read = [_Serial(*row)._replace(is_set=bool(row[3])) for row in rows(_SERIALS, [key])]
    found = sorted((row for row in read if part_number in (None, row.part)), key=lambda row: (row.part, row.number))
    exact = [row for row in found if row.number == text]
    if not found:
        raise _no_such_serial(part_number, text)
    if len(exact or found) > 1:
        said = [f"{row.part} {row.number}" for row in exact or found]
        raise DomainError(
            "serial-ambiguous",
            f"{text[:60]} is the serial number of {', '.join(said)}.",
            ways_out=("Say which part.",),
            serial=text[:60],
            parts=[row.part for row in exact or found],
        )
    return (exact or found)[0]


#: By hand, as the holds below: the statement costs more to compose than to run.
_STEPS = """
    SELECT m.item_id, i.member, m.act_id, a.kind, a.subject, a.occurred_at, a.recorded_at, u.username, a.reason,
           fp.code, fs.name, fp.kind, tp.code, ts.name, tp.kind, m.amount, a.corrects_id, c.id
    FROM inventory_movement m
    JOIN inventory_item i ON i.id = m.item_id
    JOIN inventory_act a ON a.id = m.act_id
    JOIN inventory_person u ON u.id = a.actor_id
    JOIN inventory_spot fs ON fs.id = m.from_spot_id
    JOIN inventory_place fp ON fp.id = fs.place_id
    JOIN inventory_spot ts ON ts.id = m.to_spot_id
    JOIN inventory_place tp ON tp.id = ts.place_id
    LEFT JOIN inventory_act c ON c.corrects_id = a.id
    WHERE {} ORDER BY a.occurred_at, m.id"""


def _steps(where: str, parameters: Sequence[int]) -> tuple[Step, ...]:
    return tuple(_step(row) for row in rows(_STEPS.format(where), parameters))


def _step(row: Sequence[Any]) -> Step:
    *head, from_place, from_spot, from_kind, to_place, to_spot, to_kind, amount, corrects, corrected_by = row
    head[5:7] = moment(head[5]), moment(head[6])
    origin, target = PlaceKind(from_kind), PlaceKind(to_kind)
    sides: list[Any] = []
    for kind, place, spot in ((origin, from_place, from_spot), (target, to_place, to_spot)):
        sides += [place, spot] if is_real(kind) else ["", ""]
    back = corrects is not None
    said = [said_from(origin, taken_back=back), said_to(target, taken_back=back)]
    words = "; ".join(word for word in said if word)
    values: list[Any] = [*head, *sides, words, amount, corrects, corrected_by]
    return Step(*values)


_HOLDS = """
    SELECT h.id, h.act_id, a.occurred_at, u.username, a.subject, p.code, h.needed_on, e.how, x.occurred_at, e.why
    FROM inventory_hold h
    JOIN inventory_act a ON a.id = h.act_id
    JOIN inventory_person u ON u.id = a.actor_id
    JOIN inventory_spot s ON s.id = h.to_spot_id
    JOIN inventory_place p ON p.id = s.place_id
    LEFT JOIN inventory_holdend e ON e.hold_id = h.id
    LEFT JOIN inventory_act x ON x.id = e.act_id
    WHERE h.item_id IN (SELECT id FROM inventory_item WHERE serial_id = %s) ORDER BY h.id"""


def _holds(serial: int) -> tuple[HoldOf, ...]:
    found = []
    for *head, made_at, by, subject, cart, needed_on, how, ended_at, why in rows(_HOLDS, [serial]):
        said: list[Any] = [*head, moment(made_at), by, subject, cart, needed_on, how or "", moment(ended_at), why or ""]
        found.append(HoldOf(*said))
    return tuple(found)


_MATCHED = """
    SELECT {column}, x.member, x.item_id, n.number, COALESCE(r.number, ''), a.id, a.occurred_at, u.username, s.username, CAST(NULL AS bigint), ''
    FROM inventory_setmatchmember x
    JOIN inventory_setmatch t ON t.serial_id = x.match_id
    JOIN inventory_item i ON i.id = x.item_id
    {other}
    JOIN inventory_part n ON n.id = r.part_id
    JOIN inventory_act a ON a.id = t.act_id
    JOIN inventory_person u ON u.id = a.actor_id
    JOIN inventory_person s ON s.id = t.signed_by_id
    WHERE {mine} = %s AND NOT EXISTS (SELECT 1 FROM inventory_act c WHERE c.corrects_id = a.id)"""
#: What stands beside a serial, in one statement: what it was made of, what its members went into, what it is worth as a core.
_BESIDE = " UNION ALL ".join(
    (
        _MATCHED.format(column="0", other="JOIN inventory_serial r ON r.id = i.serial_id", mine="x.match_id"),
        _MATCHED.format(column="1", other="JOIN inventory_serial r ON r.id = x.match_id", mine="i.serial_id"),
        """SELECT 2, '', NULL, '', '', a.id, a.occurred_at, u.username, '', v.value_coins, a.reason
    FROM inventory_corevalue v JOIN inventory_act a ON a.id = v.act_id JOIN inventory_person u ON u.id = a.actor_id
    WHERE v.serial_id = %s""",
    )
)
_Links = tuple[MatchedAgain, ...]


def _beside(serial: int) -> tuple[_Links, _Links, tuple[CoreWorth, ...]]:
    links: tuple[list[MatchedAgain], list[MatchedAgain]] = ([], [])
    worth = []
    for which, member, item, part, number, act, at, by, signed_by, coins, reason in rows(_BESIDE, [serial] * 3):
        when: Any = moment(at)
        if which == 2:
            worth.append(CoreWorth(coins, act, when, by, reason))
        else:
            links[which].append(MatchedAgain(member, item, part, number, act, when, by, signed_by))
    made_of, went_into = (tuple(sorted(found, key=lambda one: (one.act_id, one.member))) for found in links)
    return made_of, went_into, tuple(sorted(worth, key=lambda one: one.act_id))


_NOW = """
    SELECT b.item_id, i.member, p.code, p.kind, s.name
    FROM inventory_balance b
    JOIN inventory_item i ON i.id = b.item_id
    JOIN inventory_place p ON p.id = b.place_id
    JOIN inventory_spot s ON s.id = b.spot_id
    WHERE i.serial_id = %s AND b.real AND b.amount > 0"""


def _now(serial: int) -> tuple[MemberAt, ...]:
    """Where it stands, by member (sorted here: two databases sort texts in two ways)."""
    return tuple(sorted((MemberAt(*row) for row in rows(_NOW, [serial])), key=lambda one: one.member))
