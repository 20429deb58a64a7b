"""How tables of jobs are booked: each row by the rules of booking a job, all in one act. Private to services."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from inventory import locks
from inventory.domain.errors import DomainError, ManyErrors
from inventory.domain.import_rows import Verdict
from inventory.models import Act, ImportFile, ImportRow
from inventory.queries.days import shop_day
from inventory.queries.imports import answers_of
from inventory.services.run import Body
from inventory.services.tables import Handling, handle
from kits.domain.import_jobs import JOBS, check_job_row
from kits.domain.terms import ARRIVAL, HOURS, KILOMETRES, Reading, in_base, questions
from kits.models import Engine, Job, JobEnd
from kits.queries.import_jobs import job_key, jobs_on_record, known_jobs
from kits.queries.terms import readings_of
from kits.services.booking import Booking, book, refuse_known


def _book(act: Act, file: ImportFile) -> Body:
    """Jobs in the order of their strip. ManyErrors by row of the file: what stands in the way of each."""
    rows = ImportRow.objects.filter(file=file, verdict=Verdict.ACCEPTED, known=False)
    wanted = sorted(rows.values_list("line", "values"), key=lambda row: (row[1]["strip on"], row[0]))
    for key in sorted(job_key(values["job"]) for _, values in wanted):
        locks.name("job", key)
    known = list(Job.objects.values_list("number", flat=True))
    said = answers_of(file.pk)
    errors: list[tuple[int, DomainError]] = []
    past = 0
    for line, values in wanted:
        try:
            refuse_known(values["job"], known)
            past += _book_row(act, file, line, values, said.get(line, {}))
        except DomainError as error:
            errors.append((line, error))
    if errors:
        raise ManyErrors(tuple(sorted(errors, key=lambda one: one[0])))
    return {"jobs": len(wanted), "of_the_past": past}


def _book_row(act: Act, file: ImportFile, line: int, values: Mapping[str, Any], said: Mapping[str, str]) -> bool:
    """Whether the job is of the past: then it is closed, and nothing of its work is recorded."""
    strip, fit = date.fromisoformat(values["strip on"]), date.fromisoformat(values["fit on"])
    closed = date.fromisoformat(values["closed on"]) if values.get("closed on") else None
    today = shop_day(act.occurred_at)
    arrived = min(strip, today) if closed else today
    _refuse_doubtful(values, said, arrived)
    job, _ = book(
        act,
        Booking(
            values["job"],
            values["engine"],
            values["site"],
            values["operations"],
            strip,
            fit,
            new_engine=values["new engine"],
            owner_id=values.get("owner"),
            new_owner="owner" in said,
            complaint=values.get("complaint") or "",
            hours=Decimal(values["hours"]) if values.get("hours") else None,
            kilometres=values.get("kilometres"),
            confirmed=f"{file.name}, row {line}" + (", asked about and answered" if said else ""),
        ),
        arrived_on=arrived,
    )
    if closed is not None:
        why = f"of the past, closed on {closed}: {file.name}, row {line}; nothing of its work is recorded here"
        JobEnd.objects.create(job=job, act=act, closed_on=closed, reason=why)
        Job.objects.filter(pk=job.pk).update(state=Job.State.CLOSED)
    return closed is not None


def _refuse_doubtful(values: Mapping[str, Any], said: Mapping[str, str], on: date) -> None:
    """What rows before this one say of its engine may make its reading doubtful. DomainError "reading-asked" until it is answered."""
    engine = Engine.objects.filter(number=values["engine"]).first()
    for column, meter in (("hours", HOURS), ("kilometres", KILOMETRES)):
        if engine is None or not values.get(column) or column in said:
            continue
        new = Reading(on, in_base(Decimal(values[column]), meter), ARRIVAL)
        asked = questions(readings_of(engine)[meter], new, meter, photographed=True)
        if asked:
            raise DomainError(
                "reading-asked",
                f"{column}: is that right? {'; '.join(asked)}.",
                ways_out=(f"Answer {column} of this row: it counts as it is said then.",),
                questions=list(asked),
            )


handle(Handling(JOBS, check_job_row, known_jobs, jobs_on_record, _book))
