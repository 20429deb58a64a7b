"""The catalogue and the stores as lists and records to be read: parts, suppliers, lots, sets, places, balances, acts."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any

from django.db.models import (
    Case,
    CharField,
    DateField,
    Exists,
    F,
    IntegerField,
    OuterRef,
    Prefetch,
    Q,
    QuerySet,
    Subquery,
    Value,
    When,
)
from django.db.models.functions import Coalesce

from inventory.domain.errors import DomainError
from inventory.domain.part_numbers import KnownNumbers, Nearness, compare_key
from inventory.domain.places import BOOKS_ONLY
from inventory.domain.text import shown
from inventory.models import (
    Act,
    Balance,
    Item,
    KitContent,
    KitRevision,
    LifeExtension,
    Lot,
    LotDates,
    MatchedSet,
    Movement,
    Part,
    PartPhoto,
    Place,
    Refusal,
    Replacement,
    ReplacementCompanion,
    ReplacementPart,
    Serial,
    SetLabelling,
    Site,
    Supplier,
    SupplierPart,
)
from inventory.queries.joins import with_kept
from inventory.queries.stock import open_stops, stopped

_BOOKS_ONLY = [kind.value for kind in BOOKS_ONLY]
#: How many near misses a search shows, and how many a refusal names.
MOST_NEAR = 20
MOST_NAMED = 6


def _of_newest_revisions() -> QuerySet[KitContent]:
    """Contents of the newest revision of every kit."""
    newest = KitRevision.objects.filter(kit=OuterRef("revision__kit")).order_by("-revision").values("pk")[:1]
    return KitContent.objects.filter(revision=Subquery(newest))


def newest_contents() -> dict[str, dict[str, int]]:
    """Kit number -> part number -> amount, of each kit's newest revision. One query."""
    found: dict[str, dict[str, int]] = {}
    for kit, part, amount in _of_newest_revisions().values_list("revision__kit__number", "part__number", "amount"):
        found.setdefault(kit, {})[part] = amount
    return found


def parts() -> QuerySet[Part]:
    """All parts, each with the record that is kept for its number (`joined_to`) and where its newest photo is (`photo`)."""
    newest = PartPhoto.objects.filter(part=OuterRef("pk")).order_by("-revision").values("link")[:1]
    return with_kept(Part.objects.annotate(photo=Subquery(newest)))


def near_numbers(text: str, known: Iterable[str]) -> list[str]:
    """Known numbers near to what was typed, the best first: the same key, look-alikes, swapped or wrong characters."""
    return [miss.number for miss in KnownNumbers(known).near(text, MOST_NEAR)]


def likely_numbers(text: str, known: Iterable[str]) -> list[str]:
    """The few that a person meant who typed what is not there, for a refusal; what only looks alike leaves out the rest."""
    return _likely(text, KnownNumbers(known))


def _likely(text: str, known: KnownNumbers) -> list[str]:
    try:
        misses = known.near(text, MOST_NAMED)
    except DomainError:
        return []
    alike = [miss.number for miss in misses if miss.nearness <= Nearness.LOOKS_ALIKE]
    return alike or [miss.number for miss in misses]


def no_such_part(number: str) -> DomainError:
    """The refusal "not-found" of a part number that is not in the catalogue, with what was probably meant. One query."""
    return no_such_parts([number])[number]


def no_such_parts(numbers: Sequence[str]) -> dict[str, DomainError]:
    """The same for several, by number; what was probably meant is looked for of the first of them only. One query."""
    known = KnownNumbers(Part.objects.values_list("number", flat=True))
    found = {}
    for at, number in enumerate(numbers):
        near = _likely(number, known) if at < MOST_NEAR else []
        said = f"No such part: {shown(number)}.{near_in_words(near)}"
        found[number] = DomainError("not-found", said, part=shown(number), near=near)
    return found


def no_such(what: str, code: str, known: Iterable[str], value: str = "") -> DomainError:
    """The refusal "not-found" of a code that nobody knows, with what was probably meant; `what` is the word for it ("place"),
    and the name of the value unless `value` is."""
    near = likely_numbers(code, known) if code.strip() else []
    said = f"There is no {what} {shown(code)}.{near_in_words(near)}" if code.strip() else f"No {what} is named."
    values: dict[str, Any] = {value or what: shown(code), "near": near}
    return DomainError("not-found", said, **values)


def no_such_place(code: str) -> DomainError:
    """The refusal "not-found" of a place, with real places near to it. One query."""
    return no_such("place", code, Place.objects.filter(real=True).values_list("code", flat=True))


