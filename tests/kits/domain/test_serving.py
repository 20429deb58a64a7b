"""What of a list is served, against a twin that counts piece by piece."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from datetime import date

from hypothesis import given, settings
from hypothesis import strategies as st

from kits.domain.rests import Pouring
from kits.domain.sealant import DEFAULT_RULES
from kits.domain.serving import Demand, FittedAt, Lying, Promised, serve, still_fitted

ONE, TWO, THREE = ("CYL-1/ring", 1), ("CYL-2/ring", 1), ("CYL-3/ring", 1)


def ring(key, part="RING", amount=1):
    return Demand(key, part, amount, "piece")


def promise(name, *keys, item=7, open=False, amount=None, part="RING", wanted="RING", newness=1):
    shares = tuple((position, make, 1) for position, make in keys)
    return Promised(name, item, part, wanted, shares, len(keys) if amount is None else amount, open, newness)


def lying(amount, item=7, part="RING"):
    return Lying(item, part, amount)


def test_held_picked_and_fitted_each_serve_once():
    found = serve(
        [ring(ONE), ring(TWO), ring(THREE)],
        [promise(1, ONE), promise(2, TWO), promise(3, THREE, open=True)],
        [FittedAt(ONE, 7, "RING", 1)],
        [lying(1)],
    )
    assert found.amounts == {(ONE, "RING"): 1, (TWO, "RING"): 1, (THREE, "RING"): 1}
    assert (found.spare, found.idle) == ({}, {})


def test_what_left_the_bench_serves_nothing_newest_list_first():
    promises = [promise(1, ONE, TWO, newness=1), promise(2, THREE, newness=2)]
    found = serve([ring(ONE), ring(TWO), ring(THREE)], promises, [], [lying(2)])
    assert found.amounts == {(ONE, "RING"): 1, (TWO, "RING"): 1}


def test_the_lots_of_two_positions_were_exchanged_and_the_rest_of_one_brought_back():
    # Item 8 went where item 7 was meant to go; 7 was brought back: position 2 lacks its ring.
    promises = [promise(1, ONE, item=7), promise(2, TWO, item=8)]
    found = serve([ring(ONE), ring(TWO)], promises, [FittedAt(ONE, 8, "RING", 1)], [])
    assert found.amounts == {(ONE, "RING"): 1}


def test_what_serves_nothing_any_more_serves_another_position_else_it_is_spare():
    promises = [promise(1, ONE, TWO), promise(2, THREE, open=True)]
    found = serve([ring(TWO), ring(("CYL-4/ring", 1))], promises, [], [lying(2)])
    assert found.amounts == {(TWO, "RING"): 1, (("CYL-4/ring", 1), "RING"): 1}
    assert (found.spare, found.idle) == ({}, {2: 1})
    found = serve([ring(TWO)], promises, [], [lying(2)])
    assert (found.spare, found.idle) == ({7: 1}, {2: 1})


def test_an_extra_takes_the_place_of_what_was_scrapped():
    extra = Promised(3, 7, "RING", "RING", ((*TWO, 0),), 1, True, 2)
    found = serve([ring(ONE), ring(TWO)], [promise(1, ONE, TWO), extra], [], [lying(1)])
    assert found.amounts == {(ONE, "RING"): 1, (TWO, "RING"): 1}
    assert found.idle == {}
    # Nothing was scrapped: the extra serves nothing on the list.
    found = serve([ring(ONE), ring(TWO)], [promise(1, ONE, TWO), extra], [], [lying(2)])
    assert found.idle == {3: 1}


def test_a_replacement_serves_what_it_was_issued_for_fitted_or_not():
    promises = [promise(1, ONE, part="NEW"), promise(2, TWO, part="NEW", item=8)]
    found = serve([ring(ONE), ring(TWO)], promises, [FittedAt(ONE, 7, "NEW", 1)], [lying(1, 8, "NEW")])
    assert found.amounts == {(ONE, "RING"): 1, (TWO, "RING"): 1}
    # Another part than the list asks for now serves nothing.
    found = serve([ring(ONE, "OTHER")], promises, [FittedAt(ONE, 7, "NEW", 1)], [])
    assert found.amounts == {}


def bead(key=("SUMP/bead", 1), amount=10_461):
    return Demand(key, "TUBE", amount, "microlitre", poured=True)


def tube(name, *keys, item=9, open=False, opened=False, amount=1, newness=1):
    shares = tuple((position, make, 10_461) for position, make in keys)
    return Promised(name, item, "TUBE", "TUBE", shares, amount, open, newness, opened, True, (5, 6))


def test_a_closed_tube_serves_its_joint_whole_and_still_does_once_it_is_opened():
    joint = ("SUMP/bead", 1)
    for there in (Lying(9, "TUBE", 1, False, (5, 6)), Lying(12, "TUBE", 80_000, True, (5, 6))):
        found = serve([bead()], [tube(1, joint)], [], [there])
        assert found.amounts == {(joint, "TUBE"): 10_461}
        assert (found.spare, found.idle) == ({}, {})
    assert serve([bead()], [tube(1, joint)], [], []).amounts == {}


def test_the_rest_of_a_tube_is_spare_once_its_joints_are_closed():
    joint = ("SUMP/bead", 1)
    rest = Lying(12, "TUBE", 60_000, True, (5, 6))
    found = serve([bead()], [tube(1, joint)], [FittedAt(joint, 12, "TUBE", 10_000)], [rest])
    assert found.amounts == {(joint, "TUBE"): 10_461}
    assert found.spare == {12: 60_000}


def test_a_joint_planned_with_two_tubes_wants_both():
    joint = ("SUMP/bead", 1)
    promises = [tube(1, joint, item=11, opened=True, amount=14_000), tube(2, joint)]
    both = [Lying(11, "TUBE", 14_000, True, (5, 6)), Lying(9, "TUBE", 1, False, (5, 6))]
    assert serve([bead()], promises, [], both).amounts == {(joint, "TUBE"): 10_461}
    assert serve([bead()], promises, [], both[:1]).amounts == {}
    # Planned anew with one tube: that one is enough.
    again = [*promises, tube(3, joint, item=13, newness=2)]
    there = [both[0], Lying(13, "TUBE", 1, False, (5, 6))]
    assert serve([bead()], again, [], there).amounts == {(joint, "TUBE"): 10_461}


def test_a_tube_held_for_a_joint_that_is_not_asked_for_any_more_is_idle():
    found = serve([], [tube(1, ("SUMP/bead", 1), open=True)], [], [])
    assert (found.amounts, found.idle) == ({}, {1: 1})


RTV = {"TUBE": Pouring(80_000, DEFAULT_RULES, date(2025, 1, 15))}
COVER = ("TIMING-COVER/bead", 1)


def cover(amount=4043):
    return Demand(COVER, "TUBE", amount, "microlitre", poured=True, nozzle="TIMING-COVER")


def test_a_joint_that_nothing_was_brought_for_is_served_by_the_rest_of_the_tube_held_picked_or_opened():
    held, picked = tube(1, ("SUMP/bead", 1), open=True), tube(1, ("SUMP/bead", 1))
    there = {
        "held": (held, []),
        "picked": (picked, [Lying(9, "TUBE", 1, False, (5, 6))]),
        "opened": (picked, [Lying(12, "TUBE", 80_000, True, (5, 6), opened_on=date(2025, 1, 14))]),
    }
    for how, (promised, lies) in there.items():
        found = serve([bead(), cover()], [promised], [], lies, RTV)
        assert found.amounts == {(("SUMP/bead", 1), "TUBE"): 10_461, (COVER, "TUBE"): 4043}, how
        assert (found.spare, found.idle) == ({}, {})
        # Without figures of how it is poured nobody says that the rest is enough.
        assert (COVER, "TUBE") not in serve([bead(), cover()], [promised], [], lies).amounts


def test_a_rest_that_is_too_small_serves_nothing_and_is_handed_on():
    # 23 000 hold 18 200 usable; the sump draws 13 530, the cover wants 7 380
    promised = tube(1, ("SUMP/bead", 1), item=11, opened=True, amount=23_000)
    lies = [Lying(11, "TUBE", 23_000, True, (5, 6), opened_on=date(2025, 1, 10))]
    found = serve([bead(), cover()], [promised], [], lies, RTV)
    assert (COVER, "TUBE") not in found.amounts
    assert [(one.product, one.usable_ul, one.opened) for one in found.rests] == [("TUBE", 4670, True)]
    assert found.spare == {}
    # Nobody knows since when it is open, or it cannot be weighed: it closes nothing more.
    undated = replace(lies[0], amount=80_000, opened_on=None)
    assert (COVER, "TUBE") not in serve([bead(), cover()], [promised], [], [undated], RTV).amounts
    unweighed = {"TUBE": replace(RTV["TUBE"], known=False)}
    full = replace(lies[0], amount=80_000)
    assert (COVER, "TUBE") not in serve([bead(), cover()], [promised], [], [full], unweighed).amounts
    assert (COVER, "TUBE") in serve([bead(), cover()], [promised], [], [full], RTV).amounts


def test_a_tube_whose_own_joint_is_gone_is_neither_idle_nor_spare_while_its_rest_serves_another():
    held = tube(1, ("SUMP/bead", 1), open=True)
    assert serve([cover()], [held], [], [], RTV).idle == {}
    assert serve([], [held], [], [], RTV).idle == {1: 1}
    picked, closed = tube(1, ("SUMP/bead", 1)), Lying(9, "TUBE", 2, False, (5, 6))
    # Of two closed ones that lie there the rest of one is enough.
    assert serve([cover()], [picked], [], [closed], RTV).spare == {9: 1}
    assert serve([], [picked], [], [closed], RTV).spare == {9: 2}
    opened = Lying(12, "TUBE", 60_000, True, (5, 6), opened_on=date(2025, 1, 14))
    assert serve([cover()], [picked], [], [opened], RTV).spare == {}
    assert serve([], [picked], [], [opened], RTV).spare == {12: 60_000}


def test_a_removal_undoes_the_latest_fitting_but_not_a_finished_make():
    first, second = ("HEAD/gasket", 1), ("HEAD/gasket", 2)
    dry, at = FittedAt(first, 7, "GASKET", 1), ("HEAD/gasket", 7)
    assert still_fitted([dry], {at: 1}, [first]) == [dry]
    assert still_fitted([dry], {}, [first]) == []
    assert still_fitted([dry], {}, [first, second]) == [dry]
    good = FittedAt(second, 8, "GASKET", 1)
    assert still_fitted([dry, good], {("HEAD/gasket", 8): 1}, [first, second]) == [dry, good]
    assert still_fitted([dry, good], {at: 1}, [first, second]) == [dry]


@settings(max_examples=150)
@given(
    wanted=st.sets(st.integers(1, 6), max_size=6),
    picked=st.lists(st.integers(1, 6), max_size=6, unique=True),
    held=st.lists(st.integers(1, 6), max_size=3, unique=True),
    fitted=st.sets(st.integers(1, 6), max_size=4),
    there=st.integers(0, 6),
)
def test_no_piece_serves_twice_and_none_lies_idle_while_a_position_lacks_it(wanted, picked, held, fitted, there):
    keys = {number: (f"CYL-{number}/ring", 1) for number in range(1, 7)}
    promises = [promise(number, keys[number]) for number in picked]
    promises += [promise(10 + number, keys[number], open=True, item=8, newness=2) for number in held]
    found = serve(
        [ring(keys[number]) for number in sorted(wanted)],
        promises,
        [FittedAt(keys[number], 7, "RING", 1) for number in fitted],
        [lying(there)] if there else [],
    )
    # The twin counts: of one part any piece will do, so what is served is the least of wishes and pieces.
    inside = len(wanted & fitted)
    pieces = there + len(held)
    assert sum(found.amounts.values()) == inside + min(len(wanted - fitted), pieces)
    assert max(found.amounts.values(), default=0) <= 1
    assert sum(found.spare.values()) + sum(found.idle.values()) == pieces - (sum(found.amounts.values()) - inside)
    assert Counter(key for key, _ in found.amounts) <= Counter(keys[number] for number in wanted)


def test_what_stands_counts_for_the_newest_fittings_and_never_for_more_than_was_fitted():
    key, at = ("OIL/fill", 1), ("OIL/fill", 3)
    rows = [FittedAt(key, 3, "OIL", 5_000_000), FittedAt(key, 3, "OIL", 200_000)]
    assert still_fitted(rows, {at: 9_000_000}) == rows
    assert still_fitted(rows, {at: 300_000}) == [FittedAt(key, 3, "OIL", 100_000), rows[1]]
    assert still_fitted(rows, {("OIL/fill", 4): 9_000_000}) == []
