"""The demo shop's catalogue in a test database, straight from its files; optionally with every name changed."""

from __future__ import annotations

import copy
import re
from collections.abc import Callable, Iterable, Mapping
from datetime import UTC, date, datetime
from typing import Any

from inventory.domain.part_numbers import compare_key
from inventory.models import (
    KitContent,
    KitRevision,
    Part,
    Person,
    Replacement,
    ReplacementCompanion,
    ReplacementPart,
    Supplier,
)
from inventory.services.receive import ReceiveLine, SetLabel, receive
from inventory.services.set_up import PlaceIn, set_up_shop
from kits.services.crib import stock_crib
from kits.services.families import enter_family, enter_procedure
from tests.factories.stores import PersonFactory, sheets_read, stamp
from tests.fixtures.shop_files import FAMILY_FILES, PROCEDURES, document, family_document, procedure_document

Rename = Callable[[Any], Any]
OPENING = datetime(2022, 11, 1, 8, 0, tzinfo=UTC)


def same(value: Any) -> Any:
    """No renaming."""
    return value


def renamed(pairs: Mapping[str, str]) -> Rename:
    """Every text that is, or contains as a word, one of these names is changed, deep inside documents too."""
    pattern = re.compile(
        "|".join(rf"(?<![\w-]){re.escape(old)}(?![\w])" for old in sorted(pairs, key=len, reverse=True))
    )

    def change(value: Any) -> Any:
        if isinstance(value, str):
            return pairs.get(value) or pattern.sub(lambda match: pairs[match.group()], value)
        if isinstance(value, dict):
            return {change(name): change(inner) for name, inner in value.items()}
        if isinstance(value, list):
            return [change(inner) for inner in value]
        return value

    return change


def load_catalogue(
    actor: Person | None = None, change: Rename = same, families: Iterable[str] = tuple(FAMILY_FILES)
) -> Person:
    """Sites, places, settings, suppliers, parts, kits, replacements, families, procedures and the tool crib."""
    actor = actor or PersonFactory(username="loader")
    shop = change(copy.deepcopy(document("shop")))
    set_up_shop(
        actor=actor,
        stamp=stamp(OPENING),
        sites={site["code"]: site["name"] for site in shop["sites"]},
        places=[
            PlaceIn(place["code"], place["kind"], place["site"], place["name"], place["walk_order"])
            for place in shop["places"]
        ],
        settings={"margin_days": shop["settings"]["margin_days"]},
    )
    for site in {tool["site"] for tool in shop["tool_crib"]}:
        stock_crib(
            actor=actor,
            stamp=stamp(OPENING),
            site=site,
            tools={tool["tool"]: tool["pieces"] for tool in shop["tool_crib"] if tool["site"] == site},
        )
    for supplier in change(copy.deepcopy(document("suppliers")))["suppliers"]:
        Supplier.objects.create(code=supplier["code"], name=supplier["name"])
    parts = {part["number"]: _part(part) for part in change(copy.deepcopy(document("parts")))["parts"]}
    Part.objects.bulk_create(parts.values())
    for kit in change(copy.deepcopy(document("kit_contents")))["kits"]:
        revision = KitRevision.objects.create(kit=parts[kit["kit"]], revision=kit["revision"])
        for content in kit["contents"]:
            inside = KitRevision.objects.filter(kit=parts[content["part"]]).order_by("-revision").first()
            KitContent.objects.create(
                revision=revision, part=parts[content["part"]], amount=content["pieces"], inside=inside
            )
    sheets_read()
    _replacements(change(copy.deepcopy(document("replacements"))), parts)
    wanted = set(families)
    for family in FAMILY_FILES:
        if family in wanted:
            enter_family(actor=actor, stamp=stamp(OPENING), document=change(family_document(family)))
    for code in PROCEDURES:
        if procedure_document(code)["family"] in wanted:
            enter_procedure(actor=actor, stamp=stamp(OPENING), document=change(procedure_document(code)))
    return actor


def _part(part: Mapping[str, Any]) -> Part:
    ring = part.get("ring") or {}
    return Part(
        number=part["number"],
        compare_key=compare_key(part["number"]),
        name=part["name"],
        kind=part["kind"],
        unit=part["unit"],
        base=part["base"],
        tracked_by=part["tracked_by"],
        life=part["life"] or {},
        compound=part.get("compound") or "",
        lubricant=part.get("lubricant") or "",
        ring=ring,
        weight_mg=part["weight_mg"],
        packed_ul=part.get("packed_ul"),
        pack=part["pack"],
        loose_issue=part["loose_issue"],
        price_coins=part["price_coins"],
        density_mg_per_ml=part.get("density_mg_per_ml"),
        net_ul=part.get("net_ul"),
        empty_mg=part.get("empty_mg"),
        hazard_note=part.get("hazard_note") or "",
        storage_note=part.get("storage_note") or "",
        storage=part.get("storage") or {},
    )


def _replacements(file: Mapping[str, Any], parts: Mapping[str, Part]) -> None:
    for row in file["replacements"]:
        link = Replacement.objects.create(
            old=parts[row["old"]],
            way=row["way"],
            fate=row["fate"],
            engine_below=row.get("engine_below", ""),
            no_mix_on=row["no_mix_on"],
            condition=row["text"],
        )
        for new in row["new"]:
            ReplacementPart.objects.create(
                replacement=link, part=parts[new["part"]], numerator=new["numerator"], denominator=new["denominator"]
            )
        for one in row["companions"]:
            ReplacementCompanion.objects.create(
                replacement=link, part=parts[one["part"]], needs=parts[one["needs"]], pieces=one["pieces"]
            )


def home_of(part: Part, site: str, change: Rename = same) -> str:
    """The shelf where a part of this kind stands at a site."""
    homes = change(copy.deepcopy(document("shop")))["homes"]
    return next(str(home["place"]) for home in homes if home["kind"] == part.kind and home["site"] == site)


def story_shelf(story: str, actor: Person, at: datetime, change: Rename = same) -> None:
    """Receive the small shelf of a planted story."""
    for row in change(copy.deepcopy(document("opening")["stories"][story]["shelf"])):
        part = Part.objects.get(number=row["part"])
        stand(part, row["pieces"], actor, at, site=row["site"], serials=row.get("serials", ()), change=change)


def stand(
    part: Part,
    pieces: int,
    actor: Person,
    at: datetime,
    *,
    site: str,
    lot: str = "",
    serials: Iterable[str] = (),
    cure: str = "",
    printed_on: date | None = None,
    change: Rename = same,
) -> None:
    """Put so much of a part on its shelf at a site: serials one by one, lots with a date that leaves years of life."""
    amount = pieces * 1_000_000 if part.base == "microlitre" else pieces
    code = lot or (f"{part.number}/1" if part.tracked_by == "lot" else "")
    rubber = (part.life or {}).get("from") == "cure"
    dated = {
        "cure_code": cure or ("1Q22" if rubber else ""),
        "made_on": None if rubber else at.date().replace(day=1),
        "printed_on": printed_on or (date(2030, 1, 1) if (part.life or {}).get("printed") else None),
    }
    lines = [
        ReceiveLine(part.number, 1, serial=serial, set_label=SetLabel(weight_mg=416_000, weighed="with pin"))
        for serial in serials
    ] or [ReceiveLine(part.number, amount, lot=code, **dated)]
    receive(
        actor=actor,
        stamp=stamp(at),
        supplier=Supplier.objects.order_by("pk").values_list("code", flat=True)[0],
        place=home_of(part, site, change),
        lines=lines,
    )
