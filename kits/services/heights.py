"""A liner that is let be with a doubtful height, or with none on record: whose word it is, and why."""

from __future__ import annotations

from inventory.domain.errors import DomainError
from inventory.models import Act, Person
from inventory.services.run import Body, Done, Stamp, run
from kits.models import Fitting, HeightLetBe
from kits.queries.heights import heights_open
from kits.services.shared import check_positions, open_job, touch


def let_height_be(*, actor: Person, stamp: Stamp, job: str, position: str, reason: str) -> Done:
    """Let the liner that was fitted at a use position be, though its height there is doubtful or on no record. `actor` signs for it, and
    is not who fitted it.

    The word is of this fitting: whatever goes in there later is asked for again, and so is one that is judged doubtful later. A height
    that fails counts all the same.
    Outcome: {"job", "position", "serial", "result": the doubtful one or None, "signed_by", "reason"}. Raises "reason-missing",
    "position-unknown", "same-person", "height-not-asked" where nothing is open there.
    """

    def work(act: Act) -> Body:
        if not reason.strip():
            raise DomainError("reason-missing", f"{position}: why is its liner let be?")
        row = open_job(job)
        check_positions(row, [position])
        cylinder = position.partition("/")[0]
        found = next((one for one in heights_open(row) if one.liner.cylinder == cylinder), None)
        at = found.liner.fitting if found is not None else None
        fitting = Fitting.objects.get(pk=at) if at is not None else None
        if found is None or fitting is None:
            said = (
                f"{position}: nothing is open: no set was fitted there on this job, its height was judged, "
                "or it was let be already."
            )
            raise DomainError("height-not-asked", said, position=position)
        if fitting.fitter_id == actor.pk:
            said = f"{position}: {actor} fitted it; another person signs for its height."
            raise DomainError("same-person", said, position=position)
        result = found.doubtful.id if found.doubtful is not None else None
        HeightLetBe.objects.create(job=row, act=act, fitting=fitting, result_id=result, reason=reason)
        touch(row)
        return {
            "job": job, "position": position, "serial": found.liner.serial, "result": result,
            "signed_by": actor.username, "reason": reason,
        }  # fmt: skip

    request = {"job": job, "position": position, "reason": reason}
    return run("let height be", work, actor=actor, stamp=stamp, request=request, subject=job, reason=reason)
