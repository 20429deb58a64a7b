"""Which other ring may stand in for a ring: its size or the groove, its rubber, the fluid and the heat of the place.

A ring suits when it is of the wanted size, or when both it and the wanted ring fit the groove that is on record (at all ends of their
tolerances), and its compound may sit there (`rubber`). Every answer says why. It is advice for a person: what may be issued in place of
what is decided by replacement notices, and the maker's manual comes first.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from inventory.domain.errors import DomainError
from inventory.domain.groove import Check, Groove, Limits, Ring, Suits, check_groove
from inventory.domain.ring_identity import Shape
from inventory.domain.ring_sizes import pair_words, tolerances_nm
from inventory.domain.rubber import DEFAULT_TABLE, Compound, Side, Verdict, allowed_at, is_listed
from inventory.domain.text import shown

_MILLIMETRES = re.compile(r"\d{1,4}(?:\.\d{1,6})?", re.ASCII)


@dataclass(frozen=True, slots=True)
class RingPart:
    """A ring of the catalogue: its number, its rubber, its shape when cut through, its free measures in nm."""

    number: str
    compound: str
    shape: Shape
    inside_nm: int
    section_nm: int

    @property
    def measures(self) -> str:
        """`107.54 x 3.53`, with the shape where it is not round."""
        words = pair_words(self.inside_nm, self.section_nm)
        return words if self.shape is Shape.ROUND else f"{words} {self.shape}"

    @property
    def ring(self) -> Ring:
        """With the tolerances of its size."""
        inside, section = tolerances_nm(self.inside_nm, self.section_nm)
        return Ring(self.inside_nm, self.section_nm, inside, section)


@dataclass(frozen=True, slots=True)
class Place:
    """Where the ring is to sit: the fluid, the hottest it gets (None: not said), the groove (None: not on record)."""

    side: Side
    hottest_mk: int | None = None
    groove: Groove | None = None


@dataclass(frozen=True, slots=True)
class RingReason:
    """One question ("size", "groove" or "rubber") and its answer; `caution`: yes, but a person should read the sentence."""

    about: str
    good: bool
    caution: bool
    sentence: str


@dataclass(frozen=True, slots=True)
class Substitute:
    """A ring of the catalogue and why it suits or does not."""

    part: str
    suits: bool
    same_size: bool
    reasons: tuple[RingReason, ...]


def read_ring(number: str, compound: str, facts: Mapping[str, Any]) -> RingPart:
    """The ring that a part record describes. Error: `ring-unreadable` (measures or shape missing or malformed)."""
    shape = facts.get("shape", Shape.ROUND.value)
    if shape not in set(Shape):
        raise _unreadable(number, "shape", shape, f"a ring is {', '.join(Shape)}")
    return RingPart(number, compound, Shape(shape), *(_nm(number, name, facts) for name in ("id_mm", "section_mm")))


def _nm(number: str, name: str, facts: Mapping[str, Any]) -> int:
    text = facts.get(name, "")
    nm = int(Decimal(text).scaleb(6)) if isinstance(text, str) and _MILLIMETRES.fullmatch(text) else 0
    if nm <= 0:
        raise _unreadable(number, name, text, "millimetres as text, as in 94.92, are needed")
    return nm


def _unreadable(number: str, name: str, value: Any, why: str) -> DomainError:
    return DomainError(
        "ring-unreadable",
        f"{number}: {name} of its ring is {shown(value)!r}: {why}.",
        part=number,
        field=name,
        value=shown(value),
    )


def ring_substitutes(
    wanted: RingPart,
    others: Iterable[RingPart],
    place: Place,
    *,
    limits: Limits | None = None,
    guide: Mapping[str, Compound] = DEFAULT_TABLE,
) -> tuple[Substitute, ...]:
    """Every other ring, those that suit first, then those of the wanted size, then by number."""
    its_own = _check(wanted, place.groove, limits)
    found = [_judge(wanted, other, place, its_own, limits, guide) for other in others if other.number != wanted.number]
    return tuple(sorted(found, key=lambda one: (not one.suits, not one.same_size, one.part)))


def _judge(
    wanted: RingPart,
    other: RingPart,
    place: Place,
    its_own: Check | None,
    limits: Limits | None,
    guide: Mapping[str, Compound],
) -> Substitute:
    same = (other.shape, other.inside_nm, other.section_nm) == (wanted.shape, wanted.inside_nm, wanted.section_nm)
    reasons = [RingReason("size", True, False, f"The same size, {other.measures}.")] if same else []
    if not same:
        reasons.append(_other_size(wanted, other, place.groove, its_own, limits))
    verdict = allowed_at(other.compound, place.side, guide, hottest_mk=place.hottest_mk)
    if not is_listed(other.compound, guide):
        verdict = Verdict(False, f"No rubber that the guide lists is on record for {other.number}.")
    reasons.append(RingReason("rubber", verdict.allowed, verdict.caution, verdict.reason))
    return Substitute(other.number, all(one.good for one in reasons), same, tuple(reasons))


def _other_size(
    wanted: RingPart, other: RingPart, groove: Groove | None, its_own: Check | None, limits: Limits | None
) -> RingReason:
    sizes = f"{other.measures} for {wanted.measures}"
    if other.shape is not wanted.shape:
        return RingReason("size", False, False, f"Another shape: {sizes}.")
    if groove is None:
        return RingReason("size", False, False, f"Another size, {sizes}, and no groove is on record.")
    its = _check(other, groove, limits)
    if its is None or its_own is None:
        return RingReason("size", False, False, f"Another size, {sizes}; only round rings are judged by their groove.")
    if its_own.suits is not Suits.YES:
        why = " ".join(its_own.reasons)
        return RingReason("groove", False, False, f"{wanted.measures} itself does not fit the groove on record: {why}")
    if its.suits is not Suits.YES:
        return RingReason("groove", False, False, f"{other.measures} does not fit the groove: {' '.join(its.reasons)}")
    return RingReason("groove", True, True, f"Another size, {sizes}; both fit the groove on record.")


def _check(part: RingPart, groove: Groove | None, limits: Limits | None) -> Check | None:
    if groove is None or part.shape is not Shape.ROUND:
        return None
    return check_groove(part.ring, groove, limits)
