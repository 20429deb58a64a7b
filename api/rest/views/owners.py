"""`owners` and `engines/{number}/owners`: who owns engines. Not everybody may read them."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.etags import etag, version_of
from api.rest.schema import act, reading
from api.rest.serializers import owners as shapes
from api.rest.views.base import ListView, View, actor_of
from api.rest.views.engines import engine_of
from api.rest.views.parts import facts_of
from inventory.queries import owners as read
from inventory.services.owners import OwnerIn, add_owner, change_owner
from kits.queries.engine_owners import owners_of
from kits.services.engine_owners import change_hands

_JUDGED = ("nothing-given", "text-too-long")


def rendered(row: Any) -> dict[str, Any]:
    """The record of an owner."""
    return {
        "id": row.pk,
        "name": row.name,
        "address": row.address,
        "telephone": row.telephone,
        "email": row.email,
        "version": row.version,
    }


class OwnersView(ListView):
    """`owners`."""

    acts = {"GET": "see_owner", "POST": "enter_owner"}
    orderings = ("pk", "name")

    def rows(self) -> QuerySet[Any]:
        """All owners."""
        return read.owners()

    def render(self, rows: list[Any], request: Request) -> list[Any]:
        """Records."""
        return [rendered(row) for row in rows]

    @reading(
        "owners_list",
        "Owners of engines, and buyers at the counter",
        shapes.OwnerSerializer(many=True),
        refusals=("not-allowed",),
    )
    def get(self, request: Request) -> Response:
        """A page of owners."""
        return self.page(request)

    @act(
        "owners_create",
        "Enter an owner, or a buyer at the counter",
        shapes.OwnerInSerializer,
        shapes.OwnerMadeSerializer,
        refusals=_JUDGED,
    )
    def post(self, request: Request) -> Response:
        """A new owner."""
        return self.do(
            request,
            shapes.OwnerInSerializer,
            lambda stamp, data: add_owner(actor=actor_of(request), stamp=stamp, owner=OwnerIn(**facts_of(data))),
        )


class OwnerView(View):
    """`owners/{id}`."""

    acts = {"GET": "see_owner", "PATCH": "owner"}

    @reading(
        "owners_read",
        "An owner. The ETag is the version of the record, for changing it",
        shapes.OwnerSerializer,
        refusals=("not-allowed", "not-found"),
    )
    def get(self, request: Request, owner: int) -> Response:
        """One owner."""
        row = read.owner(owner)
        return Response(rendered(row), headers={"ETag": etag(row.version), "Cache-Control": "no-store"})

    @act(
        "owners_change",
        "Change fields of an owner",
        shapes.OwnerChangeSerializer,
        shapes.OwnerChangedSerializer,
        refusals=(*_JUDGED, "not-found", "nothing-changed"),
        if_match=True,
    )
    def patch(self, request: Request, owner: int) -> Response:
        """Change an owner who was read before."""
        return self.do(
            request,
            shapes.OwnerChangeSerializer,
            lambda stamp, data: change_owner(
                actor=actor_of(request),
                stamp=stamp,
                owner_id=owner,
                version=version_of(request),
                changes=facts_of(data),
            ),
        )


class EngineOwnersView(View):
    """`engines/{number}/owners`."""

    acts = {"GET": "see_owner", "POST": "owner"}

    @reading(
        "engines_owners_list",
        "Whose an engine was from which day on, the newest last",
        shapes.EngineOwnerSerializer(many=True),
        refusals=("not-allowed", "not-found"),
    )
    def get(self, request: Request, number: str) -> Response:
        """Its owners."""
        rows = owners_of(engine_of(number))
        return Response(
            [
                {
                    "act": row.act_id,
                    "owner": row.owner_id,
                    "name": row.owner.name,
                    "since": row.since,
                    "by": row.act.actor.username,
                }
                for row in rows
            ]
        )

    @act(
        "engines_owners_create",
        "An engine changed hands: whose it is from a day on",
        shapes.EngineOwnerInSerializer,
        shapes.EngineChangedHandsSerializer,
        refusals=("dates-turned", "engine-unknown", "not-found", "nothing-changed"),
    )
    def post(self, request: Request, number: str) -> Response:
        """It changed hands."""

        def service(stamp: Any, data: dict[str, Any]) -> Any:
            facts = facts_of(data)
            facts["owner_id"] = facts.pop("owner")
            return change_hands(actor=actor_of(request), stamp=stamp, engine=number, **facts)

        return self.do(request, shapes.EngineOwnerInSerializer, service)
