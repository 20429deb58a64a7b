"""Where things have been and are: a lot's whereabouts, the life of a set or an item, an engine's contents and story."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.fields import EARLIEST, LATEST_YEAR, DayField, MomentField
from api.rest.problems import refuse
from api.rest.schema import reading
from api.rest.serializers.storage import StorageNoteSerializer
from api.rest.shapes import shape, values
from api.rest.views.base import View
from api.rest.views.engines import engine_of
from api.rest.views.items import PART
from api.rest.views.printed import FORMAT, PrintedView
from inventory.domain.items import Base
from inventory.domain.text import shown
from inventory.domain.whereabouts import Whereabouts
from inventory.queries import catalogue as read
from inventory.queries.days import shop_day
from inventory.queries.storage import said, storage_notes
from inventory.queries.trace import SetHistory, Step, item_history, lot_whereabouts, set_history
from kits.domain.sizes import StandingSize
from kits.queries import trace
from kits.queries.leaks import Leaked, leaks_of_lot
from kits.queries.sizes import standing_now

ON = OpenApiParameter("on", OpenApiTypes.STR, description="At the end of this day, or at this moment; now if left out.")
KNOWN = OpenApiParameter(
    "known", OpenApiTypes.STR, description="As our records had it at the end of this day, or at this moment."
)
ON_DAY = OpenApiParameter("on", OpenApiTypes.DATE, description="For this day; today if left out.")
GAPS = OpenApiParameter(
    "gaps",
    OpenApiTypes.BOOL,
    description="Name the use positions too at which nothing is recorded; a page to print always does.",
)


class ItemHistorySerializer(serializers.Serializer):
    """Every movement of an item, in order."""

    item = serializers.IntegerField()
    steps = shape(Step)(many=True)


class EngineContentsSerializer(serializers.Serializer):
    """What sits in an engine, in the order of its map."""

    engine = serializers.CharField()
    on = serializers.CharField(allow_null=True, help_text="the day or moment asked for")
    known = serializers.CharField(allow_null=True, help_text="the day or moment asked for")
    contents = shape(trace.Content)(many=True)
    gaps = shape(trace.Gap)(many=True, allow_null=True, help_text="null unless asked for")
    sizes = shape(StandingSize)(
        many=True,
        allow_null=True,
        help_text="sizes that stay with the engine as they stand; null for another moment than now",
    )


class LotWhereaboutsSerializer(serializers.Serializer):
    """All of a lot, and where rings of it leaked."""

    leaked = shape(Leaked)(many=True, help_text="oldest first")
    storage_notes = StorageNoteSerializer(
        many=True, help_text="what the logs of temperatures say of it, oldest first; nothing stops for it"
    )

    def get_fields(self) -> dict[str, serializers.Field]:
        """Those of the whereabouts before its own."""
        return shape(Whereabouts)().get_fields() | super().get_fields()


class LotWhereaboutsView(View):
    """`lots/{id}/whereabouts`."""

    @reading(
        "lots_whereabouts_read",
        "Where all of a lot is, with the sum that must equal what was received, and where rings of it leaked",
        LotWhereaboutsSerializer,
        refusals=("not-found",),
        amounts=True,
    )
    def get(self, request: Request, number: int) -> Response:
        """All of a lot."""
        notes = said(storage_notes([number], timezone.now()).get(number, ()))
        found = lot_whereabouts(number)
        leaked = values(leaks_of_lot(number), found.base)
        return Response(values(found) | {"leaked": leaked, "storage_notes": notes})


class SetHistoryView(View):
    """`matched-sets/{serial}/history`."""

    parameters = ("part",)

    @reading(
        "matched_sets_history_read",
        "Where a matched set, or anything else with a serial, has been and is",
        shape(SetHistory),
        refusals=("not-found", "serial-ambiguous"),
        parameters=(PART,),
        amounts=True,
    )
    def get(self, request: Request, serial: str) -> Response:
        """The life of a serial."""
        return Response(values(set_history(request.query_params.get("part"), serial), Base.PIECE))


class ItemHistoryView(View):
    """`items/{id}/history`."""

    @reading(
        "items_history_read", "Every movement of an item", ItemHistorySerializer, refusals=("not-found",), amounts=True
    )
    def get(self, request: Request, number: int) -> Response:
        """The life of an item."""
        row = read.item(number)
        return Response({"item": row.pk, "steps": values(item_history([row.pk]), row.base)})


def moment(request: Request, name: str) -> date | datetime | None:
    """A day or a moment of a query parameter; DomainError "parameter-wrong"."""
    text = request.query_params.get(name)
    if text is None:
        return None
    try:
        found: date | datetime = (DayField() if len(text) == 10 else MomentField()).to_internal_value(text)
        return found
    except serializers.ValidationError:
        raise refuse(
            "parameter-wrong",
            f'{name} "{shown(text)}" is neither a day as 2025-01-15 nor a moment as 2025-01-15T12:00:00Z.',
            parameter=name,
            value=shown(text),
        ) from None


def today() -> date:
    """The day in the shop now."""
    return shop_day(timezone.now())


def day(request: Request, name: str) -> date:
    """A day of a query parameter, today if it is left out; DomainError "parameter-wrong"."""
    text = request.query_params.get(name)
    if text is None:
        return today()
    try:
        found: date = DayField().to_internal_value(text)
        return found
    except serializers.ValidationError:
        raise refuse(
            "parameter-wrong",
            f'{name} "{shown(text)}" is not a day from {EARLIEST.year} to {LATEST_YEAR}, as 2025-01-15.',
            parameter=name,
            value=shown(text),
        ) from None


def whole(request: Request, name: str) -> int | None:
    """A whole number of a query parameter, None if it is left out; DomainError "parameter-wrong"."""
    text = request.query_params.get(name)
    if text is None:
        return None
    if not (text.isascii() and text.isdigit() and len(text) <= 15):
        raise refuse(
            "parameter-wrong", f'{name} "{shown(text)}" is not a whole number.', parameter=name, value=shown(text)
        )
    return int(text)


def truth(request: Request, name: str) -> bool:
    """`true` or `false` of a query parameter; DomainError "parameter-wrong"."""
    text = request.query_params.get(name, "false")
    if text not in ("true", "false"):
        raise refuse(
            "parameter-wrong", f'{name} "{shown(text)}" is neither true nor false.', parameter=name, value=shown(text)
        )
    return text == "true"


class EngineContentsView(PrintedView):
    """`engines/{number}/contents`."""

    parameters = ("on", "known", "gaps", "format")
    page_template = "contents.html"

    def on_paper(self, data: Any) -> Any:
        """The moment in words; positions without a record by what is said of them."""
        moment = f"as it was on {data['on']}" if data["on"] else f"as it is now, on {shop_day(timezone.now())}"
        if data["known"]:
            moment += f", as our records had it on {data['known']}"
        by_word: dict[str, list[str]] = {}
        for gap in data["gaps"]:
            by_word.setdefault(gap["said"], []).append(gap["position"])
        return data | {"moment": moment, "gaps_by_word": list(by_word.items())}

    @reading(
        "engines_contents_read",
        "What sits in an engine: now, on a day, as known on a day",
        EngineContentsSerializer,
        refusals=("not-found",),
        parameters=(ON, KNOWN, GAPS, FORMAT),
        amounts=True,
        printed=True,
    )
    def get(self, request: Request, number: str) -> Response:
        """The contents."""
        on, known = moment(request, "on"), moment(request, "known")
        gaps = truth(request, "gaps") or request.accepted_renderer.format == "html"
        engine = engine_of(number)
        body: dict[str, Any] = {
            "engine": engine.number,
            "on": on.isoformat() if on else None,
            "known": known.isoformat() if known else None,
            "contents": values(trace.engine_contents(engine, on, known)),
            "gaps": values(trace.not_recorded(engine, on, known)) if gaps else None,
            "sizes": values(standing_now(engine)) if on is None and known is None else None,
        }
        return Response(body)


class EngineStoryView(View):
    """`engines/{number}/story`."""

    @reading(
        "engines_story_read",
        "Everything that happened to an engine, and what each job put into it",
        shape(trace.EngineStory),
        refusals=("not-found",),
        amounts=True,
    )
    def get(self, request: Request, number: str) -> Response:
        """The story."""
        return Response(values(trace.engine_story(engine_of(number))))
