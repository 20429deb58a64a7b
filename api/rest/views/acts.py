"""`acts`, their corrections, and `refusals`."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest import filters
from api.rest.amounts import amount
from api.rest.schema import MOVEMENTS, act, reading
from api.rest.serializers import acts as shapes
from api.rest.serializers.common import ReasonSerializer
from api.rest.views import render
from api.rest.views.base import ListView, View, actor_of
from inventory.domain.error_codes import CODES
from inventory.domain.places import PlaceKind, said_from, said_to
from inventory.queries import catalogue as read
from inventory.services.correct import correct


def rendered(row: Any) -> dict[str, Any]:
    """The record of an act."""
    corrected_by = getattr(row, "corrected_by", None)
    return {
        "id": row.pk,
        "key": str(row.key),
        "kind": row.kind,
        "actor": render.person(row.actor),
        "occurred_at": row.occurred_at,
        "recorded_at": row.recorded_at,
        "device": row.device,
        "device_at": row.device_at,
        "place": row.place.code if row.place else "",
        "subject": row.subject,
        "reason": row.reason,
        "corrects": row.corrects_id,
        "corrected_by": corrected_by.pk if corrected_by else None,
    }


class ActFilters(filters.StrictFilterSet):
    """Filters of acts."""

    kind = filters.text("kind", "of this kind")
    actor = filters.text("actor__username", "by this log-in")
    subject = filters.text("subject", "concerning this job or number")
    place = filters.text("place__code", "at this place")
    occurred_from = filters.moment("occurred_at", "gte", "true since this moment or later")
    occurred_before = filters.moment("occurred_at", "lt", "true since before this moment")
    recorded_from = filters.moment("recorded_at", "gte", "known since this moment or later")
    recorded_before = filters.moment("recorded_at", "lt", "known since before this moment")


class ActsView(ListView):
    """`acts`."""

    filterset_class = ActFilters
    orderings = ("-pk", "occurred_at", "recorded_at")

    def rows(self) -> QuerySet[Any]:
        """All acts; the newest come first."""
        return read.acts()

    def render(self, rows: list[Any], request: Request) -> list[Any]:
        """Records."""
        return [rendered(row) for row in rows]

    @reading(
        "acts_list", "Everything that was done, the newest first", shapes.ActRecordSerializer(many=True), filtered=True
    )
    def get(self, request: Request) -> Response:
        """A page of acts."""
        return self.page(request)


class ActView(View):
    """`acts/{id}`."""

    @reading(
        "acts_read",
        "An act with what it moved and what it answered",
        shapes.ActDetailSerializer,
        refusals=("not-found",),
        amounts=True,
    )
    def get(self, request: Request, number: int) -> Response:
        """One act."""
        row = read.act(number)
        back = row.corrects_id is not None
        moved = [
            {
                "item": move.item_id,
                "part": move.item.part.number,
                "identity": move.item.identity,
                "amount": amount(move.amount, move.item.base, move.item.part.unit),
                "said_from": said_from(PlaceKind(came.kind), taken_back=back) or came.code,
                "from_spot": move.from_spot.name,
                "said_to": said_to(PlaceKind(went.kind), taken_back=back) or went.code,
                "to_spot": move.to_spot.name,
            }
            for move in read.movements_of([row.pk])
            for came, went in [(move.from_spot.place, move.to_spot.place)]
        ]
        return Response({**rendered(row), "movements": moved, "outcome": row.outcome.body})


class CorrectionsView(View):
    """`acts/{id}/corrections`."""

    acts = {"POST": "correct"}

    @act(
        "acts_corrections_create",
        "Take an act back: every movement is reversed, true since the act's own moment; at most once",
        ReasonSerializer,
        shapes.CorrectionSerializer,
        refusals=(*MOVEMENTS, "corrected-already", "not-correctable", "not-found", "position-taken", "reason-missing"),
    )
    def post(self, request: Request, number: int) -> Response:
        """Correct."""
        return self.do(
            request,
            ReasonSerializer,
            lambda stamp, data: correct(actor=actor_of(request), stamp=stamp, act_id=number, reason=data["reason"]),
        )


class RefusalFilters(filters.StrictFilterSet):
    """Filters of refusals."""

    kind = filters.text("kind", "of this kind of act")
    code = filters.choice("code", sorted(CODES), "with this code")
    actor = filters.text("actor__username", "to this log-in")
    subject = filters.text("subject", "concerning this job or number")
    recorded_from = filters.moment("recorded_at", "gte", "at this moment or later")
    recorded_before = filters.moment("recorded_at", "lt", "before this moment")


class RefusalsView(ListView):
    """`refusals`."""

    filterset_class = RefusalFilters
    orderings = ("-pk", "recorded_at")

    def rows(self) -> QuerySet[Any]:
        """All refusals; the newest come first."""
        return read.refusals()

    def render(self, rows: list[Any], request: Request) -> list[Any]:
        """Records."""
        return [
            {
                "id": row.pk,
                "key": str(row.key),
                "kind": row.kind,
                "actor": render.person(row.actor),
                "recorded_at": row.recorded_at,
                "subject": row.subject,
                "code": row.code,
                "message": row.message,
                "values": row.values,
            }
            for row in rows
        ]

    @reading(
        "refusals_list",
        "Everything that a rule refused, the newest first",
        shapes.RefusalSerializer(many=True),
        filtered=True,
    )
    def get(self, request: Request) -> Response:
        """A page of refusals."""
        return self.page(request)
