"""Acts that a device sends later: what was refused is kept as it came, and a clash is listed until a person answers it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any
from uuid import UUID, uuid5

from inventory import locks
from inventory.domain.clashes import clash_with, items_named
from inventory.domain.errors import DomainError
from inventory.models import Act, Clash, ClashAnswer, LateAct, Person
from inventory.queries.clashes import told_of
from inventory.services import lookup
from inventory.services.run import Body, Done, Stamp, run

_KEPT = UUID("6b1ea4c0-3c55-4c0c-9df4-0d6f0a1f77d1")


def keep_refused(
    *,
    actor: Person,
    stamp: Stamp,
    kind: str,
    of: str,
    body: Mapping[str, Any],
    problem: Mapping[str, Any],
    codes: Sequence[str],
    holds: Sequence[int] = (),
    items: Sequence[int] = (),
    note: int | None = None,
) -> Done:
    """Keep an act that was refused when it was sent later, with its answer; where it is a clash, with the act that told first.

    stamp    its own key: the row's act has one that is made from it. When the device did it stands in `device_at`.
    codes    of the refusal and of each of its lines; holds: numbers of holds that the body names, for the things they hold;
             items: things that the address names
    note     number of the transfer note whose lines the body names, for what rides by them
    Outcome: {"late_act", "key", "kind", "of", "problem", "clash": number or None}.
    """
    request = {"kind": kind, "of": of, "body": body, "key": stamp.key}

    def work(act: Act) -> Body:
        late = LateAct.objects.create(act=act, key=stamp.key, kind=kind, of=of[:80], body=dict(body), problem=problem)
        first = clash_with(
            codes,
            stamp.device,
            stamp.device_at or stamp.occurred_at,
            told_of([*items, *items_named(body)], holds, act.pk, note),
        )
        if first is not None:
            Clash.objects.create(late=late, item_id=first.item, first_id=first.act)
        return {
            "late_act": act.pk,
            "key": stamp.key,
            "kind": kind,
            "of": of,
            "problem": dict(problem),
            "clash": act.pk if first else None,
        }

    own = replace(stamp, key=uuid5(_KEPT, str(stamp.key)), occurred_at=min(stamp.occurred_at, stamp.recorded_at))
    return run("keep refused", work, actor=actor, stamp=own, request=request, subject=of)


def answer_clash(*, actor: Person, stamp: Stamp, clash: int, second_is_right: bool, words: str) -> Done:
    """Say which of the two stories is true. Nothing moves by it: what was wrong is corrected, or done, by an act of its own.

    Outcome: {"clash", "second_is_right", "words"}. Raises DomainError "not-found", "reason-missing", "done-already".
    """
    request = {"clash": clash, "second_is_right": second_is_right, "words": words}

    def work(act: Act) -> Body:
        lookup.need_reason(words, "What was found to be true?")
        locks.name("clash", str(clash))
        row = Clash.objects.filter(pk=clash).first()
        if row is None:
            raise DomainError("not-found", f"There is no clash {clash}.", clash=clash)
        if ClashAnswer.objects.filter(clash=row).exists():
            raise DomainError("done-already", f"Clash {clash} was answered already.", clash=clash)
        ClashAnswer.objects.create(act=act, clash=row, second_is_right=second_is_right, words=words)
        return request

    return run("answer clash", work, actor=actor, stamp=stamp, request=request, reason=words)
