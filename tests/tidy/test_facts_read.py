"""Every fact that a family's document can state is read by something that acts on it or shows it: no fact without a reader."""

import ast
from dataclasses import fields
from pathlib import Path

import pytest

from kits.domain import build_facts, facts

ROOT = Path(__file__).resolve().parents[2]
#: Where facts are made out of documents; whoever reads them stands elsewhere.
MAKERS = {"facts.py", "build_facts.py", "facts_reading.py", "fact_values.py", "origin_facts.py"}
CLASSES = [
    one
    for module in (facts, build_facts)
    for one in vars(module).values()
    if isinstance(one, type) and one.__module__ == module.__name__
]


def read_in(tree: ast.AST) -> set[str]:
    """Names that are read as attributes of something."""
    return {node.attr for node in ast.walk(tree) if isinstance(node, ast.Attribute) and isinstance(node.ctx, ast.Load)}


@pytest.fixture(scope="module")
def names() -> set[str]:
    """Every attribute that the program reads outside of where facts are made. A name that two classes share counts for both."""
    sources = [
        path
        for folder in ("kits", "api", "inventory")
        for path in (ROOT / folder).rglob("*.py")
        if "migrations" not in path.parts and not (path.parent.name == "domain" and path.name in MAKERS)
    ]
    assert len(sources) > 200
    return {name for path in sources for name in read_in(ast.parse(path.read_text(encoding="utf-8")))}


@pytest.mark.parametrize("one", CLASSES, ids=lambda one: one.__name__)
def test_each_fact_has_a_reader(one, names):
    assert [field.name for field in fields(one) if field.name not in names] == []


def test_a_name_that_is_only_written_is_no_reader():
    assert read_in(ast.parse("a.torque = 1; Clamping(bolts=4, torque=b.bolts)")) == {"bolts"}
