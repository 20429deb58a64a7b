"""`jobs/{number}/substitute-words`."""

from __future__ import annotations

from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.schema import act, reading
from api.rest.serializers import substitutes as shapes
from api.rest.views.base import View, actor_of
from api.rest.views.jobs import ON, ON_JOB
from api.rest.views.parts import facts_of
from api.rest.views.trace import day
from kits.queries.scope import job_by_number
from kits.queries.substitute_words import words_record
from kits.services.substitute_words import record_substitute_word


class JobSubstituteWordsView(View):
    """`jobs/{number}/substitute-words`."""

    acts = {"POST": "approve"}
    parameters = ("on",)

    @reading(
        "jobs_substitute_words_read",
        "The owner's words on parts that go in instead of listed ones, and why they are needed on a day",
        shapes.SubstituteWordsSerializer,
        refusals=("not-found", "parameter-wrong"),
        parameters=(ON,),
    )
    def get(self, request: Request, number: str) -> Response:
        """All words."""
        return Response(words_record(job_by_number(number), day(request, "on")))

    @act(
        "jobs_substitute_words_create",
        "Record the owner's word on a part that goes in instead of a listed one: who gave it, how; a no frees what is held",
        shapes.SubstituteWordInSerializer,
        shapes.SubstituteWordMadeSerializer,
        refusals=(*ON_JOB, "nothing-given", "reason-missing"),
    )
    def post(self, request: Request, number: str) -> Response:
        """Record."""
        return self.do(
            request,
            shapes.SubstituteWordInSerializer,
            lambda stamp, data: record_substitute_word(
                actor=actor_of(request), stamp=stamp, job=number, **facts_of(data)
            ),
        )
