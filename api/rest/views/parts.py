"""`parts`, what replaces them and what kits hold."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet
from django_filters import CharFilter
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest import filters
from api.rest.etags import etag, version_of
from api.rest.schema import SIZES, act, reading
from api.rest.serializers import parts as shapes
from api.rest.serializers.common import ReasonSerializer
from api.rest.views import render
from api.rest.views.base import ListView, View, actor_of
from inventory.domain.catalogue import KINDS, KitLine, PartFacts
from inventory.domain.companions import Companion
from inventory.domain.items import Tracked
from inventory.domain.places import PlaceKind
from inventory.domain.storage import RULES
from inventory.queries import catalogue as read
from inventory.queries import joins as joins_read
from inventory.queries.search import search_parts
from inventory.services import catalogue, replacements
from kits.queries import catalogue as kits_read
from kits.queries import sized_parts as kits_read_sizes

#: What a record shows that is no column of its table.
_BESIDE = ("joined_to", "photo", "size_off", "storage_rule")
_COLUMNS = tuple(name for name in map(str, shapes.PartSerializer().fields) if name not in _BESIDE)
_ABOUT_ACT = ("occurred_at", "device", "device_at")
_JUDGED = (
    "part-number-unreadable",
    "unit-unknown",
    "life-rule-unreadable",
    "compound-unknown",
    "label-window-unreadable",
    "text-too-long",
    "part-unusable",
    "storage-unusable",
)


def facts_of(data: dict[str, Any]) -> dict[str, Any]:
    """The body without what it says about the act itself."""
    return {name: value for name, value in data.items() if name not in _ABOUT_ACT}


def rendered(part: Any) -> dict[str, Any]:
    """The record of a part."""
    record = {name: getattr(part, name) for name in _COLUMNS}
    record |= {"joined_to": part.joined_to or "", "photo": part.photo or "", "storage_rule": RULES.get(part.kind, "")}
    return record | ({"size_off": part.size_off} if hasattr(part, "size_off") else {})


class PartFilters(filters.StrictFilterSet):
    """Filters of parts."""

    number = filters.text("number", "exactly this number")
    kind = filters.choice("kind", sorted(KINDS), "of this kind")
    tracked_by = filters.choice("tracked_by", [tracked.value for tracked in Tracked], "told apart by this")
    compound = filters.text("compound", "of this rubber")
    supplier = filters.text("sold_by__supplier__code", "sold by this supplier")
    to_be_sorted = filters.Truth("without a kind yet", method="without_kind")
    position = CharFilter(method="at_position", help_text="asked for at this use position by the newest procedures")
    family = CharFilter(method="of_family", help_text="asked for by the newest procedures of this engine family")
    size = CharFilter(
        method="of_size",
        help_text="near to a size, the nearest first: inside diameter x section of a ring (94.9 x 2.6 mm, AS568-154), or the"
        " thickness of a shim or washer (0.10 mm); a hint, the rubber and the parts book decide",
    )
    search = CharFilter(
        method="near",
        help_text="near numbers (O for zero, swapped or wrong characters), names, suppliers' numbers; or words of the name, the"
        " use position and the engine family, as in lower liner ring",
    )

    def without_kind(self, rows: QuerySet[Any], name: str, value: bool) -> QuerySet[Any]:
        """Parts to be sorted, or all others."""
        return rows.filter(kind="") if value else rows.exclude(kind="")

    def at_position(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        """Of one use position."""
        return rows.filter(pk__in=kits_read.parts_at(value, self.data.get("family", "")))

    def of_family(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        """Of one engine family."""
        return rows.filter(pk__in=kits_read.parts_of(value))

    def of_size(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        """Near to a size, each with how far off it is and its place in that order."""
        found = kits_read_sizes.parts_of_size(value)
        return read.ranked(rows, [(one.part, one.off) for one in found])

    def near(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        """Forgiving search, the nearest first."""
        return search_parts(rows, value, kits_read.parts_said(value))


class PartsView(ListView):
    """`parts`."""

    acts = {"POST": "catalogue"}
    filterset_class = PartFilters
    nearest_by = ("size", "search")
    orderings = ("number", "name", "kind")

    def rows(self) -> QuerySet[Any]:
        """All parts."""
        return read.parts()

    def render(self, rows: list[Any], request: Request) -> list[Any]:
        """Records."""
        return [rendered(row) for row in rows]

    @reading(
        "parts_list",
        "Parts of the catalogue",
        shapes.PartSerializer(many=True),
        filtered=True,
        refusals=("part-number-unreadable", "size-unreadable", "ring-size-unknown", *SIZES),
    )
    def get(self, request: Request) -> Response:
        """A page of parts; those of a size or of a search the nearest first, unless another order is asked for."""
        return self.page(request)

    @act(
        "parts_create",
        "Enter a part",
        shapes.PartCreateSerializer,
        shapes.PartCreatedSerializer,
        refusals=(*_JUDGED, "number-known"),
    )
    def post(self, request: Request) -> Response:
        """A new part."""

        def service(stamp: Any, data: dict[str, Any]) -> Any:
            facts = facts_of(data)
            another = facts.pop("another_part", False)
            return catalogue.create_part(
                actor=actor_of(request), stamp=stamp, facts=PartFacts(**facts), another_part=another
            )

        return self.do(request, shapes.PartCreateSerializer, service)


class PartView(View):
    """`parts/{number}`."""

    acts = {"PATCH": "catalogue"}

    @reading(
        "parts_read",
        "A part with stock, replacements, kits, sellers and use. The ETag is the version of the record, for changing it",
        shapes.PartDetailSerializer,
        refusals=("not-found",),
        amounts=True,
    )
    def get(self, request: Request, number: str) -> Response:
        """One part with everything about it."""
        part = read.part(number)
        joined = joins_read.joins_of(part.pk)
        records = [part.pk, *(row.joined_id for row in joined if row.kept_id == part.pk and not row.notice.withdrawn)]
        stock = read.balances().filter(part__in=records).exclude(place__kind=PlaceKind.ENGINE)
        body = {
            **rendered(part),
            "same_key": read.same_key(part),
            "joins": [join(row) for row in joined],
            "stock": [
                render.standing(row) for row in stock.order_by("place__walk_order", "place__code", "spot__name", "pk")
            ],
            "replacements": [replacement(row) for row in read.replacement_lines(part.pk)],
            "kit_revisions": [
                {
                    "revision": row.revision,
                    "contents": [{"part": line.part.number, "amount": line.amount} for line in row.contents.all()],
                }
                for row in read.kit_revisions(part.pk)
            ],
            "in_kits": read.kits_with(part.pk),
            "sold_by": [sold(row) for row in read.sold_by(part.pk)],
            "used_at": kits_read.lines_with(part.pk),
        }
        return Response(body, headers={"ETag": etag(part.version), "Cache-Control": "no-store"})

    @act(
        "parts_change",
        "Change fields of a part",
        shapes.PartChangeSerializer,
        shapes.PartChangedSerializer,
        refusals=(*_JUDGED, "not-found", "nothing-changed"),
        if_match=True,
    )
    def patch(self, request: Request, number: str) -> Response:
        """Change a part that was read before."""
        return self.do(
            request,
            shapes.PartChangeSerializer,
            lambda stamp, data: catalogue.change_part(
                actor=actor_of(request),
                stamp=stamp,
                number=number,
                version=version_of(request),
                changes=facts_of(data),
            ),
        )


def join(row: Any) -> dict[str, Any]:
    """A join of two records."""
    return {
        "joined": row.joined.number,
        "kept": row.kept.number,
        "reason": row.act.reason,
        "by": row.act.actor.username,
        "on": row.act.occurred_at,
        "replacement": row.notice_id,
        "stands": not row.notice.withdrawn,
    }


def replacement(row: Any) -> dict[str, Any]:
    """A line of a replacement notice."""
    return {
        "id": row.pk,
        "old": row.old.number,
        "way": row.way,
        "news": [
            {"part": new.part.number, "numerator": new.numerator, "denominator": new.denominator}
            for new in row.news.all()
        ],
        "fate": row.fate,
        "engine_below": row.engine_below,
        "engine_from": row.engine_from,
        "no_mix_on": row.no_mix_on,
        "condition": row.condition,
        "noted_on": row.noted_on,
        "companions": [
            {"part": one.part.number, "needs": one.needs.number, "pieces": one.pieces} for one in row.companions.all()
        ],
        "withdrawn": row.withdrawn,
    }


def sold(row: Any) -> dict[str, Any]:
    """A supplier's terms for a part."""
    return {
        "supplier": row.supplier.code,
        "number": row.number,
        "pack": row.pack,
        "least_order": row.least_order,
        "price_coins": row.price_coins,
        "lead_days": row.lead_days,
        "send_back_days": row.send_back_days,
    }


