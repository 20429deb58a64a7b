"""Rings of the catalogue at their places: the groove that is on record for a ring, and which others may stand in for it."""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import OuterRef, Subquery

from inventory.domain.errors import DomainError
from inventory.domain.groove import Groove, Ring
from inventory.domain.ring_identity import Shape
from inventory.domain.ring_substitutes import Place, RingPart, Substitute, read_ring, ring_substitutes
from inventory.domain.rubber import Side
from inventory.domain.text import shown
from inventory.models import Part
from inventory.queries.catalogue import part as part_by_number
from inventory.queries.shop import shop
from kits.domain.families import Family
from kits.models import FamilyRevision
from kits.queries.catalogue import family as family_by_code
from kits.queries.documents import family_of, newest_family


@dataclass(frozen=True, slots=True)
class RingSubstitutes:
    """The rings of the catalogue judged for the place of one of them; `groove`: one is on record for it."""

    part: str
    measures: str
    side: Side
    groove: bool
    substitutes: tuple[Substitute, ...]


def ring_of(part: Part) -> RingPart:
    """The ring that a part is; DomainError "ring-unreadable" where its record describes none."""
    if not part.ring:
        raise DomainError("ring-unreadable", f"{part.number} is no ring by its record.", part=part.number)
    return read_ring(part.number, part.compound, part.ring)


def round_ring(number: str) -> Ring:
    """A part's ring with the tolerances of its size; DomainError "not-found", "ring-unreadable" (none, or not round)."""
    found = ring_of(part_by_number(number))
    if found.shape is not Shape.ROUND:
        raise DomainError(
            "ring-unreadable",
            f"{number} is {found.shape}: only round rings are judged by their groove.",
            part=number,
            shape=found.shape.value,
        )
    return found.ring


def family_named(code: str) -> Family:
    """The newest revision of a family; DomainError "not-found"."""
    found = newest_family(family_by_code(code).pk)
    if found is None:
        raise DomainError("not-found", f"Family {shown(code)} has no map yet.", family=shown(code))
    return found


def groove_on_record(part: str, family: str = "") -> Groove | None:
    """The groove of a part by the newest facts of a family, or of all families; None where none has it.

    DomainError "not-found" (family), "groove-unreadable" (several different grooves and no family said).
    """
    families = [family_named(family)] if family else newest_families()
    found = {groove for one in families for number, groove in one.facts.grooves if number == part}
    if len(found) > 1:
        raise DomainError(
            "groove-unreadable",
            f"{part} sits in several different grooves.",
            ways_out=("Say the engine family, or the groove itself.",),
            part=part,
        )
    return next(iter(found), None)


def newest_families() -> list[Family]:
    """Every family as its newest revision has it. One query; one more for each that was never read."""
    newest = FamilyRevision.objects.filter(family=OuterRef("family")).order_by("-revision").values("pk")[:1]
    return [family_of(row) for row in FamilyRevision.objects.filter(pk=Subquery(newest)).defer("document")]


def side_at(family: str, position: str) -> Side:
    """The fluid at a use position of a family's newest map; DomainError "not-found", "position-unknown"."""
    places = {place.name: place.side for place in family_named(family).map.positions}
    if position not in places:
        raise DomainError(
            "position-unknown", f"{shown(position)} is no use position of {family}.", position=shown(position)
        )
    return Side(places[position])


def substitutes(number: str, side: Side, hottest_mk: int | None = None, family: str = "") -> RingSubstitutes:
    """Every other ring of the catalogue, judged for the place of a ring; those that suit first. Parts to be sorted are left out.

    DomainError "not-found", "ring-unreadable", "groove-unreadable".
    """
    wanted = ring_of(part_by_number(number))
    groove = groove_on_record(number, family)
    rows = Part.objects.exclude(ring={}).exclude(kind="").exclude(number=number).order_by("number")
    others = [ring_of(part) for part in rows]
    place = Place(side, hottest_mk, groove)
    found = ring_substitutes(wanted, others, place, limits=shop().ring_limits)
    return RingSubstitutes(number, wanted.measures, side, groove is not None, found)
