"""People, sites, places, parts, suppliers, notices, families and procedures of the demo shop, through the real services."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from api.demo.files import document, documents, moment, once, stamp
from inventory.domain.catalogue import KitLine, PartFacts
from inventory.domain.companions import Companion
from inventory.domain.errors import DomainError
from inventory.queries.days import shop_day
from inventory.services.catalogue import create_part, create_supplier, sell_part
from inventory.services.people import make_person
from inventory.services.replacements import NewPart, ReplacementIn, add_kit_revision, add_replacement
from inventory.services.safety_sheets import enter_safety_sheet, sign_safety_sheets
from inventory.services.set_up import PlaceIn, set_up_shop
from inventory.services.sheets import enter_sheet
from kits.domain.checkers import WEEKDAYS
from kits.services.build import DutyIn, name_checkers
from kits.services.crib import stock_crib
from kits.services.families import enter_family, enter_procedure
from kits.services.gauges import CalibrationIn, GaugeIn, enter_gauge, record_calibration, withdraw_gauge

OPENED = moment("2022-11-01")
Say = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class Staff:
    """The people of the shop by login."""

    by_login: dict[str, Any]

    def __getitem__(self, login: str) -> Any:
        return self.by_login[login]

    @property
    def owner(self) -> Any:
        """The owner."""
        return self[document("people")["desk"]["owner"]]

    @property
    def manager(self) -> Any:
        """The parts manager."""
        return self[document("people")["desk"]["parts manager"]]

    @property
    def inspector(self) -> Any:
        """The second person who checks, and keeps the gauges."""
        return self[document("people")["desk"]["checker"]]

    def checker(self, site: str, day: date, fitter: Any) -> Any:
        """Who checks at a site that day: the named checker on her weekdays, else who stands in and did not fit."""
        named = next(row for row in document("people")["checkers"] if row["site"] == site)
        regular = [named["checker"]] if WEEKDAYS[day.weekday()] in named["days"] else []
        return next(self[login] for login in regular + named["cover"] if login != fitter.username)

    def storekeeper(self, site: str) -> Any:
        """Who keeps the store of a site."""
        return self[document("people")["desk"]["storekeeper"][site]]

    def fitters(self, site: str) -> list[Any]:
        """The technicians of a site."""
        return [self[login] for login in document("people")["desk"]["fitters"][site]]


def load_people(password: str) -> Staff:
    """Logins with their roles and the sites where they are at home; the owner arranges it, and is the shop's first person."""
    rows = document("people")["people"]
    owner_row = next(row for row in rows if row["group"] == "owner")
    owner = make_person(
        actor=None, username=owner_row["login"], name=owner_row["name"], role="owner", password=password
    )
    _set_up(owner)
    people = {owner_row["login"]: owner}
    for row in rows:
        if row["login"] not in people:
            people[row["login"]] = make_person(
                actor=owner,
                username=row["login"],
                name=row["name"],
                role=row["group"],
                site=row["site"],
                password=password,
            )
    return Staff(people)


def _set_up(owner: Any) -> None:
    """Sites, places, settings."""
    shop, kept = document("shop"), document("lots")["kept_ring"]
    wanted = shop["settings"]
    once(
        set_up_shop,
        actor=owner,
        stamp=stamp("places", OPENED),
        sites={site["code"]: site["name"] for site in shop["sites"]},
        places=[
            PlaceIn(row["code"], row["kind"], row["site"], row["name"], row["walk_order"]) for row in shop["places"]
        ],
        settings={
            "name": shop["name"],
            "margin_days": wanted["margin_days"],
            "shelf_life": wanted["shelf_life_basis"],
            "tray_limit_mg": wanted["tray_limit_mg"],
            "tray_limit_ul": wanted["tray_limit_ul"],
            "waste": f"{wanted['waste_percent']}/100",
            "prime_ul": wanted["prime_ul"],
            "dead_share": f"{wanted['dead_share_percent']}/100",
            "tube_margin": wanted["tube_margin"],
            "bead_nm_per_s": wanted["bead_speed_mm_per_s"] * 1_000_000,
            "placing_s": wanted["placing_s"],
            "bolt_s": wanted["bolt_s"],
            "bolt_with_helper_s": wanted["bolt_with_helper_s"],
            "closing_fraction": wanted["closing_fraction"],
            "keep_from": kept["from_received_on"],
            "keep_kinds": kept["kinds"],
            "travel_days": wanted["travel_days"],
        },
    )


