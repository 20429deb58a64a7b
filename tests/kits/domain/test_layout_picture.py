"""The layout as a picture for the bench: the worked example line by line, banks, shims, rings, doubts, and no layout at all."""

from dataclasses import replace

from kits.domain.layout import lay_out
from kits.domain.layout_options import Bore, LayoutTask, LinerSet
from kits.domain.layout_picture import CAUTION, COLUMNS, DOUBT, Standing, miss_lines, picture
from kits.domain.protrusion import HeightLimits
from tests.factories.bores import UM, um, worked

STANDING = Standing("at the flywheel end", "timing end", (4,))
FIVE = (1, 2, 3, 4, 5)
CERTAIN = """\
Layout: certain. Bore 1 is at the flywheel end. Front: timing end.
Largest step 7 µm; distance from the target 34.75 µm in all; no sets turned; no shims.

Bores 1 to 4; bore 4 is nearest to the front
                    ( 1 )    ( 2 )    ( 3 )    ( 4 )
set                S-0441   S-0444   S-0442   S-0445
turned                 0°       0°       0°       0°
12 o'clock, µm        71       78       77       74
3 o'clock, µm         74       82       76       71
6 o'clock, µm         71       78       79       84
9 o'clock, µm         68       74       80       84
mean, µm              71       78       78    78.25
step, µm                -      +7        0    +0.25
stair  78.25                                     [4]
stair     78                   [2]      [3]
stair     71          [1]

Write on each liner with the paint pen:
  bore 1: 1, S-0441, and a line towards the front (timing end)
  bore 2: 2, S-0444, and a line towards the front (timing end)
  bore 3: 3, S-0442, and a line towards the front (timing end)
  bore 4: 4, S-0445, and a line towards the front (timing end)

The layout is calculated from typed readings. Check the marks by eye before anything is fitted.
A liner is lifted by two people or by a hoist. If in doubt, measure again.
The engine maker's manual wins over everything printed here.
"""


def drawn(task, standing=STANDING):
    lines = picture(lay_out(task), standing)
    assert max(map(len, lines)) <= COLUMNS
    assert lines[-3:] == CAUTION
    return lines


def test_the_worked_example():
    task = worked(FIVE, gauge_um=10, spread_g=4, staircase=True)
    assert "".join(f"{line.rstrip()}\n" for line in drawn(task)) == CERTAIN


def test_doubtful_points_are_marked_and_nothing_is_fitted_without_a_decision():
    lines = drawn(worked(gauge_um=10, staircase=True))
    assert lines[0].startswith("Layout: DOUBTFUL.")
    assert lines[1] == "  Doubtful at bore 1, 3 and 6 o'clock: measure again, or try another set from stock."
    by_name = {line[:16].strip(): line[16:].split() for line in lines if " o'clock, µm" in line}
    assert [by_name[f"{hour} o'clock, µm"][0] for hour in (12, 3, 6, 9)] == ["61", "51?", "55?", "65"]
    assert sum(line.count("?") for line in lines) == 2
    assert DOUBT in lines and "Write on each liner with the paint pen:" not in lines


def test_turns_shims_and_their_marks():
    limits = HeightLimits(
        50 * UM, 120 * UM, 30 * UM, 5 * UM, facing_deg=(180, 0), turns_deg=(0, 180), shims_nm=um((50,))
    )
    bores = (Bore(1, (0,) * 4), Bore(2, (0,) * 4))
    sets = (LinerSet("A1", um((70, 80, 95, 80)), bore=1), LinerSet("A2", um((30, 35, 45, 35))))
    lines = drawn(LayoutTask(bores, sets, limits, 0))
    assert "1 set turned; 1 shim." in lines[1]
    assert [line.split() for line in lines if line.startswith(("turned", "shim", "step"))] == [
        ["turned", "0°", "180°"], ["shim,", "mm", "none", "0.05"], ["step,", "µm", "-", "0"],
    ]  # fmt: skip
    at = next(at for at, line in enumerate(lines) if line.startswith("  bore 2: 2, A2"))
    assert " ".join(" ".join(lines[at : at + 2]).split()) == (
        "bore 2: 2, A2, turned 180° clockwise seen from the head, on a shim of 0.05 mm, and a line towards the front (timing end)"
    )
    assert "A turned liner does not turn its piston: the mark on the crown still points to the front." in lines