def no_such_site(code: str) -> DomainError:
    """The refusal "not-found" of a site. One query."""
    return no_such("site", code, Site.objects.values_list("code", flat=True))


def no_such_supplier(code: str) -> DomainError:
    """The refusal "not-found" of a supplier. One query."""
    return no_such("supplier", code, Supplier.objects.values_list("code", flat=True))


def near_in_words(near: Sequence[str]) -> str:
    """ " Near: …." behind the sentence of a refusal; nothing if nothing is near."""
    return f" Near: {', '.join(near)}." if near else ""


def ranked(rows: QuerySet[Part], found: Sequence[tuple[str, str]]) -> QuerySet[Part]:
    """Of these parts those that were found, as (number, how far off), each with its `rank` from 0 and its `size_off`."""
    ranks = [When(number=number, then=Value(at)) for at, (number, _) in enumerate(found)]
    offs = [When(number=number, then=Value(off)) for number, off in found]
    return rows.filter(number__in=[number for number, _ in found]).annotate(
        rank=Case(*ranks, default=Value(len(found)), output_field=IntegerField()),
        size_off=Case(*offs, default=Value(""), output_field=CharField()),
    )


def part(number: str) -> Part:
    """One part by its printed number; DomainError "not-found" with near misses."""
    found = parts().filter(number=number).first()
    if found is None:
        raise no_such_part(number)
    return found


def same_key(part: Part) -> list[str]:
    """Other records whose numbers differ from the part's in spaces, dashes, dots or case alone. One query."""
    rows = Part.objects.filter(compare_key=part.compare_key).exclude(pk=part.pk)
    return list(rows.order_by("number").values_list("number", flat=True))


def replacement_lines(part_id: int) -> list[Replacement]:
    """Notices in which the part stands, as the old or as a new one; withdrawn lines too. Three queries."""
    return list(
        Replacement.objects.filter(Q(old=part_id) | Q(news__part=part_id))
        .select_related("old")
        .prefetch_related(
            Prefetch("news", ReplacementPart.objects.select_related("part").order_by("pk")),
            Prefetch("companions", ReplacementCompanion.objects.select_related("part", "needs").order_by("pk")),
        )
        .distinct()
        .order_by("pk")
    )


def kit_revisions(part_id: int) -> list[KitRevision]:
    """What the part holds, if it is a kit, newest revision first. Two queries."""
    return list(
        KitRevision.objects.filter(kit=part_id)
        .prefetch_related(Prefetch("contents", KitContent.objects.select_related("part").order_by("part__number")))
        .order_by("-revision")
    )


def kits_with(part_id: int) -> list[dict[str, Any]]:
    """Kits whose newest revision holds the part: kit, revision, amount. One query."""
    rows = _of_newest_revisions().filter(part=part_id)
    named = rows.values("amount", kit=F("revision__kit__number"), kit_revision=F("revision__revision"))
    return [dict(row) for row in named.order_by("kit")]


def sold_by(part_id: int) -> list[SupplierPart]:
    """Who sells the part. One query."""
    return list(SupplierPart.objects.filter(part=part_id).select_related("supplier").order_by("supplier__code"))


def suppliers() -> QuerySet[Supplier]:
    """All suppliers."""
    return Supplier.objects.all()


def supplier(code: str) -> Supplier:
    """One supplier with what it sells; DomainError "not-found"."""
    sells = SupplierPart.objects.select_related("part").order_by("part__number")
    found = Supplier.objects.filter(code=code).prefetch_related(Prefetch("supplierpart_set", sells)).first()
    if found is None:
        raise no_such_supplier(code)
    return found


def lots() -> QuerySet[Lot]:
    """All lots, each with its part and supplier, and `is_stopped`: itself, or a lot inside its closed kits."""
    direct = open_stops().filter(lot=OuterRef("pk"))
    inner = open_stops().filter(lot__inside_kit_lots__kit_lot=OuterRef("pk"))
    return Lot.objects.select_related("part", "supplier").annotate(is_stopped=Q(Exists(direct)) | Q(Exists(inner)))


def by_use_by(rows: QuerySet[Lot]) -> QuerySet[Lot]:
    """The lots, each with the day that it is ordered by (`use_by`): its last day, and what has none behind all others."""
    return rows.annotate(use_by=Coalesce("expires_on", Value(date.max), output_field=DateField()))


