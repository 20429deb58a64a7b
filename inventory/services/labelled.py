"""Lots and serials by what is written on them, made where missing; another spelling is the same one. Private to services."""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping
from typing import Any

from django.db.models import Model, QuerySet

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.domain.part_numbers import compare_key, look_alikes
from inventory.domain.spelling import label_key, spelled
from inventory.domain.text import shown
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
    part: Part, code: str, *, another: bool = False, ask: bool = False, defaults: Mapping[str, Any] | None = None
) -> tuple[Lot, bool]:
    """The lot, and whether it was made now with these facts. Two people who name it differently meet here.

    ask  where a new one looks like one on record (a letter O for a zero), and `another` does not say that it is not that one, it is
         asked about: a stop of the one would pass the other by. DomainError "spelling-ambiguous". One query
    DomainError "part-number-unreadable" for a new one with a control character in it.
    """
    if found := find_lot(part, code, another=another):
        return found, False
    _meet(Lot, part, code)
    if found := find_lot(part, code, another=another):
        return found, False
    _refuse_control_characters(code)
    if ask and not another:
        _refuse_look_alike("lot", part, code, Lot.objects.filter(part=part).values_list("code", "compare_key"))
    return Lot.objects.create(part=part, code=code, compare_key=label_key(code), **(defaults or {})), True


def serial_named(part: Part, number: str, *, another: bool = False, ask: bool = False) -> tuple[Serial, bool]:
    """As `lot_named`, of a serial; DomainError "part-number-unreadable" for one that is marks alone."""
    compare_key(number)
    if found := find_serial(part, number, another=another):
        return found, False
    _meet(Serial, part, number)
    if found := find_serial(part, number, another=another):
        return found, False
    if ask and not another:
        _refuse_look_alike(
            "serial", part, number, Serial.objects.filter(part=part).values_list("number", "compare_key")
        )
    return Serial.objects.create(part=part, number=number, compare_key=label_key(number)), True


def _refuse_control_characters(code: str) -> None:
    """A line's end or a tab inside a code is a slip of a scanner or of a table: no label shows it, and nobody can scan it again."""
    if any(unicodedata.category(char) == "Cc" for char in code):
        raise DomainError("part-number-unreadable", f'"{shown(code)}" is no lot that can be read.', typed=shown(code))


def _refuse_look_alike(what: str, part: Part, label: str, on_record: QuerySet[Any, tuple[str, str]]) -> None:
    known = sorted(text for text, _ in on_record.filter(compare_key__in=look_alikes(label_key(label))))
    if known:
        raise DomainError(
            "spelling-ambiguous",
            f"{what} {label} looks like {' and '.join(known)} of {part.number}, on record with a digit where this has a letter, or a letter"
            " where this has a digit.",
            ways_out=(
                "Look again, and write it as it stands on record.",
                f"If it is another one, say so (another_{what}; of the contents of a kit that is opened: others).",
            ),
            label=label,
            known=known,
        )


def _meet(model: type[Model], part: Part, label: str) -> None:
    locks.name(str(model._meta.model_name), f"{part.pk} {label_key(label)}")
