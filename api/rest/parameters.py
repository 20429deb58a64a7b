"""Query parameters of computing reads: measures with their units, shares, truth values, words; each refusal names the parameter."""

from __future__ import annotations

import re
from collections.abc import Iterable
from fractions import Fraction

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter
from rest_framework.request import Request

from api.rest.problems import refuse
from inventory.domain.errors import DomainError
from inventory.domain.quantities import MAX_CHARACTERS, read_amount
from inventory.domain.text import shown
from inventory.domain.units import Dimension

_SHARE = re.compile(r"(\d{1,3}(?:\.\d{1,4})?) ?%", re.ASCII)
_WHOLE = re.compile(r"\d{1,6}", re.ASCII)


def described(name: str, description: str, *, required: bool = False, words: Iterable[str] = ()) -> OpenApiParameter:
    """A parameter for the description of the service."""
    return OpenApiParameter(
        name, OpenApiTypes.STR, required=required, description=description, enum=list(words) or None
    )


def text(request: Request, name: str) -> str:
    """The text of a parameter, "" where it was left out."""
    return str(request.query_params.get(name, ""))


def needed(request: Request, name: str) -> str:
    """The text of a parameter that cannot be left out; DomainError "parameter-wrong"."""
    found = text(request, name)
    if not found:
        raise refuse("parameter-wrong", f"{name} is needed.", parameter=name)
    return found


def base_amount(request: Request, name: str, dimension: Dimension) -> int | None:
    """A measure with its unit in base units, None where it was left out; DomainError of `read_amount`, naming the parameter."""
    typed = request.query_params.get(name)
    if typed is None:
        return None
    if len(typed) > MAX_CHARACTERS:
        raise refuse("parameter-wrong", f"{name} is longer than {MAX_CHARACTERS} characters.", parameter=name)
    try:
        return read_amount(typed, dimension, allow_negative=dimension is Dimension.TEMPERATURE).amount
    except DomainError as error:
        values = error.values | {"parameter": name}
        raise DomainError(error.code, f"{name}: {error.message}", ways_out=error.ways_out, **values) from error


def needed_amount(request: Request, name: str, dimension: Dimension) -> int:
    """The same where it cannot be left out; also DomainError "parameter-wrong"."""
    needed(request, name)
    found = base_amount(request, name, dimension)
    assert found is not None
    return found


def share(request: Request, name: str) -> Fraction:
    """`12 %` as a fraction, 0 where it was left out; DomainError "parameter-wrong"."""
    typed = text(request, name)
    found = _SHARE.fullmatch(typed)
    if typed and found is None:
        raise refuse(
            "parameter-wrong", f'{name} "{shown(typed)}" is no share as in 12 %.', parameter=name, value=shown(typed)
        )
    return Fraction(found[1]) / 100 if found else Fraction(0)


def whole(request: Request, name: str, left_out: int) -> int:
    """A whole number of at most six digits; DomainError "parameter-wrong"."""
    typed = text(request, name)
    if typed and not _WHOLE.fullmatch(typed):
        raise refuse(
            "parameter-wrong", f'{name} "{shown(typed)}" is no whole number.', parameter=name, value=shown(typed)
        )
    return int(typed) if typed else left_out


def word(request: Request, name: str, words: Iterable[str]) -> str:
    """One of a closed list, "" where it was left out; DomainError "parameter-wrong"."""
    known, typed = list(words), text(request, name)
    if typed and typed not in known:
        raise refuse(
            "parameter-wrong",
            f'{name} "{shown(typed)}" is none of: {", ".join(known)}.',
            parameter=name,
            value=shown(typed),
        )
    return typed


def truth(request: Request, name: str) -> bool:
    """`true` or `false`; false where it was left out. DomainError "parameter-wrong"."""
    return word(request, name, ("true", "false")) == "true"
