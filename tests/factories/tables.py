"""Rows of tables that are brought in, judged beside a small catalogue."""

from datetime import date

from inventory.domain.import_cells import Cell, gather
from inventory.domain.import_checks import CHECKS
from inventory.domain.import_known import Known, KnownPart
from inventory.domain.import_rows import judge
from inventory.domain.items import Base, Tracked

TODAY = date(2025, 1, 15)
RING = KnownPart("X-111", "ring", "EA", Base.PIECE, Tracked.LOT)
WASHER = KnownPart("00412", "washer", "EA", Base.PIECE, Tracked.NOTHING)
SHELL = KnownPart("X-401", "shell", "PR", Base.PIECE, Tracked.NOTHING)
OIL = KnownPart("X-706", "oil", "LTR", Base.MICROLITRE, Tracked.NOTHING)
SET = KnownPart("X-101", "set", "SET", Base.PIECE, Tracked.SET)
KNOWN = Known(
    parts={"X111": RING, "00412": WASHER, "X401": SHELL, "X706": OIL, "X101": SET},
    places=frozenset({"R1"}),
    suppliers=frozenset({"SALT"}),
)


def row(kind, /, others=(), answers=None, known=KNOWN, **cells):
    """A row judged among others of its file; names of columns with _ for spaces."""
    named = {name.replace("_", " "): text for name, text in cells.items()}
    made = {name: text if isinstance(text, Cell) else Cell(text) for name, text in named.items()}
    rows = [made, *({name: Cell(text) for name, text in other.items()} for other in others)]
    return judge(kind, made, gather(rows, kind.reads), known, today=TODAY, check=CHECKS[kind.name], answers=answers)


def asked(judged):
    return [(doubt.code, doubt.column, doubt.proposal) for doubt in judged.doubts]


def refused(judged):
    return [error.code for error in judged.errors]
