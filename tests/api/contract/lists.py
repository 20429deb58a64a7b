"""One good request for each operation about the lists themselves: lines that were doubted, newer revisions, second looks."""

from __future__ import annotations

import base64
import copy
from dataclasses import replace

from inventory.models import Item, Person
from inventory.services.late_acts import keep_refused
from tests.api.contract.rebuilds import JOB, Make
from tests.api.contract.shops import Good
from tests.api.rest.clients import ShopClient
from tests.api.rest.rebuilds import rebuild
from tests.factories.engines import operation_documents
from tests.factories.stores import NOON, PartFactory, stamp, stock
from tests.faults.scenes import fresh


def _line_doubted(actor: Person) -> Good:
    its = rebuild().booked()
    said = {"part": "RING", "amount": 1, "reason": "wrong on list"}
    for _ in range(3):
        its.did(its.technician, "jobs/J-1/extras", said)
    return Good({"code": "T1"})


def _line_reviewed(actor: Person) -> Good:
    _line_doubted(actor)
    return Good({"code": "T1"}, body={"line": "T1-ring", "word": "the list is right"})


def _bin_to_count(actor: Person) -> Good:
    its = rebuild().booked().held()
    path = f"pick-lists/{its.said['held']['pick_list']}"
    its.did(its.storekeeper, f"{path}/picks", {"scans": [one for one in its.scans() if one["scanned"] != "RING/1"]})
    its.looked_at()
    missing = {"received_by": its.technician.person.username, "missing": ["RING", "cover-kind"]}
    its.did(its.storekeeper, f"{path}/handovers", missing)
    return Good()


def _newer(actor: Person) -> Good:
    its = rebuild().booked().held()
    document = copy.deepcopy(operation_documents()["T1"]) | {"revision": 2}
    document["lines"] = [one for one in document["lines"] if one["id"] != "T1-washer"]
    its.did(its.manager, "procedures", {"document": document, "makers_stop": "bulletin 7"})
    return Good(JOB)


def _taken_over(actor: Person) -> Good:
    _newer(actor)
    return Good(JOB, body={"revisions": [{"procedure": "T1", "revision": 2}], "take": True, "reason": "the maker says"})


def _look(actor: Person) -> Good:
    its = rebuild().booked().held().picked()
    path = {"pick_list": its.said["held"]["pick_list"]}
    holds = [one["hold"] for one in its.said["held"]["held"] if one["part"] in ("SET", "SHELL-STD")]
    return Good(path, body={"looks": [{"hold": holds[0]}, {"hold": holds[1], "wrong": "scratched"}]})


def _table(actor: Person, *steps: str) -> Good:
    """A table of suppliers that was kept, and went through these steps."""
    client = ShopClient(actor)
    content = base64.b64encode(b"code,name\nM1,Maker\nM1,Another\n").decode()
    number = client.send("imports", {"kind": "suppliers", "name": "s.csv", "content": content}).json()["import"]
    for step in steps:
        said = {"answers": [LEFT_OUT_ROW]} if step == "answers" else {}
        assert client.send(f"imports/{number}/{step}", said).status_code == 201
    return Good({"number": number}, body={})


LEFT_OUT_ROW = {"row": 3, "column": "", "said": "leave out"}
SUPPLIERS = {"kind": "suppliers", "name": "s.csv", "content": base64.b64encode(b"code,name\nM1,Maker\n").decode()}


def _sent(actor: Person, device: str = "bench 1") -> Good:
    its = rebuild().booked().held()
    bolt = its.said["held"]["held"][0]["item"]
    body = {"place": "R1", "lines": [{"item": bolt, "counted": 1}], "reason": "round"}
    act = {
        "key": "0b5a4a3e-6c1f-4f0e-8a54-0d2f7b0c5f11", "kind": "count", "device": device,
        "device_at": "2025-01-15T12:00:00Z", "body": body,
    }  # fmt: skip
    return Good(body={"acts": [act]})


def _clash(actor: Person) -> Good:
    number, late = "TWICE-1", replace(stamp(), device="bench 2", device_at=NOON)
    stock(PartFactory(number=fresh("FI-"), tracked_by="set", unit="SET"), serial=number)
    item = Item.objects.get(serial__number=number).pk
    problem = {"code": "not-there", "detail": "it is gone"}
    kept = keep_refused(
        actor=actor, stamp=late, kind="scrap", of="J-1", body={"item": item}, problem=problem, codes=["not-there"]
    )
    return Good({"number": kept.body["clash"]}, body={"second_is_right": True, "words": "found on the bench"})


def _clashes(actor: Person) -> Good:
    _clash(actor)
    return Good(query={"open": "true"})


GOOD_LISTS: dict[str, Make] = {
    "offline_acts_create": _sent,
    "clashes_list": _clashes,
    "clashes_answers_create": _clash,
    "imports_list": lambda actor: Good(),
    "imports_create": lambda actor: Good(body=SUPPLIERS),
    "imports_read": lambda actor: _table(actor, "readings"),
    "imports_file_read": lambda actor: _table(actor),
    "imports_rows_read": lambda actor: _table(actor, "readings"),
    "imports_readings_create": lambda actor: _table(actor),
    "imports_answers_create": lambda actor: Good(
        _table(actor, "readings").path, body={"answers": [LEFT_OUT_ROW], "as_proposed": []}
    ),
    "imports_bookings_create": lambda actor: _table(actor, "readings", "answers"),
    "bins_to_count_read": _bin_to_count,
    "pick_lists_second_looks_create": _look,
    "jobs_revisions_read": _newer,
    "jobs_revisions_create": _taken_over,
    "line_reviews_read": _line_doubted,
    "procedures_line_reviews_read": _line_doubted,
    "procedures_line_reviews_create": _line_reviewed,
}