class PartReplacementsView(View):
    """`parts/{number}/replacements`: the part is the old one."""

    acts = {"POST": "catalogue"}

    @act(
        "parts_replacements_create",
        "Enter what replaces the part",
        shapes.ReplacementInSerializer,
        shapes.ReplacementAddedSerializer,
        refusals=(
            "engine-number-unreadable",
            "not-found",
            "nothing-given",
            "replacement-self",
            "replacement-loop",
            "replacement-ratio",
            "replacement-unusable",
        ),
    )
    def post(self, request: Request, number: str) -> Response:
        """A new line of a notice."""

        def service(stamp: Any, data: dict[str, Any]) -> Any:
            facts = facts_of(data)
            news = [replacements.NewPart(**new) for new in facts.pop("news")]
            facts["companions"] = [Companion(**one) for one in facts.pop("companions", [])]
            line = replacements.ReplacementIn(old=number, news=news, **facts)
            return replacements.add_replacement(actor=actor_of(request), stamp=stamp, line=line)

        return self.do(request, shapes.ReplacementInSerializer, service)


class ReplacementWithdrawalsView(View):
    """`replacements/{id}/withdrawals`."""

    acts = {"POST": "catalogue"}

    @act(
        "replacements_withdraw",
        "A line of a notice no longer counts",
        ReasonSerializer,
        shapes.ReplacementWithdrawnSerializer,
        refusals=("not-found", "reason-missing", "nothing-changed"),
    )
    def post(self, request: Request, number: int) -> Response:
        """Withdraw the line."""
        return self.do(
            request,
            ReasonSerializer,
            lambda stamp, data: replacements.withdraw_replacement(
                actor=actor_of(request), stamp=stamp, replacement_id=number, reason=data["reason"]
            ),
        )


class PartKitRevisionsView(View):
    """`parts/{number}/kit-revisions`: the part is the kit."""

    acts = {"POST": "catalogue"}

    @act(
        "parts_kit_revisions_create",
        "Enter what a kit holds from now on; boxes received before keep what they came with",
        shapes.KitRevisionInSerializer,
        shapes.KitRevisionAddedSerializer,
        refusals=("not-found", "nothing-given", "kit-unusable", "kit-loop", "nothing-changed"),
    )
    def post(self, request: Request, number: str) -> Response:
        """A new revision of the kit."""
        return self.do(
            request,
            shapes.KitRevisionInSerializer,
            lambda stamp, data: replacements.add_kit_revision(
                actor=actor_of(request),
                stamp=stamp,
                kit=number,
                lines=[KitLine(line["part"], line["amount"]) for line in data["contents"]],
            ),
        )
