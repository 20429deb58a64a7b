"""Items of a delivery, with their lots, inner bags, serials and labels. Private to services."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict

from inventory.domain.errors import DomainError
from inventory.domain.items import Base, Tracked
from inventory.domain.part_numbers import compare_key
from inventory.models import Act, InnerLot, Item, KitRevision, Lot, MatchedSet, Part, Serial, Supplier
from inventory.services import things
from inventory.services.receive_lines import Read, ReceiveLine, SetLabel


def item_of(act: Act, seller: Supplier, one: Read) -> Item:
    """The item of a line, made where missing, with its lot or serial. DomainError "lot-differs", "not-in-kit", "serial-not-kept"."""
    line, part = one.line, one.part
    if line.serial:
        return _serial_item(part, line)
    if not line.lot:
        return things.item(part)
    revision = KitRevision.objects.filter(kit=part).order_by("-revision").first()
    lot, made = Lot.objects.get_or_create(
        part=part,
        code=line.lot,
        defaults={
            "cure_code": line.cure_code,
            "made_on": line.made_on,
            "expires_on": one.expiry.day if one.expiry else None,
            "expiry_rule": one.expiry.rule[:200] if one.expiry else one.undated[:200],
            "extension_years": one.extension_years,
            "supplier": seller,
            "received_on": act.occurred_at.date(),
            "kit_revision": revision,
        },
    )
    if not made and line.cure_code and lot.cure_code != line.cure_code:
        raise DomainError(
            "lot-differs",
            f"{part.number} lot {line.lot} is on record as cured {lot.cure_code or 'without a date'}, "
            f"this bag says {line.cure_code}: two cure quarters are two lots.",
            ways_out=("Give the bag its own lot label.",),
            part=part.number,
            lot=line.lot,
            known=lot.cure_code,
            given=line.cure_code,
        )
    if made and line.inner_lots and revision is not None:
        _inner_lots(lot, revision, line.inner_lots)
    return things.item(part, lot=lot)


def _inner_lots(kit_lot: Lot, revision: KitRevision, inner: Mapping[str, str]) -> None:
    contents = {content.part.number: content for content in revision.contents.select_related("part")}
    unknown = sorted(set(inner) - contents.keys())
    if unknown:
        raise DomainError(
            "not-in-kit",
            f"{', '.join(unknown)} is not in kit {kit_lot.part.number}.",
            parts=unknown,
            kit=kit_lot.part.number,
        )
    for number, code in sorted(inner.items()):
        part = contents[number].part
        lot, _ = Lot.objects.get_or_create(
            part=part, code=code, defaults={"expiry_rule": "known from a kit's inner bag"}
        )
        InnerLot.objects.create(kit_lot=kit_lot, lot=lot, amount=contents[number].amount)


def _serial_item(part: Part, line: ReceiveLine) -> Item:
    serial, made = Serial.objects.get_or_create(
        part=part, number=line.serial, defaults={"compare_key": compare_key(line.serial)}
    )
    if part.tracked_by == Tracked.SET and made:
        label = line.set_label or SetLabel()
        MatchedSet.objects.create(serial=serial, **asdict(label))
    if part.base != Base.PIECE:
        raise DomainError("serial-not-kept", f"{part.number} is poured: it has no serial.", part=part.number)
    return things.item(part, serial=serial)
