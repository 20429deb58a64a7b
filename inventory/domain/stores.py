"""Rules of the stores' own acts: what may be carried where, who may release it, what a broken set leaves, what a tube weighs."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from inventory.domain.articles import a
from inventory.domain.errors import DomainError
from inventory.domain.places import PlaceKind
from inventory.domain.quantities import round_half_even

#: Between these things are carried by a transfer. Carts, benches and engines have acts of their own, and so has the van.
CARRIED_BETWEEN = frozenset({PlaceKind.SHELF, PlaceKind.QUARANTINE})
#: Where things lie open to be counted, scrapped, opened or found damaged; what is in an engine is removed first, what is in the van
#: belongs to its note.
AT_HAND = frozenset({PlaceKind.SHELF, PlaceKind.QUARANTINE, PlaceKind.CART, PlaceKind.BENCH, PlaceKind.CRATE})
#: An opened tube may hold this share more than its label says; beyond that the weight was mistyped. From memory.
MOST_FILLED = Fraction(11, 10)


class WhoPays(StrEnum):
    """Who bears what was scrapped."""

    JOB = "job"
    SHOP = "shop"
    SUPPLIER = "supplier"
    MAKER = "maker"


@dataclass(frozen=True, slots=True)
class Carried:
    """What a rule needs to know of a thing.

    label        as a person is told, such as "A-1 serial=S-1"
    orphan       a half of a broken set
    lot_unknown  of a part traced by lot, out of a kit whose inner bag could not be read
    found        found in an engine with nothing to read on it: what it is rests on a look at it, so it never becomes stock
    """

    label: str
    orphan: bool = False
    lot_unknown: bool = False
    found: bool = False


def check_transfer(thing: Carried, origin: PlaceKind, target: PlaceKind, reason: str) -> None:
    """Shelf and quarantine, any way but out of quarantine. DomainError: "wrong-place", "release-needed",
    "set-broken", "lot-unknown", "reason-missing"."""
    for kind in (origin, target):
        if kind not in CARRIED_BETWEEN:
            way = ("What goes by the van is sent by a note.",) if kind is PlaceKind.VAN else ()
            raise DomainError(
                "wrong-place",
                f"A transfer goes between shelves and quarantine, not by {a(kind)}.",
                ways_out=way,
                kind=kind.value,
            )
    if target is PlaceKind.QUARANTINE:
        if not reason.strip():
            raise DomainError("reason-missing", f"Why does {thing.label} go to quarantine?", item=thing.label)
        return
    if origin is PlaceKind.QUARANTINE:
        raise DomainError(
            "release-needed",
            f"{thing.label} is in quarantine: it leaves when a second person releases it.",
            ways_out=("Have an inspector release it.", "Scrap it."),
            item=thing.label,
        )
    check_sellable(thing)


def check_same_site(label: str, origin: str | None, target: str | None) -> None:
    """Codes of the sites of two places, None where a place is of none. DomainError "other-site": between sites a note goes along."""
    if origin and target and origin != target:
        raise DomainError(
            "other-site",
            f"{label} would go from {origin} to {target}: between sites it goes by the van, with a note.",
            ways_out=(f"Send it to {target} by a transfer note.",),
            item=label,
            from_site=origin,
            to_site=target,
        )


def check_release(thing: Carried, origin: PlaceKind, target: PlaceKind, actor: int, brought: Iterable[int]) -> None:
    """Quarantine to shelf, by somebody who did not bring it in. `brought`: ids of those who did.

    DomainError: "wrong-place", "set-broken", "lot-unknown", "second-person-needed".
    """
    if origin is not PlaceKind.QUARANTINE or target is not PlaceKind.SHELF:
        raise DomainError(
            "wrong-place",
            f"A release goes from quarantine to a shelf, not from {a(origin)} to {a(target)}.",
            origin=origin.value,
            target=target.value,
        )
    check_sellable(thing)
    if actor in set(brought):
        raise DomainError(
            "second-person-needed",
            f"{thing.label} was brought into quarantine by the same person: another one releases it.",
            item=thing.label,
        )


@dataclass(frozen=True, slots=True)
class Carry:
    """One movement of an item: so much from a place to a place, each with its kind; `never_in`: out of an engine in which it never was."""

    amount: int
    origin: int
    origin_kind: PlaceKind
    target: int
    target_kind: PlaceKind
    never_in: bool = False


#: What goes from a bench to these was never in an engine, or goes back into one.
NOT_USED_AT = frozenset({PlaceKind.ENGINE, PlaceKind.SHELF, PlaceKind.CART})


def used_in_quarantine(moves: Iterable[Carry]) -> int:
    """How much of one item that lies in quarantine was in an engine, whole base units.

    moves   every movement of the item out of engines, benches, outside work, crates, the van, quarantine and the count difference, in
            order of time; none that was taken back
    Old and new of one lot are not told apart. What goes to scrap, quarantine, the van, an old-unit crate or the owner is the old ones
    first, since nothing that was in an engine goes to a shelf; what was counted short and is found again is the old ones first too.
    """
    used: dict[int, int] = {}
    aside: set[int] = set()
    for move in moves:
        aside |= {move.target} if move.target_kind is PlaceKind.QUARANTINE else set()
        if move.never_in:
            old = 0
        elif move.origin_kind is PlaceKind.ENGINE:
            old = move.amount
        elif move.target_kind in NOT_USED_AT:
            old = 0
        else:
            old = min(move.amount, used.get(move.origin, 0))
            used[move.origin] = used.get(move.origin, 0) - old
        if move.target_kind is not PlaceKind.ENGINE:
            used[move.target] = used.get(move.target, 0) + old
    return sum(used.get(place, 0) for place in aside)


def check_never_used(thing: Carried, asked: int, there: int, used: int) -> None:
    """Whatever was in an engine is never stock again: rubber least of all. DomainError "was-in-engine". That more is asked for than there
    is, is another matter."""
    if min(asked, there) > there - used:
        raise DomainError(
            "was-in-engine",
            f"{used} of {there} of {thing.label} in quarantine came out of an engine: what was in an engine is never stock again.",
            ways_out=("Scrap it.", "Give it back to the owner."),
            item=thing.label,
            there=there,
            used=used,
            asked=asked,
        )


def check_sellable(thing: Carried) -> None:
    """DomainError "set-broken", "lot-unknown" for what is no stock that anybody could be given."""
    if thing.orphan:
        raise DomainError(
            "set-broken",
            f"{thing.label} is a half of a broken set: it stays in quarantine.",
            ways_out=("Scrap it.", "Match it again by measurement; that makes a new set."),
            item=thing.label,
        )
    if thing.found:
        raise DomainError(
            "lot-unknown",
            f"{thing.label} was found in an engine with nothing to read on it: it never becomes stock.",
            ways_out=("Scrap it.", "Give it back to the owner."),
            item=thing.label,
        )
    if thing.lot_unknown:
        raise DomainError(
            "lot-unknown",
            f"{thing.label} came out of a kit with its lot not readable: for the job at hand only, else scrap.",
            ways_out=("Use it on the job whose kit was opened.", "Scrap it."),
            item=thing.label,
        )


def check_at_hand(kind: PlaceKind, place: str, what: str) -> None:
    """DomainError "wrong-place" where a thing cannot be counted, scrapped, opened or broken; `what` names the act."""
    if kind not in AT_HAND:
        way = {
            PlaceKind.ENGINE: ("Remove it from the engine first.",),
            PlaceKind.VAN: ("Say on its note what became of it.",),
        }.get(kind, ())
        raise DomainError("wrong-place", f"{place} is {a(kind)}: nothing is {what} there.", ways_out=way, place=place)


def content_ul(weight_mg: int, empty_mg: int, density_mg_per_ml: int, net_ul: int) -> int:
    """What an opened tube still holds: (weight − empty weight) / density, in whole µL, a tie to the even one.

    DomainError: "weight-below-empty"; "weight-too-large" above `MOST_FILLED` of the content on the label.
    """
    if weight_mg < empty_mg:
        raise DomainError(
            "weight-below-empty",
            f"{weight_mg} mg is less than the empty tube weighs ({empty_mg} mg).",
            weight_mg=weight_mg,
            empty_mg=empty_mg,
        )
    content = Fraction((weight_mg - empty_mg) * 1000, density_mg_per_ml)
    if content > MOST_FILLED * net_ul:
        raise DomainError(
            "weight-too-large",
            f"{weight_mg} mg would be {round_half_even(content)} µL in a tube of {net_ul} µL.",
            weight_mg=weight_mg,
            content_ul=round_half_even(content),
            net_ul=net_ul,
        )
    return round_half_even(content)


@dataclass(frozen=True, slots=True)
class InnerBag:
    """One inner lot of a kit's content: the lot code ("" where it is not known) and how many pieces of it in each box."""

    code: str
    amount: int


