"""A height is of one arrangement: turn, shim and base ring."""

from hypothesis import given
from hypothesis import strategies as st

from kits.domain.as_judged import AsJudged

PIECES = st.sampled_from((0, 50_000, 100_000))


@given(PIECES, PIECES, st.sampled_from((0, 90, 180, 270)), st.frozensets(PIECES), st.frozensets(PIECES), st.booleans())
def test_against_the_words_of_the_rule(shim, ring, turn, shims, rings, old):
    shims, rings = shims - {0}, rings - {0}
    judged = AsJudged(turn, shim, ring)

    def right(judged_nm, there):
        if old and not there:
            return True
        return len(there) == 1 and judged_nm in there if judged_nm else not there

    said = judged.unlike(turn, shims, rings, old=old)
    assert len(said) == (not right(shim, shims)) + (not right(ring, rings))
    assert len(judged.unlike((turn + 90) % 360, shims, rings, old=old)) == len(said) + 1
    assert judged.unlike(None, shims, rings, old=old) == said


def test_what_is_otherwise_is_said_for_a_person():
    assert AsJudged(90, 50_000, 0).unlike(0, {100_000}, ()) == (
        "turned 0°, judged at 90°",
        "shim: 100 µm, judged on 50 µm",
    )
    assert AsJudged(0, 0, 900_000).unlike(0, {50_000}, ()) == (
        "shim: 50 µm, judged on none",
        "base ring: none, judged on 900 µm",
    )
