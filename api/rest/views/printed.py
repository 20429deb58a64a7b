"""Addresses that answer as JSON or as a page to print."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, ClassVar

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request

from api.rest.problems import refuse
from api.rest.renderers import PrintedPageRenderer
from api.rest.views.base import View
from inventory.domain.text import shown

FORMAT = OpenApiParameter(
    "format",
    OpenApiTypes.STR,
    enum=["json", "html"],
    description="html: a page to print, as `Accept: text/html` gives it.",
)


class PrintedView(View):
    """As JSON, or as a page by the template that the view names."""

    parameters: ClassVar[Sequence[str]] = ("format",)
    renderer_classes = (JSONRenderer, PrintedPageRenderer)
    page_template = ""

    def on_paper(self, data: Any) -> Any:
        """What the template gets of the answer; all of it, as it is."""
        return data

    def perform_content_negotiation(self, request: Request, force: bool = False) -> Any:
        """`?format=` comes before the Accept header; DomainError "parameter-wrong"."""
        word = request.query_params.get("format")
        if word is None or (force and word not in ("json", "html")):
            return super().perform_content_negotiation(request, force)
        for renderer in self.get_renderers():
            if renderer.format == word:
                return renderer, renderer.media_type
        raise refuse(
            "parameter-wrong",
            f'format "{shown(word)}" is neither json nor html.',
            parameter="format",
            value=shown(word),
        )
