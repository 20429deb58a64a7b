"""What every resource is made of: log in, permission, strict parameters, one call, answer."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, ClassVar

from django.db.models import QuerySet
from rest_framework.generics import GenericAPIView
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.rest import pagination
from api.rest.amounts import in_unit, unit_asked
from api.rest.filters import check_parameters
from api.rest.keys import answer, stamp_of
from api.rest.parsers import check_text
from api.rest.problems import refuse
from inventory.services.run import Done, Stamp


def actor_of(request: Request) -> Any:
    """Who acts: behind the permissions of a write that is always a person, never nobody."""
    return request.user


class View(APIView):
    """An address. `acts` names the permission of each writing method; `parameters` the query parameters of a GET."""

    http_method_names = ["get", "head", "post", "patch", "delete"]
    acts: ClassVar[Mapping[str, str]] = {}
    parameters: ClassVar[Sequence[str]] = ()

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        """Who, may they, and is the address itself sound."""
        super().initial(request, *args, **kwargs)
        for name, value in kwargs.items():
            if isinstance(value, str):
                check_text(value, name)
        check_parameters(request, self.known_parameters(request))
        if request.method in ("GET", "HEAD") and self.shows_amounts:
            unit_asked(request)  # refused before anything is read
        if request.method not in ("GET", "HEAD"):
            self.check_body_kind(request)

    def check_body_kind(self, request: Request) -> None:
        """A body is read even where nothing is asked of it, so a body that is not JSON is refused everywhere."""
        if not isinstance(request.data, dict):
            raise refuse("bad-request", "The body is not a JSON object.")

    def known_parameters(self, request: Request) -> set[str]:
        """Query parameters of this address and method."""
        if request.method not in ("GET", "HEAD"):
            return set()
        return {*self.parameters, *(["unit"] if self.shows_amounts else [])}

    @property
    def shows_amounts(self) -> bool:
        """Whether what is read here has amounts in it."""
        return getattr(getattr(self, "get", None), "shows_amounts", False)

    def in_unit_asked(self, request: Request, value: Any) -> Any:
        """What is read, with its amounts in the unit of `?unit=`."""
        return in_unit(value, unit_asked(request)) if self.shows_amounts else value

    def finalize_response(self, request: Request, response: Any, *args: Any, **kwargs: Any) -> Any:
        """The one place where amounts that are read get the unit asked for."""
        if request.method in ("GET", "HEAD") and response.status_code == 200 and isinstance(response, Response):
            response.data = self.in_unit_asked(request, response.data)
        return super().finalize_response(request, response, *args, **kwargs)

    def act_of(self, request: Request) -> str:
        """The act whose permission the method needs; a GET needs none, unless `acts` names one for it."""
        method = "GET" if request.method == "HEAD" else request.method
        return self.acts.get(method or "", "")

    def do(self, request: Request, serializer: type[Any], service: Callable[[Stamp, dict[str, Any]], Done]) -> Response:
        """A write: parse the body, call the service once, answer with the act's stored outcome."""
        parsed = serializer(data=request.data)
        parsed.is_valid(raise_exception=True)
        data: dict[str, Any] = parsed.validated_data
        return answer(service(stamp_of(request, data), data))


class ListView(View, GenericAPIView):
    """A list in pages. Subclasses give `rows` (a query), `render` (rows to plain values) and `orderings`.

    nearest_by  parameters whose filter gives each row its `rank`: the nearest come first then, unless another order is asked for
    """

    orderings: ClassVar[Sequence[str]] = ("pk",)
    nearest_by: ClassVar[Sequence[str]] = ()

    def known_parameters(self, request: Request) -> set[str]:
        """Own ones, those of the filters, those of the pages."""
        known = super().known_parameters(request)
        if request.method in ("GET", "HEAD"):
            filters = getattr(self, "filterset_class", None)
            known |= set(filters.base_filters) if filters else set()
            known |= set(pagination.PARAMETERS)
        return known

    def orders(self, request: Request) -> Sequence[str]:
        """What the list may be ordered by in this request; the first where nothing is asked for."""
        near = set(self.nearest_by) & request.query_params.keys()
        return ("rank", *self.orderings) if near else self.orderings

    def get_queryset(self) -> QuerySet[Any]:
        """The rows of the list before filters and pages."""
        return self.rows()

    def rows(self) -> QuerySet[Any]:
        """The query of the list; subclasses say it."""
        raise TypeError(f"{type(self).__name__} has no rows")

    def render(self, rows: list[Any], request: Request) -> list[Any]:
        """Rows of one page as plain values; subclasses say it."""
        raise TypeError(f"{type(self).__name__} cannot render")

    def page(self, request: Request) -> Response:
        """One page of the list."""
        rows = self.paginate_queryset(self.filter_queryset(self.get_queryset()))
        return self.get_paginated_response(self.render(rows or [], request))
