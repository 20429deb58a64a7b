"""The description of the service: what each operation takes, answers and refuses, beside the code that does it.

`reading` and `act` are the only two kinds of operation. Each names every code it can refuse with; the description lists them
by HTTP status, and the tests compare each refusal they meet with that list.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema
from rest_framework import serializers

from api.rest.words import CODES_PAGE, KEY_HEADER, MEDIA_TYPE, REPLAYED_HEADER
from inventory.domain.error_codes import CODES

#: Any address may refuse with these.
ALWAYS = ("bad-request", "parameter-unknown", "parameter-wrong", "not-logged-in", "not-acceptable", "database-busy")
#: Every write may refuse with these too; an address whose number is too long is that of something else, which takes no write.
WRITES = (
    "method-not-allowed",
    "key-missing",
    "key-reused",
    "fields-wrong",
    "not-allowed",
    "body-too-large",
    "media-type",
    "from-the-future",
)
#: Amounts are read and judged by these.
AMOUNTS = (
    "amount-negative",
    "amount-not-positive",
    "amount-too-large",
    "quantity-negative",
    "quantity-not-whole",
    "quantity-too-large",
    "quantity-unit-unknown",
    "quantity-unreadable",
    "quantity-wrong-dimension",
)
#: A length that is typed is read by these.
SIZES = (
    "quantity-not-whole",
    "quantity-too-large",
    "quantity-unit-unknown",
    "quantity-unreadable",
    "quantity-wrong-dimension",
    "ring-size-unreadable",
)
#: What a movement may be refused for.
MOVEMENTS = (
    "backdated-below-zero",
    "counted-since",
    "not-there",
    "quantity-too-large",
    "serial-elsewhere",
    "spelling-ambiguous",
)


class ProblemLineSerializer(serializers.Serializer):
    """One refused line of a batch."""

    line = serializers.IntegerField(help_text="from 1, in the order sent")
    code = serializers.CharField()
    detail = serializers.CharField()
    values = serializers.DictField()
    ways_out = serializers.ListField(child=serializers.CharField())


class ProblemSerializer(serializers.Serializer):
    """A refusal: RFC 9457 problem document."""

    type = serializers.CharField(help_text="address of the code in the published table")
    title = serializers.CharField(help_text="what the code means")
    status = serializers.IntegerField()
    detail = serializers.CharField(help_text="a sentence that names the value")
    code = serializers.ChoiceField(choices=sorted(CODES), help_text="from the published table")
    values = serializers.DictField(help_text="what was wrong")
    ways_out = serializers.ListField(child=serializers.CharField(), help_text="what can be done about it")
    lines = ProblemLineSerializer(many=True, help_text="every refused line of a batch")


UNIT = OpenApiParameter(
    "unit",
    OpenApiTypes.STR,
    description=(
        "Show amounts in this unit where it measures the same: a UN/CEFACT Rec 20 code or a usual name. What it does not measure,"
        " and what is counted, stays in its own unit; a unit that is not known is refused."
    ),
)
KEY = OpenApiParameter(
    KEY_HEADER,
    OpenApiTypes.UUID,
    OpenApiParameter.HEADER,
    required=True,
    description="A UUID made by the caller for this act. Sent again with the same content it gets the first answer again.",
)
IF_MATCH = OpenApiParameter(
    "If-Match",
    OpenApiTypes.STR,
    OpenApiParameter.HEADER,
    required=True,
    description="The ETag that came with what was read.",
)


def _headers(status: int) -> list[OpenApiParameter]:
    return [
        OpenApiParameter(
            "Location",
            OpenApiTypes.URI_REF,
            OpenApiParameter.HEADER,
            description="Address of the act.",
            response=[status],
        ),
        OpenApiParameter(
            REPLAYED_HEADER,
            OpenApiTypes.STR,
            OpenApiParameter.HEADER,
            description='"true" when this answer was given before.',
            response=[status],
        ),
    ]


def refusal_responses(codes: Iterable[str]) -> dict[tuple[str, str], OpenApiResponse]:
    """For each status the codes that are answered with it; KeyError for an unpublished code."""
    by_status: dict[int, list[str]] = defaultdict(list)
    for code in sorted(set(codes)):
        by_status[CODES[code].status].append(code)
    return {
        (str(status), MEDIA_TYPE): OpenApiResponse(
            ProblemSerializer, description="; ".join(f"[{code}]({CODES_PAGE}#{code})" for code in names)
        )
        for status, names in sorted(by_status.items())
    }


def _as_pages(codes: Iterable[str]) -> dict[tuple[str, str], OpenApiResponse]:
    """The same refusals as pages."""
    return {
        (str(status), "text/html"): OpenApiResponse(OpenApiTypes.STR)
        for status in sorted({CODES[code].status for code in codes})
    }


def reading(
    operation_id: str,
    summary: str,
    answer: Any,
    *,
    refusals: Sequence[str] = (),
    parameters: Sequence[OpenApiParameter] = (),
    filtered: bool = False,
    open_to_all: bool = False,
    printed: bool = False,
    amounts: bool = False,
    files: Sequence[str] = (),
) -> Callable[[Any], Any]:
    """Describe a GET: `answer` is the serializer (many=True for a list), `refusals` the codes beyond those of every address.

    printed   it can be had as a page too; its refusals then come as pages
    amounts   there are amounts in it, which `?unit=` shows in the unit asked for (`View.finalize_response`)
    files     content types of the file that it answers with, instead of JSON
    """
    codes = {*ALWAYS, *refusals, *(["fields-wrong"] if filtered else []), *(["unit-unknown"] if amounts else [])}
    if open_to_all:
        codes.discard("not-logged-in")
    return _described(
        codes,
        operation_id=operation_id,
        summary=summary,
        shows_amounts=amounts,
        parameters=[*parameters, *([UNIT] if amounts else [])],
        responses={
            **({("200", kind): OpenApiTypes.BINARY for kind in files} or {200: answer}),
            **refusal_responses(codes),
            **(_as_pages(codes) if printed else {}),
        },
    )


def act(
    operation_id: str,
    summary: str,
    body: Any,
    answer: Any,
    *,
    refusals: Sequence[str] = (),
    parameters: Sequence[OpenApiParameter] = (),
    if_match: bool = False,
) -> Callable[[Any], Any]:
    """Describe a write: `body` and `answer` are serializers, `refusals` the codes beyond those of every write."""
    codes = {*ALWAYS, *WRITES, *refusals, *(["version-missing", "version-stale"] if if_match else [])}
    return _described(
        codes,
        operation_id=operation_id,
        summary=summary,
        request=body,
        parameters=[KEY, *([IF_MATCH] if if_match else []), *parameters, *_headers(201)],
        responses={201: answer, **refusal_responses(codes)},
    )


def login(operation_id: str, summary: str, body: Any, answer: Any) -> Callable[[Any], Any]:
    """Describe the log-in: a write without a key, because nothing is booked by it."""
    codes = {*ALWAYS, "fields-wrong", "body-too-large", "media-type", "too-many-tries"}
    return _described(
        codes,
        operation_id=operation_id,
        summary=summary,
        request=body,
        auth=[],
        responses={201: answer, **refusal_responses(codes)},
    )


def _described(codes: set[str], shows_amounts: bool = False, **words: Any) -> Callable[[Any], Any]:
    def mark(method: Any) -> Any:
        described = extend_schema(**words)(method)
        described.refusals = frozenset(codes)
        described.shows_amounts = shows_amounts
        return described

    return mark
