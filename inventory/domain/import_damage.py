"""What a table program made of a number that is a name: a day, a truth, fifteen digits, or one of its own errors. Pure.

A part or lot that was typed as 3-1 becomes the first of March, TRUE is no number at all, and of a number of more than fifteen digits the last
ones are gone, because a cell holds a binary floating-point number of double precision (IEEE 754; common practice of everybody who was sent
such a file). What it was is nowhere in the file: a person looks at the label.
"""

from __future__ import annotations

import re

#: What stands in a cell whose formula found nothing (ISO/IEC 29500-1, error values, from memory).
_ERROR = re.compile(r"#(?:N/A|REF!|VALUE!|NAME\?|DIV/0!|NUM!|NULL!|SPILL!|CALC!|FIELD!|GETTING_DATA)", re.IGNORECASE)
_MONTH = r"(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)"
#: As such a day is written out as text: 01-Mar, Mar-24.
_SHORT_DAY = re.compile(rf"[0-9]{{1,2}}-{_MONTH}|{_MONTH}-[0-9]{{2}}", re.IGNORECASE)
_TRUTHS = frozenset({"yes", "no", "true", "false"})
#: So many digits of a number a cell keeps.
MOST_DIGITS = 15


def is_error(text: str) -> bool:
    """Whether a cell holds an error of the table program, and nothing that anybody typed."""
    return _ERROR.fullmatch(text.strip()) is not None


def turned(text: str, *, is_number: bool, is_day: bool) -> str:
    """What became of a number that is a name, in words behind it; "" where nothing can be seen to have."""
    if is_day or _SHORT_DAY.fullmatch(text):
        return "was made a day by the sheet"
    if text.casefold() in _TRUTHS:
        return "is a truth to the sheet, and no number"
    if is_number and sum(char.isdigit() for char in text) > MOST_DIGITS:
        return "has more digits than a sheet keeps, the last ones are lost"
    return ""
