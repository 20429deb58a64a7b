"""Where old parts came from, when that is not known any more: mixed up at the bench, and the maker's word on them."""

from __future__ import annotations

from collections.abc import Sequence

from inventory.domain.errors import DomainError, ManyErrors
from inventory.models import Act, Item, Person
from inventory.services.run import Body, Done, Stamp, run
from kits.models import LostPosition, OriginWord, Removal
from kits.queries.at_positions import outs_of
from kits.queries.documents import family_of
from kits.services.shared import check_positions, open_job, touch


def lose_positions(*, actor: Person, stamp: Stamp, job: str, items: Sequence[int], reason: str) -> Done:
    """Record that nobody knows any more where these parts came from: they were mixed up, or their tags are gone.

    It is never taken back by naming a position later: what was mixed up cannot be told apart. Raises "nothing-given",
    "reason-missing"; ManyErrors "not-found" (no such part came out on this job), "position-lost-already".
    Outcome: {"lost": [{item, part, positions}]}, the positions that our records had until now.
    """

    def work(act: Act) -> Body:
        if not items:
            raise DomainError("nothing-given", "No part is named.")
        if not reason.strip():
            raise DomainError("reason-missing", "How did the parts lose their places?")
        row = open_job(job)
        removals = Removal.objects.filter(job=row, to_bench=True, act__corrected_by__isnull=True, item__in=items)
        out: dict[int, list[Removal]] = {}
        for one in removals.exclude(pk__in=_lost_ones(row.pk)).select_related("item__part", "spot").order_by("pk"):
            out.setdefault(one.item_id, []).append(one)
        gone = set(removals.values_list("item_id", flat=True)) - out.keys()
        errors = tuple(
            (number, _not_out(item, item in gone)) for number, item in enumerate(items, 1) if item not in out
        )
        if errors:
            raise ManyErrors(errors)
        LostPosition.objects.bulk_create(
            [LostPosition(removal=one, act=act, reason=reason) for item in dict.fromkeys(items) for one in out[item]]
        )
        touch(row)
        return {
            "lost": [
                {
                    "item": item,
                    "part": out[item][0].item.part.number,
                    "positions": list(dict.fromkeys(one.spot.name for one in out[item])),
                }
                for item in dict.fromkeys(items)
            ]
        }

    request = {"job": job, "items": list(items), "reason": reason}
    return run("lose position", work, actor=actor, stamp=stamp, request=request, subject=job, reason=reason)


def _lost_ones(job_id: int) -> Sequence[int]:
    rows = LostPosition.objects.filter(removal__job=job_id, act__corrected_by__isnull=True)
    return list(rows.values_list("removal_id", flat=True))


def _not_out(item: int, lost: bool) -> DomainError:
    if lost:
        return DomainError("position-lost-already", f"The place of item {item} is lost already.", item=item)
    return DomainError("not-found", f"Item {item} did not come out of the engine to the bench on this job.", item=item)


def enter_origin_word(*, actor: Person, stamp: Stamp, job: str, item: int, position: str, word: str) -> Done:
    """Enter the maker's word that a part of unknown place may go into a position; the newest for it counts.

    Raises "reason-missing" (no word), ManyErrors "position-unknown"; "not-found" (the part did not come out on this job),
    "position-lost" (such a part is never used again, whatever is said), "wrong-place-of-origin" (its place is known).
    Outcome: {"item", "position", "word"}.
    """

    def work(act: Act) -> Body:
        if not word.strip():
            raise DomainError(
                "reason-missing", "Who said at the maker's that it may go there, and where is it written?"
            )
        row = open_job(job)
        check_positions(row, [position])
        outs = outs_of(row, [item]).get(item)
        if outs is None:
            raise _not_out(item, lost=False)
        known = [out.position for out in outs if out.position]
        if known:
            raise DomainError(
                "wrong-place-of-origin",
                f"Item {item} came out of {', '.join(known)}; it goes back there.",
                ways_out=("Record its place as lost, if that is so.",),
                position=position,
                came_from=known,
            )
        rule = family_of(row.family_revision).facts.origin(position)
        if rule is not None and rule.lost_never:
            raise DomainError(
                "position-lost",
                f"{position}: a part of unknown place is never used again there.",
                ways_out=("Scrap it and fit a new one.",),
                position=position,
            )
        OriginWord.objects.create(job=row, act=act, item=Item.objects.get(pk=item), position=position, word=word)
        touch(row)
        return {"item": item, "position": position, "word": word}

    request = {"job": job, "item": item, "position": position, "word": word}
    return run("enter word of the maker", work, actor=actor, stamp=stamp, request=request, subject=job, reason=word)
