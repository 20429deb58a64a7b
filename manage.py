#!/usr/bin/env python3
"""The one entry point: `python3 manage.py demo`, `python3 manage.py test`, and every other command of the program.

On a bare machine it first makes the environment `.venv` from the exact versions in pyproject.toml, then runs itself
inside it. There are two levels: "run" holds what the program needs, "test" adds the tests and linters. The stamp in the
environment says what it was built from; it is written last, so a half-built environment has none and is made anew. Only
the standard library is used up to there. MATCHBORE_NO_VENV=1 skips all this and uses the Python at hand.

Exit codes of the set-up: 1 the installation failed, 3 this Python cannot do it (the line printed says what to install).
"""

from __future__ import annotations

import fcntl
import hashlib
import importlib.util
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

ROOT = Path(__file__).resolve().parent
ENVIRONMENT = ROOT / ".venv"
LOCK = ROOT / ".venv.lock"
STAMP = "matchbore.stamp"
LEVELS = ("run", "test")
APT_LINE = "apt install python3-venv"
#: One process a core, each with a database of its own; a file's tests stay together, for they share their set-up.
EVERY_TEST = ("--numprocesses=auto", "--dist=loadfile")


def pins(level: str) -> list[str]:
    """The exact requirements of a level ("run" or "test"), as pyproject.toml lists them."""
    import tomllib  # here, because it is missing before 3.11 and the check of the version comes first

    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    wanted: list[str] = list(project["dependencies"])
    if level == "test":
        wanted += project["optional-dependencies"]["test"]
    return wanted


def digest(level: str) -> str:
    """SHA-256 over the pins, the Python version and the place (installed scripts hold their absolute path)."""
    parts = [level, sys.implementation.cache_tag or "", str(ENVIRONMENT), *sorted(pins(level))]
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()


def serves(level: str) -> bool:
    """True if the environment is complete and serves the level; one built for tests serves a run too."""
    stamp = ENVIRONMENT / STAMP
    if not (stamp.is_file() and os.access(python_of_environment(), os.X_OK)):
        return False
    enough = LEVELS[LEVELS.index(level) :]
    return stamp.read_text(encoding="utf-8").strip() in {digest(one) for one in enough}


def python_of_environment() -> Path:
    """The interpreter inside the environment."""
    return ENVIRONMENT / "bin" / "python"


def base_python() -> str:
    """The interpreter outside any environment: the one inside may be about to be removed."""
    return getattr(sys, "_base_executable", None) or sys.executable


def inside() -> bool:
    """True if this process already runs in the environment."""
    return Path(sys.prefix).resolve() == ENVIRONMENT.resolve()


def leave(code: int, sentence: str) -> None:
    """Say why and end the process."""
    print(sentence, file=sys.stderr, flush=True)
    raise SystemExit(code)


def check_python() -> None:
    """End with 3 and one line if this Python cannot make an environment."""
    if sys.version_info < (3, 11):  # noqa: UP036 - an older Python that runs this file gets a sentence, not a traceback
        leave(3, f"Matchbore needs Python 3.11 or newer; this one is {sys.version.split()[0]}.")


def check_venv() -> None:
    """End with 3 and the one line to type if the venv module is not whole (Debian ships it apart)."""
    if importlib.util.find_spec("venv") is None or importlib.util.find_spec("ensurepip") is None:
        leave(3, f"This Python cannot make an environment yet; type once, as root: {APT_LINE}")


@contextmanager
def only_one() -> Iterator[None]:
    """Hold the lock file: of several processes one builds, the others wait and find it built."""
    with open(LOCK, "w", encoding="utf-8") as file:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            print("Another process is setting up .venv; waiting for it …", file=sys.stderr, flush=True)
            fcntl.flock(file, fcntl.LOCK_EX)
        yield


def step(what: str, words: list[str]) -> None:
    """Run a program behind one progress line; what it printed is shown only if it fails, and then the exit code is
    1."""
    started = time.monotonic()
    lively = sys.stderr.isatty()
    print(f"{what} …", end="" if lively else "\n", file=sys.stderr, flush=True)
    with tempfile.TemporaryFile("w+", encoding="utf-8", errors="replace") as output:
        process = subprocess.Popen(words, stdin=subprocess.DEVNULL, stdout=output, stderr=subprocess.STDOUT, cwd=ROOT)
        while process.poll() is None:
            try:
                process.wait(timeout=1)
            except subprocess.TimeoutExpired:
                if lively:
                    print(f"\r{what} … {time.monotonic() - started:.0f} s", end="", file=sys.stderr, flush=True)
        if lively:
            print(file=sys.stderr)
        if process.returncode:
            output.seek(0)
            leave(1, output.read() + f"{what}: failed, exit code {process.returncode}.")


def build(level: str) -> None:
    """Make the environment for a level, or add the test extras to a whole one; the stamp is written last."""
    wanted = pins(level)
    stamp = ENVIRONMENT / STAMP
    if serves("run"):
        stamp.unlink()
    else:
        if ENVIRONMENT.exists():
            shutil.rmtree(ENVIRONMENT)
        step("Setting up .venv", [base_python(), "-m", "venv", str(ENVIRONMENT)])
    python = str(python_of_environment())
    quiet = ["--quiet", "--disable-pip-version-check", "--no-input"]
    what = "the program" if level == "run" else "the program and its tests"
    step(f"Installing {len(wanted)} packages for {what}", [python, "-m", "pip", "install", *quiet, *wanted])
    half = ENVIRONMENT / f"{STAMP}.part"
    half.write_text(digest(level) + "\n", encoding="utf-8")
    half.replace(stamp)


def ensure(level: str) -> None:
    """Have an environment that serves the level."""
    if serves(level):
        return
    check_venv()
    with only_one():
        if not serves(level):
            build(level)


def main(arguments: list[str]) -> None:
    """Run one command; `test` hands its arguments to pytest, and without any runs every test on all cores."""
    command = arguments[1] if len(arguments) > 1 else "help"
    check_python()
    if os.environ.get("MATCHBORE_NO_VENV") != "1":
        level = "test" if command == "test" else "run"
        whole = serves(level)
        ensure(level)
        if not (whole and inside()):
            os.environ.pop("PYTHONHOME", None)  # it would hide the environment from its own interpreter
            python = str(python_of_environment())
            os.execv(python, [python, *sys.orig_argv[1:]])
    if command == "test":
        os.chdir(ROOT)
        os.execv(sys.executable, [sys.executable, "-m", "pytest", *(arguments[2:] or EVERY_TEST)])
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "api.config.settings")
    from django.core.management import execute_from_command_line

    execute_from_command_line(arguments)


if __name__ == "__main__":
    try:
        main(sys.argv)
    except KeyboardInterrupt:
        raise SystemExit(130) from None
