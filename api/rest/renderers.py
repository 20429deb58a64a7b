"""How answers are written: JSON, and a page for reading in a browser that cannot write."""

from __future__ import annotations

from typing import Any

from django.template import loader
from rest_framework.renderers import BaseRenderer, BrowsableAPIRenderer


class ReadingPageRenderer(BrowsableAPIRenderer):
    """The browsable pages, for reading only: a form cannot send the key that every write needs."""

    def show_form_for_method(self, view: Any, method: str, request: Any, obj: Any) -> bool:
        """No form and no button for anything that writes."""
        return False

    def get_rendered_html_form(self, data: Any, view: Any, method: str, request: Any) -> Any:
        """No form."""
        return None

    def get_raw_data_form(self, data: Any, view: Any, method: str, request: Any) -> Any:
        """No form."""
        return None

    def get_filter_form(self, data: Any, view: Any, request: Any) -> Any:
        """The address line is the form; the parameters stand in the description of the service."""
        return None


class PrintedPageRenderer(BaseRenderer):
    """A page for paper, by the template that the view names; a refusal is said in a sentence."""

    media_type = "text/html"
    format = "html"
    charset = "utf-8"

    def render(self, data: Any, accepted_media_type: Any = None, renderer_context: Any = None) -> str:
        """The page."""
        view, response = renderer_context["view"], renderer_context["response"]
        refused = response.status_code >= 400
        template = "refused.html" if refused else view.page_template
        page = data if refused else view.on_paper(data)
        return str(loader.render_to_string(template, {"page": page}, request=renderer_context["request"]))
