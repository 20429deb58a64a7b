"""What is found in an engine, comes out, goes in and goes back to its owner, how a job ends, and what the model says of each."""

from __future__ import annotations

from hypothesis import strategies as st
from hypothesis.stateful import initialize, rule

from kits.services.build import PistonIn, record_piston_checks
from kits.services.finish import cancel_job, close_job, tools_back
from kits.services.fit import FitIn, fit
from kits.services.give_back import GiveIn, give_back
from kits.services.heights import let_height_be
from kits.services.strip import FindIn, InspectIn, RemoveIn, find_in_engine, inspect, remove
from tests.model.at_the_shelves import choice
from tests.model.books import NEW, USED
from tests.model.for_the_jobs import JobsWalk, jobs
from tests.model.walk import ASIDE, BAGS, HALVES, JOBS, RINGS, SETS, amounts, label

SET_AT, RING_AT = "CYL-1/set", "CYL-1/ring"
TAKES = {"SET": SET_AT, "RING": RING_AT}
#: Rings of one lot are found in one engine only: whose an old one is would else be anybody's guess.
FOUND = dict(zip(JOBS, RINGS, strict=True))
positions = st.sampled_from([SET_AT, RING_AT])
often = st.sampled_from([True, True, True, False])


class ShopWalk(JobsWalk):
    """Everything of the shelves and the jobs, and what happens in the engines."""

    def __init__(self):
        super().__init__()
        #: Newest word on the ring of a job: (thing, whether it was good). Minute of the newest look at its piston.
        self.inspected, self.looked, self.let_be = {}, {}, {}

    @initialize(rings=st.integers(3, 8), job=jobs, far=st.integers(0, 4))
    def work_has_begun(self, rings, job, far):
        """Of one job something is done already: an old part is out and the kit at its bench, the set is in, all of it, it is closed."""
        self.first_deliveries(rings)
        if far > 0:
            self.find_it(job, "RING", True)
            self.take_out(job, RING_AT, "bench")
            self.serve(job)
        if far > 1:
            self.fit_one(job, "SET S-1")
        if far > 2:
            self.build(job)
        if far > 3:
            self.close_it(job, True)

    def open(self, job):
        return job not in self.books.ends

    @rule(job=jobs, thing=st.sampled_from(["RING", *SETS]), customers=often)
    def find_it(self, job, thing, customers):
        thing = FOUND[job] if thing == "RING" else thing
        part, which = label(thing)
        at, spot = self.stamp(), f"engine {job} {TAKES[part]}"
        said = {"serial": which} if part == "SET" else {"lot": which}
        whose, found_as = ("customer", f"of {job}") if customers else ("shop", USED)
        rows = [self.row(thing, 1, "(before our records)", spot, found_as)]
        may = self.open(job) and not self.books.inside(spot) and self.books.may_go(rows)
        finds = [FindIn(TAKES[part], part, whose=whose, **said)]
        done = self.do("find in engine", may, find_in_engine, stamp=at, job=job, finds=finds)
        if done:
            self.books.write(done.act_id, rows)

    @rule(job=jobs, position=positions, to=st.sampled_from(["bench", "bench", ASIDE, "scrap"]))
    def take_out(self, job, position, to):
        spot = f"engine {job} {position}"
        at, thing = self.stamp(), self.books.inside(spot)
        removals = [RemoveIn(position, to, reason="worn")]
        done = self.do("remove", self.open(job) and bool(thing), remove, stamp=at, job=job, removals=removals)
        if done:
            target = {"bench": f"bench {job}", "scrap": "(scrap)"}.get(to, to)
            self.books.write(done.act_id, [self.row(thing, 1, spot, target)])

    @rule(job=jobs, good=often)
    def look_at_the_ring(self, job, good):
        """Of the lot that is found in this engine, whether one is there or not."""
        item, at = self.item(FOUND[job]), self.stamp()
        words = [InspectIn(RING_AT, "no cuts", "as it was", good, item)]
        done = self.do("inspect", self.open(job) and item > 0, inspect, stamp=at, job=job, inspections=words)
        if done:
            self.inspected[job] = FOUND[job], good

    @rule(which=choice, job=jobs, thing=st.sampled_from([*RINGS, *SETS, *BAGS]), right=often, checked=often)
    def put_in(self, which, job, thing, right, checked):
        thing, place = self.lying(which, ("bench",), (thing, f"bench {job}"))
        self.fit_one(place.removeprefix("bench "), thing, right=right, checked=checked)

    def fit_one(self, job, thing, *, right=True, checked=True):
        """One piece into the position that it is for, or into another."""
        part, place = label(thing)[0], f"bench {job}"
        position = TAKES.get(part, RING_AT)
        if not right:
            position = {SET_AT: RING_AT, RING_AT: "CYL-2/ring"}[position]
        at, item, spot = self.stamp(), self.item(thing), f"engine {job} {position}"
        new = self.books.pieces(thing)[place][NEW] > 0
        if (
            part == "SET"
        ):  # one that was issued for this job stays new to it; no other that was in an engine goes in again
            may = (new or (job, thing) in self.books.picked) and checked
        else:
            may = new or self.inspected.get(job) == (thing, True)
        may = may and right and part in TAKES and thing not in self.books.stopped and not self.books.inside(spot)
        may = may and self.open(job) and self.books.there(thing, place) > 0
        facts = {"fittings": [FitIn(position, item)], "checker": self.checker if checked else None}
        done = self.do("fit", may, fit, stamp=at, job=job, **facts)
        if done:
            self.books.write(done.act_id, [self.row(thing, 1, place, spot)])

    @rule(which=choice, job=jobs, thing=st.sampled_from([*RINGS, *SETS, *HALVES]), amount=amounts, signed=often)
    def to_the_owner(self, which, job, thing, amount, signed):
        own = sorted(self.owners(job))
        thing, place = own[which // 4 % len(own)] if own and which % 4 < 3 else (thing, f"bench {job}")
        self.give(job, thing, place, amount, signed=signed)

    def owners(self, job):
        """What is the customer's own and lies where it can be given back, with its place and amount."""
        there = [spot for spot in self.books.standing() if spot[1] in (f"cart {job}", f"bench {job}", ASIDE)]
        return {spot: own for spot in there if (own := self.books.own(job, *spot))}

    def give(self, job, thing, place, amount, *, signed=True):
        """Back to the customer of the job, from its bench or from quarantine."""
        at, item = self.stamp(), self.item(thing)
        may = item > 0 and self.one_at_most(thing, amount) and self.books.own(job, thing, place) >= amount and signed
        given = [GiveIn(item, amount, "bench" if place.startswith("bench") else place)]
        facts = {"given": given, "signed_by": "R. Alder" if signed else " "}
        done = self.do("give back", may, give_back, stamp=at, job=job, **facts)
        if done:
            self.books.write(done.act_id, [self.row(thing, amount, place, "(owner)")])

    @rule(job=jobs)
    def serve(self, job):
        """Its kit, from the shelf to the bench, without a stop."""
        self.hold_list(job)
        for hold in [one for one, promise in self.books.promises.items() if promise.job == job]:
            self.pick_one(hold, None)
        self.hand_to_the_bench(job)

    @rule(job=jobs)
    def build(self, job):
        """What lies at the bench goes in where there is room, what is left over is cleared away, and the tools go home."""
        place = f"bench {job}"
        at_bench = sorted(thing for thing, where in self.books.standing() if where == place)
        for thing in at_bench:
            if not self.books.inside(f"engine {job} {TAKES.get(label(thing)[0], RING_AT)}"):
                self.fit_one(job, thing)
        for thing in at_bench:
            if own := self.books.own(job, thing, place):
                self.give(job, thing, place, own)
            if left := self.books.there(thing, place):
                self.bring(job, thing, place, left)
        if self.tools.get(job) and self.open(job):
            tools_back(actor=self.people[0], stamp=self.stamp(), job=job, tools=self.tools.pop(job))

    @rule(job=jobs, looked=often)
    def close_it(self, job, looked):
        if looked and self.fitted_in(job, SET_AT) and self.open(job):
            seen = [PistonIn(SET_AT, ["crown"])]
            record_piston_checks(actor=self.checker, stamp=self.stamp(), job=job, checks=seen)
            self.looked[job] = self.minute
            if self.let_be.get(job) != self.fitted_in(
                job, SET_AT
            ):  # nobody gauges in this walk: the checker signs for it
                words = {"position": SET_AT, "reason": "not gauged"}
                let_height_be(actor=self.checker, stamp=self.stamp(), job=job, **words)
                self.let_be[job] = self.fitted_in(job, SET_AT)
        may = self.open(job) and self.finished(job)
        done = self.do("close", may, close_job, stamp=self.stamp(), job=job, checker=self.checker)
        if done:
            self.books.ends[job] = "closed"
            self.books.write(done.act_id, [], for_good=True)

    def fitted_in(self, job, position):
        """The minute at which what sits there was fitted; 0 where nothing does, or it was found there."""
        spot = f"engine {job} {position}"
        thing = self.books.inside(spot)
        last = [row for row in self.books.standing_rows(thing) if row.target == spot][-1:]
        return last[0].minute if last and last[0].origin == f"bench {job}" else 0

    def finished(self, job):
        """A set of ours, looked at since, its height let be; a ring of ours that was not stopped since, or one that was found good; nothing
        lies about, no tool is out."""
        set_at, ring = self.fitted_in(job, SET_AT), self.books.inside(f"engine {job} {RING_AT}")
        ours = self.fitted_in(job, RING_AT) and ring not in self.books.stopped
        ring_in = ours or (ring and not self.fitted_in(job, RING_AT) and self.inspected.get(job) == (ring, True))
        about = [place for _, place in self.books.standing() if place in (f"cart {job}", f"bench {job}")]
        held = [one for one in self.books.promises.values() if one.job == job]
        signed = 0 < set_at < self.looked.get(job, 0) and self.let_be.get(job) == set_at
        return bool(signed and ring_in and not about and not held and not self.tools.get(job))

    @rule(job=jobs, signed=often)
    def call_it_off(self, job, signed):
        at, own = self.stamp(), self.owners(job)
        lies = {
            spot: amount
            for spot, (amount, _) in self.books.standing().items()
            if spot[1] in (f"cart {job}", f"bench {job}")
        }
        ours = [spot for spot, amount in lies.items() if amount > own.get(spot, 0)]
        may = self.open(job) and not ours and not self.tools.get(job) and (signed or not own)
        facts = {"reason": "sold as it is", "signed_by": "R. Alder" if signed else ""}
        done = self.do("cancel", may, cancel_job, stamp=at, job=job, **facts)
        if done:
            self.books.ends[job] = "cancelled"
            for hold in [one for one, promise in self.books.promises.items() if promise.job == job]:
                self.books.end(hold, "released")
            rows = [self.row(thing, amount, place, "(owner)") for (thing, place), amount in own.items()]
            self.books.write(done.act_id, rows, for_good=True)
