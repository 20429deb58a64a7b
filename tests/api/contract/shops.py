"""A small shop in which every operation of the stores has something to work on, and one good request for each."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from django.contrib.auth.models import Group

from inventory.domain.places import PlaceKind
from inventory.models import Act, Item, Lot, Part, Person, Replacement, Stop
from inventory.services import things
from kits.models import Engine, EngineFamily
from tests.api.rest.clients import ShopClient
from tests.api.rest.rebuilds import SHEET, small_shop
from tests.factories.stores import PartFactory, PersonFactory, SupplierFactory, quarantine, stamp, stock

PASSWORD = "liner-protrusion-9"


@dataclass(frozen=True)
class Good:
    """A request that is answered with 2xx: values of the path, of the query, the body, further headers."""

    path: Mapping[str, Any] = field(default_factory=dict)
    query: Mapping[str, Any] = field(default_factory=dict)
    body: Any = None
    headers: Mapping[str, str] = field(default_factory=dict)


def everybody(username: str = "everybody") -> Person:
    """A person with every role, so that permissions hide nothing."""
    person: Person = PersonFactory(username=username)
    person.set_password(PASSWORD)
    person.save(update_fields=["password"])
    person.groups.set(Group.objects.all())
    return person


def stores(actor: Person) -> None:
    """The small rebuild shop, and beside it a lot, a set, a closed kit, tubes, something in quarantine and an engine on record."""
    small_shop()
    quarantine("Q1")
    SupplierFactory()
    loose, kit = PartFactory(number="P-1"), PartFactory(number="K-1", kind="kit", unit="KT")
    PartFactory(number="P-2")
    stock(loose, 10, lot="L-1")
    stock(loose, 3, lot="L-2", place=quarantine("Q1"))
    stock(PartFactory(number="S-1", kind="matched set", tracked_by="set", unit="SET"), serial="S-0441")
    things_of_a_kit(actor, kit)
    tube = PartFactory(number="RTV", kind="sealant", unit="XTU", net_ul=80_000, empty_mg=11_500, density_mg_per_ml=1320)
    stock(tube, 3, lot="T-1", made_on=date(2024, 12, 1))
    an_engine()


def things_of_a_kit(actor: Person, kit: Part) -> None:
    """What the kit holds, and two boxes of it."""
    from inventory.domain.catalogue import KitLine
    from inventory.services.replacements import add_kit_revision

    add_kit_revision(actor=actor, stamp=stamp(), kit=kit.number, lines=[KitLine("P-1", 4)])
    stock(kit, 2, lot="KL-1")


def an_engine() -> None:
    """One engine of the small family on record."""
    place = things.make_place("T4-00200", PlaceKind.ENGINE, site=None)
    Engine.objects.create(number="T4-00200", family=EngineFamily.objects.get(), digits=200, place=place)


TEMPERATURES = {"readings": [{"at": "2025-01-14T06:00:00Z", "value": "21.5 °C", "thermometer": "T-1"}]}
SAFETY_SHEET = {"link": "office, yellow folder", "issued_on": "2024-03-11"}


def _temperature(actor: Person) -> Good:
    made = ShopClient(actor).send("places/R1/temperatures", TEMPERATURES).json()["readings"][0]
    return Good({"one": made["id"]}, body={"reason": "it lay in the sun"})


def _safety_sheet(actor: Person) -> Good:
    assert ShopClient(actor).send("parts/RTV/safety-sheets", SAFETY_SHEET).status_code == 201
    return Good(body={"parts": ["RTV"]})


def _sheet(actor: Person) -> Good:
    assert ShopClient(actor).send("parts/RTV/sheets", SHEET).status_code == 201
    return Good({"number": "RTV"}, body={})


def _item(part: str) -> int:
    found: int = Item.objects.filter(part__number=part).order_by("pk").values_list("pk", flat=True)[0]
    return found


def _lot(code: str) -> int:
    return Lot.objects.get(code=code).pk


def _receipt() -> int:
    found: int = Act.objects.filter(kind="receive").order_by("-pk").values_list("pk", flat=True)[0]
    return found


def _stopped(actor: Person, what: str) -> Good:
    from inventory.services import stops

    if what == "lot":
        stops.stop_lot(actor=actor, stamp=stamp(), lot_id=_lot("L-1"), reason="leaks")
        number = _lot("L-1")
    else:
        number = _item("S-1")
        stops.stop_item(actor=actor, stamp=stamp(), item_id=number, reason="chipped")
    return Good({"number": number}, body={"stop": Stop.objects.get().pk, "reason": "tested good"})


def _inspected(actor: Person) -> Good:
    part = PartFactory(number="OR-9", life={"from": "cure", "years": 7, "extendable": True})
    stock(part, 4, lot="RL-9", cure_code="3Q22")
    return Good({"number": _lot("RL-9")}, body={"sample_pieces": 2, "passed": True, "found": "no cracks"})


def _wrong_date(actor: Person) -> Good:
    good = _inspected(actor)
    return Good(good.path, body={"cure_code": "3Q21", "reason": "read by two people"})


def _two_records(actor: Person) -> Good:
    PartFactory(number="P 1")
    return Good({"number": "P 1"}, body={"kept": "P-1", "reason": "typed twice"})


def _old_stock(actor: Person) -> Good:
    from inventory.services.replacements import NewPart, ReplacementIn, add_replacement

    line = ReplacementIn("P-1", [NewPart("P-2")], fate="withdrawn")
    add_replacement(actor=actor, stamp=stamp(), line=line)
    return Good({"number": "P-1"}, body={"place": "Q1"})


def _replaced(actor: Person) -> Good:
    from inventory.services.replacements import NewPart, ReplacementIn, add_replacement

    add_replacement(actor=actor, stamp=stamp(), line=ReplacementIn("P-1", [NewPart("P-2")]))
    return Good({"number": Replacement.objects.get().pk}, body={"reason": "notice taken back"})


def _opened(actor: Person) -> Good:
    from inventory.services.open_tube import open_tube

    open_tube(actor=actor, stamp=stamp(), item_id=_item("RTV"), place="R1", tube_number="T-001")
    return Good({"number": "T-001"}, body={"weight": "26.2 g"})


def _other_rings(actor: Person) -> Good:
    for number, compound in (("OR-1", "FKM"), ("OR-2", "EPDM")):
        PartFactory(number=number, compound=compound, ring={"id_mm": "94.92", "section_mm": "2.62", "shape": "round"})
    return Good({"number": "OR-1"}, {"side": "oil", "temperature": "120 °C"})


#: What was measured on a ring without a label.
UNLABELLED = {
    "inside_diameter": "108.3 mm", "inside_uncertainty": "0.25 mm", "section": "3.55 mm", "section_across": "3.41 mm",
    "section_uncertainty": "0.02 mm", "weight": "6.35 g",
}  # fmt: skip


def _carry(item: int, origin: str, target: str, note: str = "") -> Good:
    line = {"item": item, "amount": "1 EA", "from_place": origin, "to_place": target}
    return Good(body={"lines": [line], "note": note})


def _reads() -> dict[str, Callable[[Person], Good]]:
    """Good requests of everything that is only read."""
    number = {"number": "T4-00200"}
    return {
        "acts_list": lambda actor: Good(query={"kind": "receive", "ordering": "-recorded_at"}),
        "acts_read": lambda actor: Good({"number": _receipt()}),
        "balances_list": lambda actor: Good(query={"part": "P-1", "unit": "mL"}),
        "engine_families_list": lambda actor: Good(),
        "engine_families_read": lambda actor: Good({"code": "Testbed-4"}),
        "engine_families_likely_findings": lambda actor: Good({"code": "Testbed-4"}),
        "engines_list": lambda actor: Good(query={"search": "T4-00201"}),
        "engines_read": lambda actor: Good(number),
        "engines_contents_read": lambda actor: Good(number, {"on": "2025-01-15", "gaps": "true"}),
        "engines_story_read": lambda actor: Good(number),
        "items_list": lambda actor: Good(query={"part": "S-1"}),
        "items_read": lambda actor: Good({"number": _item("S-1")}),
        "items_history_read": lambda actor: Good({"number": _item("S-1")}),
        "lots_list": lambda actor: Good(query={"search": "L-1"}),
        "lots_read": lambda actor: Good({"number": _lot("L-1")}),
        "lots_whereabouts_read": lambda actor: Good({"number": _lot("L-1")}),
        "matched_sets_list": lambda actor: Good(query={"broken": "false"}),
        "matched_sets_read": lambda actor: Good({"serial": "S-0441"}),
        "matched_sets_history_read": lambda actor: Good({"serial": "S-0441"}, {"part": "S-1"}),
        "parts_list": lambda actor: Good(query={"search": "P-1", "page_size": 2}),
        "ring_sizes_list": lambda actor: Good(query={"search": "AS568-154"}),
        "ring_identifications_read": lambda actor: Good(query=UNLABELLED),
        "scans_read": lambda actor: Good(query={"text": "R1"}),
        "groove_checks_read": lambda actor: Good(
            query={"size": "AS568-244", "groove_diameter": "108.6 mm", "bore": "114.5 mm", "width": "4.8 mm"}
        ),
        "rubber_decisions_read": lambda actor: Good(query={"part": "RING", "side": "oil", "lubricant": "soap"}),
        "parts_ring_substitutes_read": _other_rings,
        "parts_read": lambda actor: Good({"number": "P-1"}),
        "places_list": lambda actor: Good(query={"kind": "shelf"}),
        "places_read": lambda actor: Good({"code": "R1"}),
        "places_contents_list": lambda actor: Good({"code": "R1"}),
        "procedures_list": lambda actor: Good(query={"family": "Testbed-4"}),
        "procedures_read": lambda actor: Good({"code": "T1"}),
        "refusals_list": lambda actor: Good(query={"code": "not-found"}),
        "sites_list": lambda actor: Good(),
        "idle_stock_read": lambda actor: Good(query={"on": "2025-01-15", "months": 3, "window_days": 90}),
        "write_offs_read": lambda actor: Good(query={"on": "2025-01-15", "part": "P-1", "window_days": 90}),
        "suppliers_list": lambda actor: Good(),
        "suppliers_read": lambda actor: Good({"code": "maker"}),
    }


def _put_right() -> dict[str, Callable[[Person], Good]]:
    """What a bag or a label was misread to say."""
    label = {"set_label": {"weight_mg": 416_000, "weighed": "with pin"}, "reason": "read by two people"}
    return {
        "lots_dates_create": _wrong_date,
        "matched_sets_labels_create": lambda actor: Good({"serial": "S-0441"}, body=label),
    }


def _writes() -> dict[str, Callable[[Person], Good]]:
    """Good requests of the acts, and of logging in and out."""
    line = {"part": "P-1", "amount": "4 EA", "lot": "L-9"}
    broken = {"damaged": "liner", "reason": "dropped", "orphan_place": "Q1", "no_photo": "no camera"}
    scrapped = {"amount": 1, "place": "R1", "reason": "rust", "who_pays": "shop"}
    return {
        "acts_corrections_create": lambda actor: Good({"number": _receipt()}, body={"reason": "not ours"}),
        "counts_create": lambda actor: Good(
            body={"place": "R1", "lines": [{"part": "P-1", "lot": "L-1", "counted": 10}]}
        ),
        "items_frees_create": lambda actor: _stopped(actor, "item"),
        "items_openings_create": lambda actor: Good(
            {"number": _item("K-1")}, body={"place": "R1", "inner_lots": {"P-1": "L-7"}}
        ),
        "items_stops_create": lambda actor: Good({"number": _item("S-1")}, body={"reason": "chipped"}),
        "lots_frees_create": lambda actor: _stopped(actor, "lot"),
        "lots_extensions_create": _inspected,
        "lots_stops_create": lambda actor: Good({"number": _lot("L-1")}, body={"reason": "leaks"}),
        "matched_sets_breaks_create": lambda actor: Good({"serial": "S-0441"}, body=broken),
        "parts_create": lambda actor: Good(body={"number": "N-1", "name": "gasket", "unit": "EA", "kind": "gasket"}),
        "parts_change": lambda actor: Good({"number": "P-1"}, body={"pack": 5}, headers={"If-Match": '"1"'}),
        "parts_joins_create": _two_records,
        "parts_photos_create": lambda actor: Good({"number": "P-1"}, body={"link": "counter, green folder, page 4"}),
        "parts_stock_withdrawals_create": _old_stock,
        "parts_assemblies_create": lambda actor: Good(
            {"number": "K-1"},
            body={"lot": "OURS", "place": "R1", "contents": [{"item": _item("P-1"), "each": 4, "place": "R1"}]},
        ),
        "parts_kit_revisions_create": lambda actor: Good(
            {"number": "K-1"}, body={"contents": [{"part": "P-1", "amount": 5}]}
        ),
        "storage_rules_list": lambda actor: Good(),
        "places_storage_read": lambda actor: Good({"code": "R1"}),
        "places_storage_create": lambda actor: Good({"code": "R1"}, body={"classes": ["dry"], "high": "25 °C"}),
        "places_temperatures_list": lambda actor: Good({"code": "R1"}),
        "places_temperatures_create": lambda actor: Good({"code": "R1"}, body=TEMPERATURES),
        "temperatures_withdraw": _temperature,
        "lots_storage_read": lambda actor: Good({"number": _lot("L-1")}),
        "safety_sheets_list": lambda actor: Good(),
        "safety_sheets_sign": _safety_sheet,
        "parts_safety_sheets_list": lambda actor: Good({"number": "RTV"}),
        "parts_safety_sheets_create": lambda actor: Good({"number": "RTV"}, body=SAFETY_SHEET),
        "parts_sheets_list": lambda actor: Good({"number": "RTV"}),
        "parts_sheets_create": lambda actor: Good({"number": "RTV"}, body=SHEET),
        "parts_sheets_sign": _sheet,
        "parts_replacements_create": lambda actor: Good({"number": "P-1"}, body={"news": [{"part": "P-2"}]}),
        "places_create": lambda actor: Good(body={"places": [{"code": "R9", "kind": "shelf", "site": "TS"}]}),
        "sites_create": lambda actor: Good(body={"code": "Q9", "name": "The quay"}),
        "quarantine_releases_create": lambda actor: _carry(_in_quarantine(), "Q1", "R1"),
        "receipts_create": lambda actor: Good(body={"supplier": "maker", "place": "R1", "lines": [line]}),
        "replacements_withdraw": _replaced,
        "scraps_list": lambda actor: Good(query={"who_pays": "shop"}),
        "scraps_create": lambda actor: Good(body={"item": _item("P-1"), **scrapped}),
        "suppliers_create": lambda actor: Good(body={"code": "other", "name": "Another"}),
        "suppliers_parts_create": lambda actor: Good({"code": "maker"}, body={"part": "P-1", "pack": 10}),
        "tokens_create": lambda actor: Good(body={"username": actor.username, "password": PASSWORD}),
        "tokens_drop": lambda actor: Good(),
        "transfers_create": lambda actor: _carry(_item("P-1"), "R1", "R2"),
        "tubes_weighings_create": _opened,
    }


def _in_quarantine() -> int:
    found: int = Item.objects.get(lot__code="L-2").pk
    return found


#: Operation of the description -> a request that it answers with 2xx, made in the shop of `stores`.
GOOD: dict[str, Callable[[Person], Good]] = _reads() | _writes() | _put_right()
