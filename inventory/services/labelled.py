"""Lots and serials by what is written on them, made where missing; another spelling is the same one. Private to services."""

from __future__ import annotations

import unicodedata
from collections import defaultdict
from collections.abc import Collection, Mapping
from typing import Any, NamedTuple

from django.db.models import Model, QuerySet

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.domain.items import identity
from inventory.domain.part_numbers import compare_key, look_of
from inventory.domain.spelling import label_key, spelled
from inventory.domain.text import shown
from inventory.models import Item, Lot, Part, Serial
from inventory.models.looks import Look
from inventory.queries.catalogue import no_such_parts


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


class Labelled(NamedTuple):
    """A thing as its label says it: number of the part, lot or serial; both empty where it is told apart by nothing."""

    part: str
    lot: str = ""
    serial: str = ""


def items_labelled(asked: Collection[Labelled]) -> dict[Labelled, Item | DomainError]:
    """The loose things that the books know by these labels, in whatever spelling of lot or serial, with part, lot, serial, tube and kit; or why
    there is none: "not-found", "spelling-ambiguous". Five queries at most, none for nothing asked."""
    if not asked:
        return {}
    parts = {part.number: part for part in Part.objects.filter(number__in={one.part for one in asked})}
    missing = list(dict.fromkeys(one.part for one in asked if one.part not in parts))
    unknown = no_such_parts(missing) if missing else {}
    known = {
        "lot": _known(Lot, "code", parts.values(), [one.lot for one in asked if one.lot]),
        "serial": _known(Serial, "number", parts.values(), [one.serial for one in asked if one.serial]),
    }
    found: dict[Labelled, Item | DomainError] = {}
    texts: dict[Labelled, tuple[int, str]] = {}
    for one in asked:
        if one.part not in parts:
            found[one] = unknown[one.part]
            continue
        pk = parts[one.part].pk
        try:
            lot, serial = (_as_kept(what, getattr(one, what), known[what].get(pk, {})) for what in ("lot", "serial"))
            texts[one] = (pk, identity(lot=lot, serial=serial))
        except DomainError as error:
            found[one] = error
    rows = Item.objects.filter(
        part__in={pk for pk, _ in texts.values()}, identity__in={text for _, text in texts.values()}
    )
    items = {
        (row.part_id, row.identity): row
        for row in rows.select_related("part", "lot", "serial", "tube", "from_kit__lot")
    }
    return found | {one: items.get(key) or _never_had(one) for one, key in texts.items()}


def _known(
    model: type[Lot] | type[Serial], column: str, parts: Collection[Part], labels: Collection[str]
) -> dict[int, dict[str, set[str]]]:
    """Part id → key → labels on record. One query, none for no label."""
    found: dict[int, dict[str, set[str]]] = defaultdict(lambda: defaultdict(set))
    if labels:
        rows = model._default_manager.filter(part__in=parts, compare_key__in={label_key(one) for one in labels})
        for part, key, label in rows.values_list("part", "compare_key", column):
            found[part][key].add(label)
    return found


def _as_kept(what: str, label: str, known: Mapping[str, Collection[str]]) -> str:
    """A label as it stands on record, where it does; DomainError "spelling-ambiguous"."""
    try:
        return (spelled(label, known.get(label_key(label), ()), what=what) or label) if label else ""
    except DomainError as error:
        raise DomainError(error.code, error.message, ways_out=error.ways_out[:1], **error.values) from None


def _never_had(one: Labelled) -> DomainError:
    what = " ".join(
        text for text in (one.part, one.lot and f"lot {one.lot}", one.serial and f"serial {one.serial}") if text
    )
    return DomainError(
        "not-found",
        f"The books never had {what}.",
        ways_out=("Look at the label again.", "Receive it if it came in without being booked."),
        item=what,
    )


def _refuse_control_characters(code: str) -> None:
    """A line's end or a tab inside a code is a slip of a scanner or of a table: no label shows it, and nobody can scan it again."""
    if any(unicodedata.category(char) == "Cc" for char in code):
        raise DomainError("part-number-unreadable", f'"{shown(code)}" is no lot that can be read.', typed=shown(code))


def _refuse_look_alike(what: str, part: Part, label: str, on_record: QuerySet[Any, tuple[str, str]]) -> None:
    key = label_key(label)
    alike = on_record.alias(look=Look("compare_key")).filter(look=look_of(key)).exclude(compare_key=key)
    known = sorted(text for text, _ in alike)
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
