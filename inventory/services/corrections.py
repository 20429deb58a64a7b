"""Which acts of the stores that moved nothing are taken back by the word alone. Private to services: `correctable` keeps what is said here."""

from __future__ import annotations

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.models import Act, CountPosting, CountSheet, CountSheetLine
from inventory.services import correctable


def _uncount(act: Act, original: Act) -> dict[str, object]:
    """What was entered wrongly on a count sheet does not count, as long as the sheet is not booked."""
    sheet = CountSheetLine.objects.filter(counts__act=original).values_list("sheet", flat=True).first()
    locks.row(CountSheet._meta.db_table, [sheet] if sheet is not None else [])
    if CountPosting.objects.filter(sheet=sheet).exists():
        raise DomainError(
            "not-correctable",
            f"Count sheet {sheet} was booked since.",
            ways_out=("Take the count back that booked it.",),
            act=original.pk,
            kind=original.kind,
        )
    return {"sheet": sheet}


correctable.by_word("enter counts", _uncount)
correctable.by_word("recount", _uncount)
correctable.instead("mark demand", "Enter the other word on the month, and why.")
correctable.instead("open count sheet", "Close the sheet: book it with every line left out, and say why.")
