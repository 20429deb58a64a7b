"""Every address of the service."""

from django.contrib import admin
from django.urls import URLPattern, URLResolver, include, path, re_path

from api.rest.views import docs

urlpatterns: list[URLPattern | URLResolver] = [
    path("", docs.start_page),
    path("api/v1/", include("api.rest.urls")),
    re_path(r"^api/", docs.UnknownView.as_view()),
    path("docs/errors", docs.codes_page),
    path("healthz", docs.alive),
    path("favicon.ico", docs.no_icon),
    path("admin/", admin.site.urls),
]

handler400 = "api.rest.errors.bad_request"
handler404 = "api.rest.errors.not_found"
handler500 = "api.rest.errors.server_error"
