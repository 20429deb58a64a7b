"""The table of a measurement: median, 95th percentile, the looser of two limits, growth."""

from fractions import Fraction

import pytest

from api.measure.table import Grown, Limit, Sample, growth, growth_lines, sample_lines

MS = 1_000_000
LIMIT = Limit(Fraction(3), 25)


def sample(taken_ms, twin_ms, limit=LIMIT, act="hold"):
    return Sample(act, limit, [round(one * MS) for one in taken_ms], [round(one * MS) for one in twin_ms])


def test_median_and_nearest_rank():
    # Nearest rank: the smallest value that at least 95 of 100 do not exceed; of 20 values the 19th, of 5 the largest.
    twenty = sample(range(20, 0, -1), [1])
    assert (twenty.median_ns, twenty.p95_ns) == (10_500_000, 19 * MS)
    five = sample([5, 1, 4, 2, 3], [1])
    assert (five.median_ns, five.p95_ns) == (3 * MS, 5 * MS)


@pytest.mark.parametrize(
    "taken, twin, limit, ok",
    [
        (30, 10, LIMIT, True),  # three times is within three times
        (30.000001, 10, LIMIT, False),
        (25, 1, LIMIT, True),  # within the time, whatever the ratio
        (25.000001, 1, LIMIT, False),
        (90, 30, LIMIT, True),  # within the ratio, whatever the time
        (15, 10, Limit(Fraction(3, 2), None), True),
        (15.1, 10, Limit(Fraction(3, 2), None), False),
    ],
)
def test_the_looser_of_ratio_and_time_counts(taken, twin, limit, ok):
    assert sample([taken], [twin], limit).ok is ok


def test_growth_leaves_out_what_may_grow_and_allows_three_tenths():
    audit = Limit(Fraction(3, 2), None, grows=True)
    small = [sample([10], [1]), sample([10], [1], audit, "audit"), sample([10], [1], LIMIT, "pick")]
    large = [sample([13], [1]), sample([99], [1], audit, "audit"), sample([13.1], [1], LIMIT, "pick")]
    rows = growth(small, large)
    assert rows == [Grown("hold", 10 * MS, 13 * MS), Grown("pick", 10 * MS, 13_100_000)]
    assert [row.ok for row in rows] == [True, False]
    assert growth_lines(rows, 1000, 10000) == [
        "act   median at 1000  median at 10000  ratio  limit",
        "hold        10.00 ms         13.00 ms   1.30    1.3  ok",
        "pick        10.00 ms         13.10 ms   1.31    1.3  short",
    ]


def test_the_table_says_everything_in_one_line_an_act():
    one = sample([20, 22, 24], [4, 5, 6])
    one.queries, one.equal = 23, 3
    assert sample_lines([one]) == [
        "act     median       p95  queries  twin's median  ratio         limit  equal answers",
        "hold  22.00 ms  24.00 ms       23        5.00 ms   4.40  3 × or 25 ms         3 of 3  ok",
    ]


@pytest.mark.parametrize("taken, twin, ok", [(25, 25, True), (25.000001, 99, False), (25, 24.999999, False)])
def test_some_limits_ask_for_both(taken, twin, ok):
    both = Limit(Fraction(1), 25, both=True)
    assert sample([taken], [twin], both).ok is ok
    assert both.said() == "1 × and 25 ms"


def test_a_topic_without_a_database_says_how_many_instances():
    one = sample([20, 22, 24], [40, 50, 60], Limit(Fraction(1), 25, both=True), "8 bores")
    one.equal = 3
    assert sample_lines([one], twin="CP-SAT's", instances=True) == [
        "act        median       p95  instances  CP-SAT's median  ratio          limit  equal answers",
        "8 bores  22.00 ms  24.00 ms          3         50.00 ms   0.44  1 × and 25 ms         3 of 3  ok",
    ]
