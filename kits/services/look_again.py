"""The second look: somebody else than the picker looks at what lies on the cart."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass

from inventory import locks
from inventory.domain.errors import DomainError, ManyErrors
from inventory.models import Act, HoldEnd, Person
from inventory.queries.days import shop_day
from inventory.queries.held import Pending, pending
from inventory.services.post import Move, post
from inventory.services.run import Body, Done, Stamp, run
from kits.models import BinToCount, JobHold, PickList, SecondLook
from kits.services.checking import must_be_checker
from kits.services.shared import open_still, pick_list_by_id, touch


@dataclass(frozen=True, slots=True)
class LookIn:
    """What was seen of a picked line. wrong: what is wrong with it; empty where it is what the list asks for."""

    hold: int
    wrong: str = ""


def look_again(*, actor: Person, stamp: Stamp, pick_list: int, looks: Sequence[LookIn]) -> Done:
    """A second person looks at picked lines of a list; `actor` is that person, never the picker, and may check at the site.

    What is wrong goes back to the bin that it came from, which is listed to be counted; its line is open again and is held anew.
    Any picked line may be looked at; sets and bearings are before the cart is handed over.
    Raises ManyErrors: "not-found" (not of this list), "not-picked", "done-already", "same-person"; "may-not-check", "not-on-duty"
    for the whole act; "not-there" where a wrong one is not on the cart any more.
    Outcome: {"job", "seen": [{hold, part, lot, serial}], "put_back": [{hold, part, lot, serial, amount, place, spot, wrong}]}.
    """
    listed = pick_list_by_id(pick_list)
    request = {"pick_list": pick_list, "looks": [asdict(one) for one in looks]}

    def work(act: Act) -> Body:
        if not looks:
            raise DomainError("nothing-given", "Nothing was looked at.")
        job = listed.job
        open_still(job)
        must_be_checker(job.site, actor, shop_day(act.occurred_at))
        mine = _lines(listed, looks, actor)
        things = pending(mine.keys())
        wrong = [one for one in looks if one.wrong.strip()]
        locks.scarcer(things[one.hold].part_at_site for one in wrong)
        ends = {one.hold: mine[one.hold].hold.end.picked for one in wrong}
        post(
            act,
            [
                Move(things[hold].thing, amount, things[hold].to_spot, things[hold].from_spot)
                for hold, amount in ends.items()
            ],
        )
        SecondLook.objects.bulk_create(
            [SecondLook(hold_id=one.hold, act=act, wrong=one.wrong.strip()) for one in looks]
        )
        BinToCount.objects.bulk_create(
            [
                BinToCount(
                    act=act, pick_list=listed, item_id=things[one.hold].item_id, spot_id=things[one.hold].from_spot_id,
                    why=f"wrong at the second look: {one.wrong.strip()}",
                )
                for one in wrong
            ]
        )  # fmt: skip
        touch(job)
        return {
            "job": job.number,
            "seen": [_seen(things[one.hold]) for one in looks if not one.wrong.strip()],
            "put_back": [
                {
                    **_seen(things[one.hold]),
                    "amount": ends[one.hold],
                    "place": things[one.hold].from_spot.place.code,
                    "spot": things[one.hold].from_spot.name,
                    "wrong": one.wrong.strip(),
                }
                for one in wrong
            ],
        }

    return run("second look", work, actor=actor, stamp=stamp, request=request, subject=listed.job.number)


def _lines(listed: PickList, looks: Sequence[LookIn], actor: Person) -> Mapping[int, JobHold]:
    """The lines that were looked at; ManyErrors names each that cannot be."""
    rows = JobHold.objects.filter(pick_list=listed, hold__in={one.hold for one in looks})
    mine = {row.hold_id: row for row in rows.select_related("hold__end__act", "second_look")}
    errors: list[tuple[int, DomainError]] = []
    seen: set[int] = set()
    for number, one in enumerate(looks, 1):
        error = _no_look(listed, mine.get(one.hold), one, actor, one.hold in seen)
        if error is not None:
            errors.append((number, error))
        seen.add(one.hold)
    if errors:
        raise ManyErrors(tuple(errors))
    return mine


def _no_look(listed: PickList, row: JobHold | None, one: LookIn, actor: Person, again: bool) -> DomainError | None:
    if row is None:
        return DomainError("not-found", f"Pick list {listed.pk} has no line {one.hold}.", hold=one.hold)
    end = getattr(row.hold, "end", None)
    if end is None or end.how != HoldEnd.How.PICKED:
        return DomainError("not-picked", f"Line {one.hold} is not picked.", hold=one.hold)
    if again or getattr(row, "second_look", None) is not None:
        return DomainError("done-already", f"Line {one.hold} was looked at already.", hold=one.hold)
    if end.act.actor_id == actor.pk:
        return DomainError(
            "same-person",
            f"{actor} picked line {one.hold}; another person looks at it.",
            hold=one.hold,
            person=str(actor),
        )
    return None


def _seen(row: Pending) -> Body:
    return {"hold": row.pk, "part": row.part, "lot": row.lot, "serial": row.serial}
