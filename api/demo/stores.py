"""A day in the stores: a count, a part that is lent, a lot that is stopped, a table that is brought in; told as it goes."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from api.demo.catalogue import Say, Staff
from api.demo.files import document, moment, once, stamp
from api.tables.read import read_table
from api.tables.write import csv_lines
from inventory.domain.import_rows import Verdict
from inventory.queries import imports as read
from inventory.queries.catalogue import lots, place
from inventory.queries.stock import in_place
from inventory.services.bring_in import Answer, answer_table, book_table, keep_table, read_table_rows
from inventory.services.count import CountLine, count
from inventory.services.orders import OrderLineIn, place_order
from inventory.services.receive import ReceiveLine, receive
from inventory.services.run import Stamp
from inventory.services.stops import stop_lot
from kits.services.extras import ask_for_more
from kits.services.lending import answer_to_lend, ask_to_lend, lend


def tell_stores(staff: Staff, say: Say) -> None:
    """Each of the four with its heading."""
    plan = document("stores")
    for tell in (_count, _lend, _stop, _bring_in):
        say("")
        tell(staff, plan, say)


def _at(plan: Mapping[str, Any], name: str, minutes: int) -> Stamp:
    return stamp(f"stores {name}", moment(plan["day"], 7, minutes))


def _count(staff: Staff, plan: Mapping[str, Any], say: Say) -> None:
    its = plan["count"]
    rows = [row for row in in_place([place(its["place"]).pk]) if row.part == its["part"]]
    most = max(rows, key=lambda row: row.amount)
    found = most.amount - its["short_by"]
    say(f"{plan['storekeeper']} counts {its['part']} at {its['place']}, and {its['second']} after that")
    said = once(
        count,
        actor=staff[plan["storekeeper"]],
        stamp=_at(plan, "count", 0),
        place=its["place"],
        lines=[CountLine(found, item_id=most.item_id, spot=most.spot_name, counted_again=found)],
        second=staff[its["second"]],
        reason=its["reason"],
        looked_at=its["looked_at"],
    )
    for line in said["lines"]:
        say(
            f"  on the books {line['on_books']}, counted {line['counted']}: a new entry of {line['difference']}, {said['reason']}"
        )
    _shorts(say, said["shorts"])


def _lend(staff: Staff, plan: Mapping[str, Any], say: Say) -> None:
    its = plan["loan"]
    held = _held(staff, plan)
    say(f"{its['lent_to']} has {its['why']}: {its['pieces']} of {held['amount']} that are held for {its['held_for']}")
    asked = once(
        ask_to_lend,
        actor=staff[plan["manager"]],
        stamp=_at(plan, "ask to lend", 20),
        job=its["lent_to"],
        hold=held["hold"],
        amount=its["pieces"],
        asked_of=staff[its["asked_of"]],
        reason=its["why"],
    )
    once(
        answer_to_lend,
        actor=staff[its["asked_of"]],
        stamp=_at(plan, "answer to lend", 30),
        request=asked["request"],
        agreed=True,
    )
    line = OrderLineIn(its["came"]["part"], amount=its["pieces"], promised_on=date.fromisoformat(its["promised_on"]))
    once(
        place_order,
        actor=staff[plan["manager"]],
        stamp=_at(plan, "order what pays it back", 35),
        order=its["order"],
        supplier=its["came"]["supplier"],
        lines=[line],
    )
    done = once(
        lend,
        actor=staff[plan["manager"]],
        stamp=_at(plan, "lend", 40),
        request=asked["request"],
        order=its["order"],
        line=1,
    )
    places = ", ".join(share[0] for row in done["held"] for share in row["positions"])
    say(f"  {asked['asked_of']} agrees; {done['amount']} of {done['part']} go to {done['to_job']}: {places}")
    back = done["payback"]
    late = ", too late" if back["late"] else ""
    say(f"  paid back by line {back['line']} of order {back['order']}, promised for {back['promised_on']}{late}")
    _shorts(say, done["shorts"])


def _held(staff: Staff, plan: Mapping[str, Any]) -> dict[str, Any]:
    """What is held for the job that lends: a pack that came for it this morning."""
    came, job = plan["loan"]["came"], plan["loan"]["held_for"]
    once(
        receive,
        actor=staff[plan["storekeeper"]],
        stamp=_at(plan, "what is lent came", 10),
        supplier=came["supplier"],
        place=came["place"],
        lines=[ReceiveLine(came["part"], came["pieces"], lot=came["lot"])],
    )
    more = once(
        ask_for_more,
        actor=staff[plan["manager"]],
        stamp=_at(plan, "hold what is lent", 15),
        job=job,
        part=came["part"],
        amount=came["pieces"],
        reason="found after strip",
    )
    return max(more["held"], key=lambda row: int(row["amount"]))


#: Kinds of places as they are said of a sum.
_WHERE = {"shelf": "on shelves", "engine": "in engines", "cart": "on carts", "bench": "at benches", "van": "in the van"}


def _stop(staff: Staff, plan: Mapping[str, Any], say: Say) -> None:
    its = plan["stop"]
    say(f"{its['by']} stops lot {its['lot']} of {its['part']}: {its['reason']}")
    said = once(
        stop_lot,
        actor=staff[its["by"]],
        stamp=_at(plan, "stop", 50),
        lot_id=lots().get(part__number=its["part"], code=its["lot"]).pk,
        reason=its["reason"],
    )
    where = said["where"]
    for kind, amount in where["totals"].items():
        say(f"  {amount:>5} {_WHERE.get(kind, f'in {kind}')}")
    engines = sorted({one["place"] for one in where["engines"]})
    if engines:
        say(f"  {len(engines)} engines to look at: {', '.join(engines)}")
    _shorts(say, said["shorts"])


def _bring_in(staff: Staff, plan: Mapping[str, Any], say: Say) -> None:
    its, person = plan["table"], staff[plan["manager"]]
    content = b"".join(csv_lines(its["headings"], its["rows"]))
    say(f"{plan['manager']} brings in {its['name']}, as a table program left it")
    kept = once(
        keep_table,
        actor=person,
        stamp=_at(plan, "keep table", 60),
        kind=its["kind"],
        name=its["name"],
        content=content,
        reader=read_table,
    )
    number = kept["import"]
    first = once(
        read_table_rows,
        actor=person,
        stamp=_at(plan, "read table", 61),
        file_id=number,
        rows=read_table(content, its["name"]).rows,
    )
    say(
        f"  {first['rows']} rows = {first['accepted']} accepted + {first['questioned']} questioned + {first['refused']} refused"
    )
    once(
        answer_table,
        actor=person,
        stamp=_at(plan, "answer table", 65),
        file_id=number,
        answers=[Answer(**one) for one in its["answers"]],
        as_proposed=its["as_proposed"],
    )
    answers = read.answers_of(number)
    for row in read.rows_of(number):
        for column, text in answers.get(row["row"], {}).items():
            say(f"  row {row['row']}: {column} {row['cells'].get(column, '')} was asked about: {text}")
        if row["verdict"] == Verdict.REFUSED:
            say(f"  row {row['row']} refused: {'; '.join(one['message'] for one in row['refusals'])}")
    booked = once(book_table, actor=person, stamp=_at(plan, "book table", 70), file_id=number)
    say(f"  booked: {', '.join(f'{amount} {what}' for what, amount in booked['booked'].items())}; the file is kept")


def _shorts(say: Say, shorts: list[dict[str, Any]]) -> None:
    for one in shorts:
        say(f"  short: {one['amount']} of {one['part']}, needed on {one['needed_on']}: {one['why']}")