def lot(lot_id: int) -> Lot:
    """One lot with its stops; DomainError "not-found"."""
    found = (
        lots()
        .select_related("part", "supplier")
        .filter(pk=lot_id)
        .prefetch_related(
            Prefetch(
                "extensions", LifeExtension.objects.filter(act__corrected_by__isnull=True).select_related("act__actor")
            ),
            "stops__act__actor",
            "stops__freed__act",
            "inner_lots__lot__part",
        )
        .first()
    )
    if found is None:
        raise DomainError("not-found", f"There is no lot {lot_id}.", lot=lot_id)
    return found


def spelled_alike(part_id: int, key: str) -> list[tuple[int, str]]:
    """(id, code) of the lots of a part whose codes have this key. One query."""
    return list(Lot.objects.filter(part=part_id, compare_key=key).order_by("code").values_list("pk", "code"))


def dates_put_right(lot_id: int) -> list[LotDates]:
    """What acts found and left of the dates of a lot, in order. One query."""
    return list(LotDates.objects.filter(lot=lot_id).select_related("act__actor").order_by("pk"))


def labels_put_right(serial_id: int) -> list[SetLabelling]:
    """What acts found and left of the label of a set, in order. One query."""
    return list(SetLabelling.objects.filter(matched_set=serial_id).select_related("act__actor").order_by("pk"))


def matched_sets() -> QuerySet[MatchedSet]:
    """All matched sets, each with serial, part, break record, and whether it was matched again."""
    return MatchedSet.objects.select_related("serial__part", "serial__broken__act", "serial__match")


def matched_set(number: str, part_number: str = "") -> MatchedSet:
    """One set by its serial, as printed or as typed.

    DomainError "not-found" with near misses; "serial-ambiguous" when several parts have it and none was named.
    """
    rows = matched_sets().order_by("serial__part__number")
    if part_number:
        rows = rows.filter(serial__part__number=part_number)
    found = list(rows.filter(serial__number=number)) or list(rows.filter(serial__compare_key=_key(number)))
    if not found:
        known = Serial.objects.filter(matched_set__isnull=False).values_list("number", flat=True).distinct()
        near = likely_numbers(number, known)
        said = f"There is no matched set {shown(number)}.{near_in_words(near)}"
        raise DomainError("not-found", said, serial=shown(number), near=near)
    if len(found) > 1:
        raise DomainError(
            "serial-ambiguous",
            f"{shown(number)} is the serial of several sets.",
            ways_out=("Say which by ?part=.",),
            serial=shown(number),
            sets=[{"part": one.serial.part.number, "serial": one.serial.number} for one in found],
        )
    return found[0]


def _key(text: str) -> str:
    try:
        return compare_key(text)
    except DomainError:
        return ""


def items() -> QuerySet[Item]:
    """All items, each with part, lot, serial and tube, and `is_stopped`."""
    return Item.objects.select_related("part", "lot", "serial", "tube", "from_kit__part").annotate(
        is_stopped=stopped("")
    )


def item(item_id: int) -> Item:
    """One item; DomainError "not-found"."""
    found = items().filter(pk=item_id).first()
    if found is None:
        raise DomainError("not-found", f"There is no item {item_id}.", item=item_id)
    return found


def sites() -> QuerySet[Site]:
    """All sites."""
    return Site.objects.all()


def places() -> QuerySet[Place]:
    """Every real place with its site; those that are only the books' own are not places to a person."""
    return Place.objects.filter(real=True).select_related("site")


def place(code: str) -> Place:
    """One real place; DomainError "not-found"."""
    found = places().filter(code=code).first()
    if found is None:
        raise no_such_place(code)
    return found


def balances() -> QuerySet[Balance]:
    """What stands where, above nothing, in real places."""
    return (
        Balance.objects.filter(real=True, amount__gt=0)
        .select_related("part", "item__lot", "item__serial", "item__tube", "spot", "place__site")
        .annotate(is_stopped=stopped())
    )


def acts() -> QuerySet[Act]:
    """All acts, each with who, where, and the act that corrected it."""
    return Act.objects.select_related("actor", "place", "corrected_by")


def act(act_id: int) -> Act:
    """One act with its outcome; DomainError "not-found"."""
    found = acts().select_related("outcome").filter(pk=act_id).first()
    if found is None:
        raise DomainError("not-found", f"There is no act {act_id}.", act=act_id)
    return found


def movements_of(act_ids: Sequence[int]) -> list[Movement]:
    """Movements of acts, in the order they were written. One query."""
    return list(
        Movement.objects.filter(act__in=act_ids)
        .select_related("item__part", "from_spot__place", "to_spot__place")
        .order_by("pk")
    )


def refusals() -> QuerySet[Refusal]:
    """Everything that a rule refused."""
    return Refusal.objects.select_related("actor")
