"""`imports`: tables that are brought in, from the file to the books."""

from __future__ import annotations

import base64
import binascii
from typing import Any

from django.db.models import QuerySet
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest import filters
from api.rest.parameters import described, text
from api.rest.problems import refuse
from api.rest.schema import act, reading
from api.rest.serializers import imports as shapes
from api.rest.views.base import ListView, View, actor_of
from api.rest.views.trace import whole
from api.tables.read import read_table
from inventory.domain.import_rows import Verdict
from inventory.queries import imports as read
from inventory.services.bring_in import Answer, answer_table, book_table, keep_table, read_table_rows

_TABLES = ("table-unreadable", "table-too-large")
_VERDICTS = [verdict.value for verdict in Verdict]


class ImportFilters(filters.StrictFilterSet):
    """Filters of tables."""

    kind = filters.text("kind", "of this kind")


class ImportsView(ListView):
    """`imports`."""

    acts = {"POST": "import"}
    filterset_class = ImportFilters
    orderings = ("-pk", "pk")

    def rows(self) -> QuerySet[Any]:
        """All tables."""
        return read.import_files()

    def render(self, rows: list[Any], request: Request) -> list[Any]:
        """Records."""
        return [
            {"import": row.pk, "kind": row.kind, "name": row.name, "rows": row.rows_in, "booked": row.booked_by}
            for row in rows
        ]

    @reading("imports_list", "Tables that were brought in", shapes.TableNameSerializer(many=True), filtered=True)
    def get(self, request: Request) -> Response:
        """A page of tables."""
        return self.page(request)

    @act(
        "imports_create",
        "Keep a table file as it came. Nothing is booked by that: its rows are read next, then answered, then booked",
        shapes.TableInSerializer,
        shapes.TableKeptSerializer,
        refusals=(
            "not-found",
            "heading-missing",
            "heading-twice",
            "too-many-columns",
            "nothing-given",
            "personal-data",
            "too-many-lines",
            *_TABLES,
        ),
    )
    def post(self, request: Request) -> Response:
        """Kept."""
        return self.do(request, shapes.TableInSerializer, lambda stamp, data: _keep(actor_of(request), stamp, data))


def _keep(actor: Any, stamp: Any, data: dict[str, Any]) -> Any:
    try:
        content = base64.b64decode(data["content"], validate=True)
    except (binascii.Error, ValueError):
        raise refuse("fields-wrong", "content is not base 64.", field="content") from None
    return keep_table(
        actor=actor,
        stamp=stamp,
        kind=data["kind"],
        name=data["name"],
        content=content,
        reader=read_table,
        day_order=data.get("day_order", ""),
    )


class ImportView(View):
    """`imports/{number}`."""

    @reading("imports_read", "How far a table is", shapes.TableSerializer, refusals=("not-found",))
    def get(self, request: Request, number: int) -> Response:
        """Its counts."""
        return Response(read.summary(read.import_file(number)))


class ImportFileView(View):
    """`imports/{number}/file`."""

    acts = {"GET": "import"}

    @reading(
        "imports_file_read", "The file as it came", shapes.TableFileSerializer, refusals=("not-found", "not-allowed")
    )
    def get(self, request: Request, number: int) -> Response:
        """The bytes."""
        file = read.import_file(number)
        content = base64.b64encode(read.content_of(file)).decode()
        return Response({"name": file.name, "sha256": file.sha256, "content": content})


class ImportRowsView(View):
    """`imports/{number}/rows`."""

    parameters = ("verdict", "after", "most")

    @reading(
        "imports_rows_read",
        "Rows of a table with what was found: questions, refusals, warnings",
        shapes.TableRowsSerializer,
        refusals=("not-found",),
        parameters=(
            described("verdict", "Rows of this verdict only.", words=_VERDICTS),
            OpenApiParameter(
                "after", OpenApiTypes.INT, description="Rows behind this row of the file; all if left out."
            ),
            OpenApiParameter("most", OpenApiTypes.INT, description=f"At most so many, up to {read.MOST_SHOWN}."),
        ),
    )
    def get(self, request: Request, number: int) -> Response:
        """In the order of the file."""
        verdict = text(request, "verdict")
        if verdict and verdict not in _VERDICTS:
            raise refuse("parameter-wrong", f"verdict is one of {', '.join(_VERDICTS)}.", parameter="verdict")
        file = read.import_file(number)
        after, most = whole(request, "after") or 0, whole(request, "most") or read.MOST_SHOWN
        return Response({"rows": read.rows_of(file.pk, verdict, after, most)})


class ImportReadingsView(View):
    """`imports/{number}/readings`."""

    acts = {"POST": "import"}

    @act(
        "imports_readings_create",
        "Read and judge the next rows of a table, until read equals rows; nothing is booked",
        shapes.TableReadInSerializer,
        shapes.TableReadSerializer,
        refusals=("not-found", "import-booked", "nothing-changed", *_TABLES),
    )
    def post(self, request: Request, number: int) -> Response:
        """Read."""

        def go(stamp: Any, data: dict[str, Any]) -> Any:
            file = read.import_file(number)
            rows = read_table(read.content_of(file), file.name).rows
            return read_table_rows(
                actor=actor_of(request),
                stamp=stamp,
                file_id=number,
                rows=rows,
                **{k: v for k, v in data.items() if k == "most"},
            )

        return self.do(request, shapes.TableReadInSerializer, go)


class ImportAnswersView(View):
    """`imports/{number}/answers`."""

    acts = {"POST": "import"}

    @act(
        "imports_answers_create",
        "Answer questions about rows; they are judged anew",
        shapes.TableAnswersInSerializer,
        shapes.TableAnsweredSerializer,
        refusals=("not-found", "import-booked", "nothing-given", "too-many-lines", "import-row-unknown"),
    )
    def post(self, request: Request, number: int) -> Response:
        """Answered."""
        return self.do(
            request,
            shapes.TableAnswersInSerializer,
            lambda stamp, data: answer_table(
                actor=actor_of(request),
                stamp=stamp,
                file_id=number,
                answers=[Answer(**one) for one in data.get("answers", ())],
                as_proposed=data.get("as_proposed", ()),
            ),
        )


class ImportBookingsView(View):
    """`imports/{number}/bookings`."""

    acts = {"POST": "import"}

    @act(
        "imports_bookings_create",
        "Book every accepted row of a table, all or none",
        shapes.TableBookInSerializer,
        shapes.TableBookedSerializer,
        refusals=(
            "not-found",
            "import-booked",
            "import-unread",
            "import-open",
            "import-stale",
            "spelling-ambiguous",
            "replacement-loop",
            "replacement-unusable",
            "replacement-self",
            "serial-elsewhere",
            "set-broken",
            "job-exists",
            "owner-differs",
            "reading-asked",
        ),
    )
    def post(self, request: Request, number: int) -> Response:
        """Booked."""
        return self.do(
            request,
            shapes.TableBookInSerializer,
            lambda stamp, data: book_table(
                actor=actor_of(request),
                stamp=stamp,
                file_id=number,
                without_questioned=data.get("without_questioned", False),
            ),
        )
