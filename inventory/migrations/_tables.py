"""The operation of a first migration: all tables of an app at once."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.db.migrations.operations import CreateModel
from django.db.migrations.operations.base import Operation


class CreateTables(Operation):
    """Makes tables, each after those it points at.

    One after the other, as CreateModel does it, every table renders all tables that it is linked with anew: with a hundred of
    them that takes longer than the database does.
    """

    serialization_expand_args = ["tables"]

    def __init__(self, tables: Sequence[CreateModel]) -> None:
        self.tables = tables

    def deconstruct(self) -> tuple[str, list[Any], dict[str, Any]]:
        """As it stands in the file of the migration."""
        return self.__class__.__name__, [], {"tables": self.tables}

    def state_forwards(self, app_label: str, state: Any) -> None:
        """All tables are known; they are rendered once, when somebody asks for them."""
        state.__dict__.pop("apps", None)
        for table in self.tables:
            table.state_forwards(app_label, state)

    def database_forwards(self, app_label: str, schema_editor: Any, from_state: Any, to_state: Any) -> None:
        """Make them."""
        for table in self.tables:
            table.database_forwards(app_label, schema_editor, from_state, to_state)

    def database_backwards(self, app_label: str, schema_editor: Any, from_state: Any, to_state: Any) -> None:
        """Remove them, the last first."""
        for table in reversed(self.tables):
            table.database_backwards(app_label, schema_editor, from_state, to_state)

    def describe(self) -> str:
        """For the list of what a migration does."""
        return f"Create {len(self.tables)} tables"
