"""What is written on the tag of a removed part, and on the part itself with the paint pen."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Removed:
    """A part that came out. position  empty: nobody knows from where; front  which end of the engine counts as the front."""

    job: str
    position: str
    part: str
    serial: str = ""
    lot: str = ""
    tag: str = ""
    clock_deg: int | None = None
    side: str = ""
    mark: str = ""
    amount: int = 1


#: How a side reads on a tag, by the mark that the family asks for.
_SIDES = {"arrow": "arrow towards", "side": "number on the"}
LOST = "POSITION LOST"


def tag_lines(one: Removed, front: str) -> tuple[str, ...]:
    """The lines of a printed tag, top to bottom: job and place, part, marks, direction to the front."""
    what = " ".join(text for text in (one.part, one.serial or one.lot) if text)
    marks = []
    if one.clock_deg is not None:
        marks.append(f"mark at {one.clock_deg}°")
    if one.side:
        marks.append(f"{_SIDES.get(one.mark, 'side')} {one.side}")
    pieces = f" ({one.amount} pieces)" if one.amount > 1 else ""
    return tuple(
        text
        for text in (
            f"{one.job}  {one.position or LOST}",
            f"{what}{pieces}",
            f"tag {one.tag}" if one.tag else "",
            ", ".join(marks),
            f"front: {front}" if front and one.position else "",
        )
        if text
    )


def paint_mark(one: Removed) -> str:
    """What the paint pen writes on the part: its number in its group and a line towards the front; a part without a place gets a cross."""
    if not one.position:
        return "X"
    group, _, name = one.position.partition("/")
    number = group.rpartition("-")[2]
    return f"{number if number.isdigit() else group} {name}, and a line towards the front"
