"""`transfer-notes`: what is sent to another site, what the receiver signs for, what became of the rest."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest import filters
from api.rest.schema import AMOUNTS, MOVEMENTS, act, reading
from api.rest.serializers import transfer_notes as shapes
from api.rest.shapes import shape, values
from api.rest.views.base import ListView, View, actor_of
from api.rest.views.moves import by_item
from api.rest.views.parts import facts_of
from api.rest.views.printed import FORMAT, PrintedView
from inventory.domain.transfers import How, State
from inventory.queries import transfers as read
from inventory.queries.people import person_by_login
from inventory.services.explain_transfer import explain_in_transit
from inventory.services.run import Done, Stamp
from inventory.services.take_transfer import OtherLine, TakeLine, take_in
from inventory.services.transfer_notes import SendLine, send_to_site

_RIDING = (
    *AMOUNTS,
    *MOVEMENTS,
    "not-found",
    "not-whole",
    "old-unit-known",
    "serial-is-one",
    "set-broken",
    "storage-unsuitable",
    "wrong-place",
)


class NoteFilters(filters.StrictFilterSet):
    """Filters of transfer notes."""

    from_site = filters.text("from_site__code", "sent from this site")
    to_site = filters.text("to_site__code", "sent to this site")
    part = filters.text("lines__item__part__number", "with a line of this part", distinct=True)
    job = filters.text("lines__for_job", "with a line for this job", distinct=True)
    state = filters.choice("state", [state.value for state in State], "that stand so", method="stands")

    def stands(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        """In this state."""
        return read.in_state(rows, State(value))


class NotesView(ListView):
    """`transfer-notes`."""

    acts = {"POST": "transfer"}
    filterset_class = NoteFilters
    orderings = ("-pk", "pk")

    def rows(self) -> QuerySet[Any]:
        """All notes; the newest come first."""
        return read.notes()

    def render(self, rows: list[Any], request: Request) -> list[Any]:
        """With their lines."""
        return [values(row) for row in read.rendered_notes(rows)]

    @reading(
        "transfer_notes_list",
        "Transfer notes between sites with how each line stands; the newest first",
        shape(read.NoteRow)(many=True),
        filtered=True,
        amounts=True,
    )
    def get(self, request: Request) -> Response:
        """A page of notes."""
        return self.page(request)

    @act(
        "transfer_notes_create",
        "Send stock to another site: it leaves its shelf for the van by a note with numbered lines, signed by who sends it",
        shapes.NoteInSerializer,
        shapes.NoteSentSerializer,
        refusals=(*_RIDING, "dates-turned", "expired", "lot-unknown", "nothing-given", "stopped", "too-many-lines"),
    )
    def post(self, request: Request) -> Response:
        """Send."""

        def service(stamp: Stamp, data: dict[str, Any]) -> Done:
            facts = facts_of(data)
            lines = [SendLine(**by_item(line)) for line in facts.pop("lines")]
            driver = person_by_login(facts.pop("driver")) if "driver" in facts else None
            return send_to_site(actor=actor_of(request), stamp=stamp, lines=lines, driver=driver, **facts)

        return self.do(request, shapes.NoteInSerializer, service)


class NoteView(PrintedView):
    """`transfer-notes/{id}`, as JSON or as a page to print."""

    page_template = "transfer_note.html"

    @reading(
        "transfer_notes_read",
        "A transfer note: what was sent, what came, what is in transit; or the sheet that rides along",
        shape(read.NoteRow),
        refusals=("not-found",),
        parameters=(FORMAT,),
        printed=True,
        amounts=True,
    )
    def get(self, request: Request, note: int) -> Response:
        """One note."""
        return Response(values(read.rendered_notes([read.note(note)])[0]))


class NoteReceiptsView(View):
    """`transfer-notes/{id}/receipts`."""

    acts = {"POST": "take_transfer"}

    @act(
        "transfer_notes_receipts_create",
        "Sign for what came, line by line; what did not come stays in transit, unexplained, and what came over or otherwise is told by name",
        shapes.TakeInSerializer,
        shapes.TakenInSerializer,
        refusals=(
            *_RIDING,
            "dates-turned",
            "done-already",
            "line-unanswered",
            "quarantine-needed",
            "second-person-needed",
        ),
    )
    def post(self, request: Request, note: int) -> Response:
        """Take in."""

        def service(stamp: Stamp, data: dict[str, Any]) -> Done:
            facts = facts_of(data)
            lines = [TakeLine(**line) for line in facts.pop("lines")]
            others = [OtherLine(**by_item(line)) for line in facts.pop("others", [])]
            return take_in(actor=actor_of(request), stamp=stamp, note=note, lines=lines, others=others, **facts)

        return self.do(request, shapes.TakeInSerializer, service)


class NoteExplanationsView(View):
    """`transfer-notes/{id}/explanations`."""

    acts = {"POST": "explain_transfer"}

    @act(
        "transfer_notes_explanations_create",
        "Say what became of something in transit: found later, sent back, scrapped, counted short",
        shapes.ExplanationInSerializer,
        shapes.ExplainedSerializer,
        refusals=(
            *_RIDING,
            "done-already",
            "more-than-outstanding",
            "photo-asked",
            "quarantine-needed",
            "reason-missing",
            "second-person-needed",
            "transfer-on-the-way",
            "who-pays-unknown",
        ),
    )
    def post(self, request: Request, note: int) -> Response:
        """Explain."""

        def service(stamp: Stamp, data: dict[str, Any]) -> Done:
            facts = facts_of(data)
            how = How(facts.pop("how"))
            return explain_in_transit(actor=actor_of(request), stamp=stamp, note=note, how=how, **facts)

        return self.do(request, shapes.ExplanationInSerializer, service)
