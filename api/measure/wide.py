"""The wide rows of closed jobs, hundreds to a job, by INSERT … SELECT over a chunk of jobs and the lines of their kits."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Sequence
from typing import Any

from django.db import connection

from api.measure.catalogue import HoldLine
from inventory.models import Spot

_JOB = (
    "job", "stream", "pick_list", "act", "lot_item", "set_item", "cart", "bench", "block", "cart_spot", "bench_spot",
    "block_spot", "hold", "fitter", "checker",
)  # fmt: skip
_LINE = ("stream", "number", "part", "bore", "amount", "positions", "tray", "line", "shelf_spot")
_USE = ("stream", "number", "line", "name", "amount")

#: The item of a line: a set of the job's own, or the lot of its turn.
_ITEM = "CASE WHEN l.bore > 0 THEN j.set_item + l.bore ELSE j.lot_item + l.number END"
_PER_LINE = "measure_job j JOIN measure_line l ON l.stream = j.stream"
_PER_USE = f"{_PER_LINE} JOIN measure_use u ON u.stream = l.stream AND u.line = l.number"
_BALANCE = "item_id, spot_id, place_id, part_id, amount, held, real, single, pickable, in_shop, last_at"


def make_line_tables(rows: Sequence[tuple[int, HoldLine, int, Spot]]) -> None:
    """What a kit of each stream takes and where it goes; (stream, line, part id, shelf spot)."""
    lines: list[tuple[Any, ...]] = []
    uses: list[tuple[Any, ...]] = []
    seen: Counter[int] = Counter()
    for stream, line, part_id, shelf in rows:
        positions = json.dumps([[name, 1, amount] for name, amount in line.uses])
        lines.append((stream, line.number, part_id, line.bore, line.amount, positions, line.tray, line.line, shelf.pk))
        for name, amount in line.uses:
            seen[stream] += 1
            uses.append((stream, seen[stream], line.number, name, amount))
    with connection.cursor() as cursor:
        for name, columns, texts in (("line", _LINE, {"positions"}), ("use", _USE, {"name"}), ("job", _JOB, set())):
            kinds = ", ".join(f"{column} {'text' if column in texts else 'bigint'}" for column in columns)
            cursor.execute(f"CREATE TEMPORARY TABLE measure_{name} ({kinds})")
        _fill(cursor, "line", _LINE, lines)
        _fill(cursor, "use", _USE, uses)


def _fill(cursor: Any, name: str, columns: Sequence[str], rows: Sequence[tuple[Any, ...]]) -> None:
    marks = ", ".join(["%s"] * len(columns))
    cursor.executemany(f"INSERT INTO measure_{name} ({', '.join(columns)}) VALUES ({marks})", rows)


def load_wide(jobs: Sequence[tuple[Any, ...]]) -> None:
    """Spots, holds with their ends, movements, fittings and balances of a chunk of jobs."""
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM measure_job")
        _fill(cursor, "job", _JOB, jobs)
        for statement in _statements():
            cursor.execute(statement)


def _statements() -> list[str]:
    on_postgresql = connection.vendor == "postgresql"
    document = "CAST(l.positions AS jsonb)" if on_postgresql else "l.positions"
    yes, no = ("true", "false") if on_postgresql else ("1", "0")
    return [
        """INSERT INTO inventory_spot (id, place_id, name)
            SELECT j.block_spot + u.number, j.block, u.name FROM measure_job j
            JOIN measure_use u ON u.stream = j.stream ORDER BY 1""",
        f"""INSERT INTO inventory_hold (id, act_id, item_id, from_spot_id, to_spot_id, amount, needed_on, until)
            SELECT j.hold + l.number, j.act + 1, {_ITEM}, l.shelf_spot, j.cart_spot, l.amount, k.fit_on, NULL
            FROM {_PER_LINE} JOIN kits_job k ON k.id = j.job ORDER BY 1""",
        f"""INSERT INTO inventory_holdend (hold_id, act_id, how, picked, why)
            SELECT j.hold + l.number, j.act + 2, 'picked', l.amount, '' FROM {_PER_LINE} ORDER BY 1""",
        f"""INSERT INTO kits_jobhold (hold_id, job_id, pick_list_id, wanted_id, positions, on_approval, tray, line)
            SELECT j.hold + l.number, j.job, j.pick_list, l.part, {document}, {no}, l.tray, l.line
            FROM {_PER_LINE} ORDER BY 1""",
        f"""INSERT INTO inventory_movement (act_id, item_id, amount, from_spot_id, to_spot_id)
            SELECT j.act + 2, {_ITEM}, l.amount, l.shelf_spot, j.cart_spot FROM {_PER_LINE}
            ORDER BY j.act, l.number""",
        f"""INSERT INTO inventory_movement (act_id, item_id, amount, from_spot_id, to_spot_id)
            SELECT j.act + 3, {_ITEM}, l.amount, j.cart_spot, j.bench_spot FROM {_PER_LINE}
            ORDER BY j.act, l.number""",
        f"""INSERT INTO inventory_movement (act_id, item_id, amount, from_spot_id, to_spot_id)
            SELECT j.act + 4, {_ITEM}, u.amount, j.bench_spot, j.block_spot + u.number FROM {_PER_USE}
            ORDER BY j.act, u.number""",
        f"""INSERT INTO kits_fitting (job_id, act_id, item_id, spot_id, amount, make, reused, lubricant, side, doubtful, fitter_id, checker_id)
            SELECT j.job, j.act + 4, {_ITEM}, j.block_spot + u.number, u.amount, 1, {no}, '', '', '', j.fitter,
                   CASE WHEN l.bore > 0 THEN j.checker END FROM {_PER_USE} ORDER BY j.act, u.number""",
        *(
            f"""INSERT INTO inventory_balance ({_BALANCE})
            SELECT {_ITEM}, j.{place}_spot, j.{place}, l.part, 0, 0, {yes}, CASE WHEN l.bore > 0 THEN {yes} ELSE {no} END,
                   {no}, {yes}, a.occurred_at
            FROM {_PER_LINE} JOIN inventory_act a ON a.id = j.act + {act} ORDER BY j.job, l.number"""
            for place, act in (("cart", 3), ("bench", 4))
        ),
        f"""INSERT INTO inventory_balance ({_BALANCE})
            SELECT {_ITEM}, j.block_spot + u.number, j.block, l.part, u.amount, 0, {yes},
                   CASE WHEN l.bore > 0 THEN {yes} ELSE {no} END, {no}, {no}, a.occurred_at
            FROM {_PER_USE} JOIN inventory_act a ON a.id = j.act + 4 ORDER BY j.job, u.number""",
    ]
