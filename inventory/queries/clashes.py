"""Acts that were sent later: what was kept of them, and the clashes with both their stories."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from inventory.domain.clashes import Told
from inventory.models import Act, Clash, Hold, Item, LateAct, Movement, Person, TransferNoteLine


def told_of(items: Sequence[int], holds: Sequence[int], before: int, note: int | None = None) -> list[Told]:
    """Of each single thing that was named, held by these, or rode by that transfer note: the newest act that moved it, and its device. That it
    was sent by the note is no other story of what rode. Four queries."""
    promised = Hold.objects.filter(pk__in=holds).values_list("item_id", flat=True)
    rode = TransferNoteLine.objects.filter(note=note).order_by("line").values_list("item_id", "note__act_id")
    sent = dict(rode) if note is not None else {}
    wanted = list(dict.fromkeys([*items, *promised, *sent]))
    single = set(Item.objects.filter(pk__in=wanted, single=True).values_list("pk", flat=True))
    rows = Movement.objects.filter(item__in=single, act_id__lt=before, act__corrected_by__isnull=True).order_by("pk")
    told = rows.values_list("item_id", "act_id", "act__device", "act__recorded_at")
    newest = {row[0]: Told(*row) for row in told}
    return [newest[item] for item in wanted if item in newest and newest[item].act != sent.get(item)]


def items_of_set(serial: str) -> list[int]:
    """The whole sets of a serial, of whatever part. One query."""
    rows = Item.objects.filter(serial__number=serial, serial__matched_set__isnull=False, member="")
    return list(rows.order_by("pk").values_list("pk", flat=True))


def kept(key: UUID) -> LateAct | None:
    """What was kept of the act with this number of a device; None where it was done, or never came."""
    return LateAct.objects.filter(key=key).select_related("act__outcome", "act__actor").first()


def same_as_kept(row: LateAct, actor: Person, kind: str, of: str, body: Any) -> bool:
    """Whether what is sent again is what was sent."""
    return (row.act.actor_id, row.kind, row.of, row.body) == (actor.pk, kind, of[:80], body)


def clashes() -> QuerySet[Clash]:
    """All of them, with what is told of each."""
    return Clash.objects.select_related(
        "late__act__actor", "first__actor", "item__part", "item__serial", "answer__act__actor"
    )


def open_clashes() -> QuerySet[Clash]:
    """Those that nobody answered, oldest first."""
    return clashes().filter(answer__isnull=True).order_by("pk")


def rendered_clashes(rows: Sequence[Clash]) -> list[dict[str, Any]]:
    """Both stories of each, and the answer, JSON-ready."""
    return [
        {
            "clash": row.pk,
            "item": row.item_id,
            "part": row.item.part.number,
            "called": row.item.called,
            "code": row.late.problem["code"],
            "detail": row.late.problem["detail"],
            "first": _story(row.first, row.first.kind, row.first.subject),
            "second": _story(row.late.act, row.late.kind, row.late.of) | {"body": row.late.body, "key": row.late.key},
            "answer": _answer(row),
        }
        for row in rows
    ]


def _story(act: Act, kind: str, of: str) -> dict[str, Any]:
    return {
        "act": act.pk,
        "kind": kind,
        "of": of,
        "by": act.actor.username,
        "device": act.device,
        "device_at": act.device_at,
        "occurred_at": act.occurred_at,
        "recorded_at": act.recorded_at,
    }


def _answer(row: Clash) -> dict[str, Any] | None:
    answer = getattr(row, "answer", None)
    if answer is None:
        return None
    return {
        "second_is_right": answer.second_is_right,
        "words": answer.words,
        "by": answer.act.actor.username,
        "at": answer.act.recorded_at,
    }
