"""Limits as public-domain technical manuals print them, held by the rules of this program. 1 in = 25.4 mm, so 0.0001 in is 2540 nm.

Each was read on a mirror of the manual that stands beside it.
"""

from dataclasses import replace

import pytest

from inventory.domain.errors import DomainError
from kits.domain.layout import Layout, NoLayout, lay_out
from kits.domain.layout_options import Bore, LayoutTask, LinerSet
from kits.domain.limits import Verdict
from kits.domain.protrusion import HeightLimits, check_shim, judge
from kits.domain.weights import Weighed, engines_from, replacement_window

TENTH = 2540

#: TM 5-6115-593-34: protrusion .004 to .006 in at four points that stand round; counterbore depth within .001 in. What it asks of the seat by itself
#: (the depth once more, cupping) is in `test_seat.py`.
PROTRUSION = HeightLimits(40 * TENTH, 60 * TENTH, 10 * TENTH)
#: TM 5-3805-263-14&P-2, the same words in TM 5-3805-258-24-2: projection .0013 to .0069 in at four places, one liner within .002 in, averages
#: of neighbours within .002 in, liner and block marked for the same position.
PROJECTION = HeightLimits(13 * TENTH, 69 * TENTH, 20 * TENTH, 20 * TENTH)


@pytest.mark.parametrize(
    ("heights", "verdict"),
    [
        ((40, 45, 50, 45), Verdict.PASS),
        ((60, 55, 50, 55), Verdict.PASS),
        ((39, 45, 45, 45), Verdict.FAIL),
        ((55, 55, 61, 55), Verdict.FAIL),
        # a counterbore that varies by .0011 in, every point within the limits
        ((40, 45, 51, 45), Verdict.FAIL),
    ],
)
def test_protrusion_at_four_points_and_a_counterbore_that_is_even(heights, verdict):
    assert judge([one * TENTH for one in heights], PROTRUSION, 0).verdict is verdict


@pytest.mark.parametrize(("tenths", "allowed"), [(69, False), (70, True), (680, True), (681, False)])
def test_shims_of_a_printed_range(tenths, allowed):
    # TM 5-6115-593-34: shims .007 to .068 in; a shop that keeps them by thousandths names each.
    limits = replace(PROTRUSION, shims_nm=tuple(range(70 * TENTH, 681 * TENTH, 10 * TENTH)))
    if allowed:
        assert check_shim(tenths * TENTH, limits) is None
        return
    with pytest.raises(DomainError) as caught:
        check_shim(tenths * TENTH, limits)
    assert (caught.value.code, caught.value.values["shim_nm"]) == ("stack-refused", tenths * TENTH)


def test_three_points_never_pass():
    assert judge([50 * TENTH] * 3, PROTRUSION, 0).verdict is Verdict.DOUBTFUL


def laid_out(*liners):
    """Liners of these heights over flush bores, each with its own: marked for the same position."""
    bores = tuple(Bore(number, (0,) * 4) for number, _ in enumerate(liners, 1))
    sets = tuple(
        LinerSet(f"S-{number}", tuple(one * TENTH for one in heights), None, number)
        for number, heights in enumerate(liners, 1)
    )
    return lay_out(LayoutTask(bores, sets, PROJECTION, 0))


@pytest.mark.parametrize(
    ("liners", "fits"),
    [
        (((13, 20, 33, 26), (33, 40, 53, 46)), True),  # each within .0020, averages .0023 and .0043: just .0020 apart
        (((13, 20, 33, 26), (33, 40, 53, 47)), False),  # .002025 apart
        (((49, 49, 69, 69), (49, 49, 69, 69)), True),
        (((48, 49, 69, 69), (49, 49, 69, 69)), False),  # one liner .0021
        (((49, 49, 69, 70), (49, 49, 69, 69)), False),  # over the projection
    ],
)
def test_projection_of_one_liner_and_of_neighbours(liners, fits):
    found = laid_out(*liners)
    assert isinstance(found, Layout if fits else NoLayout)


@pytest.mark.parametrize("grams", [2, 5])
def test_pistons_within_two_grams_and_rods_within_five(grams):
    # TM 10-3930-653-14&P: piston assemblies of one engine within 2 g, connecting rods within 5 g.
    spread = grams * 1000
    six = [Weighed(f"P-{at}", 900_000 + at * spread // 5) for at in range(6)]
    assert [len(one) for one in engines_from(six, 6, spread)] == [6]
    assert engines_from([*six[:5], Weighed("P-5", 900_000 + spread + 1)], 6, spread) == ()
    window = replacement_window([six[0], six[5]], spread)
    assert window is not None
    assert (window.low_mg, window.high_mg) == (900_000, 900_000 + spread)
