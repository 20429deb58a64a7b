"""How deep to recut so that a liner passes on a shim, against the worked example and by trying every cut."""

from itertools import product

import pytest

from kits.domain.limits import Verdict
from kits.domain.protrusion import HeightLimits, judge
from kits.domain.recuts import Recut, recuts

UM = 1_000
LIMITS = HeightLimits(50 * UM, 120 * UM, 30 * UM, shims_nm=(50 * UM, 100 * UM, 150 * UM))


def test_the_worked_example():
    """Flange 9.030, counterbore 9.015, U = 10 µm; on the 0.15 shim a cut of 0.05 is doubtful, 0.06 and 0.07 pass."""
    found = recuts([15 * UM], LIMITS, 10 * UM, 250 * UM)
    assert found == (
        Recut(50 * UM, 0, 5 * UM),
        Recut(100 * UM, 5 * UM, 55 * UM),
        Recut(150 * UM, 55 * UM, 105 * UM),
    )
    assert found[2].said() == "recut by 55 µm to 105 µm, on the shim of 150 µm"
    assert recuts([130 * UM], LIMITS, 10 * UM, 250 * UM)[0].said() == "recut by 20 µm to 70 µm, without a shim"
    # a crooked liner is not helped; nor one that would need a deeper cut than the maker allows
    assert recuts([10 * UM, 41 * UM], LIMITS, 0, 250 * UM) == ()
    assert recuts([400 * UM], LIMITS, 10 * UM, 250 * UM) == ()


@pytest.mark.parametrize("heights", [(15,), (15, 20), (-120, -100), (90, 60), (130, 125), (200, 214)])
def test_every_cut_inside_passes_and_none_outside(heights):
    for gauge, deepest in product((0, 10), (40, 250)):
        found = {one.shim_nm: one for one in recuts([h * UM for h in heights], LIMITS, gauge * UM, deepest * UM)}
        for shim, cut in product((0, 50, 100, 150), range(1, deepest + 1)):
            one = found.get(shim * UM)
            inside = one is not None and one.least_nm <= cut * UM <= one.most_nm
            said = judge([(h + shim - cut) * UM for h in heights] * 4, LIMITS, gauge * UM).verdict
            assert inside == (said is Verdict.PASS), (shim, cut)
