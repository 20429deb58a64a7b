"""Two programs write without pause and are killed in the midst of it, again and again: nothing acknowledged is lost."""

import random
import subprocess
import sys
import threading
from pathlib import Path
from uuid import UUID

from api.tables.read import read_table
from inventory.models import (
    Act,
    Hold,
    ImportBooked,
    ImportFile,
    ImportRow,
    Movement,
    Outcome,
    PurchaseOrder,
    ReceiptLine,
)
from inventory.queries.audit import audit
from inventory.queries.imports import content_of
from inventory.services.bring_in import book_table, read_table_rows
from kits.services.release import release
from tests.crash.digest import digest
from tests.factories import workshop
from tests.factories.stores import PersonFactory, SupplierFactory, stamp

ROOT = Path(__file__).resolve().parents[2]
WRITERS = ("ada", "ben")
#: What both do in each round.
ROUNDS = ("bench", "stores", "stores", "bench", "stores")
#: A writer that says nothing for so long has failed.
PATIENCE_S = 60


class Writer:
    """A program that works until it is killed, and everything it said."""

    def __init__(self, name: str, work: str, environment: dict[str, str]) -> None:
        self.said: list[list[str]] = []
        self._enough = threading.Event()
        self._wanted = 0
        self._process = subprocess.Popen(
            [sys.executable, "-m", "tests.crash.writer", name, work],
            cwd=ROOT,
            env=environment,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
        )
        self._reader = threading.Thread(target=self._read, daemon=True)
        self._reader.start()

    def _read(self) -> None:
        assert self._process.stdout is not None
        for line in self._process.stdout:
            if line.endswith(b"\n"):
                self.said.append(line.decode().split())
            if len(self.acknowledged()) >= self._wanted > 0:
                self._enough.set()
        # It ended by itself, or was killed: nobody need wait for more.
        self._enough.set()

    def acknowledged(self) -> dict[UUID, str]:
        """Digest of the answer, by key, of everything that was acknowledged."""
        return {UUID(words[1]): words[2] for words in list(self.said) if words[0] == "done"}

    def tried(self) -> set[UUID]:
        """Keys of everything that was begun."""
        return {UUID(words[1]) for words in list(self.said) if words[0] == "try"}

    def kill_after(self, acts: int, pause_s: float) -> None:
        """SIGKILL, a moment after so many acts were acknowledged."""
        self._wanted = acts
        assert self._enough.wait(PATIENCE_S)
        assert self._process.poll() is None, self._process.communicate()[1].decode()
        threading.Event().wait(pause_s)
        self._process.kill()
        self._process.wait()
        self._reader.join()
        assert self._process.stdout is not None and self._process.stderr is not None
        self._process.stdout.close()
        self._process.stderr.close()


def check(writers: list[Writer]) -> int:
    """Everything acknowledged is stored with the answer that was given; how many acts were stored unacknowledged."""
    acknowledged = {key: answer for writer in writers for key, answer in writer.acknowledged().items()}
    tried = {key for writer in writers for key in writer.tried()}
    assert acknowledged.keys() <= tried
    stored = {
        key: digest(body) for key, body in Outcome.objects.filter(act__key__in=tried).values_list("act__key", "body")
    }
    assert {key: stored.get(key) for key in acknowledged} == acknowledged
    assert Act.objects.filter(key__in=tried).count() == len(stored)
    return len(stored) - len(acknowledged)


def check_stores() -> None:
    """Of each order all that came by one delivery is there or nothing, of each table all of its rows or none."""
    for number in PurchaseOrder.objects.values_list("number", flat=True):
        came = ReceiptLine.objects.filter(item__lot__code__startswith=f"{number}/")
        # Eight came for six that were ordered: two wait until somebody answers.
        shelved, waiting = (came.filter(aside__isnull=one).values_list("amount", flat=True) for one in (True, False))
        assert (sorted(shelved), sorted(waiting)) in (([], []), ([2, 4], [2]))
        assert (brought(f"{number}/", "R1"), brought(f"{number}/", "Q1")) == (sum(shelved), sum(waiting))
    for file in ImportFile.objects.all():
        was_read = ImportRow.objects.filter(file=file)
        assert was_read.count() in (0, 2, 4)
        booked = ImportBooked.objects.filter(file=file).exists()
        assert {brought(row.values["lot"], "R2") for row in was_read} <= ({3} if booked else {0})


def brought(lot: str, place: str) -> int:
    """How much of lots that begin so was brought there; it may have been picked since. That it lies there is the audit's."""
    rows = Movement.objects.filter(
        item__lot__code__startswith=lot, from_spot__place__real=False, to_spot__place__code=place
    )
    return sum(rows.values_list("amount", flat=True))


def finish_tables() -> None:
    """What the killed had begun is read to its end and booked by another."""
    person = PersonFactory()
    for file in ImportFile.objects.filter(booked__isnull=True):
        if file.rows.count() < file.rows_in:
            rows = read_table(content_of(file), file.name).rows
            read_table_rows(actor=person, stamp=stamp(), file_id=file.pk, rows=rows)
        done = book_table(actor=person, stamp=stamp(), file_id=file.pk)
        assert done.body["booked"] == {"lines": 4, "new_lots_without_a_date": 4}
    check_stores()


def test_ten_kills_in_five_rounds(shop_database):
    SupplierFactory()
    for name in WRITERS:
        PersonFactory(username=name)
        workshop.job(f"J-{name}", "RINGS")
    chance = random.Random(2025)
    gone: list[Writer] = []
    for work in ROUNDS:
        writers = [Writer(name, work, shop_database.environment()) for name in WRITERS]
        for writer in writers:
            # Some milliseconds more or less: in the midst of a statement, of a commit, or of saying so.
            writer.kill_after(chance.randint(3, 12), chance.random() * 0.03)
        gone += writers
        # At most the one act that each was at when it was killed is stored without having been acknowledged.
        assert 0 <= check(gone) <= len(gone)
        check_stores()
        assert audit() == []
    assert sum(len(writer.acknowledged()) for writer in gone) >= 3 * len(gone)
    # Nobody who was killed holds anything up: what is still held can be given up by the next.
    for row in Hold.objects.filter(end__isnull=True):
        release(actor=PersonFactory(), stamp=stamp(), hold=row.pk, reason="the writer is gone")
    assert Hold.objects.filter(end__isnull=True).count() == 0
    assert ImportBooked.objects.exists()
    finish_tables()
    refused = {words[2] for writer in gone for words in writer.said if words[0] == "refused"}
    assert refused <= {"not-there", "hold-ended"}
