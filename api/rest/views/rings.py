"""Rings and rubber: `ring-sizes`, `ring-identifications`, `groove-checks`, `rubber-decisions`, `parts/{number}/ring-substitutes`.

All of them only compute and read: an unlabelled ring stays unknown whatever they answer.
"""

from __future__ import annotations

from typing import Any

from rest_framework.request import Request
from rest_framework.response import Response

from api.rest import parameters as given
from api.rest.pagination import PlainPages
from api.rest.parameters import described
from api.rest.problems import refuse
from api.rest.schema import AMOUNTS, reading
from api.rest.serializers import rings as shapes
from api.rest.shapes import shape, values
from api.rest.views.base import ListView, View
from inventory.domain.groove import METAL_GROWTH, RUBBER_GROWTH, Groove, Ring, Service, check_groove
from inventory.domain.ring_identity import Measured, Shape, identify
from inventory.domain.ring_sizes import System, find_size, ring_sizes, search_sizes, tolerances_nm
from inventory.domain.rubber import Side
from inventory.domain.units import Dimension
from inventory.queries import catalogue as read
from inventory.queries.shop import shop
from kits.queries import rings, rubber

_LENGTH, _HEAT = Dimension.LENGTH, Dimension.TEMPERATURE
_SIDES = tuple(side.value for side in Side if side is not Side.NONE)
_TRUTH = ("true", "false")
SIDE = described("side", "The fluid at the place.", words=_SIDES)
FAMILY = described("family", "Engine family; with it the groove of its newest facts is taken.")
TEMPERATURE = described("temperature", 'The hottest the place gets, as in "120 °C".')


class RingSizesView(ListView):
    """`ring-sizes`."""

    pagination_class = PlainPages
    orderings = ("table",)
    parameters = ("search", "system")

    @reading(
        "ring_sizes_list",
        "Sizes of O-rings with their tolerances; `search` takes AS568-154, 154, or 94.92 x 2.62",
        shapes.RingSizeSerializer(many=True),
        refusals=("ring-size-unreadable",),
        parameters=(
            described("search", "A dash number, or inside diameter x section in mm."),
            described("system", "Of this table.", words=[one.value for one in System]),
        ),
    )
    def get(self, request: Request) -> Response:
        """A page of sizes."""
        text = given.text(request, "search")
        system = given.word(request, "system", [one.value for one in System])
        found = search_sizes(text) if text else ring_sizes().values()
        rows = self.paginate_queryset([one for one in found if system in ("", one.system)])
        return self.get_paginated_response([shapes.size_values(one) for one in rows or []])


class RingIdentificationsView(View):
    """`ring-identifications`."""

    parameters = (
        "inside_diameter", "inside_uncertainty", "section", "section_across", "section_uncertainty", "weight", "shape",
        "in_groove", "may_be_swollen",
    )  # fmt: skip

    @reading(
        "ring_identifications_read",
        "Which sizes an unlabelled ring may be of. Colour is no evidence and is not asked",
        shapes.RingIdentificationSerializer,
        refusals=(*AMOUNTS, "ring-unreadable"),
        parameters=(
            described("inside_diameter", 'By cone or tape, free of its groove, as in "108.3 mm".', required=True),
            described("inside_uncertainty", "Standard uncertainty of that reading.", required=True),
            described("section", "The section, or one measure of a flattened one.", required=True),
            described("section_across", "The other measure of a flattened section."),
            described("section_uncertainty", "Standard uncertainty of the section.", required=True),
            described("weight", 'As in "6.35 g".'),
            described("shape", "What it is like when cut through; round if left out.", words=list(Shape)),
            described("in_groove", "It was measured in its groove.", words=_TRUTH),
            described("may_be_swollen", "It was in service: swell of up to 8 % is thought of too.", words=_TRUTH),
        ),
    )
    def get(self, request: Request) -> Response:
        """The candidates."""
        section = given.needed_amount(request, "section", _LENGTH)
        across = given.base_amount(request, "section_across", _LENGTH)
        ring = Measured(
            given.needed_amount(request, "inside_diameter", _LENGTH),
            given.needed_amount(request, "inside_uncertainty", _LENGTH),
            (section,) if across is None else (section, across),
            given.needed_amount(request, "section_uncertainty", _LENGTH),
            given.base_amount(request, "weight", Dimension.MASS),
            Shape(given.word(request, "shape", list(Shape)) or Shape.ROUND),
            given.truth(request, "in_groove"),
            given.truth(request, "may_be_swollen"),
        )
        return Response(shapes.identification_values(identify(ring)))


