"""One good request for each operation of counting in turn and of kept pieces."""

from __future__ import annotations

from inventory.models import Person
from tests.api.contract.rebuilds import Make
from tests.api.contract.shops import Good
from tests.api.rest.clients import ShopClient, somebody
from tests.factories.keeping import rings

BINS = {"site": "TS", "bins": [{"place": "R1", "part": "P-1"}]}


def _sheet(actor: Person, *counted: int) -> Good:
    """A sheet over ten pieces that were counted so often, the last time by another person."""
    client = ShopClient(actor)
    number = client.send("count-sheets", BINS).json()["sheet"]
    for time, amount in enumerate(counted):
        its = ShopClient(somebody("inspector")) if time else client
        path = f"count-sheets/{number}/{'recounts' if time else 'entries'}"
        assert its.send(path, {"lines": [{"line": 1, "counted": amount}]}).status_code == 201
    return Good({"number": number})


def _line(path: Good, amount: int) -> Good:
    return Good(path.path, body={"lines": [{"line": 1, "counted": amount}]})


def _kept(actor: Person) -> Good:
    """A lot of rings of which one is kept, fitted nowhere."""
    its = rings()
    return Good({"number": its.lot_id}, body={"reason": "all of it goes back"})


GOOD_COUNTING: dict[str, Make] = {
    "kept_pieces_read": lambda actor: Good(query=_kept(actor).query),
    "kept_pieces_create": lambda actor: Good(body={}),
    "lots_kept_releases_create": _kept,
    "count_classes_read": lambda actor: Good(),
    "count_accuracy_read": lambda actor: Good(query={"since": "2025-01-01", "on": "2025-01-15"}),
    "bins_due_read": lambda actor: Good(query={"site": "TS"}),
    "count_sheets_list": lambda actor: Good(),
    "count_sheets_create": lambda actor: Good(body=BINS),
    "count_sheets_read": lambda actor: _sheet(actor, 10),
    "count_sheets_differences_read": lambda actor: _sheet(actor, 3, 3),
    "count_sheets_entries_create": lambda actor: _line(_sheet(actor), 10),
    "count_sheets_recounts_create": lambda actor: _line(_sheet(somebody("storekeeper"), 3), 3),
    "count_sheets_postings_create": lambda actor: Good(_sheet(actor, 3, 3).path, body={"reason": "round"}),
}
