"""Writing what readings came to. Private to services: an open transaction is there, the job is locked.

A result that decides is computed by a function of `kits/domain` on plain values; here it is kept with the readings it rests on, so
that it can be recomputed, and goes stale by itself when one of them is withdrawn.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from inventory.domain.errors import DomainError
from inventory.models import Act
from inventory.services.run import plain
from kits.models import Job, MeasuredResult, Reading, ResultReading


def record_result(
    act: Act, job: Job, kind: str, subject: str, document: Mapping[str, Any], reading_ids: Iterable[int]
) -> MeasuredResult:
    """Keep one result; the newest of a kind and subject on a job takes the place of those before it.

    kind       plain words: "protrusion", "layout", "piston clearance"
    subject    what it is of: a place of the engine, or ENGINE
    document   JSON-ready; `set` in it names the matched set that was read, where one was; `rule` in it says how it was decided, `factor` the guard factor where an allowance decided
    Raises DomainError "reading-withdrawn" for a reading that does not count any more, "not-found" for one that is not there;
    ValueError for a document without its rule, which is a defect of the caller.
    """
    if not document.get("rule"):
        raise ValueError(f"a result of kind {kind!r} says by which rule it was decided")
    wanted = sorted(set(reading_ids))
    rows = Reading.objects.filter(pk__in=wanted).order_by("pk")
    found = {row[0]: row[1:] for row in rows.values_list("pk", "withdrawal__reason", "serial__number", "serial_id")}
    for one in wanted:
        if one not in found:
            raise DomainError("not-found", f"There is no reading {one}.", reading=one)
        if found[one][0] is not None:
            raise DomainError("reading-withdrawn", f"Reading {one} was withdrawn: {found[one][0]}", reading=one)
    of_set = {number: serial for _, number, serial in found.values() if number}
    row = MeasuredResult.objects.create(
        job=job,
        act=act,
        kind=kind,
        subject=subject,
        family_revision_id=job.family_revision_id,
        serial_id=of_set.get(str(document.get("set", ""))),
        document=plain(document),
    )
    ResultReading.objects.bulk_create([ResultReading(result=row, reading_id=one) for one in wanted])
    return row
