"""Lots and serials by what is written on them, made where missing; another spelling is the same one. Private to services."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.db.models import Model

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.domain.part_numbers import compare_key, look_alikes
from inventory.domain.spelling import label_key, spelled
from inventory.models import Lot, Part, Serial


def find_lot(part: Part, code: str, *, another: bool = False) -> Lot | None:
    """The lot of a part that a code means; DomainError "spelling-ambiguous". One query."""
    rows = {row.code: row for row in Lot.objects.filter(part=part, compare_key=label_key(code))}
    found = spelled(code, rows, what="lot", another=another)
    return None if found is None else rows[found]


def find_serial(part: Part, number: str, *, another: bool = False) -> Serial | None:
    """The serial of a part that a number means; DomainError "spelling-ambiguous". One query."""
    rows = {row.number: row for row in Serial.objects.filter(part=part, compare_key=label_key(number))}
    found = spelled(number, rows, what="serial", another=another)
    return None if found is None else rows[found]


def lot_named(
    part: Part, code: str, *, another: bool = False, defaults: Mapping[str, Any] | None = None
) -> tuple[Lot, bool]:
    """The lot, and whether it was made now with these facts. Two people who name it differently meet here."""
    if found := find_lot(part, code, another=another):
        return found, False
    _meet(Lot, part, code)
    if found := find_lot(part, code, another=another):
        return found, False
    return Lot.objects.create(part=part, code=code, compare_key=label_key(code), **(defaults or {})), True


def serial_named(part: Part, number: str, *, another: bool = False, ask: bool = False) -> tuple[Serial, bool]:
    """As `lot_named`, of a serial; DomainError "part-number-unreadable" for one that is marks alone.

    ask  where a new one looks like one on record (a letter O for a zero), and `another` does not say that it is not that one, it is
         asked about: DomainError "spelling-ambiguous". One query
    """
    compare_key(number)
    if found := find_serial(part, number, another=another):
        return found, False
    _meet(Serial, part, number)
    if found := find_serial(part, number, another=another):
        return found, False
    if ask and not another:
        _refuse_look_alike(part, number)
    return Serial.objects.create(part=part, number=number, compare_key=label_key(number)), True


def _refuse_look_alike(part: Part, number: str) -> None:
    rows = Serial.objects.filter(part=part, compare_key__in=look_alikes(label_key(number)))
    known = sorted(rows.values_list("number", flat=True))
    if known:
        raise DomainError(
            "spelling-ambiguous",
            f"serial {number} looks like {' and '.join(known)} of {part.number}, on record with a digit where this has a letter, or a letter"
            " where this has a digit.",
            ways_out=(
                "Look again, and write it as it stands on record.",
                "If it is another one, say so (another_serial).",
            ),
            label=number,
            known=known,
        )


def _meet(model: type[Model], part: Part, label: str) -> None:
    locks.name(str(model._meta.model_name), f"{part.pk} {label_key(label)}")
