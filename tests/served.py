"""The service as a shop runs it: gunicorn on a free port of this machine, in a process group of its own."""

from __future__ import annotations

import os
import random
import re
import signal
import subprocess
import sys
import threading
from collections.abc import Mapping
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
PATIENCE_S = 60


class Server:
    """A running service; `address` is where it answers. Whoever starts it kills it."""

    def __init__(self, environment: Mapping[str, str], *, workers: int = 2, threads: int = 1) -> None:
        options = ["--workers", str(workers), "--threads", str(threads), "--bind", "127.0.0.1:0"]
        self._process = subprocess.Popen(
            [sys.executable, "-m", "gunicorn", *options, "api.config.wsgi"],
            cwd=ROOT,
            env=dict(environment),
            stderr=subprocess.PIPE,
            start_new_session=True,
        )
        self._lines: list[str] = []
        self._listening = threading.Event()
        threading.Thread(target=self._read, daemon=True).start()
        if not self._listening.wait(PATIENCE_S):
            self.kill()
            raise RuntimeError("the service did not start:\n" + "".join(self._lines))
        self.address = next(found[1] for line in self._lines if (found := re.search(r"at: (http://\S+)", line)))

    def _read(self) -> None:
        assert self._process.stderr is not None
        for line in self._process.stderr:
            self._lines.append(line.decode())
            if b"Listening at" in line:
                self._listening.set()
        self._process.stderr.close()

    def told(self) -> str:
        """What the service wrote to its own output so far."""
        return "".join(self._lines)

    def workers(self) -> list[int]:
        """Process numbers of the workers that run now."""
        children = Path(f"/proc/{self._process.pid}/task/{self._process.pid}/children").read_text()
        return [int(number) for number in children.split()]

    def kill_worker(self, chance: random.Random) -> None:
        """SIGKILL one worker; the master starts another."""
        os.kill(chance.choice(self.workers()), signal.SIGKILL)

    def kill(self) -> None:
        """SIGKILL the master and every worker."""
        if self._process.poll() is None:
            os.killpg(self._process.pid, signal.SIGKILL)
        self._process.wait()
