"""Answers that queries give as frozen dataclasses: their plain values, and their shape for the description of the service.

Both come from the dataclass itself, fields and public properties alike, so they cannot drift apart.
"""

from __future__ import annotations

import types
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from decimal import Decimal
from functools import cache
from inspect import getdoc
from typing import Any, Union, get_args, get_origin, get_type_hints

from rest_framework import serializers

from api.rest.amounts import amount

_FIELDS: Mapping[type, type[serializers.Field]] = {
    bool: serializers.BooleanField,
    int: serializers.IntegerField,
    str: serializers.CharField,
    datetime: serializers.DateTimeField,
    date: serializers.DateField,
}


def _properties(kind: type) -> dict[str, Any]:
    """Public properties of a class with the type that each gives."""
    return {
        name: get_type_hints(value.fget)["return"]
        for name, value in vars(kind).items()
        if isinstance(value, property) and not name.startswith("_") and value.fget is not None
    }


def values(one: Any, base: str = "") -> Any:
    """A dataclass, with all that is in it, as plain values.

    base  base unit of the amounts in it that do not say theirs, nor lie in something that does
    """
    if is_dataclass(one) and not isinstance(one, type):
        names = [field.name for field in fields(one)] + list(_properties(type(one)))
        base = getattr(one, "base", "") or base
        found = {name: values(getattr(one, name), base) for name in names}
        if _counts(names):
            found |= {"base": base, "shown": "" if found["amount"] is None else amount(found["amount"], base)["shown"]}
        return found
    if isinstance(one, list | tuple):
        return [values(inner, base) for inner in one]
    if isinstance(one, Decimal):
        return str(one)
    return one


def _counts(names: list[str]) -> bool:
    """Whether it has an amount of base units: that goes out with its base unit, and as it is shown."""
    return "amount" in names and "shown" not in names


@cache
def shape(kind: type) -> type[serializers.Serializer]:
    """The serializer that describes a dataclass; TypeError for a type of field that is not known here."""
    hints = {**get_type_hints(kind), **_properties(kind)}
    names = [field.name for field in fields(kind)] + list(_properties(kind))
    members: dict[str, Any] = {name: _field(hints[name]) for name in names}
    if _counts(names):
        members |= {"base": serializers.CharField(allow_blank=True), "shown": serializers.CharField(allow_blank=True)}
    members["__doc__"] = (getdoc(kind) or "").split("\n")[0]
    return type(f"{kind.__name__}Serializer", (serializers.Serializer,), members)


def _is_shape(hint: Any) -> bool:
    return bool(is_dataclass(hint))


def _field(hint: Any) -> serializers.Field:
    more: dict[str, Any] = {}
    blank: dict[str, Any] = {"allow_blank": True}
    if get_origin(hint) in (Union, types.UnionType):
        inner = [one for one in get_args(hint) if one is not type(None)]
        if len(inner) != 1:
            raise TypeError(f"{hint} has no one shape")
        hint, more = inner[0], {"allow_null": True}
    if get_origin(hint) is tuple and get_args(hint)[-1] is Ellipsis:
        each: Any = get_args(hint)[0]
        return shape(each)(many=True) if _is_shape(each) else serializers.ListField(child=_field(each))
    if _is_shape(hint):
        return shape(hint)(**more)
    if hint is Decimal:
        return serializers.CharField(**more)
    for plain, field in _FIELDS.items():
        if hint is plain or (isinstance(hint, type) and issubclass(hint, str) and plain is str):
            return field(**more, **blank) if plain is str else field(**more)
    raise TypeError(f"{hint} has no shape")
