"""What keeps a job from being closed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import Any

from inventory.models import Balance, Item
from inventory.queries.replacements import joined_parts
from inventory.queries.stock import stopped_items
from kits.domain.serving import FILLED, PIECE, FittedAt
from kits.domain.size_questions import not_entered
from kits.domain.washed_out import still_open
from kits.models import Fitting, Inspection, Job, ToolLoan
from kits.queries.at_positions import emptied
from kits.queries.build import unchecked
from kits.queries.chosen import left_open
from kits.queries.companions import alone_on
from kits.queries.heights import heights_open
from kits.queries.job_list import JobList, job_list, record_of, to_buy_in
from kits.queries.marks import marked_sets
from kits.queries.outside import piece, still_out
from kits.queries.renewals import left_old
from kits.queries.served import JobPromise, fitted, promises_of, stand_ins_of
from kits.queries.standing_verdicts import heights_speaking, sets_to_judge_again
from kits.queries.to_return import Unasked, unasked
from kits.queries.washed_out import tally_of


def open_lines(job: Job, on: date) -> list[dict[str, Any]]:
    """Everything that keeps a job from being closed, each with what to do about it.

    on  the day of the act or of the question: the list judges stock on it where the day of fitting has passed
    """
    listed = job_list(job, on)
    promises = promises_of(job)
    inside = fitted(job, listed.explosion.requirements.keys())
    done = {one.key for one in inside}
    lines: list[dict[str, Any]] = []
    for conflict in listed.conflicts:
        if conflict.needs_person:
            lines.append({"what": "conflict", "position": conflict.position, "why": conflict.detail})
    for choice in listed.settled.open_choices:
        made = [key for key in choice.keys if key in done]
        if choice.rule == "exactly-one" and len(made) < len(choice.keys):
            lines.append({"what": "open choice", "position": choice.place, "why": f"{choice.text}: not chosen yet"})
    for word in left_open(job):
        why = f"{word.alternative} was chosen by a measurement that does not stand any more: a reading was withdrawn or taken again, a set was changed, or the limits are others"
        lines.append({"what": "measure again", "position": word.place, "why": why})
    for finding in listed.scope.waiting:
        why = f"{finding.code} waits for the owner: record the answer, or withdraw it if it was wrong"
        lines.append({"what": "extra work not answered", "position": finding.place, "name": finding.code, "why": why})
    lines += _not_fitted(listed, inside, promises)
    for position, opened in left_old(listed, listed.scope.not_needed).items():
        why = f"its joint was opened at {opened}: that it is not needed is no answer"
        lines.append({"what": "always new, left old", "position": position, "why": why})
    parts = {part.pk for part in listed.parts.values()}
    for one in alone_on(listed, None, parts | joined_parts(parts)):
        lines.append({"what": "companion missing", "part": one.rule.part, "why": one.sentence})
    lines += _stopped_since(inside)
    lines += _no_good_word(listed, inside)
    for taken in listed.taken_off.taken:
        if taken.key not in done and not _still_there(job, taken.position):
            lines.append({"what": "reused part is not back", "position": taken.position, "part": taken.part})
    for bought in to_buy_in(listed):
        why = f"{bought['text']}: name the part that is bought for it"
        lines.append({"what": "to be bought in", "position": bought["position"], "why": why})
    named = {line["position"] for line in lines if line.get("position")} | listed.scope.not_needed.keys()
    for position in emptied(job):
        if position not in named:
            why = "fit what belongs there, or say why it gets nothing"
            lines.append({"what": "taken out, nothing is back", "position": position, "why": why})
    lines += _heights(job)
    for fact, place in not_entered(record_of(listed.scope, listed.explosion)):
        why = f"{fact.text}: what this job took off stays with the engine, and nothing is entered of it"
        lines.append({"what": "size not entered", "position": place, "name": fact.name, "why": why})
    lines += unchecked(job, listed)
    return lines + _loose_ends(job, promises, {one.hold: one for one in unasked(listed)})


def _heights(job: Job) -> Iterator[dict[str, Any]]:
    """Heights that fail, and whatever was judged of a set in the engine before it was read anew, or cut."""
    for place, one in sorted(heights_speaking(job, {}).items()):
        if one.fails:
            why = f"its liner fails by result {one.id}; {'; '.join(one.why) or 'put it right and judge it again'}"
            yield {"what": "height of a liner fails", "position": place, "why": why}
        else:
            yield {"what": "judge again", "position": place, "name": one.kind, "why": one.again}
    for found in heights_open(job):
        what = "height not read" if found.doubtful is None else "height doubtful"
        why = f"{found.said}: read and judge it, or let it be by a signed word"
        yield {"what": what, "position": found.liner.cylinder, "serial": found.liner.serial, "why": why}
    for one in sets_to_judge_again(job):
        yield {"what": "judge again", "position": one.subject, "name": one.kind, "why": one.again}


def _not_fitted(
    listed: JobList, inside: Sequence[FittedAt], promises: Sequence[JobPromise]
) -> Iterator[dict[str, Any]]:
    """Listed positions without their part: empty, too few pieces, or another part than the list asks for."""
    instead = stand_ins_of(promises)
    for line in listed.lines:
        accepted = {line.part} | instead.get(line.part, set())
        for key, amount in zip(line.keys, line.amounts, strict=True):
            there = [one for one in inside if one.key == key]
            right = sum(one.amount for one in there if one.part in accepted)
            if right >= amount or (right and line.base != PIECE and line.how != FILLED):
                continue
            row = {
                "what": "not fitted",
                "position": key[0],
                "make": key[1],
                "part": line.part,
                "amount": amount - right,
            }
            wrong = sorted({one.part for one in there} - accepted)
            if wrong:
                row |= {"what": "another part is fitted", "why": f"{', '.join(wrong)} is in, {line.part} is listed"}
            yield row


def _stopped_since(inside: Sequence[FittedAt]) -> Iterator[dict[str, Any]]:
    """What this job fitted and that was stopped since, itself or its lot: nobody sends an engine out with it by oversight."""
    stopped = stopped_items({one.item for one in inside})
    called = {one.pk: one.called for one in Item.objects.filter(pk__in=stopped).select_related("part", "lot", "serial")}
    for one in inside:
        if one.item in stopped:
            why = f"{called[one.item]} is stopped: take it out, or have the stop lifted"
            yield {"what": "stopped, and in the engine", "position": one.key[0], "part": one.part, "why": why}


def _no_good_word(listed: JobList, inside: Sequence[FittedAt]) -> Iterator[dict[str, Any]]:
    """Old parts that went back in and were inspected there, of which no good word stands any more: rejected since, or taken back."""
    rows = Fitting.objects.filter(
        job=listed.job, reused=True, act__corrected_by__isnull=True, correction__isnull=True
    ).values_list("spot__name", "item_id", "item__part__number")
    here = {(one.key[0], one.item) for one in inside}
    old = {(position, item): part for position, item, part in rows if (position, item) in here}
    asked = {position for position, _ in old}
    looked_at = Inspection.objects.filter(job=listed.job, position__in=asked).values_list("position", flat=True)
    looked = set(looked_at) if asked else set()
    for (position, item), part in sorted(old.items()):
        good = listed.scope.reuse.get((position, 1))
        if position in looked and (good is None or good.item not in (None, item)):
            why = "it was used again, and no good inspection of it stands any more: inspect it, or take it out"
            yield {"what": "used again, not inspected", "position": position, "part": part, "why": why}


def _unasked_said(one: Unasked) -> str:
    much = "no longer asked for" if one.amount == one.held else f"{one.amount} of it no longer asked for"
    return f"{much}: release what the list does not ask for"


def _still_there(job: Job, position: str) -> bool:
    return Balance.objects.filter(place=job.engine.place_id, spot__name=position, amount__gt=0).exists()


def _loose_ends(job: Job, promises: Sequence[JobPromise], idle: Mapping[int, Unasked]) -> list[dict[str, Any]]:
    """Things on cart or bench, open holds, tools on loan, pieces out: by name. `idle`: holds that the list asks for no longer."""
    ends: list[dict[str, Any]] = []
    ids = {job.cart_id: "still on the cart", job.bench_id: "still at the bench"}
    for row in Balance.objects.filter(place__in=ids, amount__gt=0).select_related(
        "item__part", "item__serial", "item__lot"
    ):
        ends.append(
            {
                "what": ids[row.place_id],
                "part": row.item.part.number,
                "item": row.item_id,
                "identity": row.item.identity,
                "amount": row.amount,
            }
        )
    for one in promises:
        if one.open:
            ends.append(
                {
                    "what": "still held",
                    "hold": one.hold.pk,
                    "part": one.hold.item.part.number,
                    "amount": one.hold.amount,
                    **({"why": _unasked_said(idle[one.hold.pk])} if one.hold.pk in idle else {}),
                }
            )
    for loan in ToolLoan.objects.filter(job=job, back__isnull=True).order_by("tool"):
        ends.append({"what": "tool not counted back", "tool": loan.tool})
    for out in still_out([job]):
        ends.append(
            {
                "what": "still outside",
                "piece": piece(out),
                "with": out.spot.place.code,
                "due_on": out.due.isoformat(),
            }
        )
    for painted in marked_sets(job):
        if not painted.with_job:
            ends.append({"what": "mark not cleaned", "serial": painted.serial, "place": painted.place})
    for kind, why in still_open(tally_of(job)):
        ends.append({"what": "plugs, dowels, jets", "name": kind.name, "missing": kind.missing, "why": why})
    return ends
