"""What a rebuild asks before an act is taken back, and which of its acts that moved nothing are taken back by the word alone.

Private to services: `inventory/services/correctable.py` calls it inside the transaction of the correction. The stores' app imports every
module of this name when it is ready.
"""

from __future__ import annotations

from inventory import locks
from inventory.domain.corrections import CORRECT_FITTING
from inventory.domain.errors import DomainError
from inventory.domain.places import PlaceKind
from inventory.models import Act, Balance, Movement
from inventory.services import correctable
from kits.models import (
    AfterRunDone,
    Engine,
    EngineOwner,
    FirstRun,
    FittingCorrection,
    Job,
    OutsideReturn,
    ToolBack,
    ToolLoan,
)
from kits.services.owning import kept_now
from kits.services.shared import touch

#: Acts that end a job: what they released and gave back does not come back by a word.
_ENDS = {
    "close job": "Book the engine in again for what is still to be done.",
    "cancel job": "Book the work again, as a job of another number.",
}
#: Acts on a running job that moved nothing; every reader of their rows leaves corrected ones out.
_OF_OPEN_JOBS = (
    "mark not needed", "let height be", "check pistons", "leak test", "inspect", "lose position", "enter word of the maker",
    "record choice",
)  # fmt: skip
#: The same of what is recorded on a job that is closed too.
_AFTER_THE_END = ("first run", "work after first run", "hand engine over")
#: What is done instead of taking an act back that moved nothing.
_INSTEAD = {
    "book job": "Cancel the job.",
    "record findings": "Withdraw the finding.",
    "withdraw finding": "Record the finding again.",
    "record readings": "Withdraw the reading, and read again.",
    "record sizes": "Withdraw the size.",
    "read meter": "Withdraw the reading, and record what the meter shows.",
    "change meter": "Withdraw the change, and record it anew.",
    "accept layout": "Take the layout back.",
    "enter hours": "Reverse the hours.",
    "count washed": "Count again, and say why.",
    "promise back from outside": "Name the day again: the newest counts.",
    "move fit date": "Move the day again.",
    "set bores": "Say again which set goes where: the newest word counts; a mark that is to go is cleaned off by name.",
    "record approval": "Record what the owner says now: the newest word counts.",
    "record word on substitute": "Record what the owner says now: the newest word counts.",
    "enter claim": "Take the claim back, with the reason.",
    "name things of claim": "Withdraw the thing, with the reason.",
    "withdraw thing of claim": "Name the thing again.",
    "state cause": "State another cause: the newest counts.",
    "answer claim": "Answer it anew: the newest counts.",
    "close claim": "Open the claim again, with the reason.",
    "take claim back": "Open the claim again, with the reason.",
    "open claim again": "Close the claim, or take it back.",
    "second look": "Look again at what lies there, and return what is wrong.",
}


def refuse_on_jobs(original: Act) -> None:
    """DomainError "not-correctable", each with what to do instead: acts that end a job, what was fitted where that was corrected, and
    whatever would come to or go from an ended job: there nobody could put it right."""
    if original.kind in _ENDS:
        raise _refused(original, "ended a job, which stays ended", _ENDS[original.kind])
    if original.kind == CORRECT_FITTING:
        raise _refused(original, "said what was really fitted", "Correct what was fitted again.")
    if original.kind == "lose outside":
        _refuse_back_since(original)
    if original.kind == "first run":
        _refuse_worked_after(original)
    ended = _ended_job(original)
    if ended is not None:
        fitted = original.kind == "fit"
        way = (
            f"Correct what was fitted, position by position (jobs/{ended.number}/fitting-corrections)."
            if fitted
            else "Count what lies elsewhere than our records say; what is wrong in the engine is put right on its next job."
        )
        raise _refused(original, f"is of job {ended.number}, which is {ended.state}", way, job=ended.number)
    _refuse_filled_since(original)
    if FittingCorrection.objects.filter(fitting__act=original).exists():
        way = "Correct what was fitted again, or remove it."
        raise _refused(original, "fitted something else than was said, which was corrected since", way)


