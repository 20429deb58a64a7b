"""A program of its own that works without pause until it is killed. Run as `python -m tests.crash.writer NAME WORK`.

WORK is `bench` or `stores`.
Before each act it says `try KEY`; once the act is acknowledged, `done KEY DIGEST`, or `refused KEY CODE` where the other
writer was quicker. What stands on a whole line was said.
"""

from __future__ import annotations

import sys
import uuid
from collections.abc import Callable, Generator
from typing import Any

import django


def say(*words: object) -> None:
    """One line, at once."""
    print(*words, flush=True)


def bench(name: str) -> Generator[Callable[..., Any], Any, None]:
    """Acts without end: receive, carry, hold, pick, count, scrap; of one part that another writer wants as well."""
    from inventory.models import Item, Person
    from inventory.services.count import CountLine, count
    from inventory.services.receive import ReceiveLine, receive
    from inventory.services.scrap import scrap
    from inventory.services.transfer import TransferLine, transfer
    from kits.services.extras import ask_for_more
    from kits.services.pick_kit import Scan, pick

    actor = Person.objects.get(username=name)
    job = f"J-{name}"
    while True:
        lot = f"{name}/{uuid.uuid4()}"
        lines = [ReceiveLine("RING", 9, lot=lot)]
        yield lambda lines=lines, **more: receive(actor=actor, supplier="maker", place="R1", lines=lines, **more)
        item = Item.objects.get(lot__code=lot)
        carried = [TransferLine(item.pk, 4, "R1", "R2")]
        yield lambda carried=carried, **more: transfer(actor=actor, lines=carried, **more)
        ask = {"job": job, "part": "RING", "amount": 2, "reason": "dropped"}
        held = yield lambda ask=ask, **more: ask_for_more(actor=actor, **ask, **more)
        scans = [Scan(one["hold"], one["lot"]) for one in held.body["held"]]
        if scans:
            listed = held.body["pick_list"]
            yield lambda listed=listed, scans=scans, **more: pick(actor=actor, pick_list=listed, scans=scans, **more)
        counted = [CountLine(3, item_id=item.pk)]
        yield lambda counted=counted, **more: count(actor=actor, place="R2", lines=counted, reason="counted", **more)
        facts = {"place": "R2", "item_id": item.pk, "amount": 1, "reason": "wet", "who_pays": "shop"}
        yield lambda facts=facts, **more: scrap(actor=actor, **facts, **more)


def stores(name: str) -> Generator[Callable[..., Any], Any, None]:
    """Acts without end: order, receive against the order; keep a table of stock, read it in two parts, book it."""
    from api.tables.read import read_table
    from inventory.models import Person
    from inventory.services.bring_in import book_table, keep_table, read_table_rows
    from inventory.services.orders import OrderLineIn, place_order
    from inventory.services.receive import ReceiveLine, receive

    actor = Person.objects.get(username=name)
    while True:
        number = f"{name}/{uuid.uuid4()}"[:40]
        wanted = [OrderLineIn("RING", amount=6)]
        yield lambda number=number, wanted=wanted, **more: place_order(
            actor=actor, order=number, supplier="maker", lines=wanted, **more
        )
        lines = [ReceiveLine("RING", 4, lot=f"{number}/{bag}") for bag in ("a", "b")]
        came = {"supplier": "maker", "order": number, "place": "R1", "quarantine": "Q1", "lines": lines}
        yield lambda came=came, **more: receive(actor=actor, **came, **more)
        content = "part,place,spot,amount,lot\n" + "".join(f"RING,R2,{bin},3,{number}/{bin}\n" for bin in "cdef")
        table = {"kind": "stock", "name": "t.csv", "content": content.encode(), "reader": read_table}
        kept = yield lambda table=table, **more: keep_table(actor=actor, **table, **more)
        file, rows = kept.body["import"], read_table(content.encode(), "t.csv").rows
        for _ in range(2):
            yield lambda file=file, rows=rows, **more: read_table_rows(
                actor=actor, file_id=file, rows=rows, most=2, **more
            )
        yield lambda file=file, **more: book_table(actor=actor, file_id=file, **more)


def main(name: str, work: str) -> None:
    """Work until killed."""
    django.setup()
    from inventory.domain.errors import DomainError
    from inventory.services.run import Stamp
    from tests.crash.digest import digest
    from tests.factories.stores import NOON

    acts = {"bench": bench, "stores": stores}[work](name)
    act = next(acts)
    while True:
        key = uuid.uuid4()
        say("try", key)
        try:
            # All at one moment: two writers with clocks of their own would refuse each other's movements as backdated.
            done = act(stamp=Stamp(key, NOON, NOON))
            say("done", key, digest(done.body))
        except DomainError as error:
            done = None
            say("refused", key, error.code)
        act = acts.send(done)


if __name__ == "__main__":
    main(*sys.argv[1:])
