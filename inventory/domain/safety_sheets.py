"""Safety data sheets: which parts need one before they are issued, and what makes a record of one usable.

A sheet in sixteen sections comes with every hazardous product (UN GHS, annex 4). The books keep where it is and when it was issued,
never what it says: the sheet itself is read, and it overrides every note of the shop.
"""

from __future__ import annotations

from datetime import date

from inventory.domain.errors import DomainError
from inventory.domain.text import shown

#: Kinds of the parts list that are chemical products by nature (common practice).
CHEMICAL_KINDS = frozenset({"fluid", "lubricant", "sealant"})
LONGEST_LINK = 500


def is_chemical(kind: str) -> bool:
    """Whether a part of that kind is issued only with its safety data sheet."""
    return kind.strip().lower() in CHEMICAL_KINDS


def check_safety_sheet(part: str, kind: str, link: str, issued_on: date, today: date, last: date | None) -> None:
    """DomainError "safety-sheet-unusable": no chemical, no place where the sheet is, issued after today, or before the one on record.

    last   when the newest sheet on record was issued; None: there is none
    """
    why = ""
    if not is_chemical(kind):
        why = f"{part} is of the kind {kind or 'to be sorted'}: it has no safety data sheet."
    elif not link.strip() or len(link) > LONGEST_LINK:
        why = f"Where is the sheet? An address or a place in the office, at most {LONGEST_LINK} characters."
    elif issued_on > today:
        why = f"A sheet issued on {issued_on} cannot be on record on {today}."
    elif last is not None and issued_on < last:
        why = f"The sheet on record was issued on {last}; this one is older."
    if why:
        raise DomainError("safety-sheet-unusable", why, part=part, link=shown(link), issued_on=issued_on.isoformat())


def missing(label: str) -> DomainError:
    """The refusal of issuing a chemical whose sheet is not on record."""
    return DomainError(
        "safety-sheet-missing",
        f"{label}: no safety data sheet is on record; it may be received, it is not issued.",
        ways_out=("Enter where its sheet is, and when it was issued.",),
        part=label,
    )
