"""The first migration of each app, written from the models: all its tables at once, each after the tables it points at.

`python -m tests.tidy.first_migrations` writes both anew; a test compares what stands there with what would be written.
Django's own first migration makes tables piece by piece (fields and constraints come after): every piece renders the
state of all tables anew, and on SQLite most of them copy a table, which doubles the time of every new database.
"""

from __future__ import annotations

import os
from collections.abc import Iterable
from graphlib import TopologicalSorter
from typing import Any

from tests.tidy.rules import ROOT

OURS = ("inventory", "kits")


def _targets(fields: Iterable[Any]) -> set[tuple[str, str]]:
    """(app, name in lower case) of what the fields point at; a field of our own models names its app."""
    pointed = [
        target
        for field in fields
        for target in (getattr(field.remote_field, "model", None), getattr(field.remote_field, "through", None))
        if isinstance(target, str)
    ]
    return {(app, name) for app, _, name in (target.lower().rpartition(".") for target in pointed)}


def others(label: str, made: list[Any]) -> list[str]:
    """The other apps that the tables point at, by name."""
    return sorted({app for one in made for app, _ in _targets(field for _, field in one.fields)} - {label})


def operations(label: str) -> list[Any]:
    """CreateModel for each table of the app, those pointed at first, equals by name.

    Raises graphlib.CycleError: two tables point at each other.
    """
    from django.apps import apps
    from django.db.migrations.operations import CreateModel
    from django.db.migrations.state import ModelState

    states = {state.name_lower: state for state in map(ModelState.from_model, apps.get_app_config(label).get_models())}
    order = TopologicalSorter(
        {
            name: {to for app, to in _targets(state.fields.values()) if app == label and to in states} - {name}
            for name, state in states.items()
        }
    )
    order.prepare()
    made = []
    while order.is_active():
        ready = sorted(order.get_ready())
        for one in map(states.__getitem__, ready):
            options = {key: value for key, value in one.options.items() if value}
            made.append(CreateModel(one.name, list(one.fields.items()), options, one.bases, one.managers))
        order.done(*ready)
    return made


def written(label: str) -> str:
    """The text of the app's first migration."""
    from django.db.migrations import Migration
    from django.db.migrations.loader import MigrationLoader
    from django.db.migrations.writer import MigrationWriter

    from inventory.migrations._tables import CreateTables

    made = operations(label)
    graph = MigrationLoader(None).graph
    needed = [node for app in others(label, made) for node in graph.leaf_nodes(app)]
    body = {"initial": True, "dependencies": needed, "operations": [CreateTables(made)]}
    return MigrationWriter(
        type("Migration", (Migration,), body)("0001_initial", label), include_header=False
    ).as_string()


def main() -> None:
    """Write both files anew."""
    import django

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
    django.setup()
    for label in OURS:
        (ROOT / label / "migrations" / "0001_initial.py").write_text(written(label), encoding="utf-8")


if __name__ == "__main__":
    main()
