"""What is laid out and what is not: the worked example, reused liners, heads that stay closed, weights, doubts."""

from dataclasses import replace
from fractions import Fraction
from itertools import permutations, product

import pytest

from inventory.domain.errors import DomainError
from kits.domain.bench import Bench, BoreAt, SetAt, Standing, Weighing
from kits.domain.liners import NOTHING, Read, gauged
from kits.domain.proposal import (
    CERTAIN,
    DOUBTFUL,
    NONE,
    UNREAD,
    Chosen,
    check,
    grid,
    hours_of,
    missing,
    propose,
    staying,
)
from kits.domain.protrusion import HeightLimits
from tests.factories.bores import BORES_UM, PISTONS_G, SETS_UM

UM = 1_000
LIMITS = HeightLimits(50 * UM, 120 * UM, 30 * UM, 40 * UM, staircase=True, turns_deg=(0, 180))


def read(values_um, u_um, hours=(12, 3, 6, 9), at=293_150, first=1, **more):
    return gauged(
        [
            Read(first + number, hour, um * UM, u_um * UM, at, 293_150, Fraction("11.5"), **more)
            for number, (hour, um) in enumerate(zip(hours, values_um, strict=False))
        ],
        Fraction(22),
        True,
    )


def a_bore(number, values_um=None, head="", **more):
    depths = read(values_um or BORES_UM[number], 4, first=100 * number)
    return BoreAt(number, f"CYL-{number}/set", f"CYL-{number}", head, depths, **more)


def a_set(number, **more):
    return SetAt(f"S-044{number}", read(SETS_UM[number], 3, first=1000 * number, **more), PISTONS_G[number] * UM)


def bench(sets, **more):
    return Bench(tuple(a_bore(n) for n in BORES_UM), tuple(map(a_set, sets)), LIMITS, 4 * UM, **more)


def serials(found):
    return [int(one.serial[-1]) for one in found.layout.placed]


def chosen(found):
    return [Chosen(one.bore, one.serial, one.turn_deg, one.shim_nm) for one in found.layout.placed]


def refused(code, call, *args):
    with pytest.raises(DomainError) as caught:
        call(*args)
    assert caught.value.code == code
    return caught.value.message