def load_duties(staff: Staff, actor: Any, at: datetime = OPENED) -> None:
    """Who checks where, the tool crib."""
    shop = document("shop")
    for row in document("people")["checkers"]:
        duties = [DutyIn(staff[row["checker"]], row["days"])]
        duties += [DutyIn(staff[login], stands_in=True) for login in row["cover"]]
        once(name_checkers, actor=actor, stamp=stamp(f"checkers {row['site']}", at), site=row["site"], checkers=duties)
    for site in sorted({row["site"] for row in shop["tool_crib"]}):
        tools = {row["tool"]: row["pieces"] for row in shop["tool_crib"] if row["site"] == site}
        once(stock_crib, actor=actor, stamp=stamp(f"crib {site}", at), site=site, tools=tools)


def load_parts(actor: Any, say: Say, at: datetime = OPENED) -> None:
    """Suppliers, parts and what suppliers sell, kit contents, notices; the planted faults are refused or reported."""
    for row in document("suppliers")["suppliers"]:
        facts = {name: value for name, value in row.items() if name not in ("code", "name")}
        once(
            create_supplier,
            actor=actor,
            stamp=stamp(f"supplier {row['code']}", at),
            code=row["code"],
            name=row["name"],
            facts=facts,
        )
    rows = document("parts")["parts"]
    for row in rows:
        once(
            create_part, actor=actor, stamp=stamp(f"part {row['number']}", at), facts=part_facts(row), another_part=True
        )
        once(
            sell_part,
            actor=actor,
            stamp=stamp(f"sells {row['number']}", at),
            supplier=row["supplier"],
            part=row["number"],
            pack=row["pack"],
            price_coins=row["price_coins"],
            lead_days=7 * row["lead_weeks"],
        )
    say(f"{len(rows)} parts of {len(document('suppliers')['suppliers'])} suppliers")
    for kit in document("kit_contents")["kits"]:
        lines = [KitLine(line["part"], line["pieces"]) for line in kit["contents"]]
        once(
            add_kit_revision,
            actor=actor,
            stamp=stamp(f"kit {kit['kit']} {kit['revision']}", at),
            kit=kit["kit"],
            lines=lines,
        )
    _load_notices(actor, say, at)


def load_safety_sheets(staff: Staff, say: Say, at: datetime = OPENED) -> None:
    """Where the safety data sheet of every chemical hangs; everybody who handles parts signs that they read them."""
    rows = document("shop")["safety_sheets"]
    for row in rows:
        facts = row | {"issued_on": date.fromisoformat(row["issued_on"])}
        once(enter_safety_sheet, actor=staff.manager, stamp=stamp(f"safety sheet {row['part']}", at), **facts)
    parts = [row["part"] for row in rows]
    readers = [row["login"] for row in document("people")["people"] if row["group"] not in ("owner", "warranty clerk")]
    for login in readers:
        once(sign_safety_sheets, actor=staff[login], stamp=stamp(f"safety sheets {login}", at), parts=parts)
    say(f"{len(rows)} safety data sheets, each read and signed by {len(readers)} people")


def load_sheets(actor: Any, say: Say) -> None:
    """Product sheets, entered shortly before the reference day: the beads of the two years before were not held against any."""
    shop = document("shop")
    at = moment(shop["product_sheets_since"], 9)
    for row in shop["product_sheets"]:
        once(enter_sheet, actor=actor, stamp=stamp(f"sheet {row['part']}", at), **row)
    say(f"{len(shop['product_sheets'])} product sheets of sealants, invented, on record since {shop_day(at)}")


