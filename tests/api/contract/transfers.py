"""One good request for each operation of what goes to another site."""

from __future__ import annotations

from collections.abc import Callable

from inventory.models import Person
from inventory.services.take_transfer import TakeLine
from tests.api.contract.shops import Good
from tests.factories.vans import Road, road


def _road() -> Road:
    return road("V-1")


def _sending(actor: Person) -> Good:
    way = _road()
    line = {"item": way.ring.pk, "amount": "4 EA", "from_place": "R1"}
    return Good(body={"van": "VAN", "to_site": "QUAY", "driver": "lio", "lines": [line]})


def _read(actor: Person) -> Good:
    return Good({"note": _road().sent()})


def _listed(actor: Person) -> Good:
    _road().sent()
    return Good(query={"state": "on the way"})


def _taking(actor: Person) -> Good:
    other = {"part": "V-1", "lot": "B1", "amount": 1, "to_place": "Y1", "line": 1}
    lines = [{"line": 1, "amount": "3 EA", "to_place": "Y1"}]
    return Good({"note": _road().sent()}, body={"lines": lines, "others": [other], "quarantine": "YQ"})


def _explaining(actor: Person) -> Good:
    way = _road()
    note = way.sent()
    way.taken(note, TakeLine(1, 3, "Y1"))
    words = {"line": 1, "how": "scrapped", "amount": "1 EA", "reason": "the box fell out", "who_pays": "shop"}
    return Good({"note": note}, body=words)


GOOD_TRANSFERS: dict[str, Callable[[Person], Good]] = {
    "transfer_notes_create": _sending,
    "transfer_notes_list": _listed,
    "transfer_notes_read": _read,
    "transfer_notes_receipts_create": _taking,
    "transfer_notes_explanations_create": _explaining,
}
