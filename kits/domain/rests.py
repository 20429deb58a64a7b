"""What a job's own tubes give beyond what they were brought for: which other joints their rest closes. Pure.

A tube, tin or bottle comes to a job whole, for the joints that a list named then. A joint that is added later is closed from what is left in
it, reckoned as the first was: what stays in the joint, waste, priming, dead share, margin. Only where that is not enough another is brought.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from inventory.domain.shelf_life import usable_on
from kits.domain.requirements import Key
from kits.domain.sealant import SealantRules, volume_of
from kits.domain.tubes import JointDraw, OpenTube, Rest, Rests, rests_of

#: A joint's place on the list and the part that is poured there.
Name = tuple[Key, str]


@dataclass(frozen=True, slots=True)
class Pouring:
    """How a part is poured that comes in tubes.

    nominal_ul   what a closed one holds
    density_mg_per_ml  None: not known, and what is listed by weight is closed from no rest
    known        whether anybody can say what an opened one holds
    day          of the work, against which use-by days are held
    """

    nominal_ul: int
    rules: SealantRules
    day: date
    density_mg_per_ml: int | None = None
    known: bool = True


@dataclass(frozen=True, slots=True)
class ToPour:
    """So much of a listed part, in `base` units, is still to be poured at a key, through a nozzle."""

    name: Name
    amount: int
    base: str
    nozzle: str


@dataclass(frozen=True, slots=True)
class OwnTube:
    """A tube that a job has: held for it (by that hold), or lying there. `content_ul` of an opened one, None: `pieces` closed ones; `wanted`:
    it stays there for a joint that it was brought for."""

    item: int
    content_ul: int | None
    hold: int | None = None
    pieces: int = 1
    opened_on: date | None = None
    use_by: date | None = None
    wanted: bool = False

    @property
    def key(self) -> str:
        """What tells it apart."""
        return f"item {self.item}" if self.hold is None else f"hold {self.hold}"


@dataclass(frozen=True, slots=True)
class FromRests:
    """serves: the joints that the rests close. items, holds: what is begun or lies ready for the joints of these parts, opened tubes that
    lie there and holds; closed: item → how many closed pieces of it. left: what the tubes give then."""

    serves: tuple[Name, ...]
    items: frozenset[int]
    holds: frozenset[int]
    closed: Mapping[int, int]
    left: tuple[Rest, ...]


def from_rests(
    pouring: Mapping[str, Pouring],
    tubes: Mapping[str, Sequence[OwnTube]],
    brought_for: Iterable[ToPour],
    lacking: Iterable[ToPour],
) -> FromRests:
    """What the rests of a job's tubes close.

    tubes        part → those of the job
    brought_for  joints still to be closed from the tubes that were brought for them, in order of work: they come first
    lacking      joints for which nothing was brought, in order of work
    """
    first, then = _by_part(pouring, brought_for), _by_part(pouring, lacking)
    serves: list[Name] = []
    begun: dict[str, OwnTube] = {}
    closed: dict[int, int] = defaultdict(int)
    left: list[Rest] = []
    for part, joints in then.items():
        mine = sorted(tubes.get(part, ()), key=lambda one: not one.wanted)
        if not mine:
            continue
        found = _of_part(part, pouring[part], mine, first.get(part, {}), joints)
        serves += [joints[joint][0] for joint in found.joints]
        left += found.left
        # Where nothing more is closed, nothing is needed that was not before.
        for one in mine if found.joints else ():
            pieces = sum(key in found.begun for key in _keys(one))
            if pieces:
                begun[one.key] = one
            if pieces and one.hold is None and one.content_ul is None:
                closed[one.item] += pieces
    opened = frozenset(one.item for one in begun.values() if one.hold is None and one.content_ul is not None)
    holds = frozenset(one.hold for one in begun.values() if one.hold is not None)
    return FromRests(tuple(serves), opened, holds, dict(closed), tuple(left))


#: Key of the joint → its name, and what is drawn for it.
_Draws = dict[str, tuple[Name, JointDraw]]


def _by_part(pouring: Mapping[str, Pouring], joints: Iterable[ToPour]) -> dict[str, _Draws]:
    """Part → its joints; those of which no volume is known are left out."""
    found: dict[str, _Draws] = defaultdict(dict)
    for one in joints:
        key, part = one.name
        how = pouring.get(part)
        laid = volume_of(one.amount, one.base, how.density_mg_per_ml) if how else None
        if laid:
            found[part][f"{key[0]}#{key[1]}"] = one.name, JointDraw(f"{key[0]}#{key[1]}", part, laid, one.nozzle)
    return found


def _keys(one: OwnTube) -> list[str]:
    """Of an opened tube one, of closed ones one each."""
    return [one.key] if one.content_ul is not None else [f"{one.key} {number}" for number in range(one.pieces)]


def _of_part(part: str, how: Pouring, tubes: Sequence[OwnTube], first: _Draws, then: _Draws) -> Rests:
    good = [one for one in tubes if usable_on(one.use_by, how.day)]
    opened = [
        OpenTube(one.key, part, one.content_ul if how.known else None, how.nominal_ul, one.opened_on, one.use_by)
        for one in good
        if one.content_ul is not None
    ]
    closed = [key for one in good if one.content_ul is None for key in _keys(one)]
    draws = [[draw for _, draw in joints.values()] for joints in (first, then)]
    return rests_of(part, opened, closed, draws[0], draws[1], how.nominal_ul, how.day, how.rules)
