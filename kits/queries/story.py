"""The events of an engine, in order: jobs, findings, what was found in it, taken out, looked at, measured and fitted; who
and why."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from kits.models import (
    Acceptance,
    Engine,
    EngineOwner,
    EngineSize,
    Fitting,
    Found,
    HeightLetBe,
    Inspection,
    Job,
    JobFinding,
    MeasuredResult,
    OwnerClaim,
    Removal,
)

#: The act's columns that every event tells: they come first in each row.
_ACT = ("occurred_at", "recorded_at", "pk", "actor__username", "reason", "corrected_by__pk")


@dataclass(frozen=True, slots=True)
class Event:
    """One line of the story.

    what          "booked", "closed", "cancelled", "finding", "finding withdrawn", "found in engine", "removed", "inspected",
                  "fitted", "fitted again" (a part that had been in use), "judged", "accepted" (a result of readings),
                  "height let be" (doubtful or on no record), "size entered", "size withdrawn", "changed hands" (the number of the owner: who that is stands with the owner alone),
                  "claimed" (by its owner), "claim closed", "claim taken back", "claim opened again"
    position      use position, place of a finding, or subject of a result; part, lot, serial, amount in `base` units where there is a thing
    said          the finding, the condition, the result against the limit, the complaint, what rubber was fitted with
    corrected_by  act that took this one back: it stays in the story, and did not happen
    """

    occurred_at: datetime
    recorded_at: datetime
    act_id: int
    by: str
    why: str
    corrected_by: int | None
    what: str
    job: str
    checker: str = ""
    position: str = ""
    part: str = ""
    lot: str = ""
    serial: str = ""
    amount: int | None = None
    base: str = ""
    said: str = ""


def events(engine: Engine) -> tuple[Event, ...]:
    """The events of an engine by when they happened. Twelve queries."""
    found = [
        *_jobs(engine),
        *_findings(engine),
        *_found(engine),
        *_removed(engine),
        *_inspected(engine),
        *_fitted(engine),
        *_judged(engine),
        *_accepted(engine),
        *_let_be(engine),
        *_sizes(engine),
        *_owners(engine),
        *_claims(engine),
    ]
    # Stable: events of one act stay in the order in which they were written.
    return tuple(sorted(found, key=lambda event: (event.occurred_at, event.act_id)))


def _act(path: str) -> list[str]:
    return [f"{path}__{name}" for name in _ACT]


def _thing(row: Sequence[Any]) -> dict[str, Any]:
    """part, lot, serial, base unit and amount from the last five columns."""
    part, lot, serial, base, amount = row
    return {"part": part, "lot": lot or "", "serial": serial or "", "base": base or "", "amount": amount}


def _event(act: Sequence[Any], what: str, job: str, **more: Any) -> Event:
    """An event from the columns of its act, in the order of `_ACT`."""
    occurred_at, recorded_at, act_id, by, why, corrected_by = act
    return Event(occurred_at, recorded_at, act_id, by, why, corrected_by, what, job, **more)


_ITEM = ("item__part__number", "item__lot__code", "item__serial__number", "item__base")


def _jobs(engine: Engine) -> Iterator[Event]:
    rows = Job.objects.filter(engine=engine).order_by("pk")
    columns = [
        *_act("booked_by"), *_act("end__act"), "number", "complaint", "end__cancelled", "end__checker__username", "end__reason",
    ]  # fmt: skip
    for row in rows.values_list(*columns):
        booked, ended = row[:6], row[6:12]
        number, complaint, cancelled, checker, reason = row[12:]
        yield _event(booked, "booked", number, said=complaint)
        if cancelled is not None:
            what = "cancelled" if cancelled else "closed"
            yield _event([*ended[:4], reason or ended[4], ended[5]], what, number, checker=checker or "")


def _findings(engine: Engine) -> Iterator[Event]:
    columns = [*_act("act"), *_act("withdrawal__act"), "job__number", "code", "place", "note", "withdrawal__reason"]
    for row in JobFinding.objects.filter(job__engine=engine).order_by("pk").values_list(*columns):
        made, taken_back = row[:6], row[6:12]
        job, code, place, note, reason = row[12:]
        said = f"{code}: {note}" if note else code
        yield _event(made, "finding", job, position=place, said=said)
        if reason is not None:
            act = [*taken_back[:4], reason, taken_back[5]]
            yield _event(act, "finding withdrawn", job, position=place, said=code)


def _found(engine: Engine) -> Iterator[Event]:
    columns = [*_act("act"), "job__number", "position", "size", "condition", "known", *_ITEM]
    for row in Found.objects.filter(job__engine=engine).order_by("pk").values_list(*columns):
        job, position, size, condition, known = row[6:11]
        said = ", ".join(text for text in (size, condition, "" if known else "found, not known") if text)
        yield _event(row[:6], "found in engine", job, position=position, said=said, **_thing([*row[11:], None]))


def _removed(engine: Engine) -> Iterator[Event]:
    columns = [*_act("act"), "job__number", "spot__name", "reason", "looked", *_ITEM, "amount"]
    for row in Removal.objects.filter(job__engine=engine).order_by("pk").values_list(*columns):
        said = ", ".join(word for word in row[8:10] if word)
        yield _event(row[:6], "removed", row[6], position=row[7] or "", said=said, **_thing(row[10:]))


def _inspected(engine: Engine) -> Iterator[Event]:
    columns = [*_act("act"), "job__number", "position", "limit", "result", "good", *_ITEM]
    for row in Inspection.objects.filter(job__engine=engine).order_by("pk").values_list(*columns):
        job, position, limit, result, good = row[6:11]
        said = f"{result} against {limit}: {'good' if good else 'not good'}"
        thing = _thing([row[11] or "", *row[12:], None])
        yield _event(row[:6], "inspected", job, position=position, said=said, **thing)


def _fitted(engine: Engine) -> Iterator[Event]:
    columns = [
        *_act("act"), "fitter__username", "job__number", "checker__username", "spot__name", "reused", "lubricant", *_ITEM, "amount", "correction__act_id",
    ]  # fmt: skip
    for row in Fitting.objects.filter(job__engine=engine).order_by("pk").values_list(*columns):
        fitter, job, checker, position, reused, lubricant = row[6:12]
        what = "fitted again" if reused else "fitted"
        act = [*row[:3], fitter, row[4], row[5] or row[-1]]
        said = f"with {lubricant}" if lubricant else ""
        yield _event(act, what, job, checker=checker or "", position=position, said=said, **_thing(row[12:-1]))


def _judged(engine: Engine) -> Iterator[Event]:
    columns = [*_act("act"), "job__number", "kind", "subject", "document"]
    for row in MeasuredResult.objects.filter(job__engine=engine).order_by("pk").values_list(*columns):
        job, kind, subject, document = row[6:]
        why = "; ".join(document.get("why", ()))
        said = f"{kind}: {document.get('verdict', 'no verdict')}" + (f" ({why})" if why else "")
        yield _event(row[:6], "judged", job, position=subject, said=said)


def _accepted(engine: Engine) -> Iterator[Event]:
    columns = [*_act("act"), "result__job__number", "result__kind", "result__subject", "result_id"]
    for row in Acceptance.objects.filter(result__job__engine=engine).order_by("act_id").values_list(*columns):
        job, kind, subject, result = row[6:]
        yield _event(row[:6], "accepted", job, position=subject, said=f"{kind}, result {result}")


def _let_be(engine: Engine) -> Iterator[Event]:
    columns = [*_act("act"), "job__number", "fitting__spot__name", "fitting__item__serial__number", "result_id"]
    for row in HeightLetBe.objects.filter(job__engine=engine).order_by("pk").values_list(*columns):
        job, position, serial, result = row[6:]
        said = "not recorded" if result is None else f"doubtful by result {result}"
        yield _event(row[:6], "height let be", job, position=position, serial=serial or "", said=said)


def _sizes(engine: Engine) -> Iterator[Event]:
    columns = [
        *_act("act"), *_act("withdrawal__act"), "job__number", "place", "name", "typed", "detail", "renewed", "gauge__number",
        "withdrawal__reason",
    ]  # fmt: skip
    for row in EngineSize.objects.filter(engine=engine).order_by("pk").values_list(*columns):
        made, taken_back = row[:6], row[6:12]
        job, place, name, typed, detail, renewed, gauge, reason = row[12:]
        words = (typed, detail, "the piece is new" if renewed else "", f"gauge {gauge}" if gauge else "")
        said = f"{name}: {', '.join(word for word in words if word)}"
        yield _event(made, "size entered", job, position=place, said=said)
        if reason is not None:
            act = [*taken_back[:4], reason, taken_back[5]]
            yield _event(act, "size withdrawn", job, position=place, said=name)


def _owners(engine: Engine) -> Iterator[Event]:
    rows = EngineOwner.objects.filter(engine=engine).order_by("act_id", "pk")
    for row in rows.values_list(*_act("act"), "owner_id", "since"):
        yield _event(row[:6], "changed hands", "", said=f"owner {row[6]} from {row[7]} on")


def _claims(engine: Engine) -> Iterator[Event]:
    """Each claim of an owner, and every end of it with the answer that stood."""
    columns = [
        *_act("act"), *_act("ends__act"), "pk", "job__number", "told_on", "told_by", "what", "ends__what", "ends__reason",
        "ends__answer__answer",
    ]  # fmt: skip
    told: set[int] = set()
    for row in OwnerClaim.objects.filter(engine=engine).order_by("pk", "ends__pk").values_list(*columns):
        claim, job, on, by, what, end, reason, answer = row[12:]
        if claim not in told:
            told.add(claim)
            yield _event(row[:6], "claimed", job, said=f"claim {claim}, told on {on} by {by}: {what}")
        if end is not None:
            ended = [*row[6:10], reason, row[11]]
            yield _event(ended, f"claim {end}", job, said=f"claim {claim}{f': {answer}' if answer else ''}")
