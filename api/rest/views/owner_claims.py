"""`claims` and what is added to one: things, causes, answers, closings; `engines/{number}/claims` are those of an engine, and enters one."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest import filters
from api.rest.schema import act, reading
from api.rest.serializers import owner_claims as shapes
from api.rest.serializers.common import ReasonSerializer
from api.rest.shapes import shape, values
from api.rest.views.base import ListView, View, actor_of
from api.rest.views.engines import engine_of
from api.rest.views.parts import facts_of
from inventory.services.run import Done, Stamp
from kits.domain.owner_claims import STATES, ThingIn
from kits.queries import owner_claims as read
from kits.services.claim_entries import answer_claim, close_claim, open_claim_again, state_cause, take_claim_back
from kits.services.owner_claims import MeterIn, enter_claim, name_things, withdraw_thing

_THINGS = ("claim-thing-elsewhere", "done-already", "position-unknown", "too-many-lines")
_OPEN = ("claim-ended", "not-found")


def _things(facts: dict[str, Any]) -> list[ThingIn]:
    """Things of a body, which is left without them."""
    return [
        ThingIn(**{"item_id" if name == "item" else name: value for name, value in one.items()})
        for one in facts.pop("things", [])
    ]


class ClaimListView(ListView):
    """Claims in pages; the newest come first."""

    orderings = ("-pk", "pk", "told_on")

    def rows(self) -> QuerySet[Any]:
        """All claims."""
        return read.claims()

    def render(self, rows: list[Any], request: Request) -> list[Any]:
        """With their entries."""
        return [values(row) for row in read.rendered_claims(rows)]


class EngineClaimsView(ClaimListView):
    """`engines/{number}/claims`."""

    acts = {"POST": "claim"}

    def rows(self) -> QuerySet[Any]:
        """Claims of this engine."""
        return super().rows().filter(engine=engine_of(self.kwargs["number"]))

    @reading(
        "engines_claims_list",
        "Claims of the owners of an engine with how each stands; the newest first",
        shape(read.ClaimRow)(many=True),
        refusals=("not-found",),
        filtered=True,
    )
    def get(self, request: Request, number: str) -> Response:
        """A page of its claims."""
        return self.page(request)

    @act(
        "engines_claims_create",
        "The owner of an engine claims: entered as it was told, and judged whether that day lies inside the term. What is odd or missing"
        " about the meters is asked",
        shapes.ClaimInSerializer,
        shapes.ClaimMadeSerializer,
        refusals=(
            *_THINGS,
            "amount-negative",
            "claim-job-unclear",
            "dates-turned",
            "engine-unknown",
            "job-not-closed",
            "not-found",
            "nothing-given",
            "reading-asked",
            "reason-missing",
        ),
    )
    def post(self, request: Request, number: str) -> Response:
        """Enter."""

        def service(stamp: Stamp, data: dict[str, Any]) -> Done:
            facts = facts_of(data)
            things, meters = _things(facts), [MeterIn(**one) for one in facts.pop("meters", [])]
            return enter_claim(
                actor=actor_of(request), stamp=stamp, engine=number, things=things, meters=meters, **facts
            )

        return self.do(request, shapes.ClaimInSerializer, service)


class ClaimFilters(filters.StrictFilterSet):
    """Filters of claims."""

    engine = filters.text("engine__number", "of this engine")
    job = filters.text("job__number", "on the work of this job")
    position = filters.text("things__position", "that concern this use position", distinct=True)
    lot = filters.text("things__item__lot__code", "that concern a thing of this lot", distinct=True)
    told_from = filters.day("told_on", "gte", "told on this day or later")
    state = filters.choice("state", list(STATES), "that stand so", method="stands")

    def stands(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        """In this state."""
        return read.in_state(rows, value)


class ClaimsView(ClaimListView):
    """`claims`."""

    filterset_class = ClaimFilters

    @reading(
        "claims_list",
        "Claims of owners with how each stands; the newest first",
        shape(read.ClaimRow)(many=True),
        filtered=True,
    )
    def get(self, request: Request) -> Response:
        """A page of claims."""
        return self.page(request)


class ClaimView(View):
    """`claims/{id}`."""

    @reading(
        "claims_read",
        "A claim: as told, inside the term or not as judged on entry and as known now, and every entry that was added",
        shapes.ClaimSerializer,
        refusals=("not-found",),
    )
    def get(self, request: Request, claim: int) -> Response:
        """One claim."""
        row = read.claim_by_number(claim)
        return Response(values(read.rendered_claims([row])[0]) | read.claim_record(row))


class ClaimThingsView(View):
    """`claims/{id}/things`."""

    acts = {"POST": "claim"}

    @act(
        "claims_things_create",
        "Name what a claim concerns, as far as it is known by now; a position that failed before in this engine is flagged",
        shapes.ClaimThingsInSerializer,
        shapes.ClaimThingsMadeSerializer,
        refusals=(*_OPEN, *_THINGS, "nothing-given"),
    )
    def post(self, request: Request, claim: int) -> Response:
        """Name."""
        return self.do(
            request,
            shapes.ClaimThingsInSerializer,
            lambda stamp, data: name_things(
                actor=actor_of(request), stamp=stamp, claim=claim, things=_things(facts_of(data))
            ),
        )


class ClaimThingWithdrawalsView(View):
    """`claims/{id}/things/{thing}/withdrawals`."""

    acts = {"POST": "claim"}

    @act(
        "claims_things_withdraw",
        "A claim does not concern a thing after all: it stays with the reason, and counts no more",
        ReasonSerializer,
        shapes.ClaimThingWithdrawnSerializer,
        refusals=(*_OPEN, "reason-missing", "withdrawn-already"),
    )
    def post(self, request: Request, claim: int, thing: int) -> Response:
        """Withdraw."""
        return self.do(
            request,
            ReasonSerializer,
            lambda stamp, data: withdraw_thing(
                actor=actor_of(request), stamp=stamp, claim=claim, thing=thing, **facts_of(data)
            ),
        )


class ClaimCausesView(View):
    """`claims/{id}/causes`."""

    acts = {"POST": "state_cause"}

    @act(
        "claims_causes_create",
        "State the cause of a claim: by whom, on what evidence, with the numbers of oil and coolant samples. One counts at a time; a later"
        " one names the one that it takes the place of",
        shapes.ClaimCauseInSerializer,
        shapes.ClaimCauseMadeSerializer,
        refusals=(*_OPEN, "claim-entry-stands", "nothing-given"),
    )
    def post(self, request: Request, claim: int) -> Response:
        """State."""
        return self.do(
            request,
            shapes.ClaimCauseInSerializer,
            lambda stamp, data: state_cause(actor=actor_of(request), stamp=stamp, claim=claim, **facts_of(data)),
        )


class ClaimAnswersView(View):
    """`claims/{id}/answers`."""

    acts = {"POST": "claim"}

    @act(
        "claims_answers_create",
        "What the owner is told: accepted, refused or part, with the reason. A later answer names the one that it takes the place of",
        shapes.ClaimAnswerInSerializer,
        shapes.ClaimAnswerMadeSerializer,
        refusals=(*_OPEN, "claim-entry-stands", "nothing-given", "reason-missing"),
    )
    def post(self, request: Request, claim: int) -> Response:
        """Answer."""
        return self.do(
            request,
            shapes.ClaimAnswerInSerializer,
            lambda stamp, data: answer_claim(actor=actor_of(request), stamp=stamp, claim=claim, **facts_of(data)),
        )


class ClaimClosingsView(View):
    """`claims/{id}/closings`."""

    acts = {"POST": "claim"}

    @act(
        "claims_closings_create",
        "Close a claim with the cause and the answer that stand; without one of them it stays open",
        shapes.ClaimClosingSerializer,
        shapes.ClaimClosedSerializer,
        refusals=(*_OPEN, "claim-answer-missing", "claim-cause-missing"),
    )
    def post(self, request: Request, claim: int) -> Response:
        """Close."""
        return self.do(
            request,
            shapes.ClaimClosingSerializer,
            lambda stamp, data: close_claim(actor=actor_of(request), stamp=stamp, claim=claim),
        )


class ClaimTakingsBackView(View):
    """`claims/{id}/takings-back`."""

    acts = {"POST": "claim"}

    @act(
        "claims_takings_back_create",
        "A claim is none: its owner gave it up, or it was entered wrongly. It stays on record",
        ReasonSerializer,
        shapes.ClaimStateSerializer,
        refusals=(*_OPEN, "reason-missing"),
    )
    def post(self, request: Request, claim: int) -> Response:
        """Take back."""
        return self.do(
            request,
            ReasonSerializer,
            lambda stamp, data: take_claim_back(actor=actor_of(request), stamp=stamp, claim=claim, **facts_of(data)),
        )


class ClaimReopeningsView(View):
    """`claims/{id}/reopenings`."""

    acts = {"POST": "claim"}

    @act(
        "claims_reopenings_create",
        "Open a claim again that was closed or taken back; its cause and answer stand until others take their place",
        ReasonSerializer,
        shapes.ClaimStateSerializer,
        refusals=("claim-open", "not-found", "reason-missing"),
    )
    def post(self, request: Request, claim: int) -> Response:
        """Open again."""
        return self.do(
            request,
            ReasonSerializer,
            lambda stamp, data: open_claim_again(actor=actor_of(request), stamp=stamp, claim=claim, **facts_of(data)),
        )
