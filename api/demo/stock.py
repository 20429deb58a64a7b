"""Buying for the demo shop: what a job's list lacks is delivered a few days before, in whole packs; the planted lots by their dates."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from fractions import Fraction
from typing import Any

from api.demo.catalogue import Staff
from api.demo.files import document, documents, moment, once, stamp
from inventory.domain.shelf_life import add_months
from inventory.queries.catalogue import matched_sets
from inventory.services.open_item import open_kit
from inventory.services.receive import ReceiveLine, SetLabel, receive
from inventory.services.scrap import scrap
from inventory.services.take_transfer import TakeLine, take_in
from inventory.services.transfer_notes import SendLine, send_to_site
from kits.queries.job_list import JobList, free_for
from kits.queries.materials import material_plans

#: Microlitres in a litre: what is poured straight from the drum is bought by the litre.
LITRE_UL = 1_000_000


@dataclass
class Buyer:
    """Keeps count of what was bought, so that lot codes and serials run on."""

    staff: Staff
    lots: Counter[str] = field(default_factory=Counter)
    serials: dict[str, int] = field(default_factory=dict)
    taken_serials: set[str] = field(default_factory=set)

    def __post_init__(self) -> None:
        self.parts: dict[str, Any] = {row["number"]: row for row in document("parts")["parts"]}
        self.main: str = document("shop")["main_site"]
        self.planted = {row["part"] for row in document("lots")["lots"]}
        opening = document("opening")
        stories = [
            serial
            for story in opening["stories"].values()
            for row in story.get("shelf", [])
            for serial in row.get("serials", [])
        ]
        self.taken_serials = {row["serial"] for row in opening["sets"]} | set(stories)
        self.homes = {(row["kind"], row["site"]): row["place"] for row in document("shop")["homes"]}
        chances = document("chances")
        self.series = {
            line["part"]: (
                int(chances["set_serials"][row["family"]].split("-")[1]),
                chances["set_weights_g"][row["family"]],
            )
            for row in documents("procedures")
            for line in row["lines"]
            if self.parts[line["part"]]["tracked_by"] == "set"
        }

    def home(self, part: str, site: str) -> str:
        """The shelf of a part at a site."""
        return str(self.homes[self.parts[part]["kind"], site])

    def lacking(self, listed: JobList) -> dict[str, int]:
        """Pieces (or whole litres' microlitres) that the shelves lack for a list, by part."""
        free = free_for(listed.fit_day, listed.shop, listed.parts, listed.standings)
        wanted: Counter[str] = Counter()
        poured = []
        for line in listed.lines:
            if listed.parts[line.part].base == "piece" and line.base != "piece":
                poured.append(line)
            else:
                wanted[line.part] += line.amount
        missing = {part: amount - free.get(part, 0) for part, amount in wanted.items() if amount > free.get(part, 0)}
        for plan in material_plans(listed, poured):
            if plan.missing:
                missing[plan.part.number] = plan.missing
        return {part: amount for part, amount in missing.items() if part not in self.planted}

    def buy(self, name: str, missing: Mapping[str, int], site: str, day: date) -> None:
        """One delivery from each supplier, in whole packs, onto the parts' shelves."""
        by_supplier: dict[tuple[str, str], list[ReceiveLine]] = {}
        for part, amount in sorted(missing.items()):
            key = self.parts[part]["supplier"], self.home(part, site)
            by_supplier.setdefault(key, []).extend(self.lines(part, amount, day, name.removesuffix(" buy")))
        for (supplier, place), lines in sorted(by_supplier.items()):
            once(
                receive,
                actor=self.staff.storekeeper(site),
                stamp=stamp(f"{name} {supplier} {place}", moment(day, 7, 15)),
                supplier=supplier,
                place=place,
                lines=lines,
                note=f"delivery of {day.isoformat()}",
            )

    def lines(self, part: str, amount: int, day: date, batch: str) -> Iterable[ReceiveLine]:
        """Lines of a delivery: serials one by one, else whole packs of one lot, whose code names the batch."""
        row = self.parts[part]
        if row["tracked_by"] in ("set", "serial"):
            return [self._serial(part, row) for _ in range(amount)]
        unit = LITRE_UL if row["base"] == "microlitre" else 1
        pack = row["pack"] * unit
        pieces = -(-amount // pack) * pack
        lot = f"{part.replace('-', '')}-{day:%y%m}-{batch.replace(' ', '-')}" if row["tracked_by"] == "lot" else ""
        total = row["price_coins"] * pieces // unit
        return [ReceiveLine(part, pieces, lot=lot, total_coins=total, **self._dates(row["life"] or {}, day))]

    def _serial(self, part: str, row: Mapping[str, Any]) -> ReceiveLine:
        series = self.series.get(part)
        if series is None:
            self.lots[part] += 1
            return ReceiveLine(
                part, 1, serial=f"{part.replace('-', '')}-{self.lots[part]:04d}", total_coins=row["price_coins"]
            )
        first, (low, high) = series
        number = self.serials.get(part) or self._next_on_record(part, first)
        while f"S-{number:04d}" in self.taken_serials:
            number += 1
        self.serials[part] = number + 1
        weight_g = low + (number * 7919) % (high - low + 1)
        label = SetLabel(weight_mg=weight_g * 1000, weighed="with pin")
        return ReceiveLine(part, 1, serial=f"S-{number:04d}", total_coins=row["price_coins"], set_label=label)

    def _next_on_record(self, part: str, first: int) -> int:
        """Where the series goes on: behind the last serial on record, those of the stories left out."""
        known = matched_sets().filter(serial__part__number=part).values_list("serial__number", flat=True)
        return max([first, *(int(serial.split("-")[1]) + 1 for serial in set(known) - self.taken_serials)])

    @staticmethod
    def _dates(life: Mapping[str, Any], day: date) -> dict[str, Any]:
        """What the bag says: rubber cured some months before, sealant made a month before, a printed date years ahead."""
        if life.get("from") == "cure":
            cured = add_months(day, -5)
            return {"cure_code": f"{(cured.month + 2) // 3}Q{cured:%y}"}
        if life.get("printed"):
            return {"printed_on": add_months(day, 60)}
        if life.get("from") == "making" or life.get("closed_months"):
            return {"made_on": add_months(day, -1)}
        return {}

    def receive_planted(self, lot: Mapping[str, Any]) -> None:
        """A planted lot with all its pieces: loose, and inside the kits that came with it."""
        day, part = date.fromisoformat(lot["received_on"]), lot["part"]
        price = self.parts[part]["price_coins"]
        loose = lot.get("loose", lot["pieces"])
        common = {"supplier": lot["supplier"], "note": f"delivery of {day.isoformat()}"}
        once(
            receive,
            actor=self.staff.storekeeper(self.main),
            stamp=stamp(f"planted {lot['lot']}", moment(day, 9)),
            place=self.home(part, self.main),
            lines=[ReceiveLine(part, loose, lot=lot["lot"], cure_code=lot["cure"], total_coins=loose * price)],
            **common,
        )
        for kit in lot.get("in_kits", []):
            contents = next(row["contents"] for row in document("kit_contents")["kits"] if row["kit"] == kit["kit"])
            inner = {
                row["part"]: lot["lot"] if row["part"] == part else f"{lot['lot']}-{number}"
                for number, row in enumerate(contents, 1)
            }
            once(
                receive,
                actor=self.staff.storekeeper(self.main),
                stamp=stamp(f"planted {lot['lot']} in {kit['kit']}", moment(day, 9, 30)),
                place=self.home(kit["kit"], self.main),
                lines=[
                    ReceiveLine(
                        kit["kit"],
                        kit["kits"],
                        lot=f"{kit['kit'].replace('-', '')}-{day:%y%m}",
                        printed_on=add_months(day, 84),
                        total_coins=kit["kits"] * self.parts[kit["kit"]]["price_coins"],
                        inner_lots=inner,
                    )
                ],
                **common,
            )

    def send(self, name: str, item_id: int, part: str, pieces: int, day: date) -> None:
        """From the main shop to the marine store: onto the van in the morning, off it at noon."""
        shop = document("shop")
        branch, home = shop["branch_site"], self.home(part, shop["branch_site"])
        note = once(
            send_to_site,
            actor=self.staff.storekeeper(self.main),
            stamp=stamp(f"{name} by the van", moment(day, 8)),
            van=shop["van"],
            to_site=branch,
            lines=[SendLine(item_id, pieces, self.home(part, self.main))],
        )["note"]
        once(
            take_in,
            actor=self.staff.storekeeper(branch),
            stamp=stamp(f"{name} taken in", moment(day, 12)),
            note=note,
            lines=[TakeLine(1, pieces, home)],
        )

    def scrap_planted(self, lot: Mapping[str, Any], item_id: int) -> None:
        """What was spoilt, dropped or cut of a planted lot."""
        for row in lot["scrapped"]:
            day = date.fromisoformat(row["on"])
            once(
                scrap,
                actor=self.staff.manager,
                stamp=stamp(f"scrap {lot['lot']} {row['on']}", moment(day, 16)),
                place=self.home(lot["part"], self.main),
                item_id=item_id,
                amount=row["pieces"],
                reason=row["reason"],
                who_pays="shop",
            )

    def open_kits(self, job: str, kit: str, item_id: int, count: int, day: date) -> dict[str, int]:
        """Open so many closed kits on their shelf, for a job: all that comes out is its own first. The item of each content by part number."""
        done = once(
            open_kit,
            actor=self.staff.storekeeper(self.main),
            stamp=stamp(f"{job} open kits", moment(day, 7, 30)),
            item_id=item_id,
            place=self.home(kit, self.main),
            amount=count,
            subject=job,
        )
        return {row["part"]: row["item"] for row in done["contents"]}


def opening_amounts(used: Mapping[str, int], months: int) -> dict[str, int]:
    """Free stock when the books open: cover × mean monthly use × the supplier's mean lead time, before rounding to packs."""
    rule = Fraction(document("opening")["rule"]["cover"])
    weeks = {
        row["code"]: sum(
            (
                Fraction(str(lead["weeks"])) * Fraction(lead["chance"])
                for lead in row["lead_weeks"]
                if lead["weeks"] is not None
            ),
            Fraction(0),
        )
        for row in document("suppliers")["suppliers"]
    }
    suppliers = {row["number"]: row["supplier"] for row in document("parts")["parts"]}
    return {
        part: -(-int(rule * amount * 12 * weeks[suppliers[part]] * 1000) // (months * 52 * 1000))
        for part, amount in used.items()
        if amount
    }


def days_before(day: str, days: int) -> date:
    """So many days before an ISO day."""
    return date.fromisoformat(day) - timedelta(days=days)