def part_facts(row: dict[str, Any]) -> PartFacts:
    """A row of the parts file as the catalogue takes it."""
    ring = row.get("ring") or {}
    return PartFacts(
        number=row["number"],
        name=row["name"],
        unit=row["unit"],
        kind=row["kind"],
        tracked_by=row["tracked_by"],
        life=row["life"] or {},
        compound=row.get("compound") or "",
        lubricant=row.get("lubricant") or "",
        ring={name: str(value) for name, value in ring.items()},
        weight_mg=row["weight_mg"],
        packed_ul=row.get("packed_ul"),
        pack=row["pack"],
        loose_issue=row["loose_issue"],
        price_coins=row["price_coins"],
        density_mg_per_ml=row.get("density_mg_per_ml"),
        net_ul=row.get("net_ul"),
        empty_mg=row.get("empty_mg"),
        hazard_note=row.get("hazard_note") or "",
        storage_note=row.get("storage_note") or "",
        storage=row.get("storage") or {},
    )


def _load_notices(actor: Any, say: Say, at: datetime) -> None:
    file = document("replacements")
    for number, row in enumerate(file["replacements"], 1):
        line = ReplacementIn(
            old=row["old"],
            news=[NewPart(new["part"], new["numerator"], new["denominator"]) for new in row["new"]],
            way=row["way"],
            fate=row["fate"],
            engine_below=row.get("engine_below", ""),
            no_mix_on=row["no_mix_on"],
            condition=row["text"],
            companions=[Companion(**one) for one in row["companions"]],
        )
        once(add_replacement, actor=actor, stamp=stamp(f"notice {number}", at), line=line)
    for number, row in enumerate(file["planted_faults"], 1):
        way = "one way" if row["direction"] == "fault" else row["direction"]
        line = ReplacementIn(old=row["old"], news=[NewPart(row["new"])], way=way)
        try:
            once(add_replacement, actor=actor, stamp=stamp(f"planted fault {number}", at), line=line)
        except DomainError as error:
            say(f"notice {row['old']} → {row['new']} refused: {error.message}")
        else:
            raise AssertionError(f"the planted fault {row['old']} → {row['new']} was taken")


def load_procedures(actor: Any, say: Say, at: datetime = OPENED) -> None:
    """Engine families with their maps, and the procedures with their parts lines."""
    for family in documents("families"):
        done = once(enter_family, actor=actor, stamp=stamp(f"family {family['code']}", at), document=family)
        say(f"{family['code']}: {done['positions']} use positions")
    for procedure in documents("procedures"):
        done = once(enter_procedure, actor=actor, stamp=stamp(f"procedure {procedure['code']}", at), document=procedure)
        say(f"{procedure['code']} {procedure['name']}: {done['lines']} parts lines")


def load_gauges(actor: Any, say: Say, at: datetime = OPENED) -> None:
    """The register of gauges, each calibrated on its days, one lost on the way; entered by who checks."""
    rows = document("gauges")["gauges"]
    for row in rows:
        facts = {name: value for name, value in row.items() if name not in ("calibrations", "withdrawn")}
        number = row["number"]
        once(enter_gauge, actor=actor, stamp=stamp(f"gauge {number}", at), gauge=GaugeIn(**facts))
        for one in row["calibrations"]:
            days = {name: date.fromisoformat(one[name]) for name in ("done_on", "next_due")}
            once(
                record_calibration,
                actor=actor,
                stamp=stamp(f"calibration {number} {one['done_on']}", moment(one["done_on"], 15)),
                gauge=number,
                calibration=CalibrationIn(**(one | days)),
            )
        end = row.get("withdrawn")
        if end:
            once(
                withdraw_gauge,
                actor=actor,
                stamp=stamp(f"gauge {number} withdrawn", moment(end["on"], 16)),
                gauge=number,
                reason=end["reason"],
            )
    say(f"{len(rows)} gauges with their calibrations")
