"""Amounts as they go out: the whole number of base units, what the base unit is, and a text for people."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from rest_framework import serializers
from rest_framework.request import Request

from api.rest.problems import refuse
from inventory.domain.items import Base
from inventory.domain.quantities import format_amount, shown_amount
from inventory.domain.text import shown
from inventory.domain.units import BY_CODE, Dimension, Unit, find_unit

DIMENSIONS = {
    Base.PIECE: Dimension.COUNT,
    Base.MICROLITRE: Dimension.VOLUME,
    Base.MILLIGRAM: Dimension.MASS,
    Base.NANOMETRE: Dimension.LENGTH,
}


class AmountSerializer(serializers.Serializer):
    """One amount: `amount` whole units of `base`, and `shown` for people, in the unit asked for."""

    amount = serializers.IntegerField(help_text="whole number of base units")
    base = serializers.ChoiceField(choices=[base.value for base in Base], help_text="the base unit")
    shown = serializers.CharField(help_text="for people; in the unit asked for by ?unit= where it measures the same")


def unit_asked(request: Request) -> Unit | None:
    """The unit of `?unit=`: a UN/CEFACT Rec 20 code or a usual name; DomainError "unit-unknown"."""
    word = request.query_params.get("unit")
    if word is None:
        return None
    found = BY_CODE.get(word) or find_unit(word)
    if found is None:
        raise refuse("unit-unknown", f'"{shown(word)}" is not a unit we know.', parameter="unit", value=shown(word))
    return found


def amount(number: int, base: str, part_unit: str = "") -> dict[str, Any]:
    """An amount, ready to send: shown in the part's own unit where that measures it, else as on lists (the tube is no measure of what is
    left in an opened one)."""
    dimension = DIMENSIONS[Base(base)]
    unit = BY_CODE.get(part_unit)
    if unit is None or unit.dimension is not dimension or (dimension is Dimension.COUNT and unit.pieces != 1):
        text = format_amount(number, dimension, "EA") if dimension is Dimension.COUNT else shown_amount(number, base)
    else:
        text = format_amount(number, dimension, unit)
    return {"amount": number, "base": base, "shown": text}


def in_unit(value: Any, asked: Unit | None) -> Any:
    """An answer with every amount in it shown in the unit asked for.

    An amount is an object with `amount` and `base`, and is shown in `shown`; beside a `base` may stand other numbers that are
    shown, `free` in `free_shown`. What the unit does not measure stays in its own. What is counted is shown in the part's own
    unit whatever was asked: half a dozen is no number.
    """
    if isinstance(value, list | tuple):
        return [in_unit(one, asked) for one in value]
    if not isinstance(value, Mapping):
        return value
    found = {name: in_unit(one, asked) for name, one in value.items()}
    base = found.get("base")
    if not isinstance(base, str) or base not in list(Base):
        return found
    number = found.get("amount")
    if isinstance(number, int) and "shown" not in found:
        found["shown"] = amount(number, base)["shown"]
    dimension = DIMENSIONS[Base(base)]
    if asked is None or asked.dimension is not dimension or dimension is Dimension.COUNT:
        return found
    for name in found:
        number = found.get("amount" if name == "shown" else name.removesuffix("_shown"))
        if (name == "shown" or name.endswith("_shown")) and isinstance(number, int):
            found[name] = format_amount(number, dimension, asked)
    return found