class GrooveChecksView(View):
    """`groove-checks`."""

    parameters = (
        "part", "size", "inside_diameter", "section", "family", "groove_diameter", "bore", "width",
        "groove_diameter_tolerance", "bore_tolerance", "width_tolerance", "temperature", "swell", "rubber_growth",
        "metal_growth",
    )  # fmt: skip

    @reading(
        "groove_checks_read",
        "Does a ring suit a groove: stretch, squeeze and fill at both ends of the tolerances, by the shop's limits",
        shapes.GrooveCheckSerializer,
        refusals=(
            *AMOUNTS, "not-found", "ring-unreadable", "ring-size-unreadable", "ring-size-unknown", "groove-unreadable",
        ),
        parameters=(
            described("part", "The ring: a part of the catalogue."),
            described("size", "Or a size of the tables, as in AS568-244."),
            described("inside_diameter", "Or its two measures."),
            described("section", "Beside the inside diameter."),
            FAMILY,
            described("groove_diameter", "The groove; left out, the one on record for the part."),
            described("bore", "The bore over the groove."),
            described("width", "The groove's width."),
            described("groove_diameter_tolerance", "Plus and minus; none if left out."),
            described("bore_tolerance", "Plus and minus; none if left out."),
            described("width_tolerance", "Plus and minus; none if left out."),
            TEMPERATURE,
            described("swell", 'Share of its volume that the ring swells, as in "10 %".'),
            described("rubber_growth", f"Growth in length, millionths per kelvin; {RUBBER_GROWTH} if left out."),
            described("metal_growth", f"Growth in length, millionths per kelvin; {METAL_GROWTH} if left out."),
        ),
    )  # fmt: skip
    def get(self, request: Request) -> Response:
        """The check."""
        ring, groove = _ring(request), _groove(request)
        hottest = given.base_amount(request, "temperature", _HEAT)
        swell = given.share(request, "swell")
        rubber_growth = given.whole(request, "rubber_growth", RUBBER_GROWTH)
        metal_growth = given.whole(request, "metal_growth", METAL_GROWTH)
        service = Service(swell=swell, rubber_growth=rubber_growth, metal_growth=metal_growth)
        if hottest is not None:
            service = Service(hottest, swell, rubber_growth, metal_growth)
        return Response(shapes.check_values(ring, groove, check_groove(ring, groove, shop().ring_limits, service)))


def _ring(request: Request) -> Ring:
    """The ring, said in exactly one way; DomainError "parameter-wrong"."""
    ways = [name for name in ("part", "size", "inside_diameter") if given.text(request, name)]
    if len(ways) != 1:
        raise refuse("parameter-wrong", "Say the ring by part, by size, or by its two measures.", parameter="part")
    if ways == ["part"]:
        return rings.round_ring(given.text(request, "part"))
    if ways == ["size"]:
        size = find_size(given.text(request, "size"))
        return Ring(size.inside_nm, size.section_nm, size.inside_tolerance_nm, size.section_tolerance_nm)
    inside = given.needed_amount(request, "inside_diameter", _LENGTH)
    section = given.needed_amount(request, "section", _LENGTH)
    return Ring(inside, section, *tolerances_nm(inside, section))


def _groove(request: Request) -> Groove:
    part, measures = given.text(request, "part"), ("groove_diameter", "bore", "width")
    if part and not any(given.text(request, name) for name in measures):
        found = rings.groove_on_record(part, given.text(request, "family"))
        if found is None:
            raise refuse(
                "parameter-wrong",
                f"No groove is on record for {part}: say groove_diameter, bore and width.",
                parameter="groove_diameter",
            )
        return found
    diameter, bore, width = (given.needed_amount(request, name, _LENGTH) for name in measures)
    more = [given.base_amount(request, f"{name}_tolerance", _LENGTH) or 0 for name in measures]
    return Groove(diameter, bore, width, more[0], more[1], more[2])


class RubberDecisionsView(View):
    """`rubber-decisions`."""

    parameters = ("part", "side", "temperature", "lubricant")

    @reading(
        "rubber_decisions_read",
        "May the rubber of a part sit on a side at a temperature, and be fitted with a lubricant",
        shape(rubber.Decision),
        refusals=(*AMOUNTS, "not-found", "lubricant-unknown"),
        parameters=(
            described("part", "A part of the catalogue.", required=True),
            SIDE,
            TEMPERATURE,
            described("lubricant", "soap, silicone grease, engine oil, petroleum jelly, dry…, or a part that is one."),
        ),
    )
    def get(self, request: Request) -> Response:
        """One line."""
        side, lubricant = given.word(request, "side", _SIDES), given.text(request, "lubricant")
        hottest = given.base_amount(request, "temperature", _HEAT)
        if not side and (hottest is not None or not lubricant):
            raise refuse(
                "parameter-wrong", "Say the side, or the lubricant; a temperature needs a side.", parameter="side"
            )
        part = read.part(given.needed(request, "part"))
        return Response(values(rubber.decide(part, Side(side) if side else None, hottest, lubricant)))


class PartRingSubstitutesView(View):
    """`parts/{number}/ring-substitutes`."""

    parameters = ("side", "temperature", "family", "position")

    @reading(
        "parts_ring_substitutes_read",
        "Which other rings of the catalogue suit the place of this one, each with the reasons",
        shape(rings.RingSubstitutes),
        refusals=(*AMOUNTS, "not-found", "position-unknown", "ring-unreadable", "groove-unreadable"),
        parameters=(
            SIDE,
            TEMPERATURE,
            FAMILY,
            described("position", "Use position of the family; its fluid is taken from the map, in place of `side`."),
        ),
    )
    def get(self, request: Request, number: str) -> Response:
        """Every other ring, judged."""
        family = given.text(request, "family")
        position, side = given.text(request, "position"), given.word(request, "side", _SIDES)
        if bool(position) == bool(side) or (position and not family):
            raise refuse("parameter-wrong", "Say the side, or the family and its position.", parameter="side")
        fluid: Any = rings.side_at(family, position) if position else Side(side)
        hottest = given.base_amount(request, "temperature", _HEAT)
        return Response(values(rings.substitutes(number, fluid, hottest, family)))
