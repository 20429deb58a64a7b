"""The acts for the jobs, and what the model says of each."""

from __future__ import annotations

from hypothesis import strategies as st
from hypothesis.stateful import rule

from inventory.domain.errors import DomainError
from inventory.models import Hold
from kits.models import Job
from kits.queries.belongings import finds_of
from kits.queries.issued import issued_to
from kits.services.extras import ask_for_more
from kits.services.hold_kit import hold_kit
from kits.services.left_over import ReturnIn, return_unused
from kits.services.pick_kit import Scan, hand_over, pick
from kits.services.release import release
from tests.factories.looks import looked_at
from tests.model.at_the_shelves import StoresWalk, choice
from tests.model.walk import ASIDE, BAGS, JOBS, RINGS, SETS, SHELVES, WALKED, amounts, label

jobs = st.sampled_from(JOBS)


class JobsWalk(StoresWalk):
    """What happens at the shelves, on the carts and at the benches."""

    def __init__(self):
        super().__init__()
        #: Special tools that went along with the carts of a job.
        self.tools = {}

    def teardown(self) -> None:
        """Whatever happened: what each job was issued is accounted for, as the model has it."""
        try:
            for number in JOBS:
                self.compare_issued(number)
        finally:
            super().teardown()

    def compare_issued(self, number):
        """issued = fitted + returned + scrapped + still here, and each of them beside the model's own rows."""
        passed, names = self.books.over_the_edge(number), self.known()
        told = {names[row["item"]]: row for row in issued_to(Job.objects.get(number=number))}
        assert told.keys() == passed.keys()
        for thing, row in told.items():
            ways, shelves = passed[thing], (*SHELVES, ASIDE)
            assert row["issued"] == sum(ways[f"from {place}"] for place in shelves)
            assert row["returned"] == sum(ways[f"to {place}"] for place in shelves)
            assert (row["scrapped"], row["taken_apart"]) == (ways["to (scrap)"], ways["to (conversion)"])
            assert (row["counted_over"], row["counted_short"]) == (
                ways["from (count difference)"], ways["to (count difference)"],
            )  # fmt: skip
            inside = sum(amount for way, amount in ways.items() if way.startswith("to engine"))
            came_out = sum(amount for way, amount in ways.items() if way.startswith("from engine"))
            assert (row["fitted"], row["out_of_engine"], row["given_back"]) == (inside, came_out, ways["to (owner)"])
            assert row["still_here"] == sum(self.books.there(thing, f"{kind} {number}") for kind in ("cart", "bench"))
            assert row["adds_up"]
        assert all(row["adds_up"] for row in finds_of(Job.objects.get(number=number)))

    def of(self, part):
        """Whole things of a part."""
        return [thing for thing in (*RINGS, *SETS, *BAGS) if label(thing)[0] == part]

    @rule(job=jobs)
    def hold_list(self, job):
        before = {part: self.books.usable(self.of(part), SHELVES) for part in ("RING", "SET")}
        try:
            done = hold_kit(actor=self.people[0], stamp=self.stamp(), job=job)
        except DomainError as error:
            # What the list still asks for is another story than that of the books; here only: no harm was done.
            assert error.code == ("job-ended" if job in self.books.ends else "nothing-to-hold")
            WALKED["hold", False] += 1
            return
        assert job not in self.books.ends
        WALKED["hold", True] += 1
        self.books.write(done.act_id, [], for_good=True)
        self.promised(job, done.body["held"])
        self.lists[job] = done.body["pick_list"] or self.lists.get(job)  # none is made where nothing was held
        for short in done.body["shorts"]:
            held = sum(one["amount"] for one in done.body["held"] if one["part"] == short["part"])
            assert held == before[short["part"]], "short, while something usable was left on the shelf"

    @rule(job=jobs, part=st.sampled_from(["RING", "BAG"]), amount=amounts)
    def one_more(self, job, part, amount):
        usable = self.books.usable(self.of(part), SHELVES)
        facts = {"job": job, "part": part, "amount": amount, "reason": "dropped"}
        done = self.do("extra", job not in self.books.ends, ask_for_more, stamp=self.stamp(), **facts)
        if not done:
            return
        held = done.body["held"]
        assert sum(one["amount"] for one in held) == min(amount, usable)
        assert done.body["short"] == amount - min(amount, usable)
        self.books.write(done.act_id, [], for_good=True)
        self.promised(job, held)
        self.lists[job] = done.body["pick_list"] or self.lists.get(job)  # none is made where nothing was held

    def some_hold(self, which):
        """An open hold three times in four, else any; 0 where there is none."""
        holds = sorted([*self.books.promises, *self.books.ended])
        holds = sorted(self.books.promises) if self.books.promises and which % 4 < 3 else holds
        return holds[which // 4 % len(holds)] if holds else 0

    @rule(which=choice, amount=st.one_of(st.none(), st.integers(1, 3)))
    def pick_it(self, which, amount):
        hold = self.some_hold(which)
        if hold:
            self.pick_one(hold, amount)

    def pick_one(self, hold, amount):
        """So much on a hold, or all of it."""
        promise = self.books.promises.get(hold)
        row = Hold.objects.select_related("job_hold").get(pk=hold)
        thing, listed = self.known()[row.item_id], row.job_hold.pick_list_id
        at, wanted = self.stamp(), amount or row.amount
        may = promise is not None and wanted <= promise.amount
        scans = [Scan(hold, label(thing)[1], amount)]
        done = self.do("pick", may, pick, stamp=at, pick_list=listed, scans=scans)
        if done:
            self.books.end(hold, "picked")
            self.books.write(done.act_id, [self.row(thing, wanted, promise.place, f"cart {promise.job}")])

    @rule(which=choice)
    def give_up(self, which):
        hold = self.some_hold(which)
        if not hold:
            return
        may = hold in self.books.promises
        done = self.do("release", may, release, stamp=self.stamp(), hold=hold, reason="not now")
        if done:
            self.books.end(hold, "released")
            self.books.write(done.act_id, [], for_good=True)

    @rule(which=choice, job=jobs)
    def to_the_bench(self, which, job):
        carts = sorted({place for _, place in self.books.standing() if place.startswith("cart")})
        job = carts[which // 4 % len(carts)].removeprefix("cart ") if carts and which % 4 < 3 else job
        self.hand_to_the_bench(job)

    def hand_to_the_bench(self, job):
        """Everything on the cart of a job."""
        if job not in self.lists:
            return
        at, cart, bench = self.stamp(), f"cart {job}", f"bench {job}"
        lies = {thing: amount for (thing, place), (amount, _) in self.books.standing().items() if place == cart}
        ended = job in self.books.ends
        if self.lists[job] is not None and not ended:  # nothing at all could be held: there is nothing to look at
            looked_at(self.lists[job], at.occurred_at)
        facts = {"pick_list": self.lists[job], "received_by": self.people[1], "missing": ["RING", "SET", "BAG"]}
        may = bool(lies) and not self.books.stopped & set(lies) and not ended
        done = self.do("hand over", may, hand_over, stamp=at, **facts)
        if done:
            self.tools[job] = self.tools.get(job, []) + done.body["tools"]
            self.books.write(done.act_id, [self.row(thing, amount, cart, bench) for thing, amount in lies.items()])

    @rule(which=choice, job=jobs, thing=st.sampled_from([*RINGS, *SETS, *BAGS]), amount=amounts)
    def bring_back(self, which, job, thing, amount):
        thing, place = self.lying(which, ("cart", "bench"), (thing, f"bench {job}"))
        self.bring(place.partition(" ")[2], thing, place, amount)

    def bring(self, job, thing, place, amount):
        """Back from the cart or the bench of the job."""
        origin = place.partition(" ")[0]
        at, item, there = self.stamp(), self.item(thing), self.books.there(thing, place)
        old = self.books.old(thing, place)
        was_in = amount > there - old
        target = ASIDE if was_in or thing in self.books.stopped else "R2"
        # Who brings back what came out of the engine was issued some of it, or it is no left-over of the kit.
        may = self.one_at_most(thing, amount) and there >= amount and (not was_in or (job, thing) in self.books.picked)
        back = ReturnIn(item, amount, origin, bag_sealed=True, to_place="R2")
        may = may and item > 0 and job not in self.books.ends
        done = self.do("return", may, return_unused, stamp=at, job=job, returns=[back])
        if done:
            self.books.write(done.act_id, [self.row(thing, amount, place, target)])
