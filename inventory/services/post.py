"""Movements and the balances they change. Private to services: an open transaction is required, nothing is decided here."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import connection
from django.db.models import F, Sum

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.domain.places import PlaceKind
from inventory.domain.quantities import MAX_BASE_AMOUNT
from inventory.models import Act, Balance, CountedLine, Item, Movement, Place, SetBreak, Spot
from inventory.queries.days import shop_day
from inventory.queries.held import Thing
from inventory.queries.kept import KEPT_WAY_OUT, kept_at, kept_until, kept_words
from inventory.services.rows import insert

#: SQLite takes 32,766 parameters in a statement; eight to a row leave room.
CHUNK = 1000


@dataclass(frozen=True, slots=True)
class Move:
    """This whole positive amount of the item goes from one spot to another; `held` of it was held on the way out."""

    item: Item | Thing
    amount: int
    from_spot: Spot
    to_spot: Spot
    held: int = 0


def post(act: Act, moves: Sequence[Move]) -> None:
    """Write the movements of an act and keep the balances.

    Spots come with their place, items with their fields. Raises DomainError "not-there" when a real place does not hold
    enough that is free, now or, for an act that happened earlier than others already recorded, at any later moment; "counted-since" where a
    count that was made after that moment has booked the same already; "quantity-too-large" where more would come together than the books hold.
    """
    if not connection.in_atomic_block:
        raise RuntimeError("movements are posted inside the one transaction of a service")
    if not moves:
        return
    _refuse_known_singles(moves)
    if act.corrects_id is None and act.occurred_at < act.recorded_at:
        _refuse_counted_since(act, moves)
    if any(move.to_spot.place.kind == PlaceKind.SHELF for move in moves):
        act.laid_on_shelf = True
    insert(
        Movement._meta.db_table,
        ("act_id", "item_id", "amount", "from_spot_id", "to_spot_id"),
        [(act.pk, move.item.pk, move.amount, move.from_spot.pk, move.to_spot.pk) for move in moves],
    )
    out: dict[tuple[int, int], list[int]] = defaultdict(lambda: [0, 0])
    into: dict[tuple[int, int], int] = defaultdict(int)
    items = {move.item.pk: move.item for move in moves}
    spots = {spot.pk: spot for move in moves for spot in (move.from_spot, move.to_spot)}
    for move in moves:
        out[move.item.pk, move.from_spot.pk][0] += move.amount
        out[move.item.pk, move.from_spot.pk][1] += move.held
        into[move.item.pk, move.to_spot.pk] += move.amount
    _take_out(act, out, items, spots)
    _bring_in(act.occurred_at, into, items, spots)


def _refuse_counted_since(act: Act, moves: Sequence[Move]) -> None:
    """What is entered late may be what a count made since found: nine that were picked before, and are not there. Booked again it would be
    gone twice, so that count is taken back first. What came, and what was found over, likewise. One query."""
    out = {(move.item.pk, move.from_spot.pk): move.item for move in moves if _counted_at(move.from_spot, move.to_spot)}
    into = {(move.item.pk, move.to_spot.pk): move.item for move in moves if _counted_at(move.to_spot, move.from_spot)}
    pairs = {*out, *into}
    if not pairs:
        return
    rows = CountedLine.objects.filter(
        act__corrected_by__isnull=True,
        item__in={item for item, _ in pairs},
        spot__in={spot for _, spot in pairs},
        at__gt=act.occurred_at,
    ).exclude(on_books=F("counted"))
    for row in rows.select_related("spot__place").order_by("-at", "-pk"):
        pair = (row.item_id, row.spot_id)
        item = (out if row.counted < row.on_books else into).get(pair)
        if item is not None:
            raise DomainError(
                "counted-since",
                f"{_named(item).called} was counted at {row.spot.place.code} on {shop_day(row.at)}, after that moment: {row.counted} where the"
                f" books said {row.on_books}. That may be this.",
                ways_out=(
                    f"Take that count back (act {row.act_id}), and count anew afterwards.",
                    "Say when it really happened.",
                ),
                item=row.item_id,
                place=row.spot.place.code,
                count=row.act_id,
                since=row.at.isoformat(),
            )


def _counted_at(spot: Spot, other: Spot) -> bool:
    """Whether a count could have found it at that spot: a real place, and the movement is no count's own."""
    return spot.place.real and other.place.kind != PlaceKind.COUNT_DIFFERENCE


