"""`jobs/{number}/operations`, `/choices`, `/bores` and `/cleaned-marks`."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.schema import act
from api.rest.serializers import scope as shapes
from api.rest.views.base import View, actor_of
from api.rest.views.jobs import LISTING, ON_JOB
from api.rest.views.parts import facts_of
from kits.services.fit import set_bores
from kits.services.jobs import add_operations, record_choice
from kits.services.marks import clean_marks


def by_name(rows: list[dict[str, Any]], name: str, value: str, field: str) -> dict[str, Any]:
    """Rows as name → value; ValidationError when a name stands twice."""
    made: dict[str, Any] = {}
    for row in rows:
        if row[name] in made:
            raise serializers.ValidationError({field: [f"{row[name]} stands twice."]})
        made[row[name]] = row[value]
    return made


class JobOperationsView(View):
    """`jobs/{number}/operations`."""

    acts = {"POST": "book"}

    @act(
        "jobs_operations_create",
        "Add procedures to a job, each in its newest revision",
        shapes.OperationsInSerializer,
        shapes.OperationsAddedSerializer,
        refusals=(*ON_JOB, "nothing-given", "operation-on-job", "operation-other-family", "procedure-unusable"),
    )
    def post(self, request: Request, number: str) -> Response:
        """Add."""
        return self.do(
            request,
            shapes.OperationsInSerializer,
            lambda stamp, data: add_operations(actor=actor_of(request), stamp=stamp, job=number, **facts_of(data)),
        )


class JobChoicesView(View):
    """`jobs/{number}/choices`."""

    acts = {"POST": "choose"}

    @act(
        "jobs_choices_create",
        "Record an either/or or measured choice",
        shapes.ChoiceInSerializer,
        shapes.ChoiceMadeSerializer,
        refusals=(
            *ON_JOB,
            *LISTING,
            "alternative-unknown",
            "choice-not-candidate",
            "choice-place-wrong",
            "choice-unknown",
            "position-unknown",
            "reason-missing",
        ),
    )
    def post(self, request: Request, number: str) -> Response:
        """Record."""
        return self.do(
            request,
            shapes.ChoiceInSerializer,
            lambda stamp, data: record_choice(
                actor=actor_of(request), stamp=stamp, job=number, **{"place": "ENGINE", **facts_of(data)}
            ),
        )


class JobBoresView(View):
    """`jobs/{number}/bores`."""

    acts = {"POST": "choose"}

    @act(
        "jobs_bores_create",
        "Say which set goes into which bore; fitting refuses anything else from then on",
        shapes.BoresInSerializer,
        shapes.BoresMadeSerializer,
        refusals=(
            *ON_JOB,
            "layout-accepted",
            "no-bore",
            "position-unknown",
            "reason-missing",
            "set-twice",
            "verdict-fails",
        ),
    )
    def post(self, request: Request, number: str) -> Response:
        """Record."""
        return self.do(
            request,
            shapes.BoresInSerializer,
            lambda stamp, data: set_bores(
                actor=actor_of(request),
                stamp=stamp,
                job=number,
                bores=by_name(data["bores"], "position", "serial", "bores"),
                reason=data["reason"],
            ),
        )


class JobCleanedMarksView(View):
    """`jobs/{number}/cleaned-marks`."""

    acts = {"POST": "return"}

    @act(
        "jobs_cleaned_marks_create",
        "Record that the paint marks of sets were cleaned off. A set goes back to a shelf, and a job ends, without marks",
        shapes.MarksInSerializer,
        shapes.MarksCleanedSerializer,
        refusals=(*ON_JOB, "not-marked", "nothing-given", "reason-missing"),
    )
    def post(self, request: Request, number: str) -> Response:
        """Record."""
        return self.do(
            request,
            shapes.MarksInSerializer,
            lambda stamp, data: clean_marks(actor=actor_of(request), stamp=stamp, job=number, **facts_of(data)),
        )
