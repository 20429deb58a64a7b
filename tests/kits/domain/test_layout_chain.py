"""The chain of options: whether a row exists, what the way on costs at least, against trying every row."""

from itertools import product

from hypothesis import given, settings
from hypothesis import strategies as st

from kits.domain.layout_chain import Chain, Graph, grain_of, largest_step
from kits.domain.layout_options import Option, Rules
from tests.factories.bores import UM

numbers = st.integers(0, 12)


@st.composite
def chains(draw):
    """A few bores of a few options, a stair or none, plain steps or facing points, and a step."""
    plain = draw(st.booleans())
    rows = []
    for _ in range(draw(st.integers(1, 4))):
        row = []
        for at in range(draw(st.integers(1, 4))):
            mean = draw(numbers)
            left, right = (mean, mean) if plain else (draw(numbers), draw(numbers))
            row.append(Option(left, right, mean, draw(numbers), at, 0, draw(st.sampled_from((0, 0, 7)))))
        rows.append(sorted(row))
    links = tuple(draw(st.sampled_from((None, 0, 1, -1))) for _ in rows[1:])
    return Chain(rows, Rules(0, None, links), plain), draw(st.integers(0, 8)), draw(st.integers(0, 2))


def shims(row):
    return sum(one.shim_nm > 0 for one in row)


def every_row(chain, step, spare):
    """Every row within step, stair and shims; one set may stand in several bores."""
    for row in product(*chain.options):
        if largest_step(row, chain.links) > step or shims(row) - chain.fewest > spare:
            continue
        pairs = zip(row, row[1:], chain.links, strict=False)
        if all((two.mean - one.mean) * (link or 0) >= 0 for one, two, link in pairs):
            yield row


@settings(max_examples=60)
@given(chains())
def test_a_chain_is_linked_where_a_row_exists(drawn):
    chain, step, spare = drawn
    rows = list(every_row(chain, step, spare))
    assert chain.fewest == min(map(shims, product(*chain.options)))
    assert chain.linked(step, spare) == bool(rows)


@settings(max_examples=60)
@given(chains(), st.integers(0, 60))
def test_the_graph_knows_the_least_cost_and_what_lies_within_one(drawn, cost):
    chain, step, spare = drawn
    graph = Graph(chain, step, spare)
    # the graph's bounds do not count the shims of a whole row: `alive` is all that it knows of them
    alive = [set(row) for row in chain.alive(spare)]
    free = [
        row
        for row in every_row(chain, step, len(alive))
        if all(one in those for one, those in zip(row, alive, strict=True))
    ]
    costs = [sum(one.cost for one in row) for row in free]
    first = [graph.least[0][at] for at in graph.first]
    assert first == sorted(first)
    assert (first[0] if first else None) == min(costs, default=None)
    if not first:
        return
    near = [{graph.rows[at][one] for one in those} for at, those in enumerate(graph.near(cost))]
    met = [set() for _ in near]
    for row in free:
        if sum(one.cost for one in row) <= cost:
            for at, one in enumerate(row):
                met[at].add(one)
    assert near == met


@settings(max_examples=60)
@given(chains())
def test_what_may_follow_is_within_the_step_and_wants_its_sets(drawn):
    chain, step, spare = drawn
    graph = Graph(chain, step, spare)
    for at, link in enumerate(chain.links):
        for index, one in enumerate(graph.rows[at]):
            follow = [graph.rows[at + 1][two] for two in graph.follow[at][index]]
            assert follow
            assert all(link is None or abs(two.left - one.right) <= step for two in follow)
            wanted = {two.chosen for two in follow}
            assert all(graph.wanted[at][index] >> chosen & 1 for chosen in wanted)


def test_a_window_leaves_only_its_sets():
    row = [Option(0, 0, 0, 0, at, 0, 0) for at in range(3)]
    assert [one.chosen for one in Chain([row], Rules(0, frozenset({0, 2}), ()), True).options[0]] == [0, 2]
    assert Chain([row], Rules(0, frozenset({7}), ()), True).empty
    assert not Chain([row], Rules(0, frozenset({7}), ()), True).linked(99, 0)


def test_the_grain_divides_every_step():
    def row(*values):
        return [Option(value, value, value, 0, 0, 0, 0) for value in values]

    assert grain_of([row(3 * UM, 5 * UM), row(11 * UM)]) == 2 * UM
    assert grain_of([row(7)]) == grain_of([]) == 1
    pair = row(4, 9)
    assert (largest_step(pair, (0,)), largest_step(pair, (None,)), largest_step(pair[:1], ())) == (5, 0, 0)
