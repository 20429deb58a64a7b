"""Answers held against the description of the service: every field that goes out is described, and is what it is said to be."""

from __future__ import annotations

import copy
from functools import cache
from typing import Any

from django.urls import resolve
from drf_spectacular.generators import SchemaGenerator
from jsonschema import Draft202012Validator

from tests.api.rest.clients import ShopClient


@cache
def description() -> dict[str, Any]:
    """The description, with every object closed: a field that is not described is a fault."""
    document: dict[str, Any] = copy.deepcopy(SchemaGenerator().get_schema(request=None, public=True))
    waiting: list[Any] = [document["components"]["schemas"], document["paths"]]
    while waiting:
        one = waiting.pop()
        if isinstance(one, dict):
            if "properties" in one and one.get("type") == "object":
                one.setdefault("additionalProperties", False)
            waiting.extend(one.values())
        elif isinstance(one, list):
            waiting.extend(one)
    return document


@cache
def addresses() -> dict[Any, str]:
    """View class → path of the description; an address is recognised by the view that answers it."""
    return {resolve(_filled(path)).func.view_class: path for path in description()["paths"]}


def _filled(path: str) -> str:
    return "/".join("1" if step.startswith("{") else step for step in path.split("/"))


class DescribedClient(ShopClient):
    """A client that also refuses to meet an answer that the description does not have."""

    def request(self, **kwargs: Any) -> Any:
        """One request; a JSON answer of 200 or 201 that differs from its description fails the test."""
        answer = super().request(**kwargs)
        if answer.status_code in (200, 201) and answer["Content-Type"] == "application/json":
            operation = addresses()[resolve(kwargs["PATH_INFO"]).func.view_class]
            responses = description()["paths"][operation][kwargs["REQUEST_METHOD"].lower()]["responses"]
            shape = responses[str(answer.status_code)]["content"]["application/json"]["schema"]
            validator = Draft202012Validator({"components": description()["components"], **shape})
            faults = [
                f"{'/'.join(map(str, fault.path))}: {fault.message}" for fault in validator.iter_errors(answer.json())
            ]
            assert faults == [], f"{kwargs['REQUEST_METHOD']} {kwargs['PATH_INFO']}: {faults}"
        return answer
