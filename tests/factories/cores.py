"""Old pumps and what was paid for them, for tests."""

from __future__ import annotations

from typing import Any

from inventory.domain.places import PlaceKind
from inventory.models import Part, Place, Supplier
from inventory.services import things
from inventory.services.deposits import enter_deposit
from inventory.services.old_units import record_old_unit
from tests.factories.stores import PartFactory, PersonFactory, SupplierFactory, stamp


def crate(code: str = "CRATES") -> Place:
    """A crate of old units."""
    return things.make_place(code, PlaceKind.CRATE, site=None)


def pump(number: str = "PUMP", tracked_by: str = "nothing") -> Part:
    """A service-exchange pump, sold by the maker with 30 days for sending the old one back, made once."""
    found = Part.objects.filter(number=number).first()
    if found is not None:
        return found
    made: Part = PartFactory(number=number, name="water pump", kind="core", tracked_by=tracked_by)
    seller = maker()
    seller.supplierpart_set.create(part=made, send_back_days=30)
    return made


def maker() -> Supplier:
    """Who sells it."""
    found: Supplier = SupplierFactory()
    return found


def brought(tag: str = "", job: str = "", **more: Any) -> int:
    """An old pump that a customer brought, in the crate; its number."""
    crate()
    given = {"part": pump().number, "to_place": "CRATES", "tag": tag, "subject": job, "supplier": maker().code} | more
    return int(record_old_unit(actor=PersonFactory(), stamp=stamp(), **given).body["old_unit"])


def paid(coins: int = 4_500, **more: Any) -> int:
    """A deposit that was paid to the maker for a pump; its number."""
    given = {"side": "supplier", "supplier": maker().code, "part": pump().number, "coins": coins} | more
    return int(enter_deposit(actor=PersonFactory(), stamp=more.pop("stamp", stamp()), **given).body["deposit"])
