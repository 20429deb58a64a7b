"""Kinds of acts are shown to people: plain words with spaces, one kind for one service."""

import ast
import re

from tests.tidy.rules import Source, dotted, in_layer, sources

WORDS = re.compile(r"[a-z]+( [a-z]+)*")


def kinds(source: Source) -> list[str]:
    """First arguments of `run(…)` and of helpers that hand a kind on as theirs, where they are written as text."""
    handing_on = {
        node.name
        for node in source.tree.body
        if isinstance(node, ast.FunctionDef) and node.args.args[:1] and node.args.args[0].arg == "kind"
    }
    calls = [node for node in ast.walk(source.tree) if isinstance(node, ast.Call) and node.args]
    first = [node.args[0] for node in calls if dotted(node.func) in {"run", *handing_on}]
    return sorted(node.value for node in first if isinstance(node, ast.Constant) and isinstance(node.value, str))


SERVICES = [source for source in sources() if in_layer(source.path, "services")]
KINDS = sorted(kind for source in SERVICES for kind in kinds(source))


def test_every_kind_of_act_is_plain_words() -> None:
    assert [kind for kind in KINDS if not WORDS.fullmatch(kind)] == []


def test_no_two_services_call_their_acts_the_same() -> None:
    assert [kind for kind in KINDS if KINDS.count(kind) > 1] == []


def test_every_call_of_run_was_read() -> None:
    text = "".join(source.text for source in SERVICES if source.path != "inventory/services/run.py")
    written = len(re.findall(r"(?<![\w.])run\(", text))
    handed_on = len(re.findall(r"(?<![\w.])run\(\s*kind,", text))
    helpers = len(re.findall(r"return _carry\(", text))
    assert (len(KINDS), handed_on) == (written - handed_on + helpers, 1)


def test_a_kind_with_a_dash_is_caught() -> None:
    bad = Source("kits/services/a.py", "def a(): return run('hand-over', work)\ndef _b(kind): run(kind)\n_b('c d')")
    assert [kind for kind in kinds(bad) if not WORDS.fullmatch(kind)] == ["hand-over"]
    assert kinds(bad) == ["c d", "hand-over"]