def test_the_worked_example_before_and_after_the_fifth_set():
    four = propose(bench((1, 2, 3, 4)))
    assert (four.outcome, serials(four), four.layout.doubtful) == (DOUBTFUL, [3, 4, 2, 1], ((1, 1), (1, 2)))
    assert four.why == ("Doubtful at bore 1, 3 and 6 o'clock: measure again, or try another set from stock.",)
    five = propose(bench((1, 2, 3, 4, 5)))
    assert (five.outcome, serials(five), five.allowance_nm) == (CERTAIN, [1, 4, 2, 5], 10 * UM)
    assert [float(one.mean_nm) / UM for one in five.layout.placed] == [71, 78, 78, 78.25]
    # it rests on what it was worked out from: four bores and the four sets, not on the fifth
    assert {one // 1000 for one in five.rests_on} == {0, 1, 2, 4, 5}
    assert len(five.rests_on) == 32


def test_every_hand_made_layout_is_judged_as_the_limits_say():
    its = bench((1, 2, 3, 4, 5))
    kept = set()
    for order in permutations((1, 2, 3, 4, 5), 4):
        found = check(its, [Chosen(at, f"S-044{number}") for at, number in enumerate(order, 1)])
        if found.outcome == CERTAIN:
            kept.add(order)
        else:
            assert found.outcome in (DOUBTFUL, NONE)
    # the only certain staircase order, by the worked example
    assert kept == {(1, 4, 2, 5)}
    assert check(its, chosen(propose(its))).layout.placed == propose(its).layout.placed
    no = check(its, [Chosen(at, f"S-044{at}") for at in (1, 2, 3, 4)])
    assert [one.rule for one in no.no_layout.miss.breaks] == ["step", "staircase"]


def test_what_a_hand_made_layout_may_not_name():
    its, good = bench((1, 2, 3, 4, 5)), chosen(propose(bench((1, 2, 3, 4, 5))))
    first = good[0]
    for wrong, code in (
        (good[:3], "layout-unusable"),
        ([*good, good[0]], "layout-unusable"),
        ([replace(first, serial="S-9"), *good[1:]], "layout-unusable"),
        ([replace(first, serial=good[1].serial), *good[1:]], "layout-unusable"),
        ([replace(first, bore=9), *good[1:]], "layout-unusable"),
        ([replace(first, turn_deg=90), *good[1:]], "heights-unusable"),
        ([replace(first, shim_nm=50 * UM), *good[1:]], "stack-refused"),
    ):
        refused(code, check, its, wrong)
    refused("stack-refused", check, its, good, 900 * UM)
    unread = replace(its, bores=(*its.bores[:3], a_bore(4, (49, 55, 45))))
    assert "9 o'clock" in refused("height-not-read", check, unread, good)


def test_what_has_to_be_read_is_named_point_by_point():
    its = bench((1, 2, 3, 4))
    three = replace(its, bores=(a_bore(1, (60, 67, 64)), *its.bores[1:]))
    assert missing(three) == ("CYL-1: block not read at 9 o'clock",)
    assert propose(three).outcome == UNREAD
    nothing = replace(its, bores=(replace(its.bores[0], depths=NOTHING), *its.bores[1:]))
    assert missing(nothing) == ("CYL-1: block not read at 12, 3, 6, 9 o'clock",)
    late = replace(its, sets=(*its.sets, SetAt("S-0445", read((123, 126, 129), 3), 414 * UM), SetAt("S-0446", NOTHING)))
    found = propose(late)
    assert dict(found.not_considered) == {
        "S-0445": "its liner was not read at 9 o'clock",
        "S-0446": "its liner was not gauged",
    }
    assert found.try_next[0] == "Gauge the liners of S-0445, S-0446, which are at hand too."


def test_the_grid_is_the_finest_that_every_bore_has():
    assert [grid(points) for points in (4, 3, 12)] == [(12, 3, 6, 9), (12, 4, 8), (12, *range(1, 12))]
    three = Bench(
        (BoreAt(1, "p", "CYL-1", "", read((0, 0, 0), 4, hours=(12, 4, 8))),),
        (SetAt("S", read((80, 80, 80), 3, hours=(12, 4, 8))),), HeightLimits(50 * UM, 120 * UM, 30 * UM, turns_deg=(0, 180)),
    )  # fmt: skip
    assert hours_of(three) == (12, 4, 8)
    found = propose(three)
    # three points only: doubtful, never certain
    assert (found.outcome, found.why) == (DOUBTFUL, ("Read at 3 points only: at least 4 are needed.",))


def test_a_set_in_doubt_is_taken_only_where_the_others_do_not_do():
    marked = a_set(5, marks=("gauge out of date",))
    with_it = replace(bench((1, 2, 3, 4)), sets=(*map(a_set, (1, 2, 3, 4)), marked))
    found = propose(with_it)
    assert (found.outcome, serials(found)) == (DOUBTFUL, [1, 4, 2, 5])
    assert found.why == ("set S-0445: gauge out of date",)
    cold = replace(with_it, sets=(*map(a_set, (1, 2, 3, 4)), a_set(5, at=None)))
    assert propose(cold).why == ("set S-0445: no temperature was read of part or gauge",)
    # where they do without it, it stays out, and the layout is certain
    spare = replace(marked, serial="S-0440")
    sure = propose(replace(bench((1, 2, 3, 4, 5)), sets=(spare, *map(a_set, (1, 2, 3, 4, 5)))))
    assert (sure.outcome, serials(sure)) == (CERTAIN, [1, 4, 2, 5])
    doubted = replace(with_it, bores=(a_bore(1), *with_it.bores[1:]), sets=tuple(map(a_set, (1, 2, 3, 4, 5))))
    marked_bore = replace(doubted.bores[0], depths=read(BORES_UM[1], 4, marks=("not clean",)))
    found = propose(replace(doubted, bores=(marked_bore, *doubted.bores[1:])))
    assert (found.outcome, found.why) == (DOUBTFUL, ("bores: not clean",))


def test_weights_in_doubt_make_no_layout_certain_and_it_rests_on_them():
    one = replace(a_set(5), weighing=Weighing(414_000, ("gauge out of date",), (77,)))
    others = [replace(a_set(n), weighing=Weighing(PISTONS_G[n] * UM, (), (70 + n,))) for n in (1, 2, 3, 4)]
    asked = replace(bench((1, 2, 3, 4)), sets=(*others, one))
    found = propose(asked)
    assert (found.outcome, found.why) == (DOUBTFUL, ("set S-0445: gauge out of date",))
    assert {71, 72, 74, 77} < set(found.rests_on)
    assert 73 not in found.rests_on
    # where the family has no limit for weights, nothing of them is in the answer
    free = propose(replace(asked, spread_mg=None))
    assert free.outcome == CERTAIN
    assert not {71, 72, 73, 74, 77} & set(free.rests_on)
    again = replace(one, weight_mg=None, weighing=Weighing(None, ("weigh it again",), (77, 78)))
    assert ("S-0445", "weigh it again") in propose(replace(asked, sets=(*others, again))).not_considered
    closed = replace(asked, sets=(*others, a_set(5)), elsewhere=(415_000,))
    sure = propose(replace(closed, elsewhere_weighed=(Weighing(415_000, (), (90,)),)))
    assert (sure.outcome, 90 in sure.rests_on) == (CERTAIN, True)
    unsure = propose(replace(closed, elsewhere_weighed=(Weighing(415_000, ("gauge out of date",), (90,)),)))
    assert (unsure.outcome, unsure.why) == (DOUBTFUL, ("pistons that stay: gauge out of date",))


def test_no_shim_is_laid_out_over_a_cracked_ledge():
    """No shim under a cracked ledge (common practice): the bore that only a shim would put right has no layout."""
    limits = replace(LIMITS, shims_nm=(50 * UM,))
    deep = a_bore(3, [um + 50 for um in BORES_UM[3]])
    asked = replace(bench((1, 2, 3, 4, 5)), limits=limits)
    whole = replace(asked, bores=(*asked.bores[:2], deep, asked.bores[3]))
    found = propose(whole)
    assert [one.shim_nm for one in found.layout.placed] == [0, 0, 50 * UM, 0]
    assert check(whole, chosen(found)).layout.shims == 1
    cracked = replace(whole, bores=(*whole.bores[:2], replace(deep, ledge_cracked=True), whole.bores[3]))
    none = propose(cracked)
    assert none.outcome == NONE
    assert [one.shim_nm for one in none.no_layout.miss.placed if one.bore == 3] == [0]
    assert "cracked" in refused("stack-refused", check, cracked, chosen(found))
    # where none is needed there, the crack changes nothing
    bores = tuple(replace(bore, ledge_cracked=True) for bore in asked.bores)
    assert chosen(propose(replace(asked, bores=bores))) == chosen(propose(replace(asked, limits=LIMITS)))


def test_a_liner_that_stays_is_fixed_in_its_bore_as_it_stood():
    its = bench((1, 2, 3, 4, 5))
    for number, at in product((1, 2, 3, 4, 5), (1, 2, 3, 4)):
        stays = Standing(f"S-044{number}", a_set(number).heights, weight_mg=PISTONS_G[number] * UM)
        bores = tuple(replace(bore, standing=stays) if bore.number == at else bore for bore in its.bores)
        rest = tuple(one for one in its.sets if one.serial != stays.name)
        found = propose(replace(its, bores=bores, sets=rest))
        if (at, number) in ((1, 1), (2, 4), (3, 2), (4, 5)):
            assert (found.outcome, serials(found)) == (CERTAIN, [1, 4, 2, 5])
            free = [one for one in chosen(found) if one.bore != at]
            whole = replace(its, bores=bores, sets=rest)
            assert check(whole, free).layout.placed == check(whole, chosen(found)).layout.placed
            assert "stays there" in refused("layout-unusable", check, whole, [*free, Chosen(at, "S-0443")])
        else:
            assert found.outcome in (DOUBTFUL, NONE)
            assert found.layout is None or found.layout.placed[at - 1].serial == stays.name


def test_a_liner_in_the_block_may_be_gauged_over_the_deck():
    over = read((71, 74, 71, 68), 5)
    its = bench((2, 4, 5))
    stays = replace(its.bores[0], depths=NOTHING, standing=Standing("liner of CYL-1", NOTHING, over, 416 * UM))
    found = propose(replace(its, bores=(stays, *its.bores[1:])))
    assert (found.outcome, [one.serial for one in found.layout.placed]) == (
        CERTAIN,
        ["liner of CYL-1", "S-0444", "S-0442", "S-0445"],
    )
    assert found.layout.placed[0].mean_nm == 71 * UM
    # over the deck it was gauged as it stands: nobody knows what it comes to when it is turned
    turned = replace(stays, standing=replace(stays.standing, turns_deg=(0, 180)))
    its_turned = replace(its, bores=(turned, *its.bores[1:]))
    assert propose(its_turned).layout == found.layout
    assert "turned by 0°" in refused(
        "layout-unusable", check, its_turned, [Chosen(1, "liner of CYL-1", 180), *chosen(found)[1:]]
    )
    unread = replace(its.bores[0], standing=Standing("liner of CYL-1", NOTHING, weight_mg=None))
    assert missing(replace(its, bores=(unread, *its.bores[1:]))) == (
        "CYL-1: height of the liner that stays (liner of CYL-1) not read at 12, 3, 6, 9 o'clock",
        "CYL-1: weight of the piston that stays (liner of CYL-1) not known",
    )


def test_pistons_under_closed_heads_count():
    """Spread 4 g over the engine: with 418 and 419 g that stay, 415 to 422 g may come in (arithmetic)."""
    its = bench((1, 2, 3, 4, 5), elsewhere=(418 * UM, 419 * UM))
    found = propose(its)
    assert dict(found.not_considered)["S-0445"].startswith(
        "its piston is too far from those that stay: from 415 g to 422 g"
    )
    assert staying(its) == (418 * UM, 419 * UM)
    unknown = propose(bench((1, 2, 3, 4, 5), elsewhere=(None,)))
    assert (unknown.outcome, serials(unknown)) == (DOUBTFUL, [1, 4, 2, 5])
    assert "weight of a piston" in unknown.why[0]
    light = replace(bench((1, 2, 3, 4)), sets=(replace(a_set(1), weight_mg=None), *map(a_set, (2, 3, 4))))
    assert dict(propose(light).not_considered) == {"S-0441": "the weight of its piston is not on record"}


def test_nothing_keeps_the_limits_and_a_recut_is_offered():
    """Top flange: flange 30 µm, counterbore 15 µm above a base, as in the worked example: 15 µm over the block."""
    limits = HeightLimits(50 * UM, 60 * UM, 30 * UM, shims_nm=(150 * UM,))
    bore = replace(a_bore(1, (15,) * 4), recut_nm=250 * UM)
    its = Bench((bore,), (SetAt("S", read((30,) * 4, 3)),), limits)
    found = propose(replace(its, limits=replace(limits, high_nm=120 * UM)))
    assert (found.outcome, found.no_layout is not None) == (NONE, True)
    assert "Bore 1 with S: recut by 55 µm to 105 µm, on the shim of 150 µm." in found.try_next
    # Recut before: only what is left may come off.
    for left, said in ((80, ["Bore 1 with S: recut by 55 µm to 80 µm, on the shim of 150 µm."]), (54, [])):
        less = replace(its, bores=(replace(bore, recut_nm=left * UM),), limits=replace(limits, high_nm=120 * UM))
        assert [one for one in propose(less).try_next if "recut by" in one] == said


#: Each reading of the worked example at three hours in a row: twelve points of which every third is the example's.
def every_hour(values_um):
    return [um for um in values_um for _ in range(3)]


def fine(row, values_um, u_um, first=1):
    return replace(row, depths=read(values_um, u_um, HOURS12, first=first))


HOURS12 = (12, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11)


def test_bores_that_were_read_finer_than_the_liners_are_compared_where_both_were_read():
    its = bench((1, 2, 3, 4, 5))
    finer = replace(
        its, bores=tuple(fine(bore, every_hour(BORES_UM[bore.number]), 4, 100 * bore.number) for bore in its.bores)
    )
    assert hours_of(finer) == (12, 3, 6, 9)
    assert chosen(propose(finer)) == chosen(propose(its))
    # Where the sets were read as fine, all twelve points are compared.
    sets = tuple(
        replace(one, heights=read(every_hour(SETS_UM[number]), 3, HOURS12)) for number, one in enumerate(its.sets, 1)
    )
    assert hours_of(replace(finer, sets=sets)) == grid(12)
    # A set that was read at more points than the others is not certain where one between them does not pass.
    serial = propose(its).layout.placed[0].serial
    at = next(number for number, one in enumerate(its.sets) if one.serial == serial)
    high = every_hour(SETS_UM[int(serial[-1])])
    high[1] += 40
    mixed = replace(
        finer, sets=(*its.sets[:at], replace(its.sets[at], heights=read(high, 3, HOURS12)), *its.sets[at + 1 :])
    )
    found = check(mixed, chosen(propose(its)))
    assert (hours_of(mixed), found.outcome) == ((12, 3, 6, 9), DOUBTFUL)
    assert found.why == (f"set {serial} in bore 1: its height at 1 o'clock does not pass",)


def test_a_large_correction_for_temperature_is_shown_with_the_layout():
    # The largest depth is 93.066 mm, block 22 and gauge 11.5 parts per million: 5 K make 93 066 000 nm * 10.5e-6 * 5 = 4.886 µm, 6 K
    # 5.863 µm (by hand).
    its = bench((1, 2, 3, 4, 5))
    base = 93_000
    for kelvin, notes in ((5, ()), (6, ("corrected for temperature by up to 5.863 µm",))):
        warm = tuple(
            replace(bore, depths=read_warm([base + um for um in BORES_UM[bore.number]], kelvin, 100 * bore.number))
            for bore in its.bores
        )
        tall = tuple(
            replace(one, heights=read([base + um for um in SETS_UM[number]], 3, first=1000 * number))
            for number, one in enumerate(its.sets, 1)
        )
        found = propose(replace(its, bores=warm, sets=tall, limits=replace(LIMITS, low_nm=0, high_nm=300 * UM)))
        assert (found.outcome, found.notes) == (CERTAIN, notes)


def read_warm(values_um, kelvin, first):
    return gauged(
        [
            Read(
                first + number,
                hour,
                um * UM,
                4 * UM,
                293_150 + 1000 * kelvin,
                293_150 + 1000 * kelvin,
                Fraction("11.5"),
            )
            for number, (hour, um) in enumerate(zip((12, 3, 6, 9), values_um, strict=True))
        ],
        Fraction(22),
        True,
    )


def test_an_old_liner_that_was_lifted_is_turned_where_its_family_lets_it_be():
    """Liner and seat of bore 1 slope by 40 µm against each other: 45 to 125 µm as it stood, 85 all round half a turn on."""
    its = bench((2, 4, 5))
    seat = a_bore(1, (40, 60, 80, 60))
    stood = Standing("S-0441", read((165, 145, 125, 145), 3, first=5000), weight_mg=416 * UM)
    as_it_stood = replace(its, bores=(replace(seat, standing=stood), *its.bores[1:]))
    assert propose(as_it_stood).outcome == NONE
    may = replace(as_it_stood, bores=(replace(seat, standing=replace(stood, turns_deg=(0, 180))), *its.bores[1:]))
    found = propose(may)
    assert found.layout is not None
    first = found.layout.placed[0]
    assert (first.serial, first.turn_deg, first.heights_nm) == ("S-0441", 180, (85 * UM,) * 4)
    assert check(may, chosen(found)).layout.placed == found.layout.placed
    stays = [replace(chosen(found)[0], turn_deg=0), *chosen(found)[1:]]
    assert check(may, stays).outcome == NONE
    assert "turned by 0° or 180°" in refused(
        "layout-unusable", check, may, [replace(stays[0], turn_deg=90), *stays[1:]]
    )
    # a turn between two of the points that were read is none that anybody can judge
    three = replace(may.bores[0].standing, turns_deg=(45,))
    refused("heights-unusable", propose, replace(may, bores=(replace(seat, standing=three), *its.bores[1:])))