def test_banks_stand_apart_and_each_has_its_front():
    bores = tuple(Bore(at, (0,) * 4, "left" if at < 5 else "right") for at in range(1, 9))
    sets = tuple(LinerSet(f"S{at}", (70_000 + 2 * UM * at,) * 4, bore=at) for at in range(1, 9))
    lines = drawn(LayoutTask(bores, sets, HeightLimits(50 * UM, 120 * UM, 0, 2 * UM), 0),
                  Standing("at the front", "timing end", (1, 5)))  # fmt: skip
    assert [line for line in lines if line.startswith("Head")] == [
        "Head left, bores 1 to 4; bore 1 is nearest to the front",
        "Head right, bores 5 to 8; bore 5 is nearest to the front",
    ]
    assert [line.split()[2:] for line in lines if line.startswith("step")] == [["-", "+2", "+2", "+2"]] * 2


def test_long_serials_and_many_bores_are_broken_over_rows():
    bores = tuple(Bore(at, (0,) * 8) for at in range(1, 13))
    sets = tuple(LinerSet(f"SERIAL-NUMBER-{at:04d}", (80 * UM,) * 8, bore=at) for at in range(1, 13))
    lines = drawn(LayoutTask(bores, sets, HeightLimits(50 * UM, 120 * UM, 0, 0), 0))
    assert sum(line.startswith("set ") for line in lines) == 3
    assert [line.split()[2:] for line in lines if line.startswith("step")][1] == ["0"] * 4
    assert sum(line.startswith("45°, µm") for line in lines) == 3


def test_a_base_ring_is_said_once_and_an_early_end_as_well():
    limits = HeightLimits(20 * UM, 120 * UM, 0, rings_nm=um((900, 1000)))
    task = LayoutTask((Bore(1, um((61_840,) * 4)),), (LinerSet("S1", um((61_000,) * 4)),), limits, 0)
    assert "Under every liner a base ring of 0.90 mm, all alike." in drawn(task)
    early = replace(lay_out(task), proved=False)
    assert "  The search was ended early: there may be a better layout." in picture(early, STANDING)


def test_no_layout_says_how_near_the_nearest_comes_and_what_breaks_it():
    delivered = worked()
    at_home = tuple(replace(one, bore=at) for at, one in enumerate(delivered.sets, start=1))
    lines = miss_lines(lay_out(replace(delivered, sets=at_home)))
    assert lines[:5] == (
        "No layout keeps the limits.",
        "The nearest is beyond them by 3 µm in all: bore 1: S-0441, bore 2: S-0442, bore 3: S-0443, bore 4:",
        "    S-0444.",
        "  bores 2 and 3: a step of 43 µm, at most 40 µm",
        "What would help:",
    )
    assert lines[-3:] == CAUTION
    few = miss_lines(lay_out(worked((1, 2))))
    assert few[:4] == (
        "No layout keeps the limits.", "  4 bores are to be filled, 2 sets are there.", "What would help:",
        "  2 more sets are needed.",
    )  # fmt: skip


def test_a_search_that_was_ended_early_does_not_say_that_there_is_none():
    assert miss_lines(lay_out(worked(), nodes=0)) == (
        "The search was ended early: it is not known whether a layout exists.", CAUTION[1],
    )  # fmt: skip
    found = lay_out(worked((1, 2, 3, 4), low_nm=100 * UM, high_nm=105 * UM))
    unproved = replace(found, miss=replace(found.miss, proved=False))
    assert "The search for the nearest was ended early: there may be a nearer one." in miss_lines(unproved)
