"""How long it takes to bring in long tables of each kind, how much memory that needs, and how long it keeps others from writing: somebody else enters suppliers meanwhile, one act after the other. The twin of the answer is the counts: every row is accepted
and booked, and the audit finds nothing."""

from __future__ import annotations

import itertools
import resource
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from uuid import uuid4

from django.db import connection

from api.measure.own import own_database, pointed_at
from api.measure.table import OtherAnswer
from api.tables.read import read_table
from inventory.domain.places import PlaceKind
from inventory.models import Balance, KeptPiece, Part, Person, SupplierPart
from inventory.queries.audit import audit
from inventory.services.bring_in import book_table, keep_table, read_table_rows
from inventory.services.catalogue import create_supplier
from inventory.services.run import Stamp
from inventory.services.set_up import PlaceIn, add_places, add_site, set_up_shop

LONGEST_S = 60.0
LONGEST_WAIT_S = 2.0
MOST_MB = 500
_SHELVES, _SPOTS = 20, 500
#: Between two acts of the other person.
_PAUSE_S = 0.1
NOW = datetime(2025, 1, 15, 12, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Measured:
    """One table: seconds in all, the longest act of somebody else meanwhile, and the most memory of the process so far, in MiB."""

    kind: str
    rows: int
    took_s: float
    longest_wait_s: float
    most_mb: int

    @property
    def short(self) -> list[str]:
        """What is over its limit."""
        over = {
            "time": self.took_s > LONGEST_S,
            "longest wait": self.longest_wait_s > LONGEST_WAIT_S,
            "memory": self.most_mb > MOST_MB,
        }
        return [name for name, is_over in over.items() if is_over]

    def __str__(self) -> str:
        return (
            f"{self.kind:<9} {self.rows:>7} rows  {self.took_s:6.1f} s (limit {LONGEST_S:.0f})"
            f"  others waited {self.longest_wait_s:5.2f} s (limit {LONGEST_WAIT_S:.0f})"
            f"  memory {self.most_mb:>4} MiB (limit {MOST_MB})  {'short: ' + ', '.join(self.short) if self.short else 'ok'}"
        )


def measure_imports(rows: int, progress: Callable[[str], None]) -> list[Measured]:
    """Parts and suppliers, then prices, lots, stock and matched sets of them, each of so many rows, in a database of their own: of a shop that
    keeps a piece of each lot of rings back.

    Raises OtherAnswer when a row was not accepted or booked, or the audit found something.
    """
    with own_database("imports") as name, pointed_at(name):
        person = Person.objects.create(username="measures")
        add_site(actor=person, stamp=_stamp(), code="M", name="measured")
        places = [PlaceIn(f"R{at}", PlaceKind.SHELF.value, "M") for at in range(_SHELVES)]
        add_places(actor=person, stamp=_stamp(), places=places)
        set_up_shop(actor=person, stamp=_stamp(), settings={"keep_from": "2024-12-02", "keep_kinds": ["O-ring"]})
        measured = [_bring_in(person, kind, text, progress) for kind, text in _tables(rows)]
        standing = Balance.objects.filter(real=True, amount__gt=0).count()
        booked = (Part.objects.count(), SupplierPart.objects.count(), standing, KeptPiece.objects.count())
        if booked != (rows + 1, rows, 2 * rows, _to_keep(rows)):
            raise OtherAnswer(f"not every row was booked: {booked}")
        found = audit()
        if found:
            raise OtherAnswer(f"the audit found {len(found)} faults, the first: {found[0]}")
        progress("the audit found nothing")
    return measured


def _came_on(at: int) -> int:
    """Day of December on which lot `at` came."""
    return 1 + at % 28


def _amount(at: int) -> int:
    """How many there are in row `at` of the stock."""
    return 1 + at % 40


def _to_keep(rows: int) -> int:
    """Of so many lots of rings a piece is kept: those that came on the second or later and of which there are two or more."""
    return sum(_came_on(at) > 1 and _amount(at) > 1 for at in range(1, rows, 2))


def _tables(rows: int) -> Iterator[tuple[str, str]]:
    kinds = ("gasket,nothing,", "O-ring,lot,NBR")
    lines = (
        f"P-{at:06d},part {at},EA,{kinds[at % 2]},{at % 90}.50,{1 + at % 10},{1 + at % 500} g" for at in range(rows)
    )
    heading = "number,name,unit,kind,tracked by,compound,price,pack,weight"
    yield "parts", "\n".join((heading, *lines, "SET,piston and liner,EA,set,set,,300.00,1,9 kg"))
    yield "suppliers", "\n".join(("code,name", *(f"V{at},vendor {at}" for at in range(rows))))
    lines = (f"V{at % 97},P-{at:06d},{at:07d}X,{at % 80}.25,{1 + at % 10},{3 + at % 30}" for at in range(rows))
    yield "prices", "\n".join(("supplier,part,their number,price,pack,lead days", *lines))
    ringed = (at // 2 * 2 + 1 for at in range(rows // 2 * 2))
    lines = (
        f"P-{ring:06d},L-{at},{1 + at % 4}Q{20 + at % 5},2024-12-{_came_on(at):02d}" for at, ring in enumerate(ringed)
    )
    yield "lots", "\n".join(("part,lot,cured,received on", *lines))
    lines = (
        f"P-{at:06d},{f'L-{at}' if at % 2 else ''},R{at % _SHELVES},B{at % _SPOTS},{_amount(at)},{at}.20"
        for at in range(rows)
    )
    yield "stock", "\n".join(("part,lot,place,spot,amount,value", *lines))
    lines = (
        f"SET,S{at:06d},R{at % _SHELVES},B{at % _SPOTS},{2100 + at % 40} g,105.0{at % 30:02d} mm,104.9{at % 30:02d} mm,A"
        for at in range(rows)
    )
    yield "sets", "\n".join(("part,serial,place,spot,weight with pin,bore,piston,grade", *lines))


def _bring_in(person: Person, kind: str, text: str, progress: Callable[[str], None]) -> Measured:
    content = text.encode()
    began = time.monotonic()
    with _somebody_else(person, kind) as waits:
        kept = keep_table(
            actor=person,
            stamp=_stamp(),
            kind=kind,
            name=f"{kind}.csv",
            content=content,
            reader=read_table,
        ).body
        table = read_table(content, f"{kind}.csv")
        done = 0
        while done < kept["rows"]:
            done = read_table_rows(actor=person, stamp=_stamp(), file_id=kept["import"], rows=table.rows).body["read"]
            progress(f"{kind}: {done} of {kept['rows']} rows read")
        body = book_table(actor=person, stamp=_stamp(), file_id=kept["import"]).body
    took = time.monotonic() - began
    if body["accepted"] != kept["rows"]:
        raise OtherAnswer(f"{body['accepted']} of {kept['rows']} rows of {kind} were accepted")
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    return Measured(kind, kept["rows"], took, max(waits), memory)


@contextmanager
def _somebody_else(person: Person, kind: str) -> Iterator[list[float]]:
    """Seconds of every act that somebody else does meanwhile, over a connection of their own; on SQLite they wait for the whole file,
    on PostgreSQL for rows and locks that an import takes. Raises what their acts raise."""
    waits: list[float] = []
    broke: list[Exception] = []
    over = threading.Event()

    def go() -> None:
        try:
            for at in itertools.count():
                began = time.monotonic()
                create_supplier(actor=person, stamp=_stamp(), code=f"{kind} {at}", name="entered meanwhile")
                waits.append(time.monotonic() - began)
                if over.wait(_PAUSE_S):
                    return
        except Exception as error:  # handed to the thread that waits
            broke.append(error)
        finally:
            connection.close()

    thread = threading.Thread(target=go, daemon=True)
    thread.start()
    try:
        yield waits
    finally:
        over.set()
        thread.join()
    if broke:
        raise broke[0]


def _stamp() -> Stamp:
    return Stamp(uuid4(), NOW, NOW)