def _refuse_known_singles(moves: Sequence[Move]) -> None:
    """A thing with a serial that comes out of the books' own places must not stand in a real place already."""
    coming = {move.item.pk: move.item for move in moves if move.item.single and not move.from_spot.place.real}
    if not coming:
        return
    # The same thing may be received, counted or found at two sites at once, which share no other lock.
    locks.scarcer((), coming)
    _refuse_broken_whole(coming)
    found = (
        Balance.objects.filter(item_id__in=coming, single=True, real=True, amount__gt=0)
        .select_related("spot__place")
        .first()
    )
    if found is not None:
        item, spot = _named(coming[found.item_id]), found.spot
        raise DomainError(
            "serial-elsewhere",
            f"{item.called} is known already and stands at {spot.place.code}.",
            part=item.part.number,
            item=item.called,
            place=spot.place.code,
            spot=spot.name,
        )


def _refuse_broken_whole(coming: Mapping[int, Item | Thing]) -> None:
    """A broken set stays broken: it never comes back whole, by a delivery, a count or anything else."""
    whole = {item.serial_id: item for item in coming.values() if item.serial_id is not None and item.member == ""}
    broken = SetBreak.objects.filter(serial_id__in=whole).first()
    if broken is not None:
        item = _named(whole[broken.serial_id])
        raise DomainError(
            "set-broken",
            f"{item.called} was broken ({broken.said}) and stays broken.",
            part=item.part.number,
            item=item.called,
            damaged=broken.damaged,
        )


def hold_more(changes: Mapping[tuple[int, int], int], occurred_at: datetime) -> None:
    """Add to (or, below zero, take from) what is held at (item id, spot id). The caller has checked what is free."""
    _update([(item, spot, 0, change) for (item, spot), change in changes.items() if change], occurred_at)


def _take_out(
    act: Act, out: Mapping[tuple[int, int], Sequence[int]], items: Mapping[int, Item | Thing], spots: Mapping[int, Spot]
) -> None:
    real = {pair: value for pair, value in out.items() if spots[pair[1]].place.real}
    books = {pair: -value[0] for pair, value in out.items() if not spots[pair[1]].place.real}
    # Carts, benches and engines have no other lock in common: what is read here cannot change before it is written.
    rows = {(row.item_id, row.spot_id): row for row in locks.standings(real)}
    for (item_id, spot_id), (amount, held) in real.items():
        row = rows.get((item_id, spot_id))
        there, is_held = (row.amount, row.held) if row else (0, 0)
        if there - (is_held - held) < amount or is_held < held:
            raise _not_there(_named(items[item_id]), spots[spot_id], amount, there, is_held - held)
        if row is not None and act.occurred_at < row.last_at:
            _check_later_moments(act, _named(items[item_id]), spots[spot_id])
    _update([(item, spot, -value[0], -value[1]) for (item, spot), value in real.items()], act.occurred_at)
    _bring_in(act.occurred_at, books, items, spots)


def _named(item: Item | Thing) -> Item:
    return item.named() if isinstance(item, Thing) else item


def _not_there(item: Item, spot: Spot, amount: int, there: int, held: int) -> DomainError:
    where = spot.place.code if spot.name == "-" else f"{spot.place.code}, {spot.name}"
    kept = kept_at(item.pk, spot.pk) if held else None
    until = kept_until(kept) if kept else None
    for_jobs = held - (kept.amount if kept else 0)
    promised = f", {for_jobs} of them held for a job" if for_jobs else ""
    promised += f", {kept_words(kept, until)}" if kept else ""
    return DomainError(
        "not-there",
        f"{where} has {there} of {item.called}{promised}; {amount} were asked for.",
        ways_out=(KEPT_WAY_OUT,) if kept else (),
        kept=kept.amount if kept else 0,
        kept_until=until.isoformat() if until else None,
        place=spot.place.code,
        spot=spot.name,
        part=item.part.number,
        item=item.called,
        there=there,
        held=held,
        asked=amount,
    )


