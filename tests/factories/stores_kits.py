"""Closed kits for tests: what they hold, and boxes of them on the shelf."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from inventory.models import KitContent, KitRevision, Part
from inventory.services.receive import ReceiveLine, receive
from tests.factories.stores import PartFactory, PersonFactory, SupplierFactory, shelf, stamp


def kit(number: str, contents: Mapping[str, int], *, revision: int = 1, tracked_by: str = "lot") -> Part:
    """A kit part with a revision; parts that do not exist are made, traced by lot."""
    part = Part.objects.filter(number=number).first() or PartFactory(
        number=number, kind="kit", unit="KT", tracked_by=tracked_by, life={"contents": "earliest"}
    )
    made = KitRevision.objects.create(kit=part, revision=revision)
    for inside, amount in contents.items():
        content = Part.objects.filter(number=inside).first() or PartFactory(number=inside)
        held = content.kit_revisions.order_by("-revision").first()
        KitContent.objects.create(revision=made, part=content, amount=amount, inside=held)
    return part


def closed_kits(
    number: str,
    amount: int = 1,
    *,
    lot: str = "",
    serial: str = "",
    inner: Mapping[str, str] | None = None,
    printed_on: date | None = None,
    place: str = "R1",
) -> None:
    """Receive closed boxes through the real service."""
    shelf("R1")
    line = ReceiveLine(number, amount, lot=lot, serial=serial, inner_lots=inner or {}, printed_on=printed_on)
    receive(actor=PersonFactory(), stamp=stamp(), supplier=SupplierFactory().code, place=place, lines=[line])
