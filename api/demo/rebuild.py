"""One job of the demo shop, from booking to closing, through the real services."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any

from api.demo.catalogue import Staff
from api.demo.files import moment, once, stamp
from api.demo.stock import Buyer
from inventory.domain.catalogue import LOOKED_AT_TWICE
from inventory.queries.days import shop_day
from inventory.queries.outcomes import outcome_of
from inventory.services.open_tube import open_tube
from inventory.services.scrap import scrap
from kits.queries.at_positions import kept_on_bench, on_bench, solid_at
from kits.queries.build import sets_fitted
from kits.queries.documents import family_of
from kits.queries.job_list import JobList, job_list
from kits.queries.materials import volume_ul
from kits.queries.scope import job_by_number
from kits.services.build import PistonIn, record_leak_test, record_piston_checks
from kits.services.finish import close_job, tools_back
from kits.services.fit import FitIn, fit
from kits.services.hold_kit import hold_kit
from kits.services.jobs import FindingIn, book_job, record_choice, record_findings
from kits.services.look_again import LookIn, look_again
from kits.services.pick_kit import Scan, hand_over, pick
from kits.services.strip import RemoveIn, remove


@dataclass(slots=True)
class Rebuild:
    """A job as the demo does it. `row` is its row of the jobs file; times run on from `at`; `ends`: minutes until it is tidied.

    tubes  item of an opened tube at the bench → its number
    """

    staff: Staff
    buyer: Buyer
    row: Mapping[str, Any]
    at: datetime
    lots: Mapping[str, Sequence[str]] = field(default_factory=dict)
    lots_reason: str = ""
    crew: tuple[Any, Any, Any] | None = None
    ends: int = 400
    tubes: dict[int, str] = field(default_factory=dict)

    @property
    def number(self) -> str:
        """The job's number."""
        return str(self.row["job"])

    @property
    def site(self) -> str:
        """The site it is done at."""
        return str(self.row["site"])

    @property
    def day(self) -> date:
        """The day of the work."""
        return shop_day(self.at)

    def people(self) -> tuple[Any, Any, Any]:
        """Fitter, checker, storekeeper: at the marine bench its own, at the main shop the technicians in turn."""
        if self.crew is not None:
            return self.crew
        fitters = self.staff.fitters(self.site)
        fitter = fitters[sum(map(ord, self.number)) % len(fitters)]
        return fitter, self.staff.checker(self.site, self.day, fitter), self.staff.storekeeper(self.site)

    def stamp(self, what: str, minutes: int) -> Any:
        """The stamp of one act of this job."""
        return stamp(f"{self.number} {what}", self.at + timedelta(minutes=minutes))

    def list(self) -> JobList:
        """The job's list now."""
        return job_list(job_by_number(self.number), self.day)

    def book(self, strip_on: date, fit_on: date, new_engine: bool = True) -> Any:
        """Book the job with what is known."""
        return once(
            book_job,
            actor=self.staff.manager,
            stamp=stamp(f"{self.number} book", moment(strip_on, 6, 30)),
            number=self.number,
            engine_number=self.row["engine"],
            site=self.site,
            operations=self.row["operations"],
            strip_on=strip_on,
            fit_on=fit_on,
            findings=findings_of(self.row),
            new_engine=new_engine,
            complaint=self.row.get("note") or self.row.get("type", ""),
        )

    def find_at_strip(self, findings: Sequence[Mapping[str, Any]]) -> None:
        """What the strip finds beyond the job's card."""
        if findings:
            once(
                record_findings,
                actor=self.people()[0],
                stamp=self.stamp("found at the strip", 10),
                job=self.number,
                findings=findings_of({"findings": findings}),
            )

    def settle_choices(self) -> None:
        """Measured choices: the first grade that fits, no shim, as far as the demo's measurements go."""
        listed = self.list()
        for number, one in enumerate(listed.settled.open_choices):
            alternative = "none" if one.rule == "at-most-one" else one.candidates[0][0]
            once(
                record_choice,
                actor=self.people()[0],
                stamp=self.stamp(f"choice {number} {one.choice} {one.place}", 20),
                job=self.number,
                choice=one.choice,
                place=one.place,
                alternative=alternative,
                reason="measured at the strip",
            )

    def supply(self, days: int = 2) -> None:
        """What the shelves lack for the list is delivered before the work; nothing more once the kit is held."""
        if outcome_of(self.stamp("hold", 60).key) is not None:
            return
        listed = self.list()
        missing = self.buyer.lacking(listed)
        if missing:
            self.buyer.buy(f"{self.number} buy", missing, self.site, self.day - timedelta(days=days))

    def clear_old(self, claim: Mapping[str, str]) -> None:
        """Before a second rebuild: what sits at the listed positions comes out; `claim`: lots kept as evidence, and where."""
        listed = self.list()
        positions = {key[0] for line in listed.lines for key in line.keys}
        removals = [
            RemoveIn(row.position, to=claim.get(row.lot, "scrap"), reason="taken out at the second strip")
            for row in solid_at(listed.job, positions)
        ]
        if removals:
            once(remove, actor=self.people()[0], stamp=self.stamp("remove old", 30), job=self.number, removals=removals)

    def hold(self) -> dict[str, Any]:
        """Hold the kit; the pick list."""
        return once(
            hold_kit,
            actor=self.people()[0],
            stamp=self.stamp("hold", 60),
            job=self.number,
            lots=self.lots,
            lots_reason=self.lots_reason,
        )

    def pick(self, held: Mapping[str, Any]) -> Any:
        """Pick every line by its label."""
        return once(
            pick,
            actor=self.people()[2],
            stamp=self.stamp("pick", 90),
            pick_list=held["pick_list"],
            scans=[Scan(row["hold"], label_of(row)) for row in held["held"]],
        )

    def look_again(self, held: Mapping[str, Any], what: str = "look again", minutes: int = 100) -> None:
        """The checker looks at the sets and bearings of a list, on the cart; one more that was asked for names no part of its own."""
        parts = self.buyer.parts
        rows = [row for row in held["held"] if "part" in row]
        looks = [LookIn(row["hold"]) for row in rows if parts[row["part"]]["kind"] in LOOKED_AT_TWICE]
        if looks:
            once(
                look_again,
                actor=self.people()[1],
                stamp=self.stamp(what, minutes),
                pick_list=held["pick_list"],
                looks=looks,
            )

    def hand_over(self, held: Mapping[str, Any]) -> Any:
        """Cart to bench, signed by storekeeper and fitter."""
        return once(
            hand_over,
            actor=self.people()[2],
            stamp=self.stamp("hand over", 110),
            pick_list=held["pick_list"],
            received_by=self.people()[0],
            missing=sorted({row["part"] for row in held["shorts"]}),
        )

    def open_tubes(self, held: Mapping[str, Any]) -> dict[str, tuple[int, int]]:
        """Open the closed tubes at the bench: position → (item of the tube, its microlitres); `tubes` says their numbers."""
        parts = self.buyer.parts
        served: dict[str, tuple[int, int]] = {}
        for row in held["held"]:
            part = parts[row["wanted"]]
            if not part.get("net_ul") or part["base"] != "piece":
                continue
            item, content, number = row["item"], row["amount"], row["tube"]
            if not number:
                done = once(
                    open_tube,
                    actor=self.people()[0],
                    stamp=self.stamp(f"open {row['hold']}", 150),
                    item_id=row["item"],
                    place=f"bench {self.number}",
                    tube_number=f"{self.number}-{row['hold']}",
                )
                item, content, number = done["item"], done["content_ul"], done["tube"]
            self.tubes[item] = str(number)
            for position, _, _ in row["positions"]:
                served.setdefault(position, (item, content))
        return served

    def bring_list(self, held: Mapping[str, Any], what: str, minutes: int) -> None:
        """Pick a short list, look at its sets and bearings, and hand it over five minutes later."""
        rows = [{**row, "tube": "", "part": ""} for row in held["held"]]
        once(
            pick,
            actor=self.people()[2],
            stamp=self.stamp(f"pick {what}", minutes),
            pick_list=held["pick_list"],
            scans=[Scan(row["hold"], label_of(row)) for row in rows],
        )
        self.look_again(held, f"look again {what}", minutes + 3)
        once(
            hand_over,
            actor=self.people()[2],
            stamp=self.stamp(f"hand over {what}", minutes + 5),
            pick_list=held["pick_list"],
            received_by=self.people()[0],
        )

    def fittings_of(
        self, held: Mapping[str, Any], bores: Mapping[str, str] | None = None, swap: Mapping[str, int] | None = None
    ) -> Sequence[FitIn]:
        """Everything that was handed over, as it is fitted; bores: position → serial; swap: position → another item."""
        listed = self.list()
        tubes = self.open_tubes(held)
        bench = {row["serial"]: row["item"] for row in held["held"] if row["serial"]}
        fittings = []
        for row in held["held"]:
            for position, make, amount in row["positions"]:
                if position in tubes and row["item"] not in bench.values() and self._poured(row):
                    continue
                item = bench[bores[position]] if bores and position in bores else row["item"]
                fittings.append(FitIn(position, (swap or {}).get(position, item), amount, make))
        for line in listed.lines:
            for key, amount in zip(line.keys, line.amounts, strict=True):
                if key[0] in tubes and line.base != "piece":
                    poured = volume_ul(listed.parts[line.part], amount, line.base)
                    fittings.append(FitIn(key[0], tubes[key[0]][0], poured, key[1]))
        return fittings

    def fit(self, what: str, minutes: int, fittings: Sequence[FitIn]) -> Any:
        """Fit, checked by the second person."""
        fitter, checker, _ = self.people()
        return once(
            fit, actor=fitter, stamp=self.stamp(what, minutes), job=self.number, fittings=fittings, checker=checker
        )

    def _poured(self, row: Mapping[str, Any]) -> bool:
        part = self.buyer.parts[row["wanted"]]
        return part["base"] == "piece" and bool(part.get("net_ul"))

    def put_back_sets(self) -> None:
        """Kept sets that were lifted go back into their own bores, checked by another person."""
        rows = kept_on_bench(job_by_number(self.number))
        if rows:
            fitter, checker, _ = self.people()
            once(
                fit,
                actor=fitter,
                stamp=self.stamp("fit kept sets", 280),
                job=self.number,
                fittings=[FitIn(row.position, row.item_id, row.amount) for row in rows],
                checker=checker,
            )

    def test_jacket(self, pressure: str = "1.0 bar", drop: str = "0.02 bar") -> None:
        """The water jacket is tested where liners were lifted, before anything closes over it from below."""
        leak = family_of(job_by_number(self.number).family_revision).build.leak
        if leak is not None and self.list().explosion.closure.places(leak.when):
            once(
                record_leak_test, actor=self.people()[0], stamp=self.stamp("leak test", 315), job=self.number,
                pressure=pressure, held="15 min", drop=drop, temperature="20 °C",
            )  # fmt: skip

    def check_pistons(self) -> int:
        """A second person looks at every piston that went in. How many pistons."""
        job = job_by_number(self.number)
        family = family_of(job.family_revision)
        _, checker, _ = self.people()
        sets = list(sets_fitted(job)) if family.build.piston_items else []
        if sets:
            once(
                record_piston_checks,
                actor=checker,
                stamp=self.stamp("pistons", 320),
                job=self.number,
                checks=[PistonIn(position, family.build.piston_items) for position in sets],
            )
        return len(sets)

    def tidy(self, held: Mapping[str, Any]) -> None:
        """Rests of opened tubes are scrapped, tools counted back."""
        for number, row in enumerate(on_bench(job_by_number(self.number))):
            once(
                scrap,
                actor=self.staff.manager,
                stamp=self.stamp(f"scrap rest {row.item_id}", self.ends + number),
                place=f"bench {self.number}",
                item_id=row.item_id,
                amount=row.amount,
                reason="rest of an opened tube: nozzle cured",
                who_pays="job",
                subject=self.number,
            )

    def count_tools(self, handed: Mapping[str, Any]) -> None:
        """The special tools go back to the crib."""
        if handed["tools"]:
            once(
                tools_back,
                actor=self.people()[2],
                stamp=self.stamp("tools back", self.ends + 30),
                job=self.number,
                tools=handed["tools"],
            )

    def close(self) -> Any:
        """Close the job, checked by the second person."""
        fitter, checker, _ = self.people()
        return once(
            close_job, actor=fitter, stamp=self.stamp("close", self.ends + 50), job=self.number, checker=checker
        )


def findings_of(row: Mapping[str, Any]) -> list[FindingIn]:
    """The findings of a row of the jobs file, place by place."""
    return [FindingIn(one["code"], place) for one in row["findings"] for place in one["places"]]


def label_of(row: Mapping[str, Any]) -> str:
    """What the label of a held thing says."""
    return str(row["serial"] or row["tube"] or row["lot"] or row["part"])
