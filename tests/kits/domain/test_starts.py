"""When each step can begin: told cases, and a twin that goes back over every step that stands before."""

from dataclasses import replace
from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from kits.domain.starts import Awaited, Work, starts

A, B, C, D = (("A", number) for number in (10, 20, 30, 40))
ON = date(2025, 1, 15)


def day(number):
    return date(2025, 1, number)


def test_the_latest_of_parts_steps_before_and_pieces_due_back():
    """Worked example (invented): rings on the 18th, the crank on the 22nd, the sump after both."""
    rings, crank = Awaited("2 RING", day(18)), Awaited("crank at the grinder", day(22), due=True)
    found = starts([Work(A, (), (rings,)), Work(B, (), (crank,)), Work(C, (A, B)), Work(D)], ON)
    assert [(one.key, one.day, one.because) for one in found] == [
        (A, day(18), ("2 RING: here 2025-01-18",)),
        (B, day(22), ("crank at the grinder: due 2025-01-22",)),
        (C, day(22), ("after A/20",)),
        (D, ON, ()),
    ]
    assert not any(one.overdue for one in found)


def test_on_its_day_a_piece_is_due_and_a_day_later_overdue_and_so_is_what_waits_for_it():
    works = [Work(A, (), (Awaited("crank", day(15), due=True),)), Work(B, (A,))]
    assert [(one.day, one.because, one.overdue) for one in starts(works, ON)] == [(ON, (), ()), (ON, (), ())]
    late = starts(works, day(16))
    assert [(one.day, one.because, one.overdue) for one in late] == [
        (day(16), ("crank: due 2025-01-15, overdue, not before 2025-01-16",), ("crank",)),
        (day(16), ("after A/10",), ("crank",)),
    ]


def test_what_arrives_is_never_overdue():
    assert starts([Work(A, (), (Awaited("RING", day(1)),))], ON)[0].overdue == ()


def test_without_a_day_nothing_after_it_has_one():
    unknown, known = Awaited("1 CAM", None), Awaited("2 RING", day(20))
    found = starts([Work(A, (), (known, unknown)), Work(B, (A,), (known,)), Work(C)], ON)
    assert [(one.day, one.because) for one in found] == [
        (None, ("1 CAM: no day is known",)),
        (None, ("after A/10",)),
        (ON, ()),
    ]


DAYS = st.integers(-10, 20).map(lambda days: ON + timedelta(days=days))
AWAITED = st.builds(Awaited, st.sampled_from(["RING", "crank"]), st.one_of(st.none(), DAYS), st.booleans())


@st.composite
def jobs(draw):
    works = []
    for at in range(draw(st.integers(0, 7))):
        after = draw(st.sets(st.integers(0, at - 1), max_size=3)) if at else ()
        awaited = draw(st.lists(AWAITED, max_size=3))
        works.append(Work(("T", at), tuple(("T", one) for one in sorted(after)), tuple(awaited)))
    return works


@given(jobs())
def test_the_twin_looks_at_everything_that_stands_before(works):
    by_key = {work.key: work for work in works}

    def all_awaited(key):
        return [*by_key[key].awaited, *(one for before in by_key[key].after for one in all_awaited(before))]

    for one in starts(works, ON):
        its = all_awaited(one.key)
        unknown = any(thing.day is None for thing in its)
        assert one.day == (None if unknown else max([ON, *(thing.day for thing in its)]))
        assert set(one.overdue) == {
            thing.what for thing in its if thing.due and thing.day is not None and thing.day < ON
        }


def later(one, other):
    """Whether the one is no earlier than the other; not known is later than every day."""
    return one is None or (other is not None and one >= other)


@given(jobs())
def test_a_step_is_never_before_the_day_or_those_that_it_waits_for(works):
    found = {one.key: one.day for one in starts(works, ON)}
    for work in works:
        assert later(found[work.key], ON)
        assert all(later(found[work.key], found[before]) for before in work.after)


@given(jobs(), st.data())
def test_a_later_day_never_makes_a_step_earlier(works, data):
    named = [
        (at, n) for at, work in enumerate(works) for n in range(len(work.awaited)) if work.awaited[n].day is not None
    ]
    if not named:
        return
    at, n = data.draw(st.sampled_from(named))
    moved = works[at].awaited[n]
    moved = replace(moved, day=moved.day + timedelta(days=data.draw(st.integers(1, 30))))
    awaited = (*works[at].awaited[:n], moved, *works[at].awaited[n + 1 :])
    changed = [*works[:at], replace(works[at], awaited=awaited), *works[at + 1 :]]
    assert all(later(new.day, old.day) for new, old in zip(starts(changed, ON), starts(works, ON), strict=True))


@given(jobs(), st.integers(0, 30))
def test_asked_a_day_later_no_step_is_earlier(works, days):
    then = starts(works, ON + timedelta(days=days))
    assert all(later(new.day, old.day) for new, old in zip(then, starts(works, ON), strict=True))
