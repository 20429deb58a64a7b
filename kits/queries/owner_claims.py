"""Claims of owners as they are read: as told, as judged, with every entry that was added, and how each stands now."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from django.db.models import OuterRef, Q, QuerySet, Subquery

from inventory.domain.errors import DomainError
from kits.domain.owner_claims import OPEN, OPENED_AGAIN, TAKEN_BACK, lacking, repeats, state_of
from kits.models import ClaimAnswer, ClaimCause, ClaimEnd, ClaimThing, MeterReading, OwnerClaim
from kits.queries.engine_owners import owners_at
from kits.queries.terms import handover_of, reading_said, term_from, term_said


@dataclass(frozen=True, slots=True)
class ClaimedThing:
    """A use position that the claim concerns. `item`, part, lot and serial: what sat there, where that is known.

    withdrawn   why the claim does not concern it after all; empty: it does
    failed_before   earlier claims of this engine on the same position
    """

    thing: int
    position: str
    item: int | None
    part: str
    lot: str
    serial: str
    what: str
    photo: str
    by: str
    at: datetime
    withdrawn: str
    failed_before: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class ClaimedCause:
    """A cause that was stated. `stands`: no later one took its place. Samples: their numbers, empty where none was taken."""

    cause_id: int
    cause: str
    found_by: str
    evidence: str
    oil_sample: str
    coolant_sample: str
    by: str
    at: datetime
    stands: bool
    instead_of: int | None


@dataclass(frozen=True, slots=True)
class ClaimAnswered:
    """An answer to the owner: accepted, refused, part. `stands`: no later one took its place."""

    answer_id: int
    answer: str
    reason: str
    by: str
    at: datetime
    stands: bool
    instead_of: int | None


@dataclass(frozen=True, slots=True)
class ClaimEnded:
    """The claim was closed (with the cause and the answer that stood), taken back, or opened again."""

    what: str
    reason: str
    cause_id: int | None
    answer_id: int | None
    by: str
    at: datetime


@dataclass(frozen=True, slots=True)
class ClaimRow:
    """A claim. `owner`: number of who owned the engine on that day. `lacking`: what keeps an open claim open.

    within      whether its day lay inside the term, as it was judged when it was entered; None: not decided, or no term had begun
    why         the sentence to that
    """

    claim: int
    engine: str
    job: str
    state: str
    told_on: date
    told_by: str
    owner: int | None
    what: str
    within: bool | None
    why: str
    photos: tuple[str, ...]
    asked: str
    reason: str
    by: str
    at: datetime
    things: tuple[ClaimedThing, ...]
    causes: tuple[ClaimedCause, ...]
    answers: tuple[ClaimAnswered, ...]
    ends: tuple[ClaimEnded, ...]
    lacking: tuple[str, ...]

    @property
    def repeated(self) -> bool:
        """A position of it failed before in this engine."""
        return any(one.failed_before and not one.withdrawn for one in self.things)


def claims() -> QuerySet[OwnerClaim]:
    """All claims, each with its engine, its job and who entered it."""
    return OwnerClaim.objects.select_related("engine", "job", "act__actor")


def claim_by_number(claim_id: int) -> OwnerClaim:
    """One claim; DomainError "not-found"."""
    found = claims().select_related("engine__family", "engine__place", "job__family_revision").filter(pk=claim_id)
    row = found.first()
    if row is None:
        raise DomainError("not-found", f"There is no claim {claim_id}.", claim=claim_id)
    return row


def in_state(rows: QuerySet[OwnerClaim], wanted: str) -> QuerySet[OwnerClaim]:
    """Claims that stand so. Within the query of the rows."""
    newest = ClaimEnd.objects.filter(claim=OuterRef("pk")).order_by("-pk").values("what")[:1]
    found = rows.annotate(newest_end=Subquery(newest))
    if wanted == OPEN:
        return found.filter(Q(newest_end__isnull=True) | Q(newest_end=OPENED_AGAIN))
    return found.filter(newest_end=wanted)


def positions_before(claim: OwnerClaim) -> dict[int, set[str]]:
    """Earlier claims of the same engine, not taken back → the use positions that they concern. One query."""
    return _before(claim, _positions([claim.engine_id])[claim.engine_id])


def rendered_claims(rows: Iterable[OwnerClaim]) -> list[ClaimRow]:
    """Claims with all their entries. Six queries and that of the rows, however many they are."""
    listed = list(rows)
    ids = [row.pk for row in listed]
    things, causes, answers, ends = _things(ids), _causes(ids), _answers(ids), _ends(ids)
    positions = _positions({row.engine_id for row in listed})
    whose = owners_at((row.engine_id, row.told_on) for row in listed)
    return [
        _row(
            row,
            whose.get((row.engine_id, row.told_on)),
            _flagged(things[row.pk], _before(row, positions[row.engine_id])),
            (tuple(causes[row.pk]), tuple(answers[row.pk]), tuple(ends[row.pk])),
        )
        for row in listed
    ]


def claim_record(row: OwnerClaim) -> dict[str, Any]:
    """Beside the claim itself: the term as it was judged and as it is known now, and what the meters showed. Six queries at most."""
    handover = handover_of(row.job)
    now = term_said(row.told_on, term_from(row.engine, row.told_on, handover), handover)
    read = MeterReading.objects.filter(engine=row.engine_id, act=row.act_id).select_related("act__actor", "withdrawal")
    return {"term": row.term, "term_now": now, "readings": [reading_said(one) for one in read.order_by("pk")]}


def _row(
    row: OwnerClaim,
    owner: int | None,
    things: tuple[ClaimedThing, ...],
    entries: tuple[tuple[ClaimedCause, ...], tuple[ClaimAnswered, ...], tuple[ClaimEnded, ...]],
) -> ClaimRow:
    causes, answers, ends = entries
    state = state_of([one.what for one in ends])
    return ClaimRow(
        claim=row.pk,
        engine=row.engine.number,
        job=row.job.number,
        state=state,
        told_on=row.told_on,
        told_by=row.told_by,
        owner=owner,
        what=row.what,
        within=row.term["within"],
        why=row.term["why"],
        photos=tuple(row.photos),
        asked=row.asked,
        reason=row.act.reason,
        by=row.act.actor.username,
        at=row.act.occurred_at,
        things=things,
        causes=causes,
        answers=answers,
        ends=ends,
        lacking=lacking(len(causes), len(answers)) if state == OPEN else (),
    )


def _before(claim: OwnerClaim, positions: Mapping[int, set[str]]) -> dict[int, set[str]]:
    return {number: places for number, places in positions.items() if number < claim.pk}


def _flagged(things: Sequence[ClaimedThing], before: Mapping[int, set[str]]) -> tuple[ClaimedThing, ...]:
    """Things, each with the earlier claims on its position."""
    found: dict[str, list[int]] = defaultdict(list)
    for claim, place in repeats({one.position for one in things}, before):
        found[place].append(claim)
    return tuple(replace(one, failed_before=tuple(found[one.position])) for one in things)


def _positions(engines: Collection[int]) -> dict[int, dict[int, set[str]]]:
    """Engine → claim → the use positions that it concerns; claims that were taken back are left out. One query."""
    rows = ClaimThing.objects.filter(claim__engine__in=engines, withdrawal__isnull=True)
    newest = ClaimEnd.objects.filter(claim=OuterRef("claim")).order_by("-pk").values("what")[:1]
    found: dict[int, dict[int, set[str]]] = defaultdict(lambda: defaultdict(set))
    for engine, claim, place, end in rows.annotate(end=Subquery(newest)).values_list(
        "claim__engine", "claim", "position", "end"
    ):
        if end != TAKEN_BACK:
            found[engine][claim].add(place)
    return found


def _things(claims_: Collection[int]) -> dict[int, list[ClaimedThing]]:
    rows = ClaimThing.objects.filter(claim__in=claims_).select_related(
        "act__actor", "item__part", "item__lot", "item__serial", "withdrawal"
    )
    found: dict[int, list[ClaimedThing]] = defaultdict(list)
    for row in rows.order_by("pk"):
        item = row.item
        found[row.claim_id].append(
            ClaimedThing(
                thing=row.pk,
                position=row.position,
                item=row.item_id,
                part=item.part.number if item else "",
                lot=item.lot.code if item and item.lot else "",
                serial=item.serial.number if item and item.serial else "",
                what=row.what,
                photo=row.photo_ref,
                by=row.act.actor.username,
                at=row.act.occurred_at,
                withdrawn=row.withdrawal.reason if hasattr(row, "withdrawal") else "",
                failed_before=(),
            )
        )
    return found


def _causes(claims_: Collection[int]) -> dict[int, list[ClaimedCause]]:
    found: dict[int, list[ClaimedCause]] = defaultdict(list)
    rows = ClaimCause.objects.filter(claim__in=claims_).select_related("act__actor", "replaced_by")
    for row in rows.order_by("pk"):
        found[row.claim_id].append(
            ClaimedCause(
                cause_id=row.pk,
                cause=row.cause,
                found_by=row.found_by,
                evidence=row.evidence,
                oil_sample=row.oil_sample,
                coolant_sample=row.coolant_sample,
                by=row.act.actor.username,
                at=row.act.occurred_at,
                stands=not hasattr(row, "replaced_by"),
                instead_of=row.instead_of_id,
            )
        )
    return found


def _answers(claims_: Collection[int]) -> dict[int, list[ClaimAnswered]]:
    found: dict[int, list[ClaimAnswered]] = defaultdict(list)
    rows = ClaimAnswer.objects.filter(claim__in=claims_).select_related("act__actor", "replaced_by")
    for row in rows.order_by("pk"):
        found[row.claim_id].append(
            ClaimAnswered(
                answer_id=row.pk,
                answer=row.answer,
                reason=row.reason,
                by=row.act.actor.username,
                at=row.act.occurred_at,
                stands=not hasattr(row, "replaced_by"),
                instead_of=row.instead_of_id,
            )
        )
    return found


def _ends(claims_: Collection[int]) -> dict[int, list[ClaimEnded]]:
    found: dict[int, list[ClaimEnded]] = defaultdict(list)
    for row in ClaimEnd.objects.filter(claim__in=claims_).select_related("act__actor").order_by("pk"):
        found[row.claim_id].append(
            ClaimEnded(row.what, row.reason, row.cause_id, row.answer_id, row.act.actor.username, row.act.occurred_at)
        )
    return found
