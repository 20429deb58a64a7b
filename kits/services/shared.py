"""What the job services share. Private to services: an open transaction is there, nothing is decided."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from django.db import connection

from inventory import locks
from inventory.domain.allocation import Lot
from inventory.domain.errors import DomainError, ManyErrors
from inventory.models import Balance, Part
from inventory.queries import by_hand
from inventory.queries.prepared import Prepared
from inventory.queries.stock import Standing
from kits.models import Job, PickList
from kits.queries.documents import family_of
from kits.queries.scope import Scope, job_by_number


def open_job(number: str) -> Job:
    """The job, locked and re-read, refused when it is closed or cancelled. Requires the open transaction."""
    job = job_by_number(number)
    open_still(job)
    return job


def open_still(job: Job) -> None:
    """As `open_job`, of a job that was read before."""
    locks.row("kits_job", [job.pk])
    now = by_hand.rows("SELECT state, fit_on, version, family_revision_id FROM kits_job WHERE id = %s", [job.pk])
    job.state, job.fit_on, job.version, revision = now[0]
    if revision != job.family_revision_id:  # a newer one was taken over since the job was read
        job.family_revision_id = revision
    if job.state != Job.State.BOOKED:
        raise DomainError("job-ended", f"Job {job.number} is {job.state}.", job=job.number, state=job.state)


def lock_engine(job: Job) -> None:
    """After the job: whether the engine is under class, or its term runs, stays so until what is decided by it stands in the books."""
    locks.row("kits_engine", [job.engine_id])


def touch(job: Job) -> None:
    """Count the job's version up (the job's row is locked): what people see of it has changed."""
    with connection.cursor() as cursor:
        cursor.execute(f"UPDATE {Job._meta.db_table} SET version = %s WHERE id = %s", [job.version + 1, job.pk])
    job.version += 1


def check_steps(scope: Scope, named: Sequence[str], otherwise: str) -> None:
    """DomainError "step-not-on-job" for a step ("P4/15") that no procedure of the job has; `otherwise`: what else can be done."""
    known = [f"{operation.code}/{step.step}" for operation in scope.operations for step in operation.steps]
    strange = [one for one in named if one not in known]
    if strange:
        raise DomainError(
            "step-not-on-job",
            f"{', '.join(one[:60] for one in strange[:5])}: no step of job {scope.job.number}.",
            ways_out=("Name steps of the job as procedure/step.", otherwise),
            step=strange[0][:60],
            steps=known,
        )


def check_positions(job: Job, names: Sequence[str]) -> None:
    """Every name is a use position of the engine's map; ManyErrors "position-unknown" names each that is not."""
    known = {position.name for position in family_of(job.family_revision).map.positions}
    errors = tuple(
        (
            number,
            DomainError(
                "position-unknown", f"{name[:80]!r} is no use position of {job.engine.family.code}.", position=name[:80]
            ),
        )
        for number, name in enumerate(names, 1)
        if name not in known
    )
    if errors:
        raise ManyErrors(errors)


def standing_at(job: Job, names: Sequence[str]) -> dict[str, list[Balance]]:
    """What our records have at these positions of the engine, which stays so: two jobs may be open on one engine."""
    lock_engine(job)
    found: dict[str, list[Balance]] = {}
    rows = Balance.objects.filter(place=job.engine.place_id, spot__name__in=set(names), amount__gt=0)
    for row in rows.select_related("item__part", "item__lot", "item__serial", "spot").order_by("pk"):
        found.setdefault(row.spot.name, []).append(row)
    return found


def pick_list_by_id(pick_list_id: int, *, whole: bool = False) -> PickList:
    """A pick list with its job; DomainError "not-found". Its document is read when it is asked for, for it is long; `whole`: at once."""
    found = (_WHOLE_PICK_LIST if whole else _PICK_LIST)(pick_list_id)
    if not found:
        raise DomainError("not-found", f"There is no pick list {pick_list_id}.", pick_list=pick_list_id)
    return found[0]


_WHOLE_PICK_LIST = Prepared(lambda pick_list: PickList.objects.select_related("job").filter(pk=pick_list), 0)
_PICK_LIST = Prepared(
    lambda pick_list: PickList.objects.select_related("job").defer("document").filter(pk=pick_list), 0
)


def lot_of(row: Standing) -> Lot:
    """A shelf item as the allocation sees it."""
    return Lot(
        item_id=row.item_id,
        part_id=row.part_id,
        lot_key=row.serial or row.lot_code or row.identity,
        free=row.free,
        expiry=row.use_by,
        received=row.received_on,
        place_order=row.walk_order,
        spot_id=row.spot_id,
        stopped=row.stopped,
    )


def refuse_unsorted(parts: Iterable[Part]) -> None:
    """A part without a kind is kept, but not issued. DomainError "part-to-be-sorted" names each."""
    unsorted = sorted({part.number for part in parts if not part.kind})
    if unsorted:
        raise DomainError(
            "part-to-be-sorted",
            f"{', '.join(unsorted)}: to be sorted, no kind is on record.",
            ways_out=("Give the part its kind in the catalogue.",),
            parts=unsorted,
        )
