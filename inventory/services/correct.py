"""Correcting: an act is never changed; a new one reverses each of its movements, true since the moment of the first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from django.db import IntegrityError

from inventory import locks
from inventory.domain.corrections import Leg, Written, check_correctable, reversal
from inventory.domain.errors import DomainError
from inventory.domain.places import said_from, said_to
from inventory.models import Act, Movement, OldUnitSent, Person, Spot
from inventory.queries.undone import undone_with
from inventory.services import correctable, lookup
from inventory.services.keeping import put_back, taken_back
from inventory.services.post import Move, post
from inventory.services.run import Body, Done, Stamp, run


def correct(*, actor: Person, stamp: Stamp, act_id: int, reason: str) -> Done:
    """Take an act back: reversing rows for all its movements. At most once; not every act can be corrected (the error says what
    to do instead). `stamp.occurred_at` is replaced by that of the act: the books then never had it, as known from now on.

    Holds that the act ended stay ended, and are named. Outcome: {"corrects": act id, "kind", "occurred_at", "reversed":
    [{part, item, amount, from, to, said}], "restored": what is again as it was before, where that is more than movements, pieces of lots that are kept again as "kept" among it,
    "holds_not_restored": [hold ids], "note"}.
    Raises DomainError "not-found", "reason-missing", "corrected-already", "not-correctable"; "not-there",
    "serial-elsewhere" or "backdated-below-zero" where things have moved on since.
    """
    request = {"act": act_id, "reason": reason}
    original = Act.objects.select_related("place").filter(pk=act_id).first()
    when = replace(stamp, occurred_at=original.occurred_at) if original else stamp

    def work(act: Act) -> Body:
        return _reverse(act, original, act_id, reason)

    def go(corrects: Act | None) -> Done:
        return run(
            "correct",
            work,
            actor=actor,
            stamp=when,
            request=request,
            place=original.place if original else None,
            subject=original.subject if original else "",
            reason=reason,
            corrects=corrects,
        )

    # `corrects` is unique and is written with the act's header, before anything could be checked: where another correction
    # stands already (or wins the race), the header goes without it and the work refuses by name.
    if original is None or _another(act_id, stamp):
        return go(None)
    try:
        return go(original)
    except IntegrityError:
        if not _another(act_id, stamp):
            raise
        return go(None)


def _another(act_id: int, stamp: Stamp) -> bool:
    return Act.objects.filter(corrects_id=act_id).exclude(key=stamp.key).exists()


def _reverse(act: Act, original: Act | None, act_id: int, reason: str) -> Body:
    if original is None:
        raise DomainError("not-found", f"There is no act {act_id}.", act=act_id)
    lookup.need_reason(reason, f"Why is act {act_id} taken back?")
    locks.name("correct", str(act_id))
    rows = list(
        Movement.objects.filter(act_id=act_id).select_related("from_spot__place", "to_spot__place").order_by("pk")
    )
    check_correctable(_written(act, original, len(rows)))
    correctable.ask_all(original)
    found = lookup.items(row.item_id for row in rows)
    spots: dict[int, Spot] = {spot.pk: spot for row in rows for spot in (row.from_spot, row.to_spot)}
    lookup.lock((found[row.item_id], row.to_spot.place) for row in rows if row.to_spot.place.real)
    carried = taken_back(act, original)
    legs = [Leg(row.item_id, row.amount, row.from_spot_id, row.to_spot_id) for row in rows]
    done: list[Body] = []
    for batch in reversal(legs):
        moves = [Move(found[leg.item_id], leg.amount, spots[leg.from_spot_id], spots[leg.to_spot_id]) for leg in batch]
        _post_back(act, original, moves)
        done += [
            {
                "part": found[move.item.pk].part.number,
                "item": move.item.pk,
                "amount": move.amount,
                "from": _end(move.from_spot),
                "to": _end(move.to_spot),
                "said": _in_words(move),
            }
            for move in moves
        ]
    kept = put_back(act, original, carried)
    restored = correctable.restore(act, original) | ({"kept": kept} if kept else {})
    lost = sorted(original.hold_ends.values_list("hold_id", flat=True))
    return {
        "corrects": act_id,
        "kind": original.kind,
        "occurred_at": original.occurred_at,
        "reversed": done,
        "restored": restored,
        "holds_not_restored": lost,
        "note": "The holds that the act ended stay ended: hold again." if lost else "",
    }


def _post_back(act: Act, original: Act, moves: Sequence[Move]) -> None:
    """What it brought must still be there; where something took it away since, the refusal says what is taken back first."""
    try:
        post(act, moves)
    except DomainError as error:
        items = [move.item.pk for move in moves if move.from_spot.place.code == error.values.get("place")]
        since = Movement.objects.filter(
            item__in=items, from_spot__in=[move.from_spot.pk for move in moves], act_id__gt=original.pk,
            act__corrected_by__isnull=True, act__corrects__isnull=True,
        )  # fmt: skip
        last = since.order_by("-act_id").values_list("act_id", "act__kind").first()
        if error.code != "not-there" or last is None:
            raise
        way = f"Take act {last[0]} ({last[1]}) back first, if it is wrong too."
        raise DomainError(error.code, error.message, ways_out=(way, *error.ways_out), **error.values) from error


def _end(spot: Spot) -> Body:
    """Place and spot of one end; empty where it is only the books' own: `said` tells of it."""
    return {"place": spot.place.code, "spot": spot.name} if spot.place.real else {"place": "", "spot": ""}


def _in_words(move: Move) -> str:
    ends = (
        said_from(lookup.kind(move.from_spot.place), taken_back=True),
        said_to(lookup.kind(move.to_spot.place), taken_back=True),
    )
    return "; ".join(words for words in ends if words)


def _written(act: Act, original: Act, movements: int) -> Written:
    earlier = Act.objects.filter(corrects=original).exclude(pk=act.pk).values_list("pk", flat=True).first()
    built = undone_with(original)
    return Written(
        act_id=original.pk,
        kind=original.kind,
        movements=movements,
        is_correction=original.corrects_id is not None,
        holds=original.holds.count(),
        hold_ends=original.hold_ends.count(),
        stops=original.stops.count(),
        frees=original.frees.count(),
        set_breaks=original.set_breaks.count(),
        old_units=original.old_units.count(),
        old_units_gone=OldUnitSent.objects.filter(unit__act=original, act__corrected_by__isnull=True).count(),
        rows=built.rows,
        built_on=built.built_on,
        corrected_by=earlier,
        by_word=correctable.is_by_word(original.kind),
        instead=correctable.way_out_of(original.kind),
    )
