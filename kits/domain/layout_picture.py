"""A layout as a picture in plain text, for the bench: which set stands where, how high, and the marks to write. Pure.

At most 100 columns. Bores stand in the engine's own order from the end that the family counts from, and it is said where the
front is: that is where the line on each liner points, whatever end number 1 is at.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from kits.domain.layout import Layout, NoLayout
from kits.domain.layout_placed import Placed, point_said
from kits.domain.protrusion import microns

COLUMNS = 100
DOUBT = "Only if a person decides that the doubt is none, write on each liner with the paint pen:"
CAUTION = (
    "The layout is calculated from typed readings. Check the marks by eye before anything is fitted.",
    "A liner is lifted by two people or by a hoist. If in doubt, measure again.",
    "The engine maker's manual wins over everything printed here.",
)


@dataclass(frozen=True, slots=True)
class Standing:
    """How an engine stands before the technician, facts of the family.

    number_one  where bore 1 is, as "at the flywheel end"
    front       what counts as the front for crown marks and lines, as "timing end"
    front_bore  the bore nearest to the front of each head
    """

    number_one: str
    front: str
    front_bore: tuple[int, ...]


def picture(layout: Layout, standing: Standing) -> tuple[str, ...]:
    """The lines of the picture."""
    word = "certain" if layout.certain else "DOUBTFUL"
    lines = [f"Layout: {word}. Bore 1 is {standing.number_one}. Front: {standing.front}."]
    lines += [f"  {text}" for text in layout.why]
    if not layout.proved:
        lines.append("  The search was ended early: there may be a better layout.")
    lines.append(
        f"Largest step {microns(layout.largest_step_nm)}; distance from the target {microns(layout.off_target_nm)} in all; "
        f"{_count(layout.turned, 'set')} turned; {_count(layout.shims, 'shim')}."
    )
    if layout.ring_nm:
        lines.append(f"Under every liner a base ring of {_mm(layout.ring_nm)}, all alike.")
    for head in dict.fromkeys(one.head for one in layout.placed):
        numbers = [at for at, one in enumerate(layout.placed) if one.head == head]
        lines += ["", *_head(layout, numbers, standing, head)]
    lines += ["", "Write on each liner with the paint pen:" if layout.certain else DOUBT]
    lines += [f"  {_mark(one)}, and a line towards the front ({standing.front})" for one in layout.placed]
    if layout.turned:
        lines.append("A turned liner does not turn its piston: the mark on the crown still points to the front.")
    return tuple(wrapped for line in (*lines, "", *CAUTION) for wrapped in _wrapped(line))


def miss_lines(found: NoLayout) -> tuple[str, ...]:
    """The lines where there is no layout: how near the nearest comes, what breaks it, what would help."""
    if found.miss is None:
        return ("The search was ended early: it is not known whether a layout exists.", CAUTION[1])
    miss = found.miss
    lines = ["No layout keeps the limits."]
    if miss.placed:
        near = ", ".join(f"bore {one.bore}: {one.serial}{_how(one)}" for one in miss.placed)
        lines.append(f"The nearest is beyond them by {microns(miss.total_nm)} in all: {near}.")
    if not miss.proved:
        lines.append("The search for the nearest was ended early: there may be a nearer one.")
    lines += [f"  {one.text}" for one in miss.breaks]
    lines += ["What would help:", *(f"  {text}" for text in miss.help)]
    return tuple(wrapped for line in (*lines, "", *CAUTION) for wrapped in _wrapped(line))


def _head(layout: Layout, numbers: Sequence[int], standing: Standing, head: str) -> list[str]:
    """One head: as many bores side by side as the paper is wide."""
    title = f"Head {head}, bores" if head else "Bores"
    nearest = [layout.placed[at].bore for at in numbers if layout.placed[at].bore in standing.front_bore]
    lines = [f"{title} {layout.placed[numbers[0]].bore} to {layout.placed[numbers[-1]].bore}"
             + (f"; bore {nearest[0]} is nearest to the front" if nearest else "")]  # fmt: skip
    wide = max(9, *(len(layout.placed[at].serial) + 2 for at in numbers))
    room = max(1, (COLUMNS - 16) // wide)
    for start in range(0, len(numbers), room):
        lines += _row(layout, numbers[start : start + room], wide)
    return lines


def _row(layout: Layout, numbers: Sequence[int], wide: int) -> list[str]:
    placed = [layout.placed[at] for at in numbers]
    points = len(placed[0].heights_nm)
    doubtful = set(layout.doubtful)

    def line(name: str, cells: Sequence[str]) -> str:
        return f"{name:<16}" + "".join(f"{cell:>{wide}}" for cell in cells).rstrip()

    lines = [
        line("", [f"( {one.bore} )" for one in placed]),
        line("set", [one.serial for one in placed]),
        line("turned", [f"{one.turn_deg}°" for one in placed]),
    ]
    if layout.shims:
        lines.append(
            line("shim, mm", [_mm(one.shim_nm).removesuffix(" mm") if one.shim_nm else "none" for one in placed])
        )
    for point in range(points):
        cells = [_um(one.heights_nm[point]) + ("?" if (one.bore, point) in doubtful else " ") for one in placed]
        lines.append(line(f"{point_said(point, points)}, µm", cells))
    lines.append(line("mean, µm", [_um(one.mean_nm) + " " for one in placed]))
    steps = [layout.steps_nm[at - 1] if at else None for at in numbers]
    lines.append(line("step, µm", ["-" if step is None else _signed(step) + " " for step in steps]))
    # the means as a stair: each bore at its own level, highest first
    for level in sorted({one.mean_nm for one in placed}, reverse=True):
        lines.append(
            line(f"stair {_um(level):>6}", [f"[{one.bore}]" if one.mean_nm == level else "" for one in placed])
        )
    return lines


def _mark(one: Placed) -> str:
    """What is written on one liner."""
    return f"bore {one.bore}: {one.bore}, {one.serial}{_how(one)}"


def _how(one: Placed) -> str:
    turn = f", turned {one.turn_deg}° clockwise seen from the head" if one.turn_deg else ""
    return f"{turn}, on a shim of {_mm(one.shim_nm)}" if one.shim_nm else turn


def _count(number: int, what: str) -> str:
    return f"{number or 'no'} {what}{'' if number == 1 else 's'}"


def _um(length_nm: int | Fraction) -> str:
    return microns(length_nm).removesuffix(" µm")


def _signed(length_nm: Fraction) -> str:
    return f"+{_um(length_nm)}" if length_nm > 0 else _um(length_nm)


def _mm(length_nm: int) -> str:
    """Millimetres with at least two decimals, exact."""
    whole, rest = divmod(length_nm, 1_000_000)
    decimals = f"{rest:06d}".rstrip("0")
    return f"{whole}.{decimals.ljust(2, '0')} mm"


def _wrapped(line: str) -> list[str]:
    """A line broken at blanks where it is wider than the paper; tables never are."""
    found = []
    while len(line) > COLUMNS:
        cut = line.rfind(" ", 0, COLUMNS)
        cut = cut if cut > 0 else COLUMNS
        found.append(line[:cut])
        line = "    " + line[cut:].lstrip()
    return [*found, line]
