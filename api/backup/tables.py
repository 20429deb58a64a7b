"""What a backup holds: every table that Django's models describe, but for log-in sessions; rows as JSON, in the same form from both
databases."""

from __future__ import annotations

import json
from base64 import b64encode
from collections.abc import Iterator, Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.apps import apps
from django.db import connection, models

#: Log-ins end with a restore; what the admin noted about people and groups is kept.
LEFT_OUT = {"sessions.Session"}
FORM = "matchbore backup 1"
ABOUT = "about.json"
#: Read by the field: bytes stand in a backup as base64, which its field understands.
TYPED = (models.BinaryField, models.DateField, models.DecimalField, models.UUIDField, models.DurationField)


def backed_up() -> list[type[models.Model]]:
    """The models whose tables are kept, those between two tables too, sorted by table."""
    found = [
        model
        for model in apps.get_models(include_auto_created=True)
        if model._meta.managed and not model._meta.proxy and model._meta.label not in LEFT_OUT
    ]
    return sorted(found, key=lambda model: str(model._meta.db_table))


def entry(model: type[models.Model]) -> str:
    """The name of a table's file in the backup."""
    return f"tables/{model._meta.db_table}.jsonl"


def columns(model: type[models.Model]) -> list[str]:
    """The columns in the order in which rows are written."""
    return [field.attname for field in model._meta.concrete_fields]


def rows(model: type[models.Model]) -> Iterator[str]:
    """Every row as one line, by primary key."""
    every = model._default_manager.order_by("pk").values_list(*columns(model))
    for row in every.iterator(chunk_size=2000):
        yield json.dumps([_plain(value) for value in row], ensure_ascii=False, separators=(",", ":"))


def _plain(value: Any) -> Any:
    if isinstance(value, datetime | date):
        return value.isoformat()
    if isinstance(value, bytes | memoryview):
        return b64encode(value).decode("ascii")
    return str(value) if isinstance(value, Decimal | UUID) else value


class Reader:
    """Makes values for the database of a table's lines; nothing is filled in, also no time of making."""

    def __init__(self, model: type[models.Model]) -> None:
        self.fields = [
            (field, getattr(field, "target_field", field))  # what JSON has no form for is read by the field
            for field in model._meta.concrete_fields
        ]

    def of(self, line: bytes) -> list[Any]:
        """One row. ValueError, TypeError or Django's ValidationError: it is damaged."""
        values: Sequence[Any] = json.loads(line.decode("utf-8", "surrogatepass"))
        return [
            field.get_db_prep_save(of.to_python(value) if isinstance(of, TYPED) else value, connection)
            for (field, of), value in zip(self.fields, values, strict=True)
        ]
