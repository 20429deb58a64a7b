"""One job of the demo from request to closed job, told as it goes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from api.demo.bores import BROUGHT, Bores
from api.demo.catalogue import Say, Staff
from api.demo.files import document, moment, once, told_no
from api.demo.rebuild import Rebuild
from api.demo.seal import END, Sealing
from api.demo.stock import Buyer
from api.demo.tell import tell_cart, tell_contents, tell_list, tell_lot, tell_steps
from inventory.domain.rubber import Side
from inventory.queries.catalogue import lots, parts
from inventory.queries.days import shop_day
from inventory.queries.trace import set_history
from inventory.queries.whereabouts import lot_whereabouts
from inventory.services.scrap import scrap
from kits.queries.build import after_run
from kits.queries.engines import engine_by_number
from kits.queries.job_list import document as list_document
from kits.queries.rubber import decide
from kits.queries.scope import job_by_number
from kits.queries.shorts import shorts_of
from kits.queries.trace import engine_contents
from kits.services.build import record_first_run
from kits.services.extras import ask_for_more
from kits.services.fit import FitIn, fit
from kits.services.photo_checks import PhotoIn, record_photo_checks
from kits.services.pick_kit import Scan, pick
from kits.services.strip import FindIn, InspectIn, RemoveIn, find_in_engine, inspect, remove

ZERO_C_MK = 273_150
#: Minutes from the start of the day to the first run, on the next morning: past what the product sheet waits before a start.
NEXT_DAY = 25 * 60


@dataclass
class Day:
    """The job of `day.json`."""

    staff: Staff
    buyer: Buyer
    say: Say

    def __post_init__(self) -> None:
        self.plan: dict[str, Any] = document("day")
        row = next(row for row in document("booked")["jobs"] if row["job"] == self.plan["job"])
        self.job = Rebuild(self.staff, self.buyer, row, moment(row["strip_on"], 8))
        self.fitter, self.checker = self.staff[self.plan["fitter"]], self.staff[self.plan["checker"]]
        self.job.crew = (self.fitter, self.checker, self.staff[self.plan["storekeeper"]])
        self.kept: list[FitIn] = []

    def run(self) -> None:
        """Everything, in order."""
        self.request()
        sets = self.lay_out()
        held = self.hold(sets)
        handed = self.bring()
        self.build(held)
        self.finish(held, handed)
        self.trace()

    def head(self, text: str) -> None:
        """A heading."""
        self.say("")
        self.say(text)

    def request(self) -> None:
        """The bench asks; the list answers."""
        self.head(f"{self.fitter} asks for the kit of job {self.job.number}, engine {self.job.row['engine']}")
        self.job.settle_choices()
        for kept in self.plan["kept"]:
            self._keep(kept)
        self.job.supply()

    def _keep(self, kept: dict[str, Any]) -> None:
        """What comes off goes into a numbered rack: found, removed with its mark, inspected, each to go back into its own place."""
        number, what = self.job.number, f"kept {kept['name']}s"
        positions = [
            position.name
            for position in self.job.list().scope.family.map.positions
            if position.group == kept["group"] and position.member == kept["name"]
        ]
        found = once(
            find_in_engine,
            actor=self.fitter,
            stamp=self.job.stamp(f"find {what}", 5),
            job=number,
            finds=[FindIn(position, kept["part"], condition="as found at the strip") for position in positions],
        )["found"]
        side = kept.get("side", "")
        tags = {position: position.partition("/")[0] if side else "" for position in positions}
        once(remove,
            actor=self.fitter, stamp=self.job.stamp(f"remove {what}", 10), job=number,
            removals=[RemoveIn(position, tag=tags[position], side=side) for position in positions],
        )  # fmt: skip
        once(
            inspect,
            actor=self.fitter,
            stamp=self.job.stamp(f"inspect {what}", 15),
            job=number,
            inspections=[InspectIn(row["position"], kept["limit"], kept["result"], True, row["item"]) for row in found],
        )
        self.kept += [FitIn(row["position"], row["item"], tag=tags[row["position"]], side=side) for row in found]
        marked = f", numbers on the {side}" if side else ""
        self.say(
            f"  {len(found)} {kept['name']}s found{marked}, racked by their places, inspected: they go back where they came from"
        )

    def lay_out(self) -> dict[str, Any]:
        """Liners and bores are read; the layout is accepted, which holds its sets; they come to the bench first."""
        self.head("Which set in which bore")
        made = Bores(self.job, self.say, self.plan["gauged"]).run()
        self.bores = {mark["position"]: mark["serial"] for mark in made["marks"]}
        self.job.bring_list(made, "sets", BROUGHT)
        return made

    def hold(self, sets: dict[str, Any]) -> dict[str, Any]:
        """The rest of the list, held on real lots and tubes; with the sets of the layout."""
        rest = self.job.hold()
        laid = [{"tube": "", "use_by": None, "wanted": row["part"]} | row for row in sets["held"]]
        held = rest | {"held": laid + rest["held"]}
        self.rest = rest
        listed = list_document(self.job.list())
        self.head(f"Pick list {held['number']} of {self.job.number}, in order of work; because says why")
        tell_list(self.say, listed, held["held"])
        self._tell_rubber()
        self.say("  special tools to lend: " + ", ".join(tool["tool"] for tool in held["tools"]))
        self.say(
            "  short: "
            + ("; ".join(f"{one['part']} {one['amount']}: {one['why']}" for one in held["shorts"]) or "nothing")
        )
        self.head("The cart, top tray first")
        tell_cart(self.say, held["cart"], listed["lines"])
        return held

    def _tell_rubber(self) -> None:
        """Whether one ring may sit where it goes, by its fluid, its heat and what it is fitted with."""
        asked = self.plan["rubber"]
        at = self.job.list().scope.family.map.position(asked["position"])
        said = decide(parts().get(number=asked["part"]), Side(at.side), at.hottest_mk, asked["lubricant"])
        hottest = f", {(at.hottest_mk - ZERO_C_MK) // 1000} °C at the hottest" if at.hottest_mk is not None else ""
        self.say(
            f"  {said.part} ({said.compound}) at {at.name}, side {at.side}{hottest}, with {asked['lubricant']}: {said.line}"
        )

    def bring(self) -> dict[str, Any]:
        """Picked by scanning (one wrong scan on the way), handed over against two signatures."""
        storekeeper = self.job.people()[2]
        rest = self.rest
        first = rest["held"][0]
        self.head(f"{storekeeper} picks by scanning")
        refused = told_no(
            pick,
            actor=storekeeper,
            stamp=self.job.stamp("wrong scan", 80),
            pick_list=rest["pick_list"],
            scans=[Scan(first["hold"], rest["held"][-1]["lot"] or "another label")],
        )
        self.say(f"  stopped: {refused}")
        picked = self.job.pick(rest)
        self.say(f"  {len(picked['picked'])} lines picked, {picked['left']} left")
        self.job.look_again(rest)
        self.say(f"  {self.job.people()[1]} looks at the sets and bearings on the cart")
        handed = self.job.hand_over(rest)
        self.say(
            f"  handed over to {self.job.people()[0]}: {len(handed['moved'])} things, tools {', '.join(handed['tools'])}"
        )
        for one in handed["tools_short"]:
            self.say(f"  tool short: {one['tool']}, with {', '.join(one['with']) or 'nobody: the crib has none'}")
        return dict(handed)

    def build(self, held: dict[str, Any]) -> None:
        """One seal dropped; fitting by the layout, with a wrong bore on the way."""
        self.head("Fitting by the layout")
        (bore, _), (_, other) = list(self.bores.items())[:2]
        item = next(row["item"] for row in held["held"] if row["serial"] == other)
        self._try_wrong_bore(bore, item)
        swap = self._one_more(held)
        sealing = Sealing(self.job, self.say, self.staff[self.plan["sealing"]["helper"]], *self._bay(), told=True)
        every = self.job.fittings_of(held, self.bores, swap)
        later = sealing.later()
        fitted = self.job.fit("fit", 300, [one for one in every if one.position not in later])["fitted"]
        back = once(
            fit,
            actor=self.fitter,
            stamp=self.job.stamp("kept back", 310),
            job=self.job.number,
            fittings=self.kept,
            checker=self.checker,
        )["fitted"]
        self.head(f"{len(fitted)} fitted new, {len(back)} back in their own places")
        for what, seen in self._look().items():
            self.say(f"  {self.checker} looks, with a photo: {what}: {len(seen)} seen good")
        self.job.test_jacket()
        self.say("  water jacket tested before the sump goes on: dry below each liner")
        self.head(
            f"The sealed joints, bay at {' and '.join(self._bay())}: every question first, then the nozzle is cut"
        )
        closed = sealing.run([one for one in every if one.position in later])
        self.say(f"  {closed} positions sealed and filled")
        self.job.ends = END

    def _look(self) -> dict[str, list[str]]:
        """What the family wants looked at by another person before it is closed over. What → where."""
        back = {one.position for one in self.kept}
        checks = self.job.list().scope.family.build.photo_checks
        found = {check.what: sorted(check.positions & back) for check in checks if check.positions & back}
        looks = [
            PhotoIn(what, at, f"photos/{self.job.number}/{at.replace('/', '-')}.jpg")
            for what, where in found.items()
            for at in where
        ]
        if looks:
            once(record_photo_checks,
                actor=self.checker, stamp=self.job.stamp("photos", 312), job=self.job.number, looks=looks,
            )  # fmt: skip
        return found

    def _bay(self) -> tuple[str, str]:
        return self.plan["sealing"]["temperature"], self.plan["sealing"]["humidity"]

    def _try_wrong_bore(self, bore: str, item: int) -> None:
        refused = told_no(
            fit,
            actor=self.fitter,
            stamp=self.job.stamp("wrong bore", 210),
            job=self.job.number,
            fittings=[FitIn(bore, item)],
            checker=self.checker,
        )
        self.say(f"  stopped: {refused}")

    def _one_more(self, held: dict[str, Any]) -> dict[str, int]:
        """One piece is dropped: scrapped, and one more is asked for, held, picked, brought. Position → the new item."""
        extra = self.plan["extra"]
        row = next(row for row in held["held"] if row["part"] == extra["part"])
        once(
            scrap,
            actor=self.staff.manager,
            stamp=self.job.stamp("dropped", 220),
            place=f"bench {self.job.number}",
            item_id=row["item"],
            amount=extra["amount"],
            reason=extra["reason"],
            who_pays="job",
            subject=self.job.number,
        )
        more = once(
            ask_for_more,
            actor=self.fitter,
            stamp=self.job.stamp("extra", 225),
            job=self.job.number,
            part=extra["part"],
            amount=extra["amount"],
            reason=extra["reason"],
        )
        where = more["held"][0]["place"]
        self.say(f"  one {extra['part']} {extra['reason']}: one more from {where}")
        self.job.bring_list(more, "extra", 230)
        return {row["positions"][-1][0]: more["held"][0]["item"]}

    def finish(self, held: dict[str, Any], handed: dict[str, Any]) -> None:
        """Pistons looked at, rests away, tools back, closed by the second person; then the first run."""
        looked_at = self.job.check_pistons()
        self.say(f"  {looked_at} pistons checked by {self.checker}")
        self.job.tidy(held)
        self.job.count_tools(handed)
        self.job.close()
        self.say(f"job {self.job.number} closed by {self.fitter}, checked by {self.checker}")
        run_on = shop_day(self.job.stamp("first run", NEXT_DAY).occurred_at)
        ran = once(
            record_first_run,
            actor=self.fitter,
            stamp=self.job.stamp("first run", NEXT_DAY),
            job=self.job.number,
            run_on=run_on,
            values=self.plan["first_run"],
            released_by=self.checker,
        )
        values = ", ".join(f"{one['name']} {one['typed']}" for one in ran["values"])
        self.say(f"first run on {run_on}, when the sheet's time had passed: {values}; released by {ran['released_by']}")
        for due in after_run(job_by_number(self.job.number), run_on):
            hours = f", at {due['due_hours']} h at the latest" if due["due_hours"] is not None else ""
            self.say(f"  then {due['what']} by {due['due_on']}{hours}")

    def trace(self) -> None:
        """What is in the engine, where one set has been, where one lot is."""
        engine = engine_by_number(self.job.row["engine"])
        contents = engine_contents(engine)
        self.head(f"Build sheet of {engine.number}: {len(contents)} positions")
        tell_contents(self.say, contents)
        serial = next(iter(self.bores.values()))
        self.head(f"Where set {serial} has been")
        tell_steps(self.say, set_history(None, serial).steps)
        row = next(row for row in contents if row.part == self.plan["trace_lot_of"])
        found = lot_whereabouts(lots().get(part__number=row.part, code=row.lot).pk)
        self.head(f"Where lot {row.lot} of {row.part} is")
        tell_lot(self.say, found)


def tell_shorts(say: Say, jobs: list[str]) -> None:
    """What the booked jobs are short of."""
    for number in jobs:
        job = job_by_number(number)
        answer = shorts_of(job, job.strip_on)
        rows = answer["shorts"]
        words = [f"{row['short_shown']} of {row['part']}" for row in rows[:8]]
        words += [f"{row['short']} of {row['part']}, lent to {row['to_job']}" for row in answer["lent"] if row["short"]]
        said = ", ".join(words) or "nothing: it can start complete"
        say(f"  {number} ({answer['fit_on']}): {said}" + (f" and {len(rows) - 8} more" if len(rows) > 8 else ""))
