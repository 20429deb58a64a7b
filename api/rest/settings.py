"""Settings of the frameworks under the REST service, taken into the settings of the program."""

from __future__ import annotations

from typing import Any

from api.rest.words import DESCRIPTION

REST_FRAMEWORK: dict[str, Any] = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        # first, because it says in WWW-Authenticate how to log in: so nobody logged in is 401, not 403
        "api.rest.authentication.TokenAuthentication",
        "rest_framework.authentication.SessionAuthentication",
    ],
    "DEFAULT_PERMISSION_CLASSES": ["api.rest.permissions.MayAct"],
    "DEFAULT_PARSER_CLASSES": ["api.rest.parsers.StrictJSONParser"],
    "DEFAULT_RENDERER_CLASSES": [
        "rest_framework.renderers.JSONRenderer",
        "api.rest.renderers.ReadingPageRenderer",
    ],
    "DEFAULT_FILTER_BACKENDS": ["django_filters.rest_framework.DjangoFilterBackend"],
    "DEFAULT_PAGINATION_CLASS": "api.rest.pagination.CursorPages",
    "DEFAULT_METADATA_CLASS": None,
    "DEFAULT_SCHEMA_CLASS": "drf_spectacular.openapi.AutoSchema",
    "EXCEPTION_HANDLER": "api.rest.errors.handler",
    "NON_FIELD_ERRORS_KEY": "non_field_errors",
    "URL_FORMAT_OVERRIDE": None,
    "FORMAT_SUFFIX_KWARG": None,
}

SPECTACULAR_SETTINGS: dict[str, Any] = {
    "TITLE": "Matchbore",
    "DESCRIPTION": DESCRIPTION,
    "VERSION": "1",
    "OAS_VERSION": "3.1.0",
    "SCHEMA_PATH_PREFIX": "/api/v1",
    "SERVE_INCLUDE_SCHEMA": False,
    "SERVE_PERMISSIONS": ["rest_framework.permissions.AllowAny"],
    "SERVE_AUTHENTICATION": [],
    "COMPONENT_SPLIT_REQUEST": False,
    "ENUM_GENERATE_CHOICE_DESCRIPTION": False,
    "GENERIC_ADDITIONAL_PROPERTIES": "dict",
    "DISABLE_ERRORS_AND_WARNINGS": False,
    # pages and their scripts come from this service, so they open without the internet
    "SWAGGER_UI_DIST": "SIDECAR",
    "SWAGGER_UI_FAVICON_HREF": "SIDECAR",
    "REDOC_DIST": "SIDECAR",
    "POSTPROCESSING_HOOKS": [],
    "PATH_CONVERTER_OVERRIDES": {"number": {"type": "integer", "minimum": 0, "maximum": 10**15 - 1}},
}
