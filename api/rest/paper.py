"""Sections of tables laid out on sheets of A4: every section begins on a new sheet, and the contents name the sheet.

A browser cannot be asked on which page something will come, so the lines are broken here, by widths that no letter of the page's font
exceeds: what is laid out for a sheet fits on it. A sheet has so many lines; what does not fit goes on on the next, under the same heads.
"""

from __future__ import annotations

import re
from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from kits.domain.claim_sheets import NOT_RECORDED, Cell, ContentsLine, Section, Table

#: Width of the tables on the sheet, height of a line of theirs, size of their letters.
ACROSS_MM = 190.0
LINE_PT = 11
EM_MM = 9 * 25.4 / 72
#: What is left and right of the text in a cell, together.
PADDING_MM = 1.6
#: Lines of a sheet below its heading, and those that a caption, heads and the rule below a row take beside their text.
LINES = 66
CAPTION, RULE = 2, 0.1
#: Upper bounds of how wide letters are, in parts of the size of the font (metrics of Arial and its like), by letters of about that width.
_EM = {
    **dict.fromkeys(" !',./:;I[\\]fijlt|", 0.29),
    **dict.fromkeys('"()*-`r{}', 0.39),
    **dict.fromkeys("GOQMmw", 0.84),
    **dict.fromkeys("%&@W", 1.02),
}
_CAPITAL, _OTHER, _FOREIGN = 0.73, 0.59, 1.1
#: A line may end after these too.
_ENDS = re.compile(r"(?<=[-/])(?=[^-/])")
#: Fewer lines of a row do not begin at the foot of a sheet.
LEAST = 6


def width_of(letter: str) -> float:
    """No less than the width of a letter, in parts of the size of the font."""
    known = _EM.get(letter)
    if known is not None:
        return known
    if not letter.isascii():
        return _FOREIGN
    return _CAPITAL if letter.isupper() else _OTHER


def broken(text: str, width_mm: float) -> list[str]:
    """A text in lines that are no wider: between words where it can be, after a dash or a stroke, else anywhere."""
    room = width_mm / EM_MM
    lines: list[str] = []
    for paragraph in text.replace("\t", " ").splitlines() or [""]:
        line, used = "", 0.0
        for gap, word in _words(paragraph):
            wide = sum(map(width_of, word))
            if line and used + gap * width_of(" ") + wide > room:
                lines.append(line)
                line, used, gap = "", 0.0, 0
            line, used = line + " " * gap, used + gap * width_of(" ")
            for letter in word:
                if line and used + width_of(letter) > room:
                    lines.append(line)
                    line, used = "", 0.0
                line, used = line + letter, used + width_of(letter)
        lines.append(line)
    return lines


def _words(paragraph: str) -> Iterator[tuple[int, str]]:
    """What stays together, each with the spaces before it that fall away at the end of a line."""
    for at, word in enumerate(paragraph.split(" ")):
        for number, piece in enumerate(_ENDS.split(word)):
            yield int(at > 0 and number == 0), piece


@dataclass(slots=True)
class Part:
    """Rows of a table on one sheet, each cell in lines. `gap` of a cell: it is printed as not recorded."""

    caption: str
    heads: list[list[str]]
    widths: list[str]
    rows: list[list[PaperCell]] = field(default_factory=list)


@dataclass(slots=True)
class PaperCell:
    """A cell in lines."""

    lines: list[str]
    gap: bool = False

    @property
    def text(self) -> str:
        """With its line breaks."""
        return "\n".join(self.lines)


@dataclass(slots=True)
class Sheet:
    """One sheet of paper: its number, its section with the sheet's place in it, and what is on it."""

    page: int
    number: int
    title: str
    of_section: int
    parts: list[Part] = field(default_factory=list)
    left: float = LINES


@dataclass(frozen=True, slots=True)
class Line:
    """A line of the contents: section, its first and last sheet, and how many places in it say that something is not recorded."""

    number: int
    title: str
    first: int
    last: int
    gaps: int


@dataclass(frozen=True, slots=True)
class Laid:
    """The contents on the first sheet, the sheets after it, and how many there are with it."""

    contents: list[Line]
    sheets: list[Sheet]
    pages: int


def laid_out(sections: Sequence[Section], contents: Sequence[ContentsLine]) -> Laid:
    """Every section on sheets of its own. The contents are the first sheet."""
    sheets: list[Sheet] = []
    lines: list[Line] = []
    for section, content in zip(sections, contents, strict=True):
        own = list(_sheets(section, content.number, len(sheets) + 2))
        sheets += own
        lines.append(Line(content.number, section.title, own[0].page, own[-1].page, content.gaps))
    return Laid(lines, sheets, len(sheets) + 1)


def _sheets(section: Section, number: int, page: int) -> Iterator[Sheet]:
    sheet = Sheet(page, number, section.title, 1)
    for table in section.tables:
        rows = table.rows or (((None if table.needed else "none"), *[""] * (len(table.heads) - 1)),)
        waiting = deque(_cells(table, row) for row in rows)
        part: Part | None = None
        while waiting:
            cells = waiting.popleft()
            if part is None:
                part = _opened(table)
                cost = CAPTION + max(map(len, part.heads)) + RULE
                if sheet.parts and sheet.left < cost + min(_tall(cells), LEAST) + RULE:
                    yield sheet
                    sheet = _next(sheet)
                sheet.parts.append(part)
                sheet.left -= cost
            now, rest = _fitting(cells, sheet.left - RULE)
            if now is not None:
                part.rows.append(now)
                sheet.left -= _tall(now) + RULE
            if rest is not None:
                waiting.appendleft(rest)
                if not part.rows:
                    sheet.parts.remove(part)
                yield sheet
                sheet, part = _next(sheet), None
    yield sheet


def _next(sheet: Sheet) -> Sheet:
    return Sheet(sheet.page + 1, sheet.number, sheet.title, sheet.of_section + 1)


def _opened(table: Table) -> Part:
    widths = _widths(table)
    heads = [broken(head, (width - PADDING_MM) / 1.1) for head, width in zip(table.heads, widths, strict=True)]
    return Part(table.caption, heads, [f"{width:.2f}" for width in widths])


def _widths(table: Table) -> list[float]:
    return [ACROSS_MM * share / sum(table.shares) for share in table.shares]


def _cells(table: Table, row: Sequence[Cell]) -> list[PaperCell]:
    """Cells of a row in lines; a gap is said in bold letters, which are wider."""
    found = []
    for cell, width in zip(row, _widths(table), strict=True):
        room = width - PADDING_MM
        found.append(
            PaperCell(broken(NOT_RECORDED, room / 1.1), True) if cell is None else PaperCell(broken(cell, room))
        )
    return found


def _tall(cells: Sequence[PaperCell]) -> int:
    return max(len(cell.lines) for cell in cells)


def _fitting(cells: list[PaperCell], room: float) -> tuple[list[PaperCell] | None, list[PaperCell] | None]:
    """What of a row goes on this sheet, and what on the next: a row is broken only where no sheet takes it whole."""
    tall = _tall(cells)
    if tall <= room:
        return cells, None
    whole = LINES - CAPTION - RULE * 2 - 8  # the heads take eight lines at most
    if tall <= whole or room < LEAST:
        return None, cells
    cut = int(room)
    rest = [PaperCell(cell.lines[cut:] or [""]) for cell in cells]
    return [PaperCell(cell.lines[:cut], cell.gap) for cell in cells], rest