def _check_later_moments(act: Act, item: Item, spot: Spot) -> None:
    """An act that happened before others already recorded must not leave less than nothing at any later moment."""
    rows = Movement.objects.filter(item=item).select_related("act")
    steps: dict[datetime, int] = defaultdict(int)
    for row in rows.filter(to_spot=spot).values("act__occurred_at").annotate(total=Sum("amount")):
        steps[row["act__occurred_at"]] += row["total"]
    for row in rows.filter(from_spot=spot).values("act__occurred_at").annotate(total=Sum("amount")):
        steps[row["act__occurred_at"]] -= row["total"]
    level = 0
    for moment in sorted(steps):
        level += steps[moment]
        if level < 0 and moment >= act.occurred_at:
            raise DomainError(
                "backdated-below-zero",
                f"{item.called} was not at {spot.place.code} on {shop_day(act.occurred_at)}: "
                f"by {moment.isoformat()} the place would hold {level}.",
                part=item.part.number,
                item=item.called,
                place=spot.place.code,
                moment=moment.isoformat(),
                level=level,
            )


def _update(rows: Sequence[tuple[int, int, int, int]], occurred_at: datetime) -> None:
    """One set-based UPDATE for (item, spot, change of amount, change of held); every row exists."""
    later = "GREATEST" if connection.vendor == "postgresql" else "MAX"
    table = Balance._meta.db_table
    ordered = sorted(rows)
    for start in range(0, len(ordered), CHUNK):
        chunk = ordered[start : start + CHUNK]
        values = ", ".join(
            ["(CAST(%s AS bigint), CAST(%s AS bigint), CAST(%s AS bigint), CAST(%s AS bigint))"] * len(chunk)
        )
        with connection.cursor() as cursor:
            cursor.execute(
                f"UPDATE {table} SET amount = {table}.amount + d.amount, held = {table}.held + d.held,"
                f" last_at = {later}({table}.last_at, %s)"
                f" FROM (WITH v(item, spot, amount, held) AS (VALUES {values}) SELECT * FROM v) AS d"
                f" WHERE {table}.item_id = d.item AND {table}.spot_id = d.spot",
                [_moment(occurred_at), *(value for row in chunk for value in row)],
            )
            if cursor.rowcount != len(chunk):
                raise RuntimeError(f"{len(chunk) - cursor.rowcount} balances are missing")


def _moment(value: datetime) -> datetime | str:
    """The moment as the driver takes it in a raw statement (SQLite stores Django's own text form)."""
    return value if connection.vendor == "postgresql" else str(connection.ops.adapt_datetimefield_value(value))


def _bring_in(
    occurred_at: datetime,
    into: Mapping[tuple[int, int], int],
    items: Mapping[int, Item | Thing],
    spots: Mapping[int, Spot],
) -> None:
    """One upsert: the row is made when the item has never stood there."""
    later = "GREATEST" if connection.vendor == "postgresql" else "MAX"
    table = Balance._meta.db_table
    at = _moment(occurred_at)
    ordered = sorted(into.items())
    for start in range(0, len(ordered), CHUNK):
        chunk = ordered[start : start + CHUNK]
        values = ", ".join(["(%s, %s, %s, %s, %s, 0, %s, %s, %s, %s, %s)"] * len(chunk))
        parameters: list[Any] = []
        for (item_id, spot_id), amount in chunk:
            item, place = items[item_id], spots[spot_id].place
            parameters += [item_id, spot_id, place.pk, item.part_id, amount]
            parameters += [place.real, item.single, is_pickable(item, place), is_in_shop(place), at]
        with connection.cursor() as cursor:
            cursor.execute(
                f"INSERT INTO {table} (item_id, spot_id, place_id, part_id, amount, held, real, single, pickable, in_shop,"
                f" last_at) VALUES {values} ON CONFLICT (item_id, spot_id) DO UPDATE SET amount = {table}.amount + excluded.amount,"
                f" last_at = {later}({table}.last_at, excluded.last_at) RETURNING item_id, amount",
                parameters,
            )
            over = next((row for row in cursor.fetchall() if abs(row[1]) > MAX_BASE_AMOUNT), None)
        if over is not None:
            raise _too_much(_named(items[over[0]]), abs(over[1]))


def _too_much(item: Item, amount: int) -> DomainError:
    """Sums too are numbers that every reader of JSON holds exactly, whichever side of the books they stand on."""
    return DomainError(
        "quantity-too-large",
        f"With this the books would have {amount} of {item.called} in one place: more than they hold.",
        part=item.part.number,
        item=item.called,
        amount=str(amount),
    )


def is_pickable(item: Item | Thing, place: Place) -> bool:
    """On a shelf, and a thing a job may be promised: not one half of a broken set."""
    return place.kind == PlaceKind.SHELF and item.member == ""


def is_in_shop(place: Place) -> bool:
    """In a real place that is no engine: part of what is on hand."""
    return place.real and place.kind != PlaceKind.ENGINE
