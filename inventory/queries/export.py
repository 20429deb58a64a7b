"""What the shop has, in the columns by which tables are brought in: what goes out comes in again without a loss.

What those columns cannot say is said under `remark`, and a row with one is not brought in again: an opened tube is weighed anew, a half of a
broken set is looked at. `everything` gives every table of the program row by row, as it stands.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from datetime import date, datetime
from typing import Any

from django.apps import apps
from django.core.serializers.json import DjangoJSONEncoder
from django.db.models import Exists, Model, OuterRef

from inventory.domain.import_checks import DIMENSION_OF
from inventory.domain.import_kinds import KINDS
from inventory.domain.items import Base, said
from inventory.domain.money import format_money
from inventory.domain.places import PlaceKind
from inventory.domain.quantities import format_amount
from inventory.domain.receiving import WEIGHED
from inventory.domain.units import Dimension
from inventory.models import Balance, LifeExtension, Lot, MatchedSet, Part, Replacement, Supplier, SupplierPart
from inventory.queries.stock_costs import coins_of_balances

Value = str | int | bool | date | datetime | None
Record = Mapping[str, Value]
#: Units that hold every whole number of the base unit exactly.
_EXACT = {Dimension.MASS: "mg", Dimension.VOLUME: "uL", Dimension.LENGTH: "nm", Dimension.COUNT: "EA"}
_CHUNK = 2000
_STORED = (PlaceKind.SHELF.value, PlaceKind.QUARANTINE.value)


def table(kind: str) -> tuple[list[str], Iterator[list[Value]]]:
    """Headings, and rows in the order of their numbers. KeyError for a kind that is not in `KINDS`."""
    columns = [column.name for column in KINDS[kind].columns]
    return columns, ([record.get(name) for name in columns] for record in _RECORDS[kind]())


def _amount(amount: int | None, dimension: Dimension) -> str | None:
    return None if amount is None else format_amount(amount, dimension, _EXACT[dimension], 0)


def _price(coins: int | None) -> str | None:
    return None if coins is None else format_money(coins)


def _document(found: Mapping[str, Any]) -> str | None:
    return json.dumps(found, ensure_ascii=False, sort_keys=True) if found else None


def _parts() -> Iterator[Record]:
    replaced = _plain_notices()
    for part in Part.objects.order_by("number").iterator(chunk_size=_CHUNK):
        new, since = replaced.get(part.pk, (None, None))
        yield {
            "number": part.number,
            "name": part.name,
            "unit": part.unit,
            "kind": part.kind,
            "tracked by": part.tracked_by,
            "shop number": part.shop_number,
            "compound": part.compound,
            "weight": _amount(part.weight_mg, Dimension.MASS),
            "pack": part.pack,
            "price": _price(part.price_coins),
            "hazard note": part.hazard_note,
            "storage note": part.storage_note,
            "lubricant": part.lubricant,
            "life": _document(part.life),
            "ring": _document(part.ring),
            "label window": _document(part.label_window),
            "storage": _document(part.storage),
            "packed volume": _amount(part.packed_ul, Dimension.VOLUME),
            "loose issue": "yes" if part.loose_issue else "no",
            "density mg per mL": part.density_mg_per_ml,
            "net content": _amount(part.net_ul, Dimension.VOLUME),
            "empty weight": _amount(part.empty_mg, Dimension.MASS),
            "replaced by": new,
            "replaced on": since,
        }


def _plain_notices() -> dict[int, tuple[str, date | None]]:
    """Parts that one plain notice replaces, one for one and without a condition: others are more than two columns can say."""
    rows = Replacement.objects.filter(
        withdrawn=False,
        way=Replacement.Way.ONE_WAY,
        fate=Replacement.Fate.USE_UP,
        engine_below="",
        engine_from="",
        no_mix_on="",
        condition="",
        companions=None,
    ).prefetch_related("news__part")
    found: dict[int, list[tuple[str, date | None]]] = {}
    for row in rows:
        news = list(row.news.all())
        if len(news) == 1 and (news[0].numerator, news[0].denominator) == (1, 1):
            found.setdefault(row.old_id, []).append((news[0].part.number, row.noted_on))
    return {part: one[0] for part, one in found.items() if len(one) == 1}


def _suppliers() -> Iterator[Record]:
    for one in Supplier.objects.order_by("code"):
        facts = _document(one.facts)
        yield {"code": one.code, "name": one.name, "send back days": one.send_back_days, "facts": facts}


def _prices() -> Iterator[Record]:
    rows = SupplierPart.objects.select_related("supplier", "part").order_by("supplier__code", "part__number")
    for one in rows.iterator(chunk_size=_CHUNK):
        yield {
            "supplier": one.supplier.code,
            "part": one.part.number,
            "their number": one.number,
            "price": _price(one.price_coins),
            "pack": one.pack,
            "least order": one.least_order,
            "lead days": one.lead_days,
            "express days": one.express_days,
            "express price": _price(one.express_coins),
            "send back days": one.send_back_days,
        }


def _lots() -> Iterator[Record]:
    """A lot whose one extension was used has no years left to be extended by: its rule and its day say what it was."""
    used = LifeExtension.objects.filter(lot=OuterRef("pk"), act__corrected_by__isnull=True)
    rows = Lot.objects.select_related("part", "supplier").annotate(used=Exists(used)).order_by("part__number", "code")
    for lot in rows.iterator(chunk_size=_CHUNK):
        yield {
            "part": lot.part.number,
            "lot": lot.code,
            "cured": lot.cure_code,
            "made on": lot.made_on,
            "expires on": lot.expires_on,
            "printed on": lot.printed_on,
            "expiry rule": lot.expiry_rule,
            "extension years": 0 if lot.used else lot.extension_years,
            "received on": lot.received_on,
            "supplier": lot.supplier.code if lot.supplier else None,
        }


def _stock() -> Iterator[Record]:
    """What lies on shelves and in quarantine, but for matched sets that are whole, which have a table of their own."""
    rows = (
        Balance.objects.filter(amount__gt=0, place__kind__in=_STORED)
        .select_related("part", "place", "spot", "item__lot", "item__serial", "item__tube")
        .order_by("part__number", "place__code", "spot__name", "item__identity")
    )
    coins = coins_of_balances()
    for row in rows.iterator(chunk_size=_CHUNK):
        item = row.item
        if row.part.tracked_by == "set" and item.member == "":
            continue
        remark = "" if item.tube_id is None and item.from_kit_id is None and not item.member else said(item.identity)
        dimension = DIMENSION_OF[Base(item.base)]
        counted = dimension is Dimension.COUNT
        yield {
            "part": row.part.number,
            "place": row.place.code,
            "spot": row.spot.name,
            "amount": f"{row.amount} {row.part.unit}" if counted else _amount(row.amount, dimension),
            "lot": item.lot.code if item.lot else None,
            "serial": item.serial.number if item.serial else None,
            "value": _price(coins.get(row.pk)),
            "remark": remark,
        }


def _sets() -> Iterator[Record]:
    rows = (
        Balance.objects.filter(amount__gt=0, place__kind__in=_STORED, part__tracked_by="set", item__member="")
        .select_related("part", "place", "spot")
        .order_by("part__number", "item__serial__number")
    )
    serials = rows.values_list("item__serial_id", flat=True)
    coins = coins_of_balances()
    labels = {one.pk: one for one in MatchedSet.objects.filter(pk__in=serials).select_related("serial")}
    for row, serial in zip(rows.iterator(chunk_size=_CHUNK), list(serials), strict=True):
        label = labels[serial or 0]
        yield {
            "part": row.part.number,
            "serial": label.serial.number,
            "place": row.place.code,
            "spot": row.spot.name,
            **{
                f"weight {weighed}": _amount(label.weight_mg if label.weighed == weighed else None, Dimension.MASS)
                for weighed in WEIGHED
            },
            "bore": _amount(label.bore_nm, Dimension.LENGTH),
            "piston": _amount(label.piston_nm, Dimension.LENGTH),
            "grade": label.grade,
            "liner mark": label.liner_mark,
            "piston mark": label.piston_mark,
            "value": _price(coins.get(row.pk)),
        }


_RECORDS: Mapping[str, Callable[[], Iterator[Record]]] = {
    "parts": _parts,
    "suppliers": _suppliers,
    "prices": _prices,
    "lots": _lots,
    "stock": _stock,
    "sets": _sets,
}

#: Log-in secrets are nobody's data to carry away.
_SECRET = frozenset({"password"})


def everything() -> Iterator[tuple[str, Iterator[dict[str, Any]]]]:
    """Every table of the stores and of the rebuilds: its name, and its rows by column, in the order of their keys."""
    for label in ("inventory", "kits"):
        for model in sorted(apps.get_app_config(label).get_models(), key=lambda one: one._meta.db_table):
            yield model._meta.db_table, _rows_of(model)


def _rows_of(model: type[Model]) -> Iterator[dict[str, Any]]:
    names = [field.attname for field in model._meta.concrete_fields if field.name not in _SECRET]
    for row in model._default_manager.order_by("pk").values(*names).iterator(chunk_size=_CHUNK):
        yield json.loads(json.dumps(row, cls=DjangoJSONEncoder))
