"""The best row of options: which set in which bore when all of them are looked at together. Pure, exact.

What is best is lexicographic, so it is found in stages, each with what came before held fixed: fewest shims, then the least
largest step, then the least distance from the target with the number of turned sets, then serial numbers, turns and shims from
bore 1 on. For a limit on the step, what forgets that a set is there only once is a chain that is solved from the last bore
back; it bounds the search over different sets, which goes bore by bore and remembers where it has been (an option, and those
used sets that a later bore could still want). Every stage ends with a proof, or the search says that it ran out of nodes.

Weight windows, base rings and the two ways of a staircase are `Rules` of their own, each a chain; the best of all counts.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import gcd
from operator import attrgetter

from kits.domain.layout_chain import Chain, Graph, Row, grain_of, largest_step
from kits.domain.layout_options import LayoutTask, Option, Rules, every_rules, options_of

#: Nodes of the search that keeps all sets apart; most shelves need fewer than a tenth of that.
SHORT = 400
#: Comes after every layout: (shims, step, cost, sets, turns, shim sizes, ring).
Key = tuple[int, int, int, tuple[int, ...], tuple[int, ...], tuple[int, ...], int]


class OutOfNodes(Exception):
    """The search may not look at more."""


@dataclass(slots=True)
class Budget:
    """How many nodes may still be looked at, and the best row met so far."""

    left: int
    best: tuple[Key, Row, Rules] | None = None

    def spend(self, nodes: int) -> None:
        """OutOfNodes once too much was looked at."""
        self.left -= nodes
        if self.left < 0:
            raise OutOfNodes

    def met(self, row: Row, rules: Rules) -> None:
        """Keep a row if it is the best so far."""
        key = key_of(row, rules)
        if self.best is None or key < self.best[0]:
            self.best = key, row, rules


def key_of(row: Row, rules: Rules) -> Key:
    """What is compared between two layouts, in order."""
    return (
        sum(one.shim_nm > 0 for one in row),
        largest_step(row, rules.links),
        sum(one.cost for one in row),
        tuple(one.chosen for one in row),
        tuple(one.turn for one in row),
        tuple(one.shim_nm for one in row),
        rules.ring_nm,
    )


class _Short(Exception):
    """The short search did not end."""


def sets_twice(row: Row) -> int:
    """The sets that a row uses more than once, as bits."""
    once = twice = 0
    for one in row:
        twice |= once & 1 << one.chosen
        once |= 1 << one.chosen
    return twice


class _Descent:
    """Searches through one graph, bore by bore. `found`: the best row of different sets; `found_wide`: of a wider search."""

    def __init__(
        self, graph: Graph, budget: Budget, below: int | None, any_will_do: bool, among: Sequence[set[int]] | None
    ) -> None:
        self.graph, self.budget, self.any_will_do, self.among = graph, budget, any_will_do, among
        self.least_found = below if below is not None else 1 << 200
        self.found: tuple[int, Row] | None = None
        self.found_wide: tuple[int, Row] | None = None

    def kept_apart(self) -> bool:
        """Search with all sets kept apart; False if that takes more than a few nodes."""
        try:
            self._search(-1, SHORT)
        except _Short:
            return False
        return True

    def wide(self, apart: int) -> tuple[int, Row] | None:
        """Search with these sets (bits) kept apart: a row that is better than any found, and may use other sets twice."""
        self._search(apart, None)
        return self.found_wide

    def _search(self, apart: int, nodes: int | None) -> None:
        self.seen: dict[tuple[int, int, int, int], int] = {}
        self.path: list[Option] = []
        self.apart, self.nodes, self.below, self.found_wide = apart, nodes, self.least_found, None
        self._down(0, self.graph.first, 0, 0, self.graph.spare)

    def keep(self, cost: int, row: Row) -> None:
        """A row of different sets, better than those before."""
        self.least_found, self.found = cost, (cost, row)
        self.budget.met(row, self.graph.chain.rules)

    def _down(self, at: int, those: Sequence[int], used: int, so_far: int, spare: int) -> bool:
        """Try every option of a bore that may follow; True once any row was found and any will do."""
        graph, path = self.graph, self.path
        row, least, wanted = graph.rows[at], graph.least[at], graph.wanted[at]
        lowest = graph.chain.least[at]
        among = None if self.among is None else self.among[at]
        last = at == len(graph.rows) - 1
        self._spend()
        for index in those:
            if so_far + least[index] >= self.below:
                break
            one = row[index]
            bit = self.apart & 1 << one.chosen
            left = spare - (one.shim_nm > 0) + lowest
            if used & bit or left < 0 or (among is not None and index not in among):
                continue
            path.append(one)
            cost = so_far + one.cost
            if last:
                self._reached(cost)
                done = self.any_will_do
            else:
                done = self._fresh(at, index, used & wanted[index], left, cost) and self._down(
                    at + 1, graph.follow[at][index], used | bit, cost, left
                )
            path.pop()
            if done:
                return True
        return False

    def _spend(self) -> None:
        self.budget.spend(1)
        if self.nodes is not None:
            self.nodes -= 1
            if self.nodes < 0:
                raise _Short

    def _reached(self, cost: int) -> None:
        """A row to the last bore, cheaper than those before."""
        self.below = cost
        if self.apart == -1:
            self.keep(cost, tuple(self.path))
        else:
            self.found_wide = cost, tuple(self.path)

    def _fresh(self, at: int, index: int, used: int, spare: int, cost: int) -> bool:
        """Whether nobody stood here before with the same sets used up, at no greater cost."""
        place = at, index, used, spare
        before = self.seen.get(place)
        if before is not None and before <= cost:
            return False
        self.seen[place] = cost
        return True


def cheapest(
    graph: Graph,
    budget: Budget,
    below: int | None = None,
    *,
    any_will_do: bool = False,
    among: Sequence[set[int]] | None = None,
) -> tuple[int, Row] | None:
    """The row of different sets that costs least, and less than `below`; any such row if any will do.

    among  for each bore, the indexes of the options that may be used

    First all sets are kept apart, for a few nodes. Where that does not end, only those sets are kept apart of which a row
    was found that uses them twice: a wider search with far fewer places to remember. It ends when its best row uses no
    set twice, or when there is none.
    """
    descent = _Descent(graph, budget, below, any_will_do, among)
    if descent.kept_apart():
        return descent.found
    apart = 0
    while (wide := descent.wide(apart)) is not None:
        twice = sets_twice(wide[1])
        if not twice:
            descent.keep(*wide)
            break
        apart |= twice
    return descent.found


class Search:
    """The best layout under all rules for one allowance."""

    def __init__(self, task: LayoutTask, gauge_nm: int, budget: Budget) -> None:
        plain_steps = task.limits.facing_deg is None
        step_nm = task.limits.step_nm
        self.most = 0 if step_nm is None else step_nm * (task.points if plain_steps else 1)
        self.budget = budget
        by_ring = {rules.ring_nm: options_of(task, gauge_nm, rules.ring_nm) for rules in _one_a_ring(task)}
        self.grain = gcd(*(grain_of(options) for options in by_ring.values()))
        #: By ring and links: the options without a weight window, which bounds every chain with one.
        self.whole: dict[tuple[int, tuple[int | None, ...]], Chain] = {}
        self.chains: list[Chain] = []
        self.graphs: dict[int, Graph] = {}
        for rules in every_rules(task):
            key = rules.ring_nm, rules.links
            if key not in self.whole:
                self.whole[key] = Chain(by_ring[rules.ring_nm], rules._replace(sets=None), plain_steps)
            if self.whole[key].linked(self.most, len(task.bores)):
                windowed = rules.sets is not None
                chain = Chain(by_ring[rules.ring_nm], rules, plain_steps) if windowed else self.whole[key]
                self.chains += [] if chain.empty else [chain]

    def best(self) -> tuple[Key, Row, Rules] | None:
        """The best of all, None where there is none. OutOfNodes where that could not be proved."""
        bores = 0 if not self.chains else len(self.chains[0].options)
        for shims in range(min((chain.fewest for chain in self.chains), default=0), bores + 1):
            graphs = self._with_least_step([chain for chain in self.chains if chain.fewest <= shims], shims)
            if graphs:
                return min((self._first_in_order(*one) for one in graphs), key=lambda one: one[0])
        return None

    def _with_least_step(self, chains: Sequence[Chain], shims: int) -> list[tuple[Graph, int, Row]]:
        """With that many shims: every chain that reaches the least step and cost, with a row that does."""
        step, found = self.most, list[tuple[Graph, int, Row]]()
        floors: dict[tuple[int, tuple[int | None, ...]], int | None] = {}
        for chain in chains:
            key, spare = (chain.rules.ring_nm, chain.links), shims - chain.fewest
            if key not in floors:
                whole = self.whole[key]
                floors[key] = self._floor(whole, shims - whole.fewest, -1, step)
            floor = floors[key]
            reached = None if floor is None else self._least_step(chain, spare, floor, step)
            if reached is None:
                continue
            below = None if reached < step or not found else found[0][1] + 1
            graph = self._graph(chain, reached, spare)
            row = cheapest(graph, self.budget, below)
            if row is None:
                continue
            if reached < step or (found and row[0] < found[0][1]):
                found = []
            step = reached
            found.append((graph, *row))
        return found

    def _graph(self, chain: Chain, step: int, spare: int) -> Graph:
        """The last one of each chain is kept: it is often asked for again."""
        graph = self.graphs.get(id(chain))
        if graph is None or (graph.step, graph.spare) != (step, spare):
            graph = self.graphs[id(chain)] = Graph(chain, step, spare)
        return graph

    def _floor(self, chain: Chain, spare: int, below: int, most: int) -> int | None:
        """The least step above `below`, in grains, at which a chain is linked; None where it is not at `most`."""
        if below >= most // self.grain or not chain.linked(most, spare):
            return None
        return self._bisect(below, most // self.grain, lambda step: chain.linked(step * self.grain, spare))

    def _least_step(self, chain: Chain, spare: int, floor: int, most: int) -> int | None:
        """The least largest step that a row of different sets reaches, at least `floor` grains; None where it is more than `most`."""
        first = self._floor(chain, spare, floor - 1, most)
        if first is None:
            return None
        low, stride, last = first, 0, most // self.grain
        while True:
            step = min(low + stride, last)
            row = cheapest(self._graph(chain, step * self.grain, spare), self.budget, any_will_do=True)
            if row is not None:
                break
            # before it climbs: is there anything at all?
            if step == last or (not stride and not self._reaches(chain, last, spare)):
                return None
            low, stride = step, 2 * stride or 1
        if stride:
            upper = largest_step(row[1], chain.links) // self.grain
            return self._bisect(low, upper, lambda step: self._reaches(chain, step, spare)) * self.grain
        return step * self.grain

    def _reaches(self, chain: Chain, step: int, spare: int) -> bool:
        """Whether a row of different sets keeps the step, in grains."""
        graph = self._graph(chain, step * self.grain, spare)
        return cheapest(graph, self.budget, any_will_do=True) is not None

    @staticmethod
    def _bisect(no: int, yes: int, holds: Callable[[int], bool]) -> int:
        """The least number above `no` that holds; `yes` does."""
        while yes - no > 1:
            middle = (no + yes) // 2
            no, yes = (no, middle) if holds(middle) else (middle, yes)
        return yes

    def _first_in_order(self, graph: Graph, cost: int, row: Row) -> tuple[Key, Row, Rules]:
        """Of the rows that cost as little, the one whose serial numbers, then turns, then shims come first from bore 1 on."""
        among = graph.near(cost)
        for get in (attrgetter("chosen"), attrgetter("turn"), attrgetter("shim_nm")):
            for at, options in enumerate(graph.rows):
                reached = get(row[at])
                for less in sorted({value for one in among[at] if (value := get(options[one])) < reached}):
                    tried = [*among[:at], {one for one in among[at] if get(options[one]) == less}, *among[at + 1 :]]
                    other = cheapest(graph, self.budget, cost + 1, any_will_do=True, among=tried)
                    if other is not None:
                        row, reached = other[1], less
                        break
                among[at] = {one for one in among[at] if get(options[one]) == reached}
        return key_of(row, graph.chain.rules), row, graph.chain.rules


def _one_a_ring(task: LayoutTask) -> list[Rules]:
    rings = tuple(sorted(task.limits.rings_nm)) or (0,)
    return [Rules(ring, None, ()) for ring in rings]
