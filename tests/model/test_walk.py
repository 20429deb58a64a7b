"""Random walks of real acts, step by step beside a small model of the books that was written independently."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta

import pytest
from hypothesis import HealthCheck, Phase, settings
from hypothesis.stateful import run_state_machine_as_test

from kits.services.families import enter_procedure
from tests.factories import workshop
from tests.factories.stores import PartFactory, PersonFactory, SupplierFactory, stamp, technician
from tests.factories.stores_kits import kit
from tests.model.books import Books, Promise, Row
from tests.model.in_the_engine import RING_AT, SET_AT, ShopWalk
from tests.model.walk import ASIDE, CHECKER, JOBS, WALKED

WALKS = settings(
    max_examples=12,
    stateful_step_count=20,
    deadline=None,
    suppress_health_check=list(HealthCheck),
    phases=[Phase.explicit, Phase.reuse, Phase.generate, Phase.shrink],
)
IN_THE_ENGINE = {"find in engine", "remove", "inspect", "fit", "give back", "close", "cancel"}
ACTS = {
    "receive", "transfer", "release-quarantine", "scrap", "count", "open-kit", "break-set", "stop-lot", "free-lot", "correct",
    "hold", "extra", "pick", "release", "hand over", "return",
    *IN_THE_ENGINE,
}  # fmt: skip


#: Rings that may go in again after a good inspection.
WORN = workshop.operations()[1] | {"code": "WORN"}
WORN["lines"] = [one | {"class": "inspect"} for one in WORN["lines"]]


@pytest.fixture(scope="module")
def begun(shop_database):
    """Three jobs with different days of fitting, and a box that holds two bags."""
    SupplierFactory()
    PartFactory(number="BAG")
    kit("BOX", {"BAG": 2})
    enter_procedure(actor=PersonFactory(), stamp=stamp(), document=WORN)
    for late, number in enumerate(JOBS):
        workshop.job(number, "SETS", WORN["code"], fit_on=workshop.FIT_ON + timedelta(days=30 * late))
    workshop.checker(CHECKER)
    technician()


@pytest.fixture
def three_jobs(begun):
    """Where every walk begins, with nothing counted yet."""
    WALKED.clear()


def test_the_books_and_the_model_agree_after_every_step(three_jobs):
    run_state_machine_as_test(ShopWalk, settings=WALKS)
    assert sum(times for (_, was_done), times in WALKED.items() if was_done) >= 100
    assert sum(times for (_, was_done), times in WALKED.items() if not was_done) >= 30


@contextmanager
def told(rings: int) -> Iterator[ShopWalk]:
    """A walk whose steps are told here: compared and audited at its end, then undone."""
    walk = ShopWalk()
    try:
        walk.first_deliveries(rings=rings)
        yield walk
        walk.the_shelves_are_as_the_model_says()
    finally:
        walk.teardown()


def test_every_act_of_the_walk_is_done_and_refused_in_one_that_is_told(three_jobs):
    with told(rings=8) as walk:
        walk.receive_set("SET S-1", "R2")
        walk.receive_lot("RING B2", "R2", 3)
        anything, elsewhere = 0, 3
        walk.carry(anything, "RING B1", "R1", "R2", 2)
        walk.carry(elsewhere, "RING B2", "R2", ASIDE, 1)
        walk.carry(elsewhere, "RING B2", "R1", ASIDE, 1)
        walk.release_from_quarantine(elsewhere, "RING B2", "R1", 1)
        walk.release_from_quarantine(elsewhere, "RING B2", "R1", 1)
        walk.open_box(elsewhere, "BOX K1", "R1", 1)
        walk.open_box(elsewhere, "BOX K1", "R2", 1)
        walk.hold_list("J1")
        walk.hold_list("J1")
        walk.one_more("J2", "RING", 4)
        walk.one_more("J3", "BAG", 4)
        walk.to_the_bench(elsewhere, "J1")
        first = min(walk.books.promises)
        while walk.books.promises:
            walk.pick_it(anything, None)
        walk.pick_it(elsewhere, None)
        walk.give_up(elsewhere)
        assert walk.books.ended[first] == "picked"
        walk.one_more("J2", "RING", 2)
        walk.give_up(anything)
        walk.to_the_bench(elsewhere, "J1")
        walk.bring_back(elsewhere, "J1", "SET S-1", 1)
        walk.bring_back(elsewhere, "J1", "SET S-1", 1)
        walk.stop_it("BAG in-K1")
        walk.stop_it("BAG in-K1")
        walk.bring_back(elsewhere, "J3", "BAG in-K1", 4)
        walk.free_it(elsewhere, "BAG in-K1")
        walk.free_it(elsewhere, "BAG in-K1")
        walk.count_it(elsewhere, "RING B1", "R1", 1)
        walk.count_it(elsewhere, "SET S-1", "R1", 1)
        walk.throw_away(elsewhere, "RING B1", "R1", 1)
        walk.throw_away(elsewhere, "RING B1", "R1", 1)
        walk.take_back(len(walk.books.done) - 1)
        walk.take_back(len(walk.books.done) - 1)
        walk.break_it("SET S-1", "liner", [])
        walk.break_it("SET S-1", "piston", [])
    assert {name for name, was_done in WALKED if was_done} == ACTS - IN_THE_ENGINE
    assert {name for name, was_done in WALKED if not was_done} == ACTS - IN_THE_ENGINE - {"extra"}


def test_every_act_on_an_engine_is_done_and_refused_in_one_that_is_told(three_jobs):
    anything, elsewhere = 0, 3
    with told(rings=8) as walk:
        # Another part is in, and the job has nothing at its bench.
        walk.find_it("J1", "RING", True)
        walk.find_it("J1", "RING", True)
        walk.find_it("J2", "SET S-1", True)
        walk.find_it("J1", "SET S-2", True)
        walk.put_in(elsewhere, "J1", "RING B1", True, True)
        walk.take_out("J1", RING_AT, "bench")
        walk.take_out("J1", RING_AT, "bench")
        walk.take_out("J1", SET_AT, ASIDE)
        walk.release_from_quarantine(elsewhere, "SET S-2", "R1", 1)
        # The old ring goes in only when it was found good; the old set by no word.
        walk.serve("J1")
        walk.throw_away(elsewhere, "RING B1", "bench J1", 1)
        assert walk.books.old("RING B1", "bench J1") == 0
        walk.find_it("J3", "RING", True)
        walk.take_out("J3", RING_AT, "bench")
        walk.put_in(elsewhere, "J3", "RING B3", True, True)
        walk.look_at_the_ring("J3", False)
        walk.put_in(elsewhere, "J3", "RING B3", True, True)
        walk.look_at_the_ring("J3", True)
        walk.put_in(elsewhere, "J3", "RING B3", True, True)
        walk.find_it("J3", "SET S-3", True)
        walk.take_out("J3", SET_AT, "bench")
        walk.put_in(elsewhere, "J3", "SET S-3", True, True)
        # A set needs a second person, and its own bore; a stopped ring goes nowhere.
        walk.put_in(elsewhere, "J1", "SET S-1", True, False)
        walk.put_in(elsewhere, "J1", "SET S-1", False, True)
        walk.stop_it("RING B1")
        walk.put_in(elsewhere, "J1", "RING B1", True, True)
        walk.free_it(anything, "RING B1")
        walk.put_in(elsewhere, "J1", "RING B1", False, True)
        # Fitted dry and taken out again: new for this job, and never stock again.
        walk.put_in(elsewhere, "J1", "SET S-1", True, True)
        walk.break_it("SET S-1", "pin", [])
        walk.take_out("J1", SET_AT, "bench")
        walk.put_in(elsewhere, "J1", "SET S-1", True, True)
        walk.close_it("J1", True)
        walk.build("J1")
        walk.close_it("J1", False)
        walk.stop_it("RING B1")
        walk.close_it("J1", True)
        walk.free_it(anything, "RING B1")
        walk.close_it("J1", True)
        assert walk.books.ends == {"J1": "closed"}
        walk.close_it("J1", True)
        # What came with the engine goes back to its owner, of an ended job too; what the job put in does not.
        walk.to_the_owner(elsewhere, "J1", "SET S-1", 1, True)
        walk.give("J1", "SET S-2", ASIDE, 1, signed=False)
        walk.give("J1", "SET S-2", ASIDE, 1)
        walk.look_at_the_ring("J1", True)
        walk.call_it_off("J3", False)
        walk.call_it_off("J3", True)
        walk.call_it_off("J3", True)
        assert walk.books.where("SET S-3") == []
    assert {name for name, was_done in WALKED if was_done} >= IN_THE_ENGINE
    assert {name for name, was_done in WALKED if not was_done} >= IN_THE_ENGINE


def test_what_was_in_an_engine_is_no_stock_however_it_got_lost_on_the_way(three_jobs):
    with told(rings=3) as walk:
        walk.find_it("J1", "SET S-3", True)
        walk.take_out("J1", SET_AT, "bench")
        for found in (0, 1):
            walk.count_it(3, "SET S-3", "bench J1", found)
        walk.bring("J1", "SET S-3", "bench J1", 1)
        assert WALKED["return", False] == 1
        walk.find_it("J2", "RING", False)
        walk.take_out("J2", RING_AT, ASIDE)
        for found in (0, 1):
            walk.count_it(3, "RING B2", ASIDE, found)
        walk.release_from_quarantine(3, "RING B2", "R1", 1)
        walk.give("J2", "RING B2", ASIDE, 1)
        assert (WALKED["release-quarantine", False], WALKED["give back", False]) == (1, 1)


def test_what_was_taken_out_is_not_put_back_by_a_word_where_something_else_sits(three_jobs):
    with told(rings=3) as walk:
        walk.find_it("J2", "RING", True)
        walk.take_out("J2", RING_AT, "bench")
        taking_out = len(walk.books.done) - 1
        walk.serve("J2")
        walk.fit_one("J2", "RING B1")
        walk.take_back(taking_out)
        assert WALKED["correct", False] == 1
        walk.take_out("J2", RING_AT, "scrap")
        walk.take_back(taking_out)
        assert WALKED["correct", True] == 1


def test_a_delivery_that_was_used_before_the_next_one_came_cannot_be_taken_back(three_jobs):
    with told(rings=8) as walk:
        walk.throw_away(3, "RING B1", "R1", 6)
        walk.receive_lot("RING B1", "R1", 8)
        walk.take_back(0)
        assert WALKED["correct", False] == 1
        walk.take_back(len(walk.books.done) - 1)
        assert WALKED["correct", True] == 1


def test_whoever_fits_latest_gives_way_first_and_no_more_than_must(three_jobs):
    with told(rings=6) as walk:
        for job in ("J2", "J3", "J1"):
            walk.one_more(job, "RING", 2)
        first, late, early = sorted(walk.books.promises)
        walk.count_it(3, "RING B1", "R1", 5)
        assert walk.books.ended == {late: "made impossible"}
        walk.throw_away(3, "RING B1", "R1", 2)
        assert walk.books.ended == {late: "made impossible", first: "made impossible"}
        assert list(walk.books.promises) == [early]


def test_a_broken_set_comes_back_by_no_way(three_jobs):
    with told(rings=3) as walk:
        walk.throw_away(3, "SET S-1", "R1", 1)
        scrapping = max(walk.books.done)
        walk.count_it(3, "SET S-1", "R2", 1)
        walk.break_it("SET S-1", "pin", [])
        walk.receive_set("SET S-1", "R1")
        walk.count_it(3, "SET S-1", "R1", 1)
        walk.take_back(sorted(walk.books.done).index(scrapping))
        walk.release_from_quarantine(3, "SET S-1/liner", "R1", 1)
        refused = {name for name, was_done in WALKED if not was_done}
        assert refused == {"receive", "count", "correct", "release-quarantine"}


def test_the_model_itself_adds_up():
    books = Books(single={"SET S-1"})
    books.write(1, [Row(1, "RING B1", 5, "(supplier)", "R1")])
    books.promises = {7: Promise("RING B1", "R1", 2, "J1", 10), 8: Promise("RING B1", "R1", 1, "J2", 20)}
    assert (books.there("RING B1", "R1"), books.held("RING B1", "R1"), books.free("RING B1", "R1")) == (5, 3, 2)
    assert books.may_go([Row(2, "RING B1", 2, "R1", "R2")])
    assert not books.may_go([Row(2, "RING B1", 3, "R1", "R2")])
    books.make_room("RING B1", "R1", 2)
    assert (books.ended, list(books.promises), books.shorts) == ({8: "made impossible"}, [7], 1)
    # Five came at 1, five at 3, six went at 4: the first five cannot turn out never to have come.
    books.end(7, "released")
    books.write(3, [Row(3, "RING B1", 5, "(supplier)", "R1")])
    books.write(4, [Row(2, "RING B1", 4, "R1", "(scrap)")])
    assert not books.may_go(books.reversed(1))
    assert books.may_go(books.reversed(3))
    books.write(5, [Row(5, "SET S-1", 1, "(supplier)", "R1")])
    assert not books.may_go([Row(6, "SET S-1", 1, "(supplier)", "R2")])
    assert books.gone() == {("RING B1", "(supplier)"): -10, ("RING B1", "(scrap)"): 4, ("SET S-1", "(supplier)"): -1}
