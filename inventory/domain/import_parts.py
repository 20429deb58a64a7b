"""Rows of parts: what they are kept as, beside the catalogue that is there."""

from __future__ import annotations

from inventory.domain.catalogue import KINDS as PART_KINDS
from inventory.domain.catalogue import CheckedPart, PartFacts, check_part
from inventory.domain.errors import DomainError
from inventory.domain.import_known import Row, document, measure
from inventory.domain.items import Tracked
from inventory.domain.part_numbers import compare_key
from inventory.domain.units import Dimension


def check_part_row(row: Row) -> None:
    """A part as it would be entered by hand, with what replaces it."""
    if row.text("number") == "" or any(doubt.column == "unit" for doubt in row.doubts):
        return
    facts = _facts(row)
    if facts is None:
        return
    try:
        checked = check_part(facts)
    except DomainError as error:
        row.errors.append(error)
        return
    row.warnings.extend(checked.warnings)
    _check_replacement(row, checked)
    row.values |= {"compare_key": checked.compare_key, "unit": checked.unit, "base": checked.base.value}
    row.values |= {"kind": checked.kind, "tracked by": facts.tracked_by, "pack": facts.pack}
    row.values |= {"weight_mg": facts.weight_mg, "packed_ul": facts.packed_ul, "net_ul": facts.net_ul}
    row.values |= {"empty_mg": facts.empty_mg, "life": dict(facts.life), "ring": dict(facts.ring)}
    row.values |= {"label window": dict(facts.label_window), "storage": dict(facts.storage)}
    row.values |= {"loose issue": facts.loose_issue}
    same = row.known.parts.get(checked.compare_key)
    if same is None:
        return
    if same.number != facts.number:
        words = f"number: {facts.number} is on record as {same.number}, {same.name}; is it that one?"
        row.ask("number-known", "number", facts.number, same.number, words)
    elif (same.unit, same.tracked_by) != (checked.unit, facts.tracked_by):
        row.refuse(
            "part-unusable",
            f"{facts.number} is on record in {same.unit}, tracked by {same.tracked_by}: that cannot be changed.",
            part=facts.number,
        )


def _facts(row: Row) -> PartFacts | None:
    """The part as it would be entered by hand; None where a cell stands in the way."""
    kind = row.text("kind")
    if kind and kind not in PART_KINDS:
        row.warnings.append(f"{kind!r} is no kind that is known: kept as to be sorted, and not issued")
    weight, empty = measure(row, "weight", Dimension.MASS), measure(row, "empty weight", Dimension.MASS)
    packed, net = measure(row, "packed volume", Dimension.VOLUME), measure(row, "net content", Dimension.VOLUME)
    life, ring = document(row, "life"), document(row, "ring")
    loose = row.text("loose issue").lower()
    if loose not in ("", "yes", "no"):
        row.refuse("cell-unreadable", "loose issue: yes or no.", column="loose issue", typed=loose)
    if row.errors or row.doubts and row.values.get("unit") is None:
        return None
    return PartFacts(
        number=row.text("number"),
        name=row.text("name"),
        unit=row.text("unit"),
        kind=kind if kind in PART_KINDS else "",
        tracked_by=row.text("tracked by").lower() or Tracked.NOTHING,
        shop_number=row.text("shop number"),
        life=life,
        compound=row.text("compound"),
        lubricant=row.text("lubricant"),
        ring=ring,
        weight_mg=weight,
        label_window=document(row, "label window"),
        storage=document(row, "storage"),
        packed_ul=packed,
        pack=1 if (pack := row.values.get("pack")) is None else pack,
        loose_issue=loose != "no",
        price_coins=row.values.get("price"),
        density_mg_per_ml=row.values.get("density mg per mL"),
        net_ul=net,
        empty_mg=empty,
        hazard_note=row.text("hazard note"),
        storage_note=row.text("storage note"),
    )


def _check_replacement(row: Row, checked: CheckedPart) -> None:
    new = row.text("replaced by")
    if not new:
        if row.values.get("replaced on") is not None:
            row.refuse("cell-missing", "The row says when it was replaced, and not by what.", column="replaced by")
        return
    if compare_key(new) == checked.compare_key:
        row.refuse("replacement-loop", f"{row.text('number')} cannot replace itself.", part=row.text("number"))
