"""Two years of work, job by job, and the shelves as they stand on the reference day."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from api.demo.catalogue import Say, Staff
from api.demo.files import document, moment, once, stamp
from api.demo.gauging import gauge_liners
from api.demo.rebuild import Rebuild
from api.demo.seal import Sealing
from api.demo.stock import Buyer, days_before, opening_amounts
from inventory.queries.catalogue import items
from inventory.queries.days import shop_day
from inventory.services.receive import ReceiveLine, SetLabel, receive
from kits.queries.at_positions import solid_at
from kits.queries.used import used_by_part
from kits.services.fit import FitIn
from kits.services.strip import InspectIn, RemoveIn, inspect, remove


@dataclass(slots=True)
class History:
    """The planted lots as they come, go to the marine store, are fitted and spoilt; and the jobs between them."""

    staff: Staff
    buyer: Buyer
    say: Say
    tell: Mapping[str, Callable[[Rebuild], None]] = field(default_factory=dict)
    lots: list[dict[str, Any]] = field(default_factory=lambda: document("lots")["lots"])
    waiting: list[tuple[date, str, dict[str, Any]]] = field(default_factory=list)
    same_day: Counter[str] = field(default_factory=Counter)

    def __post_init__(self) -> None:
        for lot in self.lots:
            self.waiting.append((date.fromisoformat(lot["received_on"]), "received", lot))
            for row in lot["scrapped"]:
                self.waiting.append((date.fromisoformat(row["on"]), "scrapped", lot))
            left = [
                row
                for row in lot["on_shelf"]
                if row["site"] == document("shop")["branch_site"] and row.get("loose", True)
            ]
            if left:
                self.waiting.append((days_before(lot["last_job_on"], -5), "sent", lot))
        self.waiting.sort(key=lambda event: (event[0], event[2]["lot"]))

    def run(self, only: Callable[[Mapping[str, Any]], bool] = bool) -> int:
        """The jobs of the file (those that `only` takes) in order of their day; how many there were."""
        rows = [row for row in document("jobs")["jobs"] if only(row)]
        for number, row in enumerate(rows, 1):
            self._until(date.fromisoformat(row["opened"]))
            self.job(row)
            if number % 10 == 0 or number == len(rows):
                self.say(f"job {number} of {len(rows)}: {row['job']}, {row['opened']}")
        self._until(date.fromisoformat(document("shop")["reference_day"]))
        return len(rows)

    def job(self, row: Mapping[str, Any]) -> Rebuild:
        """One job of the past: booked, supplied, held, picked, handed over, gauged, fitted, closed on its day."""
        at = moment(row["opened"], 8, 10 * self.same_day[row["opened"]])
        self.same_day[row["opened"]] += 1
        job = Rebuild(self.staff, self.buyer, row, at)
        job.book(shop_day(at), shop_day(at))
        job.find_at_strip(document("jobs")["found_at_strip"].get(job.number, []))
        job.settle_choices()
        job.supply()
        if job.number in self.tell:
            self.tell[job.number](job)
        self._planted(job)
        if row["type"] != "rebuild":
            job.clear_old({lot["lot"]: lot["removed"][0]["place"] for lot in self.lots if lot.get("removed")})
            self._lift_sets(job)
        again = self._take_out_again(job)
        held = job.hold()
        if held["shorts"]:
            raise AssertionError(f"{row['job']} is short: {held['shorts']}")
        job.pick(held)
        job.look_again(held)
        handed = job.hand_over(held)
        gauge_liners(job, held)
        job.put_back_sets()
        self._build(job, held, again)
        job.check_pistons()
        job.tidy(held)
        job.count_tools(handed)
        job.close()
        return job

    def _build(self, job: Rebuild, held: Mapping[str, Any], again: Sequence[FitIn]) -> None:
        """What is not sealed goes in, with what is used again, the jacket is tested, then every joint by its gate, and the fills."""
        sealing = Sealing(job, self.say, job.people()[1])
        every, later = job.fittings_of(held), sealing.later()
        job.fit("fit", 300, [*(one for one in every if one.position not in later), *again])
        job.test_jacket()
        sealing.run([one for one in every if one.position in later])

    def _lift_sets(self, job: Rebuild) -> None:
        """Liners are lifted with their sets kept: the sets come out to the bench, each out of its own bore, and are inspected."""
        listed = job.list()
        kept = document("jobs")["kept_sets"]
        bores = [one.place for one in listed.scope.findings if one.code == kept["finding"]]
        rows = solid_at(listed.job, [f"{bore}/{kept['name']}" for bore in bores])
        once(
            remove,
            actor=job.people()[0],
            stamp=job.stamp("lift sets", 40),
            job=job.number,
            removals=[RemoveIn(row.position, to="bench") for row in rows],
        )
        once(
            inspect,
            actor=job.people()[0],
            stamp=job.stamp("inspect sets", 45),
            job=job.number,
            inspections=[InspectIn(row.position, kept["limit"], kept["result"], True, row.item_id) for row in rows],
        )

    def _take_out_again(self, job: Rebuild) -> list[FitIn]:
        """Bolts that may be used again come out, each is measured, and is to go back where it was: how they are fitted then."""
        plan = document("jobs")["used_again"].get(job.number)
        if plan is None:
            return []
        out = once(
            remove,
            actor=job.people()[0],
            stamp=job.stamp("take out again", 50),
            job=job.number,
            removals=[RemoveIn(position) for position in plan["lengths"]],
        )["removed"]
        once(
            inspect,
            actor=job.people()[0],
            stamp=job.stamp("measure again", 55),
            job=job.number,
            inspections=[
                InspectIn(
                    row["position"], plan["limit"], plan["lengths"][row["position"]], True, row["item"], plan["gauge"]
                )
                for row in out
            ],
        )
        return [FitIn(row["position"], row["item"], row["amount"]) for row in out]

    def _until(self, day: date) -> None:
        """What happens to planted lots up to a day."""
        while self.waiting and self.waiting[0][0] <= day:
            when, what, lot = self.waiting.pop(0)
            if what == "received":
                self.buyer.receive_planted(lot)
            elif what == "scrapped":
                self.buyer.scrap_planted(lot, self._item(lot))
            else:
                left = next(row for row in lot["on_shelf"] if row["site"] == document("shop")["branch_site"])
                self.buyer.send(f"rest of {lot['lot']}", self._item(lot), lot["part"], left["pieces"], when)

    def _item(self, lot: Mapping[str, Any]) -> int:
        """The loose item of a planted lot."""
        return items().get(part__number=lot["part"], lot__code=lot["lot"], from_kit__isnull=True).pk

    def _planted(self, job: Rebuild) -> None:
        """The planted lot of a job: sent to its site, opened out of its kits, or named by the person who wants it."""
        for part, code in job.row.get("lot_of", {}).items():
            lot = next(row for row in self.lots if row["lot"] == code and row["part"] == part)
            wanted = sum(line.amount for line in job.list().lines if line.part == part)
            for kits in lot.get("kits_used", []):
                if kits["job"] == job.number:
                    self._from_kits(job, lot, kits["kits"])
                    return
            if job.site == document("shop")["branch_site"]:
                self.buyer.send(f"{job.number} {code}", self._item(lot), part, wanted, job.day - timedelta(days=1))
            if lot.get("chosen_by"):
                job.lots, job.lots_reason = {part: [code]}, lot["choice_reason"]
            elif any(other.get("chosen_by") for other in self.lots) or lot.get("kits_used"):
                job.lots, job.lots_reason = {part: [f"item {self._item(lot)}"]}, "loose rings before closed kits"

    def _from_kits(self, job: Rebuild, lot: Mapping[str, Any], count: int) -> None:
        kit = lot["in_kits"][0]["kit"]
        item = items().get(part__number=kit, lot__isnull=False, from_kit__isnull=True).pk
        contents = self.buyer.open_kits(job.number, kit, item, count, job.day)
        job.lots = {part: [f"item {content}"] for part, content in contents.items()}
        job.lots_reason = "the contents of the kits that were opened for this job"


def fill_shelves(staff: Staff, buyer: Buyer, say: Say) -> None:
    """The reference day's shelves: the opening rule over the use of two years, rubber in two lots, and the gauged sets."""
    today = date.fromisoformat(document("shop")["reference_day"])
    wanted = opening_amounts(used_by_part(), 24)
    shares = document("opening")["rule"]["rubber_lots"]
    rubber = {part for part in wanted if (buyer.parts[part]["life"] or {}).get("from") == "cure"} - buyer.planted
    batches: list[dict[str, int]] = [defaultdict(int), defaultdict(int)]
    for part, amount in wanted.items():
        if part in buyer.planted or buyer.parts[part]["tracked_by"] in ("set", "serial"):
            continue
        split = -(-amount * shares[0]["share_percent"] // 100) if part in rubber else 0
        batches[0][part] += split
        batches[1][part] += amount - split
    for number, (batch, days) in enumerate(zip(batches, (120, 5), strict=True)):
        buyer.buy(
            f"opening {number}",
            {part: amount for part, amount in batch.items() if amount},
            buyer.main,
            today - timedelta(days=days),
        )
    by_place: dict[tuple[str, str], list[ReceiveLine]] = defaultdict(list)
    for row in document("opening")["sets"]:
        label = SetLabel(weight_mg=row["weight_with_pin_mg"], weighed="with pin")
        supplier = buyer.parts[row["part"]]["supplier"]
        by_place[supplier, row["place"]].append(
            ReceiveLine(
                row["part"],
                1,
                serial=row["serial"],
                set_label=label,
                total_coins=buyer.parts[row["part"]]["price_coins"],
            )
        )
    for (supplier, place), lines in by_place.items():
        once(receive,
            actor=staff.storekeeper(buyer.main), stamp=stamp(f"sets {place}", moment(today - timedelta(days=5), 10)), supplier=supplier,
            place=place, lines=lines, note="boxed sets",
        )  # fmt: skip
    say(f"{sum(map(len, by_place.values()))} gauged sets and {len(wanted)} parts by the opening rule")
