"""Why there is no layout: which rule, where, by how much, and what would help. Heights are made up, the amounts worked out by hand."""

from dataclasses import replace

from kits.domain.layout import NoLayout, lay_out
from kits.domain.layout_miss import MEASURE_AGAIN, nearest_miss
from kits.domain.layout_options import Bore, LayoutTask, LinerSet
from kits.domain.protrusion import HeightLimits
from tests.factories.bores import UM, random_task, um, worked

LIMITS = HeightLimits(50 * UM, 120 * UM, 30 * UM, 40 * UM)


def standing(*heights_um, **limits):
    """Every set at home in a bore of depth nothing: the heights are what is read."""
    return LayoutTask(
        tuple(Bore(at, (0,) * len(one)) for at, one in enumerate(heights_um, start=1)),
        tuple(LinerSet(f"S{at}", um(one), bore=at) for at, one in enumerate(heights_um, start=1)),
        replace(LIMITS, **limits),
        0,
    )


def missed(task):
    found = lay_out(task)
    assert isinstance(found, NoLayout) and found.proved and found.miss.proved
    return found.miss


def test_every_rule_is_named_with_its_place_and_amount():
    miss = missed(standing((49, 60, 70, 70), (121, 122, 120, 120), (80, 80, 80, 111), staircase=True))
    assert [(one.rule, one.bores, one.point, one.by_nm / UM) for one in miss.breaks] == [
        ("too low", (1,), 0, 1),
        ("too high", (2,), 0, 1),
        ("too high", (2,), 1, 2),
        ("within one liner", (3,), None, 1),
        ("step", (1, 2), None, 18.5),
        ("staircase", (2, 3), None, 33),
    ]
    assert miss.total_nm == sum(one.by_nm for one in miss.breaks) == 56_500
    assert [one.text for one in miss.breaks] == [
        "bore 1, 12 o'clock: 49 µm, 1 µm too low",
        "bore 2, 12 o'clock: 121 µm, 1 µm too high",
        "bore 2, 3 o'clock: 122 µm, 2 µm too high",
        "bore 3: the points differ by 31 µm, at most 30 µm",
        "bores 1 and 2: a step of 58.5 µm, at most 40 µm",
        "bores 2 and 3: 33 µm against the way of the stair",
    ]


def test_the_stair_goes_the_way_that_misses_less():
    up = missed(standing((60,) * 4, (90,) * 4, (80,) * 4, staircase=True))
    down = missed(standing((90,) * 4, (60,) * 4, (70,) * 4, staircase=True))
    assert [(one.rule, one.bores, one.by_nm / UM) for miss in (up, down) for one in miss.breaks] == [
        ("staircase", (2, 3), 10), ("staircase", (2, 3), 10),
    ]  # fmt: skip


def test_a_step_at_facing_points_is_measured_there():
    faced = {"facing_deg": (180, 0), "step_nm": 19 * UM}
    miss = missed(standing((80, 80, 110, 80), (90, 80, 65, 80), **faced))
    assert [(one.rule, one.by_nm / UM) for one in miss.breaks] == [("step", 1)]
    assert not isinstance(lay_out(standing((80, 80, 110, 80), (91, 80, 65, 80), **faced)), NoLayout)


def test_too_few_sets():
    miss = missed(worked((1, 2, 3)))
    assert (miss.total_nm, miss.placed) == (0, ())
    assert [(one.rule, one.text) for one in miss.breaks] == [("sets", "4 bores are to be filled, 3 sets are there.")]
    assert miss.help == ("1 more sets are needed.",)


def test_pistons_that_differ_too_much_show_the_layout_that_they_forbid():
    miss = missed(worked(spread_g=2))
    assert [one.serial for one in miss.placed] == ["S-0441", "S-0444", "S-0442", "S-0443"]
    assert [(one.rule, one.text) for one in miss.breaks] == [
        ("piston weight", "The pistons of sets S-0442 and S-0444 differ by 3 g, at most 2 g.")
    ]
    assert (miss.total_nm, miss.help) == (0, ("Other sets of one weight group.",))


def test_what_would_help():
    high = missed(standing((200,) * 4, (80,) * 4))
    assert high.help == (
        "Bore 1: no set suits it by itself, the nearest stands too high: have its seat cut deeper, as the maker allows.",
        MEASURE_AGAIN,
    )
    low = missed(standing((80,) * 4, (-10, 20, 20, 20)))
    assert low.help[0].startswith("Bore 2: no set suits it by itself, the nearest stands too low or too crooked:")
    steps = missed(standing((50,) * 4, (120,) * 4))
    assert steps.help == (MEASURE_AGAIN,)
    task = standing((80,) * 4, (80,) * 4)
    elsewhere = replace(task, sets=(task.sets[0], replace(task.sets[1], bore=None, heights_nm=um((300,) * 4))))
    assert missed(elsewhere).help[0].startswith("Bore 2: no set suits it")


def test_a_miss_that_was_not_proved_says_so_and_still_shows_a_row():
    task = worked(low_nm=100 * UM, high_nm=105 * UM, within_nm=0)
    early = nearest_miss(task, 1)
    assert not early.proved
    assert len({one.serial for one in early.placed}) == 4
    proved = nearest_miss(task, 10**9)
    assert proved.proved and proved.total_nm <= early.total_nm


def test_what_is_named_adds_up_to_the_total():
    seen = set()
    for seed in range(500, 600):
        task = random_task(seed)
        found = lay_out(task)
        if isinstance(found, NoLayout) and found.miss.placed:
            assert sum(one.by_nm for one in found.miss.breaks) == found.miss.total_nm
            assert found.miss.breaks
            seen |= {one.rule for one in found.miss.breaks}
    assert seen == {"too low", "too high", "within one liner", "step", "staircase", "piston weight"}
