"""`transfers`, `quarantine-releases`, `counts`, `scraps`, `items/{id}/openings` and `tubes/{number}/weighings`."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest import filters
from api.rest.schema import AMOUNTS, MOVEMENTS, act, reading
from api.rest.serializers import moves as shapes
from api.rest.views.base import ListView, View, actor_of
from api.rest.views.parts import facts_of
from inventory.domain.stores import WhoPays
from inventory.queries import scraps
from inventory.queries.people import person_by_login
from inventory.services.count import CountLine, count
from inventory.services.open_item import open_kit
from inventory.services.open_tube import open_tube, weigh_tube
from inventory.services.receive import SetLabel
from inventory.services.run import Done, Stamp
from inventory.services.scrap import scrap
from inventory.services.transfer import ReleaseLine, TransferLine, release_quarantine, transfer

_CARRYING = (
    *AMOUNTS,
    *MOVEMENTS,
    "lot-unknown",
    "not-found",
    "not-whole",
    "nothing-given",
    "other-site",
    "serial-is-one",
    "set-broken",
    "storage-unsuitable",
    "too-many-lines",
    "wrong-place",
)

#: What a count may be refused for, by hand or by sheet.
COUNTING = (
    *AMOUNTS,
    *MOVEMENTS,
    "counted-twice",
    "lot-missing",
    "not-found",
    "nothing-given",
    "reason-missing",
    "serial-is-one",
    "serial-missing",
    "serial-not-kept",
    "set-broken",
    "storage-unchecked",
    "storage-unusable",
    "too-many-lines",
    "wrong-place",
)


def by_item(line: dict[str, Any]) -> dict[str, Any]:
    """A line's `item` under the name that services have for it."""
    return {("item_id" if name == "item" else name): value for name, value in line.items()}


def _words(data: dict[str, Any]) -> dict[str, str]:
    """What is said of the whole act."""
    return {name: data.get(name, "") for name in ("note", "storage_word")}


class TransfersView(View):
    """`transfers`."""

    acts = {"POST": "transfer"}

    @act(
        "transfers_create",
        "Carry stock between shelves and into quarantine, within one site; out of quarantine it is released",
        shapes.TransferInSerializer,
        shapes.TransferSerializer,
        refusals=(*_CARRYING, "not-kept", "part-withdrawn", "reason-missing", "release-needed"),
    )
    def post(self, request: Request) -> Response:
        """Carry."""

        def service(stamp: Stamp, data: dict[str, Any]) -> Done:
            lines = [TransferLine(**by_item(line)) for line in data["lines"]]
            return transfer(actor=actor_of(request), stamp=stamp, lines=lines, **_words(data))

        return self.do(request, shapes.TransferInSerializer, service)


class ReleasesView(View):
    """`quarantine-releases`."""

    acts = {"POST": "release_quarantine"}

    @act(
        "quarantine_releases_create",
        "Release from quarantine to a shelf, by somebody who did not bring it in",
        shapes.ReleaseInSerializer,
        shapes.TransferSerializer,
        refusals=(
            *_CARRYING,
            "cure-date-future",
            "cure-date-unreadable",
            "expired",
            "inspection-missing",
            "life-rule-unreadable",
            "lot-differs",
            "old-unit-known",
            "part-to-be-sorted",
            "part-withdrawn",
            "rejected",
            "second-person-needed",
            "stopped",
            "undated",
            "was-in-engine",
        ),
    )
    def post(self, request: Request) -> Response:
        """Release."""

        def service(stamp: Stamp, data: dict[str, Any]) -> Done:
            lines = [ReleaseLine(**by_item(line)) for line in data["lines"]]
            return release_quarantine(actor=actor_of(request), stamp=stamp, lines=lines, **_words(data))

        return self.do(request, shapes.ReleaseInSerializer, service)


class CountsView(View):
    """`counts`."""

    acts = {"POST": "count"}

    @act(
        "counts_create",
        "Compare what was counted with the books; a difference is a new entry with a reason",
        shapes.CountInSerializer,
        shapes.CountSerializer,
        refusals=(
            *COUNTING,
            "counted-since",
            "job-ended",
            "may-not-count-again",
            "recount-needed",
            "second-person-needed",
        ),  # fmt: skip
    )
    def post(self, request: Request) -> Response:
        """Count."""

        def service(stamp: Stamp, data: dict[str, Any]) -> Done:
            lines = [CountLine(**by_item(line)) for line in data["lines"]]
            facts = facts_of(data) | {"lines": lines}
            if "second" in facts:
                facts["second"] = person_by_login(facts["second"])
            return count(actor=actor_of(request), stamp=stamp, **facts)

        return self.do(request, shapes.CountInSerializer, service)


