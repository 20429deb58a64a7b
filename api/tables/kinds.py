"""Every kind of table that comes in and goes out: those of the stores, and jobs."""

from __future__ import annotations

from collections.abc import Iterator
from types import MappingProxyType

from inventory.domain.import_kinds import KINDS as OF_STORES
from inventory.queries.export import Value
from inventory.queries.export import table as of_stores
from kits.domain.import_jobs import JOBS
from kits.queries.import_jobs import job_records

KINDS = MappingProxyType({**OF_STORES, JOBS.name: JOBS})


def table(kind: str) -> tuple[list[str], Iterator[list[Value]]]:
    """Headings and rows of a kind. KeyError for one that is not in `KINDS`."""
    if kind != JOBS.name:
        return of_stores(kind)
    columns = [column.name for column in JOBS.columns]
    return columns, ([record.get(name) for name in columns] for record in job_records())
