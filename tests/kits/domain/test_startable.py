"""Which steps can begin: told cases, and a twin that follows every chain of waiting by itself."""

from datetime import date

from hypothesis import given
from hypothesis import strategies as st

from kits.domain.startable import Stage, prefix, startable

A, B, C, D = (("A", number) for number in (10, 20, 30, 40))


def test_a_step_begins_when_its_things_and_those_before_it_are_here():
    stages = [Stage(A, (), {}), Stage(B, (A,), {"RING": 2}), Stage(C, (A,), {}), Stage(D, (B,), {})]
    found = startable(stages)
    assert [one.can_start for one in found] == [True, False, True, False]
    assert found[1].why == ("RING: 2 missing",)
    assert found[3].waits_for == (B,)
    assert prefix(found) == 1


def test_a_bead_says_that_it_cannot_wait_and_a_piece_outside_says_until_when():
    bead, out = startable([Stage(A, (), {"NOZZLE": 1}, bead=True), Stage(B, (), {}, out_until=date(2025, 1, 20))])
    assert bead.why == ("NOZZLE: 1 missing", "a bead cannot wait: the joint is not begun on part of its things")
    assert (out.can_start, out.why) == (False, ("a piece is out until 2025-01-20",))


def test_a_step_that_asks_for_nothing_on_this_job_holds_nobody_up():
    assert startable([Stage(B, (A,), {})])[0].can_start


@given(st.lists(st.tuples(st.booleans(), st.sets(st.integers(0, 7), max_size=3)), max_size=8))
def test_the_twin_follows_every_chain(rows):
    stages = [
        Stage(("T", at), tuple(("T", one) for one in sorted(after) if one < at), {} if whole else {"PART": 1})
        for at, (whole, after) in enumerate(rows)
    ]

    def whole_back(at: int) -> bool:
        return rows[at][0] and all(whole_back(one) for one in rows[at][1] if one < at)

    found = startable(stages)
    assert [one.can_start for one in found] == [whole_back(at) for at in range(len(rows))]
    first_stop = next((at for at in range(len(rows)) if not whole_back(at)), len(rows))
    assert prefix(found) == first_stop
