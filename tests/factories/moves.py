"""Acts that only move things, and small engines and kits: for tests of what the books say afterwards."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta

from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.domain.items import identity
from inventory.domain.places import PlaceKind
from inventory.models import Act, Item, KitContent, KitRevision, Lot, Part, Person, Place, Serial, Spot
from inventory.services import things
from inventory.services.correct import correct
from inventory.services.post import Move, post
from inventory.services.run import Body, Done, run
from tests.factories.stores import NOON, PersonFactory, stamp

DAY = timedelta(days=1)


def spot(place: Place | PlaceKind, name: str = "-") -> Spot:
    """A spot of a real place, or the one of the books' own places."""
    return things.books_only(place) if isinstance(place, PlaceKind) else things.spot(place, name)


def item_of(part: Part, lot: str = "", serial: str = "") -> Item:
    """The item of a received lot or serial."""
    found = Item.objects.select_related("part").get(part=part, identity=identity(lot=lot, serial=serial))
    return found


def move(
    *moves: tuple[Item, int, Spot, Spot],
    kind: str = "move",
    at: datetime = NOON,
    recorded_at: datetime | None = None,
    actor: Person | None = None,
    subject: str = "",
    reason: str = "",
) -> Done:
    """One act that moves these amounts, through the one way in which acts are written."""

    def work(act: Act) -> Body:
        post(act, [Move(*one) for one in moves])
        return {}

    return run(
        kind,
        work,
        actor=actor or PersonFactory(),
        stamp=stamp(at, recorded_at),
        request={"moves": [[one[0].pk, one[1], one[2].pk, one[3].pk] for one in moves]},
        subject=subject,
        reason=reason,
    )


def take_back(done: Done, recorded_at: datetime, reason: str = "mistaken") -> Done:
    """Correct an act, as known from `recorded_at` on."""
    return correct(actor=PersonFactory(), stamp=stamp(recorded_at, recorded_at), act_id=done.act_id, reason=reason)


def engine_place(number: str) -> Place:
    """The place that is an engine."""
    return things.make_place(number, PlaceKind.ENGINE, site=None)


def kit_of(kit: Part, *contents: tuple[Part, int]) -> KitRevision:
    """The first revision of a kit's contents."""
    revision = KitRevision.objects.create(kit=kit, revision=1)
    KitContent.objects.bulk_create(KitContent(revision=revision, part=part, amount=n) for part, n in contents)
    return revision


def lot_of(part: Part, code: str) -> Lot:
    """A lot by its code."""
    return Lot.objects.get(part=part, code=code)


def serial_of(part: Part, number: str) -> Serial:
    """A serial by its number."""
    return Serial.objects.get(part=part, number=number)


def plans(read: Callable[[], object]) -> str:
    """The plans of all queries of a read, as text: which indexes it would use in a shop too large to be read through."""
    with CaptureQueriesContext(connection) as captured:
        read()
    explain = "EXPLAIN" if connection.vendor == "postgresql" else "EXPLAIN QUERY PLAN"
    said: list[str] = []
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("ANALYZE inventory_item, inventory_balance")
            cursor.execute("SET LOCAL enable_seqscan = off")
        for query in captured.captured_queries:
            cursor.execute(f"{explain} {query['sql']}")
            said += [str(row) for row in cursor.fetchall()]
        if connection.vendor == "postgresql":
            cursor.execute("SET LOCAL enable_seqscan = on")
    return "\n".join(said)
