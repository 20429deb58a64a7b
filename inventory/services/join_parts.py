"""Joining two records of one number: both stay as they are, and serve for each other from then on."""

from __future__ import annotations

from django.db.models import Q

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.domain.joins import Record, check_join
from inventory.domain.supersession import BothWays, add_link
from inventory.models import Act, Part, PartJoin, Person, Replacement, ReplacementPart
from inventory.queries.joins import shared_by, standing_joins, stopped_in_one
from inventory.queries.replacements import links_of
from inventory.queries.withdrawn import withdrawn_parts
from inventory.services import lookup, things
from inventory.services.run import Body, Done, Stamp, run
from inventory.services.withdrawing import end_holds_of, why_withdrawn


def join_parts(*, actor: Person, stamp: Stamp, joined: str, kept: str, reason: str) -> Done:
    """Two records are of one number; `kept` is the one that counts from now on.

    Nothing is moved and nothing is rewritten: lots, holds, balances, histories stay where they are, under both records. What a list
    asks of one is served by the other too (a notice both ways); deliveries named by the joined one are booked under the kept one.
    It is taken back by withdrawing that notice: what was booked meanwhile stays where it was booked.
    Outcome: {"joined", "kept", "replacement": id of the notice, "reason", "same_lots": [{lot, joined_cure_code, kept_cure_code}],
    "same_serials": […], "shorts": of jobs, where old stock of the kept one is withdrawn}: lots that both have are stopped together from
    now on.
    Raises DomainError "not-found", "reason-missing", "records-differ", "joined-already", "replacement-loop".
    """

    def work(act: Act) -> Body:
        lookup.need_reason(reason, f"Why are {joined} and {kept} one part?")
        locks.name("replacements", "all")
        parts = things.parts_by_number([joined, kept])
        one, other = parts[joined], parts[kept]
        check_join(_record(other), _record(one), _notices(one))
        _refuse_joined(one, other)
        _refuse_stopped_in_one(one, other)
        add_link(links_of([one.pk, other.pk]), BothWays(joined, kept))
        notice = Replacement.objects.create(
            old=one, way=Replacement.Way.BOTH_WAYS, condition=f"two records of one number: {reason}"
        )
        ReplacementPart.objects.create(replacement=notice, part=other)
        PartJoin.objects.create(act=act, joined=one, kept=other, notice=notice)
        lots, serials = shared_by(other.pk, one.pk)
        withdrawn = withdrawn_parts([other.pk]).get(other.pk)
        shorts = end_holds_of(act, [one.pk], why_withdrawn(withdrawn)) if withdrawn else []
        return {
            "joined": joined,
            "kept": kept,
            "replacement": notice.pk,
            "reason": reason,
            "same_lots": [
                {"lot": code, "joined_cure_code": mine, "kept_cure_code": theirs} for code, mine, theirs in lots
            ],
            "same_serials": serials,
            "shorts": lookup.said(shorts),
        }

    request = {"joined": joined, "kept": kept, "reason": reason}
    return run("join parts", work, actor=actor, stamp=stamp, request=request, subject=joined[:80], reason=reason)


def _record(part: Part) -> Record:
    return Record(
        part.number,
        part.unit,
        part.tracked_by,
        part.kind,
        part.compound,
        part.ring,
        part.pack,
        bool(part.net_ul) or part.base != "piece",
    )


def _notices(part: Part) -> list[int]:
    """Notices that count and name the part; what it was joined by before is judged by itself."""
    rows = Replacement.objects.filter(withdrawn=False, join__isnull=True)
    named = rows.filter(Q(old=part) | Q(news__part=part) | Q(companions__part=part) | Q(companions__needs=part))
    return sorted(set(named.values_list("pk", flat=True)))


def _refuse_stopped_in_one(joined: Part, kept: Part) -> None:
    """A lot that both have is stopped under both, or under none: joined, nobody would look under the other."""
    lots = stopped_in_one(kept.pk, joined.pk)
    if lots:
        raise DomainError(
            "records-differ",
            f"Lot {', '.join(lots)} is stopped under one of {joined.number} and {kept.number} only.",
            ways_out=("Stop it under both, or free it.",),
            kept=kept.number,
            joined=joined.number,
            lots=lots,
        )


def _refuse_joined(joined: Part, kept: Part) -> None:
    """A record points at one that counts by itself: never at one that points on."""
    for part, as_what in ((joined, ("joined", "kept")), (kept, ("joined",))):
        for side in as_what:
            row = standing_joins().filter(**{side: part}).select_related("joined", "kept").order_by("pk").first()
            if row is not None:
                raise DomainError(
                    "joined-already",
                    f"{row.joined.number} was joined already; {row.kept.number} is kept.",
                    ways_out=(
                        f"Join to {row.kept.number}.",
                        f"Withdraw replacement {row.notice_id}, which takes the join back.",
                    ),
                    joined=row.joined.number,
                    kept=row.kept.number,
                    replacement=row.notice_id,
                )