@dataclass(frozen=True, slots=True)
class Bags:
    """How a content is split into lots, and, where the bag says otherwise than the record, what the record said."""

    bags: tuple[InnerBag, ...]
    record_said: tuple[str, ...] = ()


def inner_bags(part: str, amount: int, on_record: Sequence[InnerBag], read: str, reason: str) -> Bags:
    """The lots of one traced content of one box.

    on_record  what was written down when the closed kit was received; read: the code on the bag now, "" if not readable
    The record is taken; what it does not cover has no known lot. Another code read is a conflict: DomainError
    "inner-lot-differs" unless there is a reason, then the bag is believed and the answer names what the record said.
    The kit's own lot is never taken as the content's.
    """
    if not on_record:
        return Bags((InnerBag(read, amount),))
    known = {bag.code for bag in on_record}
    if read and known != {read}:
        if not reason.strip():
            raise DomainError(
                "inner-lot-differs",
                f"The record of this kit says lot {', '.join(sorted(known))} for {part}; the bag is read as {read}.",
                ways_out=("Read the bag again.", "If the bag does say so, give a reason: the bag is believed then."),
                part=part,
                on_record=sorted(known),
                read=read,
            )
        return Bags((InnerBag(read, amount),), tuple(sorted(known)))
    bags, left = [], amount
    for bag in on_record:
        taken = min(bag.amount, left)
        if taken:
            bags.append(InnerBag(bag.code, taken))
        left -= taken
    if left:
        bags.append(InnerBag("", left))
    return Bags(tuple(bags))
