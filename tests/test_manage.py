"""The set-up that manage.py does by itself, with the slow programs replaced: which environment is built, when, by whom."""

import importlib.util
import json
import os
import re
import sys
import threading
import time
from importlib import metadata
from pathlib import Path

import pytest

from tests.tidy.rules import ROOT

PROJECT = """
[project]
dependencies = ["one==1", "two==2"]
[project.optional-dependencies]
test = ["three==3"]
"""


def load():
    """manage.py as a module of its own."""
    spec = importlib.util.spec_from_file_location("manage_under_test", ROOT / "manage.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture
def manage(tmp_path, monkeypatch):
    """A manage.py of its own, in an empty folder, whose programs are only written down in `manage.ran`."""
    module = load()
    module.ran = []

    def step(what, words):
        module.ran.append(words)
        if "venv" in words:
            python = module.python_of_environment()
            python.parent.mkdir(parents=True)
            python.symlink_to(sys.executable)

    (tmp_path / "pyproject.toml").write_text(PROJECT)
    for name, value in {
        "ROOT": tmp_path,
        "ENVIRONMENT": tmp_path / ".venv",
        "LOCK": tmp_path / ".venv.lock",
        "step": step,
    }.items():
        monkeypatch.setattr(module, name, value)
    return module


def installed(manage) -> list[list[str]]:
    """What each run of pip was asked for."""
    return [[word for word in words if "==" in word] for words in manage.ran if "pip" in words]


def made(manage) -> int:
    """How many times an environment was made from nothing."""
    return sum("venv" in words for words in manage.ran)


def test_a_run_installs_the_program_and_a_test_adds_to_it(manage):
    manage.ensure("run")
    assert (made(manage), installed(manage)) == (1, [["one==1", "two==2"]])
    assert (manage.serves("run"), manage.serves("test")) == (True, False)
    manage.ensure("test")
    assert (made(manage), installed(manage)[1:]) == (1, [["one==1", "two==2", "three==3"]])
    assert (manage.serves("run"), manage.serves("test")) == (True, True)


def test_an_environment_for_tests_serves_a_run_and_nothing_is_built_twice(manage):
    manage.ensure("test")
    ran = list(manage.ran)
    manage.ensure("run")
    manage.ensure("test")
    assert manage.ran == ran


@pytest.mark.parametrize(
    "spoil",
    [
        lambda manage: (manage.ENVIRONMENT / manage.STAMP).unlink(),
        lambda manage: (manage.ENVIRONMENT / manage.STAMP).write_text("something else\n"),
        lambda manage: manage.python_of_environment().unlink(),
        lambda manage: (manage.ROOT / "pyproject.toml").write_text(PROJECT.replace("two==2", "two==3")),
    ],
    ids=["killed half-way", "foreign stamp", "interpreter gone", "other pins"],
)
def test_an_environment_that_does_not_match_is_made_from_nothing(manage, spoil):
    manage.ensure("run")
    left_over = manage.ENVIRONMENT / "left-over"
    left_over.touch()
    spoil(manage)
    assert not manage.serves("run")
    manage.ensure("run")
    assert (made(manage), left_over.exists(), manage.serves("run")) == (2, False, True)


def test_another_python_or_another_place_is_another_environment(manage, monkeypatch):
    here = manage.digest("run")
    monkeypatch.setattr(manage, "ENVIRONMENT", manage.ROOT / "elsewhere")
    assert manage.digest("run") != here
    monkeypatch.undo()
    monkeypatch.setattr(sys.implementation, "cache_tag", "cpython-399")
    assert manage.digest("run") != here


def test_a_build_that_fails_leaves_no_stamp(manage, monkeypatch):
    def fails(what, words):
        raise SystemExit(1)

    monkeypatch.setattr(manage, "step", fails)
    with pytest.raises(SystemExit):
        manage.ensure("run")
    assert not manage.serves("run")


def test_adding_the_test_extras_unstamps_first(manage, monkeypatch):
    manage.ensure("run")

    def fails(what, words):
        assert not manage.serves("run")
        raise SystemExit(1)

    monkeypatch.setattr(manage, "step", fails)
    with pytest.raises(SystemExit):
        manage.ensure("test")
    assert not manage.serves("run")


def test_of_several_at_once_one_builds_and_the_others_wait(manage, monkeypatch, capsys):
    quick = manage.step

    def slow(what, words):
        time.sleep(0.05)
        quick(what, words)

    monkeypatch.setattr(manage, "step", slow)
    threads = [threading.Thread(target=manage.ensure, args=("run",)) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(10)
    assert (made(manage), len(installed(manage)), manage.serves("run")) == (1, 1, True)
    assert capsys.readouterr().err.count("waiting for it") == 3


def test_without_the_venv_module_it_prints_one_line_to_type_and_exits_3(manage, monkeypatch, capsys):
    monkeypatch.setitem(sys.modules, "ensurepip", None)
    with pytest.raises(SystemExit) as end:
        manage.ensure("run")
    said = capsys.readouterr().err
    assert (end.value.code, said.count("\n"), manage.ran) == (3, 1, [])
    assert said.endswith(": apt install python3-venv\n")


def test_an_older_python_gets_one_line_and_exit_3(manage, monkeypatch, capsys):
    monkeypatch.setattr(sys, "version_info", (3, 10, 4))
    with pytest.raises(SystemExit) as end:
        manage.check_python()
    assert (end.value.code, capsys.readouterr().err.count("Matchbore needs Python 3.11 or newer")) == (3, 1)


def test_a_step_is_quiet_when_it_works_and_shows_everything_when_it_fails(capsys):
    module = load()
    module.step("Trying", [sys.executable, "-c", "print('chatter')"])
    assert capsys.readouterr().err == "Trying …\n"
    with pytest.raises(SystemExit) as end:
        module.step("Trying", [sys.executable, "-c", "print('the reason'); raise SystemExit(9)"])
    assert end.value.code == 1
    assert capsys.readouterr().err == "Trying …\nthe reason\nTrying: failed, exit code 9.\n"


@pytest.mark.parametrize(
    ("inside", "words", "expected"),
    [
        # outside: once into the environment, with the same words; inside: the test command becomes pytest
        (False, ["-k", "a name"], [".venv/bin/python", "-X", "dev", "manage.py", "test", "-k", "a name"]),
        (True, ["-k", "a name"], ["PYTHON", "-m", "pytest", "-k", "a name"]),
        # the whole suite is shared out over the cores
        (True, [], ["PYTHON", "-m", "pytest", "--numprocesses=auto", "--dist=loadfile"]),
    ],
)
def test_the_test_command_runs_pytest_inside_with_its_own_arguments(manage, monkeypatch, inside, words, expected):
    monkeypatch.delenv("MATCHBORE_NO_VENV", raising=False)
    monkeypatch.setattr(sys, "orig_argv", ["python3", "-X", "dev", "manage.py", "test", *words])
    monkeypatch.setattr(manage, "inside", lambda: inside)
    monkeypatch.chdir(manage.ROOT)

    def execv(program, words):
        shown = [
            str(Path(word).relative_to(manage.ROOT)) if word.startswith(str(manage.ROOT)) else word for word in words
        ]
        raise InterruptedError(json.dumps(["PYTHON" if word == sys.executable else word for word in shown]))

    monkeypatch.setattr(os, "execv", execv)
    manage.ensure("test")
    with pytest.raises(InterruptedError) as end:
        manage.main(["manage.py", "test", *words])
    assert json.loads(str(end.value)) == expected


def test_every_pin_is_one_exact_version_and_no_package_stands_twice():
    pins = load().pins("test")
    assert [pin for pin in pins if not re.fullmatch(r"[a-z0-9-]+==[0-9][0-9a-z.]*", pin)] == []
    names = [pin.split("==")[0] for pin in pins]
    assert len(names) == len(set(names)) > 20


def canonical(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).lower()


def test_what_is_installed_is_what_is_pinned_and_nothing_needs_a_package_that_is_not():
    from packaging.requirements import Requirement

    pins = dict(pin.split("==") for pin in load().pins("test"))
    here = {name: metadata.version(name) for name in pins}
    assert here == pins
    needed = {
        canonical(requirement.name)
        for name in pins
        for requirement in map(Requirement, metadata.requires(name) or ())
        if requirement.marker is None or requirement.marker.evaluate({"extra": ""})
    }
    assert needed - set(pins) == set()
