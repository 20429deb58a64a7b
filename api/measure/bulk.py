"""Loading rows in bulk: ids handed out beforehand, rows written table by table, the database not waiting for the disk."""

from __future__ import annotations

from typing import Any, TypeVar

from django.core.management.color import no_style
from django.db import connection, models
from django.db.models import Max

from inventory.models import (
    Act,
    Balance,
    Hold,
    Item,
    Lot,
    MatchedSet,
    Movement,
    Outcome,
    Place,
    Receipt,
    ReceiptLine,
    Serial,
    Spot,
)
from kits.models import Engine, Fitting, Handover, Job, JobDate, JobEnd, JobOperation, PickList, ToolBack, ToolLoan

Row = TypeVar("Row", bound=models.Model)


class Quick:
    """While loading: no waiting for the disk, and in a large shop no foreign keys checked row by row (a small one of the
    same making has them checked)."""

    def __init__(self, jobs: int) -> None:
        self.large = jobs > 1000

    def __enter__(self) -> None:
        self._set(True)

    def __exit__(self, *error: object) -> None:
        self._set(False)

    def _set(self, quick: bool) -> None:
        with connection.cursor() as cursor:
            if connection.vendor == "postgresql":
                cursor.execute(f"SET synchronous_commit = {'off' if quick else 'on'}")
                cursor.execute("SELECT current_setting('is_superuser')")
                if self.large and cursor.fetchone() == ("on",):
                    cursor.execute(f"SET session_replication_role = {'replica' if quick else 'origin'}")
            else:
                cursor.execute(f"PRAGMA synchronous = {'OFF' if quick else 'FULL'}")


class Ids:
    """Ids handed out in blocks, table by table, so that rows can point at each other before they are written."""

    def __init__(self) -> None:
        self.next: dict[type[models.Model], int] = {}

    def take(self, model: type[models.Model], count: int = 1) -> int:
        """The first of `count` unused ids."""
        if model not in self.next:
            highest = model._default_manager.aggregate(highest=Max("pk"))["highest"]
            self.next[model] = (highest or 0) + 1
        first = self.next[model]
        self.next[model] += count
        return first


class Rows:
    """Rows collected by table and written together, parents before children."""

    ORDER: tuple[type[models.Model], ...] = (
        Act, Outcome, Place, Spot, Engine, Lot, Serial, MatchedSet, Item, Receipt, ReceiptLine, Movement, Balance, Job,
        JobOperation, JobDate, PickList, Handover, ToolLoan, ToolBack, JobEnd,
    )  # fmt: skip

    def __init__(self) -> None:
        self.rows: dict[type[models.Model], list[Any]] = {model: [] for model in self.ORDER}

    def add(self, row: Row) -> Row:
        """Keep a row for the next writing."""
        self.rows[type(row)].append(row)
        return row

    def write(self) -> None:
        """Write everything that was kept."""
        for model, rows in self.rows.items():
            if rows:
                model._default_manager.bulk_create(rows, batch_size=1000)
                rows.clear()


def reset_sequences() -> None:
    """After rows were written with ids of our own, the next ones follow them."""
    written: list[type[models.Model]] = [*Rows.ORDER, Hold, Fitting]
    statements = connection.ops.sequence_reset_sql(no_style(), written)
    with connection.cursor() as cursor:
        for statement in statements:
            cursor.execute(statement)
