"""Small shelves for tests: rows of the catalogue made directly, stock through the real services."""

from __future__ import annotations

import uuid
from datetime import UTC, date, datetime
from itertools import count
from typing import Any

import factory
from django.contrib.auth.models import Permission

from inventory.domain.part_numbers import compare_key
from inventory.domain.places import PlaceKind
from inventory.domain.safety_sheets import CHEMICAL_KINDS
from inventory.models import Act, Owner, Part, Person, Place, SafetySheet, SafetySheetReading, Site, Supplier
from inventory.services import things
from inventory.services.receive import ReceiveLine, SetLabel, receive
from inventory.services.run import Stamp, run

_numbers = count(1)
NOON = datetime(2025, 1, 15, 12, 0, tzinfo=UTC)


def stamp(at: datetime = NOON, recorded_at: datetime | None = None, key: uuid.UUID | None = None) -> Stamp:
    """A new act's key and times; recorded when it happened unless said otherwise."""
    return Stamp(key=key or uuid.uuid4(), occurred_at=at, recorded_at=recorded_at or at)


class PersonFactory(factory.django.DjangoModelFactory):
    """Somebody with a login."""

    class Meta:
        model = Person

    username = factory.Sequence(lambda n: f"person{n}")


def technician(**facts: Any) -> Person:
    """Somebody who may fit, and so takes carts over."""
    person: Person = PersonFactory(**facts)
    person.user_permissions.add(Permission.objects.get(codename="act_fit"))
    return person


class PartFactory(factory.django.DjangoModelFactory):
    """A part counted in pieces and traced by lot."""

    class Meta:
        model = Part

    number = factory.Sequence(lambda n: f"T-{n:03d}")
    compare_key = factory.LazyAttribute(lambda part: compare_key(part.number))
    name = "test part"
    kind = "hard part"
    unit = "EA"
    base = "piece"
    tracked_by = "lot"


class OwnerFactory(factory.django.DjangoModelFactory):
    """Somebody outside the shop: owns an engine, or buys at the counter."""

    class Meta:
        model = Owner

    name = factory.Sequence(lambda n: f"boatyard {n}, 0123")


class SupplierFactory(factory.django.DjangoModelFactory):
    """A supplier."""

    class Meta:
        model = Supplier
        django_get_or_create = ("code",)

    code = "maker"
    name = "The maker"


#: Before every day of the tests.
LONG_AGO = datetime(2020, 1, 2, 8, 0, tzinfo=UTC)


def sheets_read(*people: Person) -> None:
    """Every chemical of the catalogue has its safety data sheet, and these people signed all of them as read."""

    def work(act: Act) -> dict[str, Any]:
        known = set(SafetySheet.objects.values_list("part_id", flat=True))
        SafetySheet.objects.bulk_create(
            SafetySheet(part=part, revision=1, act=act, link="office", issued_on=LONG_AGO.date())
            for part in Part.objects.filter(kind__in=CHEMICAL_KINDS).exclude(pk__in=known)
        )
        signed = set(SafetySheetReading.objects.filter(person__in=people).values_list("sheet_id", "person_id"))
        SafetySheetReading.objects.bulk_create(
            SafetySheetReading(sheet=sheet, act=act, person=person)
            for sheet in SafetySheet.objects.all()
            for person in people
            if (sheet.pk, person.pk) not in signed
        )
        return {}

    run("sign safety sheets", work, actor=PersonFactory(), stamp=stamp(LONG_AGO), request={})


def site(code: str = "TS") -> Site:
    """A site, made once."""
    return Site.objects.get_or_create(code=code, defaults={"name": code})[0]


def shelf(code: str = "R1", at: Site | None = None, walk_order: int = 0) -> Place:
    """A shelf place, made once."""
    return things.make_place(code, PlaceKind.SHELF, site=at or site(), walk_order=walk_order)


def quarantine(code: str = "Q1", at: Site | None = None) -> Place:
    """A quarantine place, made once."""
    return things.make_place(code, PlaceKind.QUARANTINE, site=at or site())


def cart(code: str | None = None, at: Site | None = None) -> Place:
    """A cart place."""
    return things.make_place(code or f"cart {next(_numbers)}", PlaceKind.CART, site=at or site())


def bench(code: str | None = None, at: Site | None = None) -> Place:
    """A bench place."""
    return things.make_place(code or f"bench {next(_numbers)}", PlaceKind.BENCH, site=at or site())


def received(place: str, lines: list[ReceiveLine], actor: Person | None = None, at: datetime = NOON) -> None:
    """Receive all of it in one delivery, through the real service."""
    receive(
        actor=actor or PersonFactory(),
        stamp=stamp(at),
        supplier=SupplierFactory().code,
        place=place,
        lines=lines,
        reason="",
    )


def stock(
    part: Part,
    amount: int = 1,
    *,
    lot: str = "",
    serial: str = "",
    place: Place | None = None,
    actor: Person | None = None,
    at: datetime = NOON,
    cure_code: str = "",
    made_on: date | None = None,
    printed_on: date | None = None,
    total_coins: int | None = None,
    set_label: SetLabel | None = None,
) -> None:
    """Receive something through the real service; a lot code is made up where the part needs one."""
    if part.tracked_by == "lot" and not lot:
        lot = f"lot {next(_numbers)}"
    line = ReceiveLine(
        part=part.number,
        amount=amount,
        lot=lot,
        serial=serial,
        cure_code=cure_code,
        made_on=made_on,
        printed_on=printed_on,
        total_coins=total_coins,
        set_label=set_label,
    )
    where = place or shelf()
    receive(
        actor=actor or PersonFactory(),
        stamp=stamp(at),
        supplier=SupplierFactory().code,
        place=where.code,
        lines=[line],
        reason="to be looked at" if where.kind == "quarantine" else "",
    )
