"""The customer's own parts go back, against a signature."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass

from inventory import locks
from inventory.domain.articles import a
from inventory.domain.errors import DomainError, ManyErrors
from inventory.domain.places import NO_SPOT, PlaceKind
from inventory.models import Act, Item, Person, Spot
from inventory.services import lookup, things
from inventory.services.run import Body, Done, Stamp, run
from kits.models import Job
from kits.queries.belongings import customers_own
from kits.queries.marks import marked_sets
from kits.queries.scope import job_by_number
from kits.services.giving import Given, hand_back
from kits.services.shared import touch


@dataclass(frozen=True, slots=True)
class GiveIn:
    """One thing that goes back.

    amount  text with a unit, or whole base units
    place   "bench", or the code of the quarantine where it lies; spot: of that place
    """

    item_id: int
    amount: str | int = 1
    place: str = "bench"
    spot: str = NO_SPOT


def give_back(*, actor: Person, stamp: Stamp, job: str, given: Sequence[GiveIn], signed_by: str) -> Done:
    """Give things of the customer back from the bench or quarantine; of an ended job too.

    signed_by  name of who signed for them: kept with the act, in no outcome
    The customer's is what the engine came with; what the job put in new, and what was found as the shop's, is the shop's own.
    Outcome: {"job", "given_back": [{part, item, amount, from}]}. Raises "not-signed", "nothing-given"; ManyErrors naming every line:
    "not-found", "wrong-place", "not-there", "shops-own", "mark-not-cleaned", those of amounts.
    """

    def work(act: Act) -> Body:
        if not given:
            raise DomainError("nothing-given", "Nothing goes back.")
        if not signed_by.strip():
            raise DomainError("not-signed", "The owner's own parts go back against a signature.")
        row = job_by_number(job)
        locks.row("kits_job", [row.pk])
        row.refresh_from_db(fields=["version", "state"])
        locks.row("kits_engine", [row.engine_id])
        items = lookup.items(one.item_id for one in given)
        errors: list[tuple[int, DomainError]] = []
        lines: list[Given] = []
        spots = _spots(row, given, errors)
        lookup.lock(
            (items[one.item_id], spots[number].place)
            for number, one in enumerate(given, 1)
            if number in spots and one.item_id in items
        )
        own = customers_own(row, items.keys())
        there = {
            pair: balance.amount
            for pair, balance in lookup.balances((item, spot.pk) for item in items for spot in spots.values()).items()
        }
        painted = {one.item_id for one in marked_sets(row)}
        for number, spot in spots.items():
            try:
                lines.append(_line(given[number - 1], spot, items, own, there, painted))
            except DomainError as error:
                errors.append((number, error))
        if errors:
            raise ManyErrors(tuple(sorted(errors, key=lambda one: one[0])))
        said = hand_back(act, row, lines, signed_by)
        touch(row)
        return {"job": job, "given_back": said}

    request = {"job": job, "given": [asdict(one) for one in given], "signed_by": signed_by}
    return run("give back to the owner", work, actor=actor, stamp=stamp, request=request, subject=job)


def _spots(job: Job, given: Sequence[GiveIn], errors: list[tuple[int, DomainError]]) -> dict[int, Spot]:
    """Line → the spot it lies at, of the places that can be; what cannot be is added to the errors."""
    found: dict[int, Spot] = {}
    for number, one in enumerate(given, 1):
        try:
            place = job.bench if one.place == "bench" else things.place(one.place)
            if place.pk != job.bench_id and place.kind != PlaceKind.QUARANTINE:
                raise DomainError(
                    "wrong-place",
                    f"{place.code} is {a(place.kind)}: things go back from the bench or quarantine.",
                    ways_out=("What is at an outside machinist comes back to the bench first.",)
                    if place.kind == PlaceKind.OUTSIDE
                    else (),
                    place=place.code,
                )
            found[number] = things.spot(place, one.spot)
        except DomainError as error:
            errors.append((number, error))
    return found


def _line(
    one: GiveIn,
    spot: Spot,
    items: Mapping[int, Item],
    own: dict[tuple[int, int], int],
    there: dict[tuple[int, int], int],
    painted: set[int],
) -> Given:
    """The line as it goes back; `own` and `there` are used up line by line."""
    item = items.get(one.item_id)
    if item is None:
        raise DomainError("not-found", f"There is no item {one.item_id}.", item=one.item_id)
    amount, _ = lookup.amount(item, one.amount)
    pair = (item.pk, spot.pk)
    lies, customers = there.get(pair, 0), own.get(pair, 0)
    if lies < amount:
        raise DomainError(
            "not-there",
            f"{spot.place.code} has {lies} of {lookup.label(item)}; {amount} were asked for.",
            place=spot.place.code, item=item.pk, part=item.part.number, there=lies, asked=amount,
        )  # fmt: skip
    if customers < amount:
        raise DomainError(
            "shops-own",
            f"{customers} of {lies} of {lookup.label(item)} at {spot.place.code} came with this engine: the rest is the shop's own.",
            ways_out=("Return it, or scrap it.",),
            item=item.pk, part=item.part.number, customers=customers, asked=amount,
        )  # fmt: skip
    if item.pk in painted:
        raise DomainError(
            "mark-not-cleaned",
            f"{lookup.label(item)} carries a bore mark of the job: it goes back without.",
            ways_out=("Clean the mark off and record it.",),
            item=item.pk,
        )
    own[pair], there[pair] = customers - amount, lies - amount
    return Given(item, amount, spot)
