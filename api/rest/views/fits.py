"""`fits`, `stacks`, `engine-families/{code}/height-stack` and `/weight-groups`: computed from what is asked, nothing is written."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from rest_framework.request import Request
from rest_framework.response import Response

from api.rest import parameters as given
from api.rest.parameters import described
from api.rest.schema import AMOUNTS, reading
from api.rest.serializers import fits as shapes
from api.rest.views.base import View
from inventory.domain.units import Dimension
from kits.domain.height_stack import height_stack
from kits.domain.iso_fits import fit_between, fit_of, zone
from kits.domain.limits import Limits
from kits.domain.members import read_member
from kits.domain.stacks import Contributor, against, stack
from kits.domain.weights import WeightClass
from kits.queries.weight_groups import family_newest, weight_groups

_MEMBERS = "Members apart by semicolons, each a name with its size, its ends, or its size and tolerance"


def _listed(request: Request, name: str) -> list[str]:
    return [one.strip() for one in given.text(request, name).split(";") if one.strip()]


class FitsView(View):
    """`fits`."""

    parameters = ("hole", "shaft", "nominal")

    @reading(
        "fits_read",
        "A fit of ISO 286 at a nominal size: both zones, least and most clearance; below zero it is interference",
        shapes.FitSerializer,
        refusals=(*AMOUNTS, "fit-unknown"),
        parameters=(
            described("hole", "Zone of the hole, as in H7.", required=True),
            described("shaft", "Zone of the shaft, as in g6.", required=True),
            described("nominal", "Nominal size, as in 50 mm; above 0 up to 500 mm.", required=True),
        ),
    )
    def get(self, request: Request) -> Response:
        """The fit."""
        hole, shaft = given.needed(request, "hole"), given.needed(request, "shaft")
        nominal = given.needed_amount(request, "nominal", Dimension.LENGTH)
        found = fit_of(f"{hole}/{shaft}", nominal)
        zones = zone(hole, nominal), zone(shaft, nominal)
        assert fit_between(*zones) == found
        return Response(shapes.fit_values(f"{hole}/{shaft}", nominal, zones, found))


class StacksView(View):
    """`stacks`."""

    parameters = ("add", "take", "low", "high")

    @reading(
        "stacks_read",
        "What parts on top of each other come to: worst case, root sum of squares, and how that stands to limits",
        shapes.StackSerializer,
        refusals=(*AMOUNTS, "limits-unreadable", "stack-unreadable"),
        parameters=(
            described("add", f'{_MEMBERS}: "flange: 0.4048 in +- 0.0008 in; shim: 0.05 mm".', required=True),
            described("take", "Those that take away, likewise."),
            described("low", "Lower limit of the result."),
            described("high", "Upper limit of the result."),
        ),
    )
    def get(self, request: Request) -> Response:
        """The stack."""
        given.needed(request, "add")
        members = [*_members(_listed(request, "add"), 1), *_members(_listed(request, "take"), -1)]
        low, high = (given.base_amount(request, name, Dimension.LENGTH) for name in ("low", "high"))
        limits = None if low is None and high is None else Limits(low, high)
        found = stack(members)
        return Response(shapes.stack_values(members, found, limits, against(found, limits) if limits else None))


def _members(texts: Sequence[str], sign: int) -> list[Contributor]:
    read = [read_member(text, Dimension.LENGTH, "stack-unreadable") for text in texts]
    return [Contributor(one.name, sign, one.nominal, one.high - one.nominal, one.nominal - one.low) for one in read]


class FamilyHeightStackView(View):
    """`engine-families/{code}/height-stack`."""

    @reading(
        "engine_families_height_stack_read",
        "What new parts of a family come to: height of a liner over its block, worst case and root sum of squares",
        shapes.HeightStackSerializer,
        refusals=("no-limit", "not-found", "stack-unreadable"),
    )
    def get(self, request: Request, code: str) -> Response:
        """By the newest facts."""
        found = height_stack(family_newest(code).facts)
        body = shapes.stack_values(found.members, found.found, found.limits, found.standing)
        return Response(body | {"family": code, "printed_nm": found.printed_nm})


class FamilyWeightGroupsView(View):
    """`engine-families/{code}/weight-groups`."""

    parameters = ("site", "part", "classes", "rest")

    @reading(
        "engine_families_weight_groups_read",
        "Most engines from the sets on one shelf by the weights of their pistons; and what may join those that stay in an engine",
        shapes.WeightGroupsSerializer,
        refusals=(*AMOUNTS, "no-limit", "not-found", "weights-unusable"),
        parameters=(
            described("site", "Code of the site.", required=True),
            described("part", "The set, where the family takes several."),
            described(
                "classes", 'Printed classes that sets of one engine share: "A: 410 g to 414 g; B: 415 g to 419 g".'
            ),
            described("rest", 'Weights of the pistons that stay in an engine: "415 g; 416 g; 418 g".'),
        ),
    )
    def get(self, request: Request, code: str) -> Response:
        """Now."""
        read = [read_member(one, Dimension.MASS, "weights-unusable") for one in _listed(request, "classes")]
        classes = [WeightClass(one.name, one.low, one.high) for one in read]
        rest = [
            read_member(f"stays: {one}", Dimension.MASS, "weights-unusable").nominal for one in _listed(request, "rest")
        ]
        found: dict[str, Any] = weight_groups(
            code, given.needed(request, "site"), given.text(request, "part"), classes, rest
        )
        return Response(found)
