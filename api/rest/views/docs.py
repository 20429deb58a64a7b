"""Pages about the service itself: the table of codes, and the answer for a load balancer."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.utils.html import format_html, format_html_join
from django.views.decorators.http import require_safe
from rest_framework import exceptions
from rest_framework.permissions import AllowAny
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from inventory.domain.error_codes import CODES
from inventory.domain.text import shown

_PAGE = """<!doctype html>
<html lang="en">
<head><meta charset="utf-8"><title>What the service refuses</title></head>
<body>
<h1>What the service refuses</h1>
<p>Every refusal is a problem document (RFC 9457) whose <code>code</code> stands here.</p>
<table>
<thead><tr><th scope="col">code</th><th scope="col">HTTP status</th><th scope="col">meaning</th></tr></thead>
<tbody>{}</tbody>
</table>
</body>
</html>
"""


@require_safe
def codes_page(request: HttpRequest) -> HttpResponse:
    """`/docs/errors`: the published table, each row reachable by `#code`."""
    rows = format_html_join(
        "\n",
        '<tr id="{}"><th scope="row"><code>{}</code></th><td>{}</td><td>{}</td></tr>',
        ((code, code, meaning.status, meaning.title) for code, meaning in CODES.items()),
    )
    return HttpResponse(format_html(_PAGE, rows))


_START = """<!doctype html>
<html lang="en">
<head><meta charset="utf-8"><title>Matchbore</title></head>
<body>
<h1>Matchbore</h1>
<p>From an engine number to a kit of parts on the cart, and back.</p>
<ul>
{}
</ul>
</body>
</html>
"""
_PLACES = (
    ("/api/v1/docs", "what the service does: every request, its answer, what it refuses"),
    ("/api/v1/session/login/?next=/api/v1/jobs", "log in and read: jobs, parts, lots, engines"),
    ("/docs/errors", "what the service refuses, by code"),
    ("/admin/", "people and their roles"),
)


@require_safe
def start_page(request: HttpRequest) -> HttpResponse:
    """`/`: where to go from here."""
    return HttpResponse(
        format_html(_START, format_html_join("\n", '<li><a href="{}">{}</a></li>', _PLACES)),
    )


def no_icon(request: HttpRequest) -> HttpResponse:
    """Browsers ask for a picture of the service by themselves; there is none, and that is no fault."""
    return HttpResponse(status=204)


@require_safe
def alive(request: HttpRequest) -> HttpResponse:
    """`/healthz`: this worker answers."""
    return HttpResponse("ok\n", content_type="text/plain; charset=utf-8")


class UnknownView(APIView):
    """Any other address under /api/: not found, as a problem document."""

    permission_classes = (AllowAny,)
    authentication_classes = ()
    schema = None

    def initial(self, request: Request, *args: object, **kwargs: object) -> None:
        """Whatever the method."""
        raise exceptions.NotFound(f"There is no address {shown(request.path_info, 120)}.")

    def get(self, request: Request, *args: object, **kwargs: object) -> Response:
        """Never reached: `initial` refuses."""
        return Response(status=404)

    http_method_names = ["get", "head", "post", "put", "patch", "delete", "options"]
    post = put = patch = delete = get
