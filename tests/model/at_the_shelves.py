"""The acts at the shelves, and what the model says of each."""

from __future__ import annotations

from hypothesis import strategies as st
from hypothesis.stateful import rule

from inventory.domain.storage import RULES
from inventory.models import Stop
from inventory.services.break_set import break_set
from inventory.services.correct import correct
from inventory.services.count import CountLine, count
from inventory.services.open_item import open_kit
from inventory.services.receive import ReceiveLine, receive
from inventory.services.scrap import scrap
from inventory.services.stops import free_lot, stop_lot
from inventory.services.transfer import ReleaseLine, TransferLine, release_quarantine, transfer
from tests.model.walk import (
    ASIDE,
    BAGS,
    BOXES,
    HALVES,
    JOBS,
    RINGS,
    SETS,
    SHELVES,
    Walk,
    amounts,
    label,
)

things = st.sampled_from([*RINGS, *SETS, *BOXES, *BAGS])
shelves = st.sampled_from(SHELVES)
EVERYWHERE = (*SHELVES, "cart", "bench")
#: A count says how these are stored, where any of them were counted.
LOOKED_AT = sorted(RULES)
at_hand = st.sampled_from([*SHELVES, *(f"{what} {job}" for what in ("cart", "bench") for job in JOBS)])
choice = st.integers(0, 1000)


