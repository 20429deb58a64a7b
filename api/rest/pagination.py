"""Pages by a cursor: the next page begins behind the last row of this one, so rows that come in meanwhile neither repeat nor hide any.

The cursor is signed: it can only be one of ours, for the same list in the same order.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from typing import Any

from django.core import signing
from django.db.models import Q
from rest_framework.pagination import BasePagination
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.utils.urls import replace_query_param

from api.rest.problems import refuse
from inventory.domain.text import shown

DEFAULT_SIZE = 50
MOST = 200
PARAMETERS = ("cursor", "page_size", "ordering")


class CursorPages(BasePagination):
    """`?cursor=` (from `next`), `?page_size=` up to 200, `?ordering=` one of the view's `orderings`, "-" before it for downwards;
    without it the first of them, as it stands there."""

    next_link: str | None = None

    def paginate_queryset(self, queryset: Any, request: Request, view: Any = None) -> list[Any]:
        """The rows of the page; DomainError "parameter-wrong"."""
        size = page_size(request)
        order = order_of(request, view.orders(request))
        name = f"{type(view).__name__}:{','.join(order)}"
        cursor = request.query_params.get("cursor")
        if cursor is not None:
            queryset = queryset.filter(_behind(order, _read(cursor, name, len(order))))
        rows = list(queryset.order_by(*order)[: size + 1])
        if len(rows) > size:
            rows = rows[:size]
            values = [_value(rows[-1], column.lstrip("-")) for column in order]
            word = signing.dumps(values, salt=name)
            self.next_link = replace_query_param(request.build_absolute_uri(), "cursor", word)
        return rows

    def get_paginated_response(self, data: Any) -> Response:
        """`next` is null on the last page."""
        return Response({"next": self.next_link, "results": data})

    def get_paginated_response_schema(self, schema: dict[str, Any]) -> dict[str, Any]:
        """For the description of the service."""
        return {
            "type": "object",
            "required": ["next", "results"],
            "properties": {
                "next": {
                    "type": ["string", "null"],
                    "format": "uri",
                    "description": "address of the next page; null on the last one",
                },
                "results": schema,
            },
        }

    def get_schema_operation_parameters(self, view: Any) -> list[dict[str, Any]]:
        """For the description of the service."""
        plain = [column.lstrip("-") for column in view.orderings]
        choices = [word for column in plain for word in (column, f"-{column}")]
        return [
            _parameter("cursor", {"type": "string"}, "Where the page begins: taken from `next`."),
            _parameter(
                "page_size",
                {"type": "integer", "minimum": 1, "maximum": MOST, "default": DEFAULT_SIZE},
                "Rows of a page.",
            ),
            _parameter(
                "ordering",
                {"type": "string", "enum": choices, "default": view.orderings[0]},
                "Order of the list; ties follow the order in which the rows were made.",
            ),
        ]


class PlainPages(CursorPages):
    """The same for a list that stands in no table of the database and never changes: the cursor holds how far we are."""

    def paginate_queryset(self, queryset: Any, request: Request, view: Any = None) -> list[Any]:
        """The rows of the page; DomainError "parameter-wrong"."""
        size = page_size(request)
        order = order_of(request, view.orders(request))[0]
        name = f"{type(view).__name__}:{order}"
        cursor = request.query_params.get("cursor")
        begin = _read(cursor, name, 1)[0] if cursor is not None else 0
        rows = list(queryset)
        rows = rows[::-1] if order.startswith("-") else rows
        if begin + size < len(rows):
            word = signing.dumps([begin + size], salt=name)
            self.next_link = replace_query_param(request.build_absolute_uri(), "cursor", word)
        return rows[begin : begin + size]


def _parameter(name: str, schema: dict[str, Any], description: str) -> dict[str, Any]:
    return {"name": name, "in": "query", "required": False, "description": description, "schema": schema}


def page_size(request: Request) -> int:
    """1 to 200; DomainError "parameter-wrong"."""
    text = request.query_params.get("page_size")
    if text is None:
        return DEFAULT_SIZE
    size = int(text) if text.isascii() and text.isdigit() and len(text) <= 4 else 0
    if not 1 <= size <= MOST:
        raise refuse(
            "parameter-wrong",
            f'page_size "{shown(text)}" is not a whole number from 1 to {MOST}.',
            parameter="page_size",
            value=shown(text),
        )
    return size


def order_of(request: Request, orderings: Sequence[str]) -> tuple[str, ...]:
    """The columns of the order, the row's number last; DomainError "parameter-wrong"."""
    text = request.query_params.get("ordering", orderings[0])
    plain = [column.removeprefix("-") for column in orderings]
    if text.removeprefix("-") not in plain:
        raise refuse(
            "parameter-wrong",
            f'The list cannot be ordered by "{shown(text)}".',
            ways_out=(f"Order by one of {', '.join(plain)}, with - before it for downwards.",),
            parameter="ordering",
            value=shown(text),
        )
    sign = "-" if text.startswith("-") else ""
    return (text,) if text.removeprefix("-") == "pk" else (text, f"{sign}pk")


def _value(row: Any, column: str) -> Any:
    for name in column.split("__"):
        row = getattr(row, name)
    return row.isoformat() if isinstance(row, datetime | date) else row


def _read(cursor: str, name: str, columns: int) -> list[Any]:
    try:
        values = signing.loads(cursor, salt=name)
    except signing.BadSignature:
        values = None
    if not isinstance(values, list) or len(values) != columns:
        raise refuse(
            "parameter-wrong",
            "The cursor was not made for this list in this order.",
            ways_out=("Follow `next`, or begin again without a cursor.",),
            parameter="cursor",
            value=shown(cursor),
        )
    return values


def _behind(order: Sequence[str], values: Sequence[Any]) -> Q:
    """Rows behind the given one: later in the first column, or equal there and later in the second."""
    found = Q()
    equal = Q()
    for column, value in zip(order, values, strict=True):
        way, plain = ("lt", column[1:]) if column.startswith("-") else ("gt", column)
        found |= equal & Q(**{f"{plain}__{way}": value})
        equal &= Q(**{plain: value})
    return found
