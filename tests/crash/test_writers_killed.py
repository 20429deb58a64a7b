"""Two programs write without pause and are killed in the midst of it, again and again: nothing acknowledged is lost."""

import random
import subprocess
import sys
import threading
from pathlib import Path
from uuid import UUID

from inventory.models import Act, Hold, Outcome
from inventory.queries.audit import audit
from kits.services.pick_kit import release
from tests.crash.digest import digest
from tests.factories import workshop
from tests.factories.stores import PersonFactory, SupplierFactory, stamp

ROOT = Path(__file__).resolve().parents[2]
WRITERS = ("ada", "ben")
ROUNDS = 5
#: A writer that says nothing for so long has failed.
PATIENCE_S = 60


class Writer:
    """A program that works until it is killed, and everything it said."""

    def __init__(self, name: str, environment: dict[str, str]) -> None:
        self.said: list[list[str]] = []
        self._enough = threading.Event()
        self._wanted = 0
        self._process = subprocess.Popen(
            [sys.executable, "-m", "tests.crash.writer", name],
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


def test_ten_kills_in_five_rounds(shop_database):
    SupplierFactory()
    for name in WRITERS:
        PersonFactory(username=name)
        workshop.job(f"J-{name}", "RINGS")
    chance = random.Random(2025)
    gone: list[Writer] = []
    for _ in range(ROUNDS):
        writers = [Writer(name, shop_database.environment()) for name in WRITERS]
        for writer in writers:
            # Some milliseconds more or less: in the midst of a statement, of a commit, or of saying so.
            writer.kill_after(chance.randint(3, 12), chance.random() * 0.03)
        gone += writers
        # At most the one act that each was at when it was killed is stored without having been acknowledged.
        assert 0 <= check(gone) <= len(gone)
        assert audit() == []
    assert sum(len(writer.acknowledged()) for writer in gone) >= 3 * len(gone)
    # Nobody who was killed holds anything up: what is still held can be given up by the next.
    for row in Hold.objects.filter(end__isnull=True):
        release(actor=PersonFactory(), stamp=stamp(), hold=row.pk, reason="the writer is gone")
    assert Hold.objects.filter(end__isnull=True).count() == 0
    refused = {words[2] for writer in gone for words in writer.said if words[0] == "refused"}
    assert refused <= {"not-there", "hold-ended"}