class StoresWalk(Walk):
    """What happens at the shelves."""

    def first_deliveries(self, rings):
        """What every walk begins with."""
        self.receive_lot("RING B1", "R1", rings)
        self.receive_lot("BOX K1", "R1", 2)
        self.receive_set("SET S-1", "R1")

    @rule(thing=st.sampled_from([*RINGS, *BOXES]), place=shelves, amount=amounts)
    def receive_lot(self, thing, place, amount):
        part, lot = label(thing)
        inner = {"BAG": f"in-{lot}"} if part == "BOX" else {}
        lines = [ReceiveLine(part, amount, lot=lot, inner_lots=inner)]
        self.received(thing, place, amount, lines)

    @rule(thing=st.sampled_from(SETS), place=shelves)
    def receive_set(self, thing, place):
        self.received(thing, place, 1, [ReceiveLine("SET", 1, serial=label(thing)[1])])

    def received(self, thing, place, amount, lines):
        at = self.stamp()
        rows = [self.row(thing, amount, "(supplier)", ASIDE if self.books.stops(thing) else place)]
        where = {"place": place, "quarantine": ASIDE}
        done = self.do("receive", self.books.may_go(rows), receive, stamp=at, supplier="maker", lines=lines, **where)
        if done:
            self.books.write(done.act_id, rows)

    @rule(which=choice, thing=things, origin=shelves, goes_to=st.sampled_from([*SHELVES, ASIDE]), amount=amounts)
    def carry(self, which, thing, origin, goes_to, amount):
        thing, origin = self.lying(which, SHELVES, (thing, origin))
        at, item = self.stamp(), self.item(thing)
        rows = [self.row(thing, amount, origin, goes_to)]
        may = origin != goes_to and item > 0 and self.one_at_most(thing, amount) and self.books.may_go(rows)
        lines = [TransferLine(item, amount, origin, goes_to)]
        done = self.do("transfer", may, transfer, stamp=at, lines=lines, note="set apart")
        if done:
            self.books.write(done.act_id, rows)

    def one_at_most(self, thing, amount):
        return amount == 1 or thing not in self.books.single

    @rule(which=choice, thing=st.sampled_from([*RINGS, *SETS, *BOXES, *BAGS, *HALVES]), place=shelves, amount=amounts)
    def release_from_quarantine(self, which, thing, place, amount):
        thing, _ = self.lying(which, (ASIDE,), (thing, ASIDE))
        at, item = self.stamp(), self.item(thing)
        rows = [self.row(thing, amount, ASIDE, place)]
        may = item > 0 and thing not in HALVES and thing not in self.books.stopped and self.one_at_most(thing, amount)
        may = may and self.books.there(thing, ASIDE) - self.books.old(thing, ASIDE) >= amount
        lines = [ReleaseLine(item, amount, ASIDE, place)]
        done = self.do(
            "release-quarantine", may and self.books.may_go(rows), release_quarantine, person=1, stamp=at, lines=lines
        )
        if done:
            self.books.write(done.act_id, rows)

    @rule(which=choice, thing=things, place=at_hand, amount=amounts)
    def throw_away(self, which, thing, place, amount):
        thing, place = self.lying(which, EVERYWHERE, (thing, place))
        at, item = self.stamp(), self.item(thing)
        there = self.books.there(thing, place)
        may = item > 0 and self.one_at_most(thing, amount) and there >= amount
        facts = {"place": place, "item_id": item, "amount": amount, "reason": "bent", "who_pays": "shop"}
        facts |= {"no_photo": "the walk has no camera"}
        done = self.do("scrap", may, scrap, stamp=at, **facts)
        if done:
            self.books.make_room(thing, place, there - amount)
            self.books.write(done.act_id, [self.row(thing, amount, place, "(scrap)")])

    @rule(which=choice, thing=things, place=at_hand, counted=st.integers(0, 6))
    def count_it(self, which, thing, place, counted):
        thing, place = self.lying(which, EVERYWHERE, (thing, place))
        at, item = self.stamp(), self.item(thing)
        there = self.books.there(thing, place)
        found = [self.row(thing, counted - there, "(count difference)", place)] if counted > there else []
        if found and self.books.was_inside(thing) and not self.books.lost_at(thing) <= {place}:
            return  # nobody could say whether it is the old one that is found
        may = item > 0 and self.one_at_most(thing, max(1, counted)) and (not found or self.books.may_go(found))
        lines = [CountLine(counted, item_id=item)]
        done = self.do("count", may, count, stamp=at, place=place, lines=lines, reason="counted", looked_at=LOOKED_AT)
        if done and counted < there:
            self.books.make_room(thing, place, counted)
            found = [self.row(thing, there - counted, place, "(count difference)")]
        if done:
            self.books.write(done.act_id, found)

    @rule(which=choice, box=st.sampled_from(BOXES), place=at_hand, amount=st.integers(1, 2))
    def open_box(self, which, box, place, amount):
        boxes = sorted(spot for spot in self.books.standing() if spot[0] in BOXES and spot[1] != ASIDE)
        box, place = boxes[which // 4 % len(boxes)] if boxes and which % 4 < 3 else (box, place)
        at, item = self.stamp(), self.item(box)
        may = item > 0 and self.books.there(box, place) >= amount
        bag = f"BAG in-{label(box)[1]}"
        labels = {"inner_lots": {"BAG": label(bag)[1]}}
        done = self.do("open-kit", may, open_kit, stamp=at, item_id=item, place=place, amount=amount, **labels)
        if done:
            out = self.row(bag, 2 * amount, "(conversion)", place)
            self.books.write(done.act_id, [self.row(box, amount, place, "(conversion)"), out])

    @rule(
        thing=st.sampled_from(SETS),
        damaged=st.sampled_from(["liner", "piston", "pin", ""]),
        missing=st.sampled_from([[], [], ["pin"], ["piston", "pin"], ["liner", "piston", "pin"]]),
    )
    def break_it(self, thing, damaged, missing):
        at, where = self.stamp(), self.books.where(thing)
        named = len(missing) < 3 and damaged not in missing and bool(damaged or missing)
        may = bool(where) and not where[0].startswith("engine") and thing not in self.books.broken and named
        facts = {
            "part": "SET",
            "serial": label(thing)[1],
            "damaged": damaged,
            "reason": "dropped",
            "orphan_place": ASIDE,
            "missing": missing,
            "no_photo": "the walk has no camera",
        }
        done = self.do("break-set", may, break_set, stamp=at, **facts)
        if not done:
            return
        self.books.make_room(thing, where[0], 0)
        rows = [self.row(thing, 1, where[0], "(conversion)")]
        for half in ("liner", "piston", "pin"):
            target = "(scrap)" if half == damaged else "(count difference)" if half in missing else ASIDE
            rows.append(self.row(f"{thing}/{half}", 1, "(conversion)", target))
        self.books.write(done.act_id, rows, for_good=True)
        self.books.broken.add(thing)

    @rule(thing=st.sampled_from([*RINGS, *BAGS]))
    def stop_it(self, thing):
        at, lot = self.stamp(), self.lot(thing)
        may = lot > 0 and thing not in self.books.stopped
        done = self.do("stop-lot", may, stop_lot, stamp=at, lot_id=lot, reason="leaks reported")
        if done:
            self.books.write(done.act_id, [])
            self.books.stopped.add(thing)
            promised = dict(self.books.promises)
            for shelf in SHELVES:
                self.books.make_room(thing, shelf, 0)
            self.replanned(done.act_id, {pk: one for pk, one in promised.items() if pk not in self.books.promises})
            self.books.short_of(thing)

    @rule(which=choice, thing=st.sampled_from([*RINGS, *BAGS]))
    def free_it(self, which, thing):
        thing = sorted(self.books.stopped)[0] if self.books.stopped and which % 4 < 3 else thing
        at, lot = self.stamp(), self.lot(thing)
        newest = Stop.objects.filter(lot_id=lot).order_by("-pk").first()
        may = thing in self.books.stopped
        stop = newest.pk if newest else 0
        done = self.do("free-lot", may, free_lot, stamp=at, lot_id=lot, stop_id=stop, reason="tested well")
        if done:
            self.books.write(done.act_id, [])
            self.books.stopped.remove(thing)

    @rule(which=choice)
    def take_back(self, which):
        acts = sorted(self.books.done)
        act, at = acts[which % len(acts)], self.stamp()
        rows = self.books.reversed(act)
        once = act not in self.books.never_taken_back | self.books.taken_back and not self.books.of_ended_job(act)
        filled = any(row.target.startswith("engine") and self.books.inside(row.target) for row in rows)
        may = once and self.books.may_go(rows) and not filled
        if may and self.books.nobody_could_say(act):
            return
        done = self.do("correct", may, correct, stamp=at, act_id=act, reason="booked by mistake")
        if done:
            self.books.taken_back.add(act)
            self.books.corrections.add(done.act_id)
            self.books.write(done.act_id, rows, for_good=True)