class ScrapFilters(filters.StrictFilterSet):
    """Filters of what was scrapped."""

    who_pays = filters.choice("who_pays", [who.value for who in WhoPays], "who pays for it")
    part = filters.text("item__part__number", "of this part")
    subject = filters.text("act__subject", "concerning this job")
    place = filters.text("spot__place__code", "that lay at this place")
    destroyed = filters.Truth("made unusable", method="was_destroyed")
    occurred_from = filters.moment("act__occurred_at", "gte", "scrapped at this moment or later")
    occurred_before = filters.moment("act__occurred_at", "lt", "scrapped before this moment")

    def was_destroyed(self, rows: QuerySet[Any], name: str, value: bool) -> QuerySet[Any]:
        """Made unusable, or not."""
        return rows.filter(destroyed=value)


class ScrapsView(ListView):
    """`scraps`."""

    acts = {"POST": "write_off"}
    filterset_class = ScrapFilters
    orderings = ("-pk", "act__occurred_at")

    def rows(self) -> QuerySet[Any]:
        """Everything that was scrapped and not taken back; the newest come first."""
        return scraps.scraps()

    def render(self, rows: list[Any], request: Request) -> list[Any]:
        """Records."""
        return [
            {
                "act": row.act_id,
                "at": row.act.occurred_at,
                "by": row.act.actor.username,
                "subject": row.act.subject,
                "part": row.item.part.number,
                "item": row.item_id,
                "lot": row.item.lot_code,
                "serial": row.item.serial_number,
                "amount": row.amount,
                "base": row.item.base,
                "place": row.spot.place.code,
                "spot": row.spot.name,
                "reason": row.act.reason,
                "who_pays": row.who_pays,
                "photo": row.photo_ref,
                "no_photo": row.no_photo,
                "destroyed": row.destroyed,
            }
            for row in rows
        ]

    @reading(
        "scraps_list",
        "What was scrapped, on jobs and off them, with who pays; the newest first",
        shapes.ScrapRecordSerializer(many=True),
        filtered=True,
        amounts=True,
    )
    def get(self, request: Request) -> Response:
        """A page of what was scrapped."""
        return self.page(request)

    @act(
        "scraps_create",
        "Write off something, with a reason and who pays",
        shapes.ScrapInSerializer,
        shapes.ScrappedSerializer,
        refusals=(
            *AMOUNTS,
            *MOVEMENTS,
            "not-found",
            "photo-asked",
            "reason-missing",
            "serial-is-one",
            "set-broken",
            "who-pays-unknown",
            "wrong-place",
        ),
    )
    def post(self, request: Request) -> Response:
        """Scrap."""
        return self.do(
            request,
            shapes.ScrapInSerializer,
            lambda stamp, data: scrap(actor=actor_of(request), stamp=stamp, **by_item(facts_of(data))),
        )


class OpeningsView(View):
    """`items/{id}/openings`."""

    acts = {"POST": "open"}

    @act(
        "items_openings_create",
        "Open a closed kit, a box of sets, or a tube",
        shapes.OpeningInSerializer,
        shapes.OpenedSerializer,
        refusals=(
            *AMOUNTS,
            *MOVEMENTS,
            "inner-lot-differs",
            "inner-lot-missing",
            "life-rule-unreadable",
            "lot-missing",
            "not-a-kit",
            "not-found",
            "not-in-kit",
            "nothing-given",
            "part-number-unreadable",
            "reason-missing",
            "serial-count",
            "serial-is-one",
            "stopped",
            "tube-content-unknown",
            "tube-number-used",
            "undated",
            "weight-unsaid",
            "wrong-place",
        ),
    )
    def post(self, request: Request, number: int) -> Response:
        """Open."""

        def service(stamp: Stamp, data: dict[str, Any]) -> Done:
            facts = facts_of(data)
            tube = facts.pop("tube", None)
            if tube is not None:
                return open_tube(actor=actor_of(request), stamp=stamp, item_id=number, tube_number=tube, **facts)
            labels = {serial: SetLabel(**label) for serial, label in facts.pop("set_labels", {}).items()}
            return open_kit(actor=actor_of(request), stamp=stamp, item_id=number, set_labels=labels, **facts)

        return self.do(request, shapes.OpeningInSerializer, service)


class WeighingsView(View):
    """`tubes/{number}/weighings`."""

    acts = {"POST": "open"}

    @act(
        "tubes_weighings_create",
        "Weigh an opened tube; what it holds less than the books say is booked",
        shapes.WeighingInSerializer,
        shapes.WeighedSerializer,
        refusals=(
            *AMOUNTS,
            *MOVEMENTS,
            "dates-turned",
            "not-found",
            "reason-missing",
            "tube-content-unknown",
            "weight-below-empty",
            "weight-too-large",
            "wrong-place",
        ),
    )
    def post(self, request: Request, number: str) -> Response:
        """Weigh."""
        return self.do(
            request,
            shapes.WeighingInSerializer,
            lambda stamp, data: weigh_tube(actor=actor_of(request), stamp=stamp, tube=number, **facts_of(data)),
        )
