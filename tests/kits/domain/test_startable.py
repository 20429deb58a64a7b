"""Which steps can begin: told cases, and a twin that follows every chain of waiting by itself."""

from hypothesis import given
from hypothesis import strategies as st

from kits.domain.startable import Stage, before, prefix, startable

A, B, C, D = (("A", number) for number in (10, 20, 30, 40))


def test_a_step_begins_when_its_things_and_those_before_it_are_here():
    stages = [Stage(A, (), {}), Stage(B, (A,), {"RING": 2}), Stage(C, (A,), {}), Stage(D, (B,), {})]
    found = startable(stages)
    assert [one.can_start for one in found] == [True, False, True, False]
    assert found[1].why == ("RING: 2 missing",)
    assert found[3].waits_for == (B,)
    assert prefix(found) == 1


def test_what_is_not_here_is_said_as_people_write_it():
    (one,) = startable([Stage(A, (), {"SOAP": 3000, "RING": 2}, shown={"SOAP": "3 mL"})])
    assert one.why == ("SOAP: 3 mL missing", "RING: 2 missing")


def test_a_bead_says_that_it_cannot_wait_and_a_piece_outside_says_until_when():
    bead, out = startable(
        [Stage(A, (), {"NOZZLE": 1}, bead=True), Stage(B, (), {}, out=("head is out until 2025-01-20",))]
    )
    assert bead.why == ("NOZZLE: 1 missing", "a bead cannot wait: the joint is not begun on part of its things")
    assert (out.can_start, out.why) == (False, ("head is out until 2025-01-20",))


def test_a_step_that_asks_for_nothing_on_this_job_holds_nobody_up_but_what_it_waits_for_does():
    assert startable([Stage(B, (A,), {})])[0].can_start
    idle = Stage(B, (A,), {}, asked=False)
    waits, begins = (startable([Stage(A, (), lacking), idle, Stage(C, (B,), {})]) for lacking in ({"RING": 1}, {}))
    assert [(one.key, one.can_start, one.waits_for) for one in waits] == [(A, False, ()), (C, False, (A,))]
    assert [(one.key, one.can_start) for one in begins] == [(A, True), (C, True)]
    assert (prefix(waits), prefix(begins)) == (0, 2)


def test_every_step_before_some_steps_is_found_however_far_back():
    after = {A: (), B: (A,), C: (B,), D: ()}
    assert before(after, [C]) == {A, B}
    assert before(after, [A, D]) == frozenset()
    assert before(after, [B, C]) == {A, B}


ROWS = st.lists(st.tuples(st.booleans(), st.sets(st.integers(0, 7), max_size=3), st.booleans()), max_size=8)


@given(ROWS)
def test_the_twin_follows_every_chain(rows):
    """A row: everything of it is here, the steps it waits for, whether it asks for anything (then only can it lack something)."""
    stages = [
        Stage(("T", at), tuple(("T", one) for one in sorted(after) if one < at), {} if whole or not asked else {"P": 1}, asked=asked)
        for at, (whole, after, asked) in enumerate(rows)
    ]  # fmt: skip

    def whole_back(at: int) -> bool:
        whole, after, asked = rows[at]
        return (whole or not asked) and all(whole_back(one) for one in after if one < at)

    found = startable(stages)
    wanted = [at for at, (_, _, asked) in enumerate(rows) if asked]
    assert [(one.key, one.can_start) for one in found] == [(("T", at), whole_back(at)) for at in wanted]
    assert prefix(found) == next((n for n, at in enumerate(wanted) if not whole_back(at)), len(wanted))
    assert all(rows[at][2] and not whole_back(at) for one in found for _, at in one.waits_for)
