"""`offline-acts` and `clashes`."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet
from rest_framework import status
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest import filters
from api.rest.keys import in_order, key_of
from api.rest.schema import act, reading
from api.rest.sent_later import Sent, take
from api.rest.serializers import sent_later as shapes
from api.rest.views.base import ListView, View, actor_of
from inventory.queries import clashes as read
from inventory.services.late_acts import answer_clash


class OfflineActsView(View):
    """`offline-acts`."""

    acts = {"POST": "send_later"}

    @act(
        "offline_acts_create",
        "Acts that a bench device did without a connection, in its order: each is taken once, as an act of its own, and one that is refused"
        " stops no other. A batch may be sent again; each act gets its first answer. Two stories about one thing: the first stays",
        shapes.SentActsInSerializer,
        shapes.SentActsSerializer,
    )
    def post(self, request: Request) -> Response:
        """Take them."""
        key_of(request)
        parsed = shapes.SentActsInSerializer(data=request.data)
        parsed.is_valid(raise_exception=True)
        person = actor_of(request)
        taken = [take(person, Sent(**one)) for one in parsed.validated_data["acts"]]
        return Response(in_order({"acts": taken}), status=status.HTTP_201_CREATED)


class ClashFilters(filters.StrictFilterSet):
    """Filters of clashes."""

    open = filters.Truth("that nobody answered yet", method="is_open")
    part = filters.text("item__part__number", "about things of this part")

    def is_open(self, rows: QuerySet[Any], name: str, value: bool) -> QuerySet[Any]:
        """Answered or not."""
        return rows.filter(answer__isnull=value)


class ClashesView(ListView):
    """`clashes`."""

    filterset_class = ClashFilters

    def rows(self) -> QuerySet[Any]:
        """All of them."""
        return read.clashes()

    def render(self, rows: list[Any], request: Request) -> list[Any]:
        """Both stories of each."""
        return read.rendered_clashes(rows)

    @reading(
        "clashes_list",
        "Two devices told different stories about one thing: both are kept, the first stands, a person answers",
        shapes.ClashSerializer(many=True),
        filtered=True,
    )
    def get(self, request: Request) -> Response:
        """A page of clashes."""
        return self.page(request)


class ClashAnswersView(View):
    """`clashes/{id}/answers`."""

    acts = {"POST": "answer_clash"}

    @act(
        "clashes_answers_create",
        "Say which of the two stories is true; what was wrong is corrected, or done, by an act of its own",
        shapes.ClashAnswerInSerializer,
        shapes.ClashAnsweredSerializer,
        refusals=("not-found", "reason-missing", "done-already"),
    )
    def post(self, request: Request, number: int) -> Response:
        """Answer."""
        return self.do(
            request,
            shapes.ClashAnswerInSerializer,
            lambda stamp, data: answer_clash(
                actor=actor_of(request),
                stamp=stamp,
                clash=number,
                second_is_right=data["second_is_right"],
                words=data["words"],
            ),
        )
