"""Bearing halves by grade, out of what lies on the shelf, and thrust washers by end float.

Clearance of a journal = housing bore - journal - wall of the upper half - wall of the lower half. The halves of one journal
differ by one grade at most. Where the oil groove is in one half only, upper and lower are two part numbers and never change
places. The maker's manual overrides every limit here; look at the groove and at the face of the thrust washer before the
cap goes on.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import product

from inventory.domain.errors import DomainError
from kits.domain.limits import Limits, whole_nm

_CODE = "bearing-unreadable"
#: Grades of one journal's halves lie this far apart at most (common practice).
GRADES_APART = 1
#: More makes no engine of this trade, and bounds the time of an exact search.
MOST_JOURNALS, MOST_GRADES = 9, 5


@dataclass(frozen=True, slots=True)
class Half:
    """A kind of half shell: part number, grade, wall; `undersize_nm` of the journal it is made for, 0 standard."""

    part: str
    grade: int
    wall_nm: int
    undersize_nm: int = 0


@dataclass(frozen=True, slots=True)
class Journal:
    """A journal in its housing. A journal that is out of round has two diameters; a round one has one, twice."""

    name: str
    housing_nm: int
    smallest_nm: int
    largest_nm: int


@dataclass(frozen=True, slots=True)
class Pair:
    """What one journal gets. least_nm  at the largest diameter of the journal; most_nm  at the smallest."""

    journal: str
    upper: Half
    lower: Half
    least_nm: int
    most_nm: int


@dataclass(frozen=True, slots=True)
class BearingChoice:
    """Pairs in the order of the journals.

    twice_apart_nm   twice the sum of |clearance - target|
    twice_spread_nm  twice the difference of the largest and the smallest clearance
    Twice, since the clearance of an uneven journal is the middle of its least and most.
    """

    pairs: tuple[Pair, ...]
    twice_apart_nm: int
    twice_spread_nm: int


@dataclass(frozen=True, slots=True)
class Wish:
    """What is asked for: limits of the clearance, both given; the target; whether all journals take the same undersize.

    fixed  journal whose halves are given, such as a thrust main with flanged ones → the pairs that it may have, one for each undersize.
           Its clearance counts like that of any other; no other journal takes these halves unless they are also among those to choose from
    """

    limits: Limits
    target_nm: int
    same_undersize: bool = True
    fixed: Mapping[str, Sequence[tuple[Half, Half]]] = field(default_factory=dict)

    def pairs(self, journal: Journal, uppers: Sequence[Half], lowers: Sequence[Half]) -> Iterable[tuple[Half, Half]]:
        """What a journal may have of these halves, whatever its clearance."""
        for upper, lower in self.fixed.get(journal.name) or product(uppers, lowers):
            if abs(upper.grade - lower.grade) <= GRADES_APART and upper.undersize_nm == lower.undersize_nm:
                yield upper, lower


def undersize_wall(standard_nm: int, undersize_nm: int) -> int:
    """The wall of a shell for a journal ground by `undersize_nm`: half of it on each side. An odd nanometre is refused."""
    whole_nm(standard_nm, "the wall", code=_CODE, least=1)
    if whole_nm(undersize_nm, "the undersize", code=_CODE) % 2:
        raise DomainError(_CODE, "The undersize of a journal is halved; it must be an even number of nanometres.")
    return standard_nm + undersize_nm // 2


def pairs_for(journal: Journal, uppers: Sequence[Half], lowers: Sequence[Half], wish: Wish) -> tuple[Pair, ...]:
    """Every pair that gives the journal its clearance whatever the stock, nearest the target first.

    Least and most clearance are both held against the limits; a limit itself passes.
    """
    low, high = _ends(wish.limits)
    found = []
    for upper, lower in wish.pairs(journal, uppers, lowers):
        room = journal.housing_nm - upper.wall_nm - lower.wall_nm
        pair = Pair(journal.name, upper, lower, room - journal.largest_nm, room - journal.smallest_nm)
        if low <= pair.least_nm and pair.most_nm <= high:
            found.append(pair)
    return tuple(sorted(found, key=lambda pair: (_off(pair, wish), _rank(pair))))


def choose_halves(
    journals: Sequence[Journal],
    uppers: Sequence[Half],
    lowers: Sequence[Half],
    stock: Mapping[Half, int] | None,
    wish: Wish,
) -> BearingChoice:
    """The best pair of halves for every journal out of the stock, exactly.

    stock  pieces of each half, 0 where it is not named; None: as many as wanted
    Best is the smallest sum of |clearance - target|, then the smallest spread of the clearances, then the lowest undersizes and
    grades from the first journal on (upper before lower). Raises DomainError `bearing-impossible`, which names the journal and the way
    out (undersize, machining, or the halves to order), and `bearing-unreadable`.
    """
    _check(journals, uppers, lowers, stock, wish)
    options = [pairs_for(journal, uppers, lowers, wish) for journal in journals]
    for journal, pairs in zip(journals, options, strict=True):
        if not pairs:
            raise _no_pair(journal, uppers, lowers, wish)
    best = _best(options, stock, wish)
    if best is None:
        raise _short(_best(options, None, wish), stock or {}, journals)
    return best


def _best(options: Sequence[Sequence[Pair]], stock: Mapping[Half, int] | None, wish: Wish) -> BearingChoice | None:
    """The best choice of one pair for each journal; with one undersize for all, each undersize is tried by itself."""
    if not wish.same_undersize:
        return _Search(options, stock, wish).run()
    found: list[BearingChoice] = []
    for size in sorted({pair.upper.undersize_nm for pairs in options for pair in pairs}):
        of_size = [tuple(pair for pair in pairs if pair.upper.undersize_nm == size) for pairs in options]
        choice = _Search(of_size, stock, wish).run() if all(of_size) else None
        if choice is not None:
            found.append(choice)
    return min(found, key=_key, default=None)


class _Search:
    """Depth first over the journals, cut off where no better choice can follow.

    The least sum that the journals still to come can have with the halves that are left is known exactly and kept, so what
    is looked at in vain are ties only.
    """

    def __init__(self, options: Sequence[Sequence[Pair]], stock: Mapping[Half, int] | None, wish: Wish) -> None:
        self.options, self.wish = options, wish
        self.halves = list(
            dict.fromkeys(half for pairs in options for pair in pairs for half in (pair.upper, pair.lower))
        )
        self.at_half = {half: at for at, half in enumerate(self.halves)}
        most = 2 * len(options)
        self.left = [most if stock is None else min(most, stock.get(half, 0)) for half in self.halves]
        self.best: BearingChoice | None = None
        self.chosen: list[Pair] = []
        self.kept: dict[tuple[int, ...], int | None] = {}

    def run(self) -> BearingChoice | None:
        self._go(0)
        return self.best

    def _rest(self, at: int) -> int | None:
        """The least sum of the journals from `at` on with the halves that are left; None: they do not suffice."""
        if at == len(self.options):
            return 0
        most = 2 * (len(self.options) - at)
        key = (at, *(min(most, pieces) for pieces in self.left))
        if key not in self.kept:
            least: int | None = None
            for pair in self.options[at]:
                off = _off(pair, self.wish)
                if (least is None or off < least) and self._take(pair):
                    rest = self._rest(at + 1)
                    self._give(pair)
                    if rest is not None and (least is None or off + rest < least):
                        least = off + rest
            self.kept[key] = least
        return self.kept[key]

    def _go(self, apart: int) -> None:
        at = len(self.chosen)
        rest = self._rest(at)
        if rest is None or self._hopeless(apart + rest):
            return
        if at == len(self.options):
            choice = BearingChoice(tuple(self.chosen), apart, _spread(self.chosen))
            if self.best is None or _key(choice) < _key(self.best):
                self.best = choice
            return
        for pair in self.options[at]:
            if not self._take(pair):
                continue
            self.chosen.append(pair)
            self._go(apart + _off(pair, self.wish))
            self.chosen.pop()
            self._give(pair)

    def _take(self, pair: Pair) -> bool:
        """Use both halves of the pair, if they are left."""
        upper, lower = self.at_half[pair.upper], self.at_half[pair.lower]
        self.left[upper] -= 1
        self.left[lower] -= 1
        if self.left[upper] >= 0 and self.left[lower] >= 0:
            return True
        self._give(pair)
        return False

    def _give(self, pair: Pair) -> None:
        self.left[self.at_half[pair.upper]] += 1
        self.left[self.at_half[pair.lower]] += 1

    def _hopeless(self, apart: int) -> bool:
        """Whether nothing from here on can be better than the best so far: neither sum nor spread ever gets smaller."""
        if self.best is None:
            return False
        ranks = [_rank(pair) for pair in self.chosen]
        so_far = [_rank(pair) for pair in self.best.pairs[: len(ranks)]]
        return (apart, _spread(self.chosen), ranks) > (self.best.twice_apart_nm, self.best.twice_spread_nm, so_far)


def _twice(pair: Pair) -> int:
    """Twice the clearance of a pair: least and most added."""
    return pair.least_nm + pair.most_nm


def _off(pair: Pair, wish: Wish) -> int:
    return abs(_twice(pair) - 2 * wish.target_nm)


def _spread(pairs: Sequence[Pair]) -> int:
    return max(map(_twice, pairs), default=0) - min(map(_twice, pairs), default=0)


def _rank(pair: Pair) -> tuple[int, int, int, str, str]:
    return (pair.upper.undersize_nm, pair.upper.grade, pair.lower.grade, pair.upper.part, pair.lower.part)


def _key(choice: BearingChoice) -> tuple[int, int, list[tuple[int, int, int, str, str]]]:
    return (choice.twice_apart_nm, choice.twice_spread_nm, [_rank(pair) for pair in choice.pairs])


def _ends(limits: Limits) -> tuple[int, int]:
    if limits.low_nm is None or limits.high_nm is None:
        raise DomainError(_CODE, "A bearing clearance has a lower and an upper limit.")
    return limits.low_nm, limits.high_nm


def _check(
    journals: Sequence[Journal],
    uppers: Sequence[Half],
    lowers: Sequence[Half],
    stock: Mapping[Half, int] | None,
    wish: Wish,
) -> None:
    """Refuse what makes no sense; the wrong value is named."""
    _ends(wish.limits)
    whole_nm(wish.target_nm, "the target", code=_CODE)
    names = [journal.name for journal in journals]
    grades = {half.grade for half in (*uppers, *lowers)}
    if not 0 < len(names) <= MOST_JOURNALS or len(set(names)) < len(names) or len(grades) > MOST_GRADES:
        raise DomainError(
            _CODE,
            f"One to {MOST_JOURNALS} journals, each named once, and {MOST_GRADES} grades at most.",
            journals=names,
        )
    for journal in journals:
        for value in (journal.housing_nm, journal.smallest_nm, journal.largest_nm):
            whole_nm(value, journal.name, code=_CODE, least=1)
        if journal.smallest_nm > journal.largest_nm:
            raise DomainError(_CODE, f"{journal.name}: its smallest diameter is above its largest.", what=journal.name)
    for side in (uppers, lowers):
        if len({(half.part, half.grade, half.undersize_nm) for half in side}) < len(side):
            raise DomainError(_CODE, "One part and grade stands twice on one side.", parts=[half.part for half in side])
    if strange := sorted(set(wish.fixed) - set(names)):
        raise DomainError(_CODE, f"{', '.join(strange)}: fixed, but no journal of this bearing.", journals=strange)
    for half in {*uppers, *lowers, *(half for pairs in wish.fixed.values() for pair in pairs for half in pair)}:
        whole_nm(half.wall_nm, f"the wall of {half.part}", code=_CODE, least=1)
        whole_nm(half.undersize_nm, f"the undersize of {half.part}", code=_CODE)
        if not isinstance(half.grade, int) or isinstance(half.grade, bool):
            raise DomainError(_CODE, f"The grade of {half.part} must be a whole number.", what=half.part)
    for half, pieces in (stock or {}).items():
        if not isinstance(pieces, int) or isinstance(pieces, bool) or pieces < 0:
            raise DomainError(_CODE, f"The stock of {half.part} must be whole pieces.", what=half.part)


def _no_pair(journal: Journal, uppers: Sequence[Half], lowers: Sequence[Half], wish: Wish) -> DomainError:
    """No pair fits the journal whatever the stock: say on which side it misses, and by how much at the nearest pair."""
    low, high = _ends(wish.limits)
    rooms = [journal.housing_nm - upper.wall_nm - lower.wall_nm for upper, lower in wish.pairs(journal, uppers, lowers)]
    wide = [room - journal.smallest_nm - high for room in rooms]
    tight = [low - (room - journal.largest_nm) for room in rooms]
    if journal.largest_nm - journal.smallest_nm > high - low:
        way, miss = (
            "Grind the journal round and take undersize shells.",
            journal.largest_nm - journal.smallest_nm - high + low,
        )
    elif rooms and min(wide) > 0:
        way, miss = "Grind the journal and take undersize shells, or shells of a thicker wall.", min(wide)
    elif rooms and min(tight) > 0:
        way, miss = "Machine the housing or the journal, or take shells of a thinner wall.", min(tight)
    else:
        way, miss = "Get halves of a grade between, of one undersize.", 0
    if journal.name in wish.fixed:
        way = "Its halves are fixed: grind the journal for those of an undersize, or machine the housing."
    return DomainError(
        "bearing-impossible",
        f"{journal.name}: no pair of halves gives it a clearance within the limits.",
        ways_out=(way,),
        journal=journal.name,
        miss_nm=miss,
    )


def _short(wanted: BearingChoice | None, stock: Mapping[Half, int], journals: Sequence[Journal]) -> DomainError:
    """Every journal has a pair, but not all at once: name what the best choice lacks, or that undersizes do not agree."""
    if wanted is None:
        return DomainError(
            "bearing-impossible",
            "No one undersize gives every journal its clearance.",
            ways_out=("Grind all journals to one undersize.",),
            journal=journals[0].name,
        )
    need = Counter(half for pair in wanted.pairs for half in (pair.upper, pair.lower))
    lacking = {half: pieces - stock.get(half, 0) for half, pieces in need.items() if pieces > stock.get(half, 0)}
    used: Counter[Half] = Counter()
    first = journals[0].name
    for pair in wanted.pairs:
        used.update((pair.upper, pair.lower))
        if any(used[half] > stock.get(half, 0) for half in (pair.upper, pair.lower)):
            first = pair.journal
            break
    order = sorted(lacking.items(), key=lambda one: (one[0].part, one[0].undersize_nm, one[0].grade))
    return DomainError(
        "bearing-impossible",
        f"{first}: the halves on the shelf do not give every journal its clearance at once.",
        ways_out=(
            *(f"Get {pieces} of {half.part} grade {half.grade}." for half, pieces in order),
            "Grind the crank and take undersize shells.",
        ),
        journal=first,
        lacking=[{"part": half.part, "grade": half.grade, "pieces": pieces} for half, pieces in order],
    )
