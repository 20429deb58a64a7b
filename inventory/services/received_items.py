"""Items of a delivery, with their lots, inner bags, serials and labels. Private to services."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict

from django.db.models import Q

from inventory.domain.errors import DomainError
from inventory.domain.items import Base, Tracked
from inventory.domain.shelf_life import Basis, Undated
from inventory.models import Act, InnerLot, Item, KitRevision, Lot, LotDates, MatchedSet, Part, Short, Supplier
from inventory.queries.days import shop_day
from inventory.services import things
from inventory.services.labelled import lot_named, serial_named
from inventory.services.lot_facts import bring_dates, bring_label, facts, label_of, set_facts, set_label, taken_back
from inventory.services.receive_lines import Read, ReceiveLine, SetLabel


def item_of(act: Act, seller: Supplier, one: Read, basis: Basis) -> tuple[Item, list[Short]]:
    """The item of a line, made where missing, with its lot or serial, and the shorts of holds that the lot's dates end.

    What was taken back as often as it came in was never here: the lot's facts are set anew. DomainError "lot-differs",
    "label-differs", "not-in-kit", "serial-not-kept", "spelling-ambiguous".
    """
    line, part = one.line, one.part
    if line.serial:
        return _serial_item(act, part, line), []
    if not line.lot:
        return things.item(part), []
    lot, shorts = _lot(act, seller, one, basis)
    return things.item(part, lot=lot), shorts


def _lot(act: Act, seller: Supplier, one: Read, basis: Basis) -> tuple[Lot, list[Short]]:
    line, part = one.line, one.part
    revision = KitRevision.objects.filter(kit=part).order_by("-revision").first()
    first = {"supplier": seller, "received_on": shop_day(act.occurred_at), "kit_revision": revision}
    new = facts(line.dates, one.expiry or Undated(one.undated), one.rule)
    lot, made = lot_named(
        part,
        line.lot,
        another=line.another_lot,
        ask=True,
        defaults={
            **asdict(new.dates),
            "expires_on": new.expires_on,
            "expiry_rule": new.expiry_rule,
            "extension_years": new.extension_years,
            **first,
        },
    )
    lot.part = part
    shorts: list[Short] = []
    anew = not made and taken_back(Q(item__lot=lot)) and not LotDates.objects.filter(act=act, lot=lot).exists()
    if anew:
        shorts = set_facts(act, lot, new, "every delivery of it was taken back", extended=False)
        InnerLot.objects.filter(kit_lot=lot).delete()
    elif not made:
        shorts = bring_dates(act, lot, line.dates, one.rule, basis)
    if anew or (not made and lot.received_on is None and lot.supplier_id is None):
        Lot.objects.filter(pk=lot.pk).update(**first)
    if (made or anew) and line.inner_lots and revision is not None:
        _inner_lots(lot, revision, line.inner_lots, line.another_lot)
    return lot, shorts


def _inner_lots(kit_lot: Lot, revision: KitRevision, inner: Mapping[str, str], another: bool) -> None:
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
        lot, _ = lot_named(part, code, ask=not another, defaults={"expiry_rule": "known from a kit's inner bag"})
        InnerLot.objects.create(kit_lot=kit_lot, lot=lot, amount=contents[number].amount)


def _serial_item(act: Act, part: Part, line: ReceiveLine) -> Item:
    serial, _ = serial_named(part, line.serial, another=line.another_serial, ask=True)
    if part.tracked_by == Tracked.SET:
        label = (line.set_label or SetLabel()).kept()
        one, made = MatchedSet.objects.get_or_create(serial=serial, defaults=label)
        if not made and label != label_of(one):
            if taken_back(Q(item__serial=serial)):
                set_label(act, one, label)
            else:
                bring_label(one, label)
    if part.base != Base.PIECE:
        raise DomainError("serial-not-kept", f"{part.number} is poured: it has no serial.", part=part.number)
    return things.item(part, serial=serial)