def _ended_job(original: Act) -> Job | None:
    """The ended job that the act was one of, or whose cart or bench it moved things to or from; locked."""
    if original.kind in _AFTER_THE_END:
        return None
    ends = Movement.objects.filter(act=original).values_list("from_spot__place", "to_spot__place")
    places = {place for pair in ends for place in pair}
    jobs = Job.objects.filter(cart__in=places) | Job.objects.filter(bench__in=places)
    if original.subject:
        own = Job.objects.filter(number=original.subject)
        if (
            places
        ):  # of another act that names the job, such as of an old unit, only what it did to the engine is the job's
            own = own.filter(engine__place__in=places)
        elif original.kind not in _OF_OPEN_JOBS:
            own = own.none()
        jobs = jobs | own
    ids = sorted(jobs.values_list("pk", flat=True))
    locks.row("kits_job", ids)
    return Job.objects.filter(pk__in=ids).exclude(state=Job.State.BOOKED).order_by("pk").first()


def _refuse_back_since(original: Act) -> None:
    """What was lost outside stays lost while the rest of it came back: nothing more of it would be awaited."""
    returns = OutsideReturn.objects.filter(
        outside_work__losses__act=original, act_id__gt=original.pk, act__corrected_by__isnull=True
    )
    first = returns.order_by("pk").first()
    if first is not None:
        raise _refused(original, "was followed by the return of the rest", f"Take act {first.act_id} back first.")


def _refuse_worked_after(original: Act) -> None:
    """A first run stays while work that fell due after it is on record as done."""
    run = FirstRun.objects.filter(act=original).first()
    done = (
        AfterRunDone.objects.filter(job=run.job_id, act_id__gt=original.pk, act__corrected_by__isnull=True)
        if run
        else None
    )
    if done is not None and (first := done.order_by("pk").first()) is not None:
        raise _refused(original, f"was followed by {first.what}", f"Take act {first.act_id} back first.")


def _refuse_filled_since(original: Act) -> None:
    """What was taken out does not go back in by a word where something else went in since and is there now. DomainError "position-taken"."""
    out = Movement.objects.filter(act=original, from_spot__place__kind=PlaceKind.ENGINE, item__base="piece")
    spots = set(out.values_list("from_spot", flat=True))
    if not spots:
        return
    came = Movement.objects.filter(
        to_spot__in=spots, act_id__gt=original.pk, act__corrected_by__isnull=True, act__corrects__isnull=True,
        item__base="piece",
    )  # fmt: skip
    locks.row(
        "kits_engine", sorted(Engine.objects.filter(place__spots__in=spots).values_list("pk", flat=True).distinct())
    )
    pairs = set(came.values_list("item", "to_spot"))
    for row in Balance.objects.filter(spot__in=spots, amount__gt=0).select_related("item__part", "spot").order_by("pk"):
        if (row.item_id, row.spot_id) in pairs:
            raise DomainError(
                "position-taken",
                f"{row.spot.name} holds {row.item.called}, which went in since.",
                ways_out=("Remove it first.",),
                position=row.spot.name,
                item=row.item_id,
            )


def _touched(act: Act, original: Act) -> dict[str, object]:
    """People see another list now: the version of the job says so."""
    job = Job.objects.filter(number=original.subject).first()
    if job is not None:
        locks.row("kits_job", [job.pk])
        job.refresh_from_db(fields=["version"])
        touch(job)
    return {"job": original.subject} if job is not None else {}


def _tools_in(act: Act, original: Act) -> dict[str, object]:
    """The special tools that went along are in the crib again, those that were counted back since excepted."""
    loans = list(ToolLoan.objects.filter(act=original, back__isnull=True).order_by("tool"))
    if loans:
        locks.name("tool crib", loans[0].job.site.code)
    ToolBack.objects.bulk_create([ToolBack(loan=loan, act=act) for loan in loans])
    return {**_touched(act, original), "tools": [loan.tool for loan in loans]}


def _owned_before(act: Act, original: Act) -> dict[str, object]:
    """The engine is again whose it was on record before."""
    row = EngineOwner.objects.select_related("engine").get(act=original)
    locks.row("kits_engine", [row.engine_id])
    return {"engine": row.engine.number, "owner": kept_now(row.engine)}


def _nothing(act: Act, original: Act) -> dict[str, object]:
    return {}


def _refused(original: Act, why: str, way_out: str, **values: object) -> DomainError:
    return DomainError(
        "not-correctable",
        f"Act {original.pk} ({original.kind}) {why}.",
        ways_out=(way_out,),
        act=original.pk,
        kind=original.kind,
        **values,
    )


correctable.ask(refuse_on_jobs)
for _kind in (*_OF_OPEN_JOBS, *_AFTER_THE_END):
    correctable.by_word(_kind, _touched)
correctable.put_back("hand over", _tools_in)
correctable.by_word("name checkers", _nothing)
correctable.by_word("change hands", _owned_before)
for _kind, _way in _INSTEAD.items():
    correctable.instead(_kind, _way)
