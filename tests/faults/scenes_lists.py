"""A stage for each act of tables that are brought in."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from api.tables.read import read_table
from inventory.models import Item
from inventory.services.bring_in import Answer, answer_table, book_table, keep_table, read_table_rows
from inventory.services.late_acts import answer_clash, keep_refused
from tests.factories.stores import NOON, PartFactory, PersonFactory, shelf, stamp, stock
from tests.faults.scenes import fresh, scene


@scene(keep_table)
def a_table_of_stock() -> dict[str, Any]:
    shelf("R1")
    part = PartFactory(number=fresh("FI-"), tracked_by="lot").number
    sets = PartFactory(number=fresh("FI-"), tracked_by="set", unit="SET", kind="matched set").number
    content = f"part,place,spot,amount,lot,serial\n{part},R1,A1,4,L-1,\n{part},R1,A2,4,L-1,\n{sets},R1,,1,,S-1\n{part},R1,A1,4,L-1,\n"
    return {"kind": "stock", "name": "t.csv", "content": content.encode(), "reader": read_table}


@scene(read_table_rows)
def a_table_that_was_kept() -> dict[str, Any]:
    given = a_table_of_stock()
    number = keep_table(actor=PersonFactory(), stamp=stamp(), **given).body["import"]
    return {"file_id": number, "rows": read_table(given["content"], "t.csv").rows}


@scene(answer_table)
def a_table_that_was_read() -> dict[str, Any]:
    given = a_table_that_was_kept()
    read_table_rows(actor=PersonFactory(), stamp=stamp(), **given)
    return {"file_id": given["file_id"], "answers": [Answer(5, "", "leave out"), Answer(2, "amount", "5 EA")]}


@scene(book_table)
def a_table_that_was_answered() -> dict[str, Any]:
    given = a_table_that_was_read()
    answer_table(actor=PersonFactory(), stamp=stamp(), **given)
    return {"file_id": given["file_id"]}


@scene(keep_refused)
def a_set_that_somebody_else_moved() -> dict[str, Any]:
    part, serial = PartFactory(number=fresh("FI-"), tracked_by="set", unit="SET"), fresh("S-")
    stock(part, serial=serial)
    body = {"item": Item.objects.get(serial__number=serial).pk}
    problem = {"code": "not-there", "detail": "it is gone"}
    return {"kind": "scrap", "of": "", "body": body, "problem": problem, "codes": ["not-there"]}


@scene(answer_clash)
def two_stories() -> dict[str, Any]:
    late = replace(stamp(), device="bench 2", device_at=NOON)
    kept = keep_refused(actor=PersonFactory(), stamp=late, **a_set_that_somebody_else_moved())
    return {"clash": kept.body["clash"], "second_is_right": True, "words": "found on the bench"}
