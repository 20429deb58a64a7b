"""The list and the cart of a plain job, by hand: what the twin of holding freezes as a pick list."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from api.measure.by_hand import Refused, one, read_json, rows

Body = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the list; `uses` are (position, amount), `said` is its because."""

    number: int
    step: int
    tray: int
    part: int
    part_number: str
    name: str
    kind: str
    weight_mg: int | None
    hazard: str
    uses: tuple[tuple[str, int], ...]
    said: str
    tools: tuple[str, ...]
    note: str
    caution: str

    @property
    def amount(self) -> int:
        """Pieces of all positions."""
        return sum(amount for _, amount in self.uses)


#: Lines by (procedure revision): the documents of revisions are frozen.
_lines: dict[int, tuple[Line, ...]] = {}


def forget() -> None:
    """Another database has other ids."""
    _lines.clear()


def lines_of(revision: int, code: str) -> tuple[Line, ...]:
    """Lines of a procedure's revision in order of work; Refused where one is more than always-new pieces."""
    if revision in _lines:
        return _lines[revision]
    body = read_json(one("SELECT document FROM kits_procedurerevision WHERE id = %s", [revision])[0])
    cautions = {step["step"]: step.get("caution", "") for step in body["steps"]}
    listed = rows(
        """SELECT l.line, l.at, p.id, p.number, p.name, p.kind, p.weight_mg, p.hazard_note, p.compound
           FROM kits_partsline l JOIN inventory_part p ON p.id = l.part_id WHERE l.revision_id = %s""",
        [revision],
    )
    by_line = {row[0]: row[1:] for row in listed}
    found: list[Line] = []
    for entry in sorted(body["lines"], key=lambda entry: (entry["step"], entry["tray"], entry["part"])):
        at, part, number, name, kind, weight, hazard, compound = by_line[entry["id"]]
        if compound or entry["how"] != "count" or entry.keys() & {"when", "fits", "choice", "make"}:
            raise Refused("more than a plain line")
        each = int(entry["amount"].split()[0])
        said = f"{code} step {entry['step']} ({entry['id']}): always when the operation is on the job"
        found.append(
            Line(
                len(found) + 1,
                entry["step"],
                entry["tray"],
                part,
                number,
                name,
                kind,
                weight,
                hazard,
                tuple((position, each) for position in at.split(", ")),
                f"{said}; {entry['because']}",
                tuple(entry.get("tools", ())),
                entry.get("note", ""),
                cautions[entry["step"]],
            )  # fmt: skip
        )
    _lines[revision] = tuple(found)
    return _lines[revision]


def list_document(row: Sequence[Any], operation: Sequence[Any], lines: Sequence[Line], fit_on: date) -> Body:
    """The pick list's document: everything a person sees of the list."""
    _, code, revision = operation
    tools: dict[str, dict[str, None]] = {}
    for line in lines:
        for tool in line.tools:
            tools.setdefault(tool, {})[f"{code}/{line.step}"] = None
    empty: tuple[str, ...] = (
        "findings", "waiting_for_owner", "open_choices", "conflicts", "buy_in", "empty_operations", "joins",
        "unserved_findings", "reused", "reuse_refused", "not_needed", "on_approval", "sizes",
    )  # fmt: skip
    listed = [
        {
            "line": line.number, "procedure": code, "step": line.step, "tray": line.tray, "part": line.part_number,
            "name": line.name, "amount": line.amount, "base": "piece", "shown": str(line.amount), "how": "count",
            "class": "always-new", "positions": [name for name, _ in line.uses], "because": [line.said], "chosen": "", "on_approval": False,
            "tools": list(line.tools), "notes": [line.note] if line.note else [],
            "cautions": [text for text in (line.caution, line.hazard) if text],
        }
        for line in lines
    ]  # fmt: skip
    return {
        "job": row[1],
        "engine": row[9],
        "family": row[10],
        "fit_on": fit_on.isoformat(),
        "revisions": [{"procedure": code, "revision": revision}],
        "complete": True,
        "lines": listed,
        "tools": [{"tool": tool, "steps": list(steps)} for tool, steps in tools.items()],
        **{name: [] for name in empty},
    }


def cart_document(lines: Sequence[Line], limit_mg: int) -> Body:
    """Trays in order of work, each filled before the next; parts without a packed size, as they are here, ride along."""
    trays: list[Body] = []
    floor: list[Body] = []
    lent: set[str] = set()
    weight_mg = 0
    for line in lines:
        tools = [tool for tool in line.tools if tool not in lent]
        lent.update(tools)
        if line.kind in ("matched set", "kit of sets") or (line.weight_mg or 0) > limit_mg:
            by_hoist = (line.weight_mg or 0) > limit_mg
            floor.append({"line": line.number, "pieces": line.amount, "by_hoist": by_hoist, "tools": tools})
            continue
        whole = (line.weight_mg or 0) * line.amount
        if whole > limit_mg:
            raise Refused("a line heavier than a tray")
        if not trays or weight_mg + whole > limit_mg:
            tray = {
                "tray": len(trays) + 1,
                "weight_g": 0,
                "size_ml": 0,
                "lines": [],
                "not_weighed": [],
                "not_sized": [],
            }
            trays.append(tray | {"tools": []})
            weight_mg = 0
        weight_mg += whole
        trays[-1]["weight_g"] = (weight_mg + 500) // 1000
        trays[-1]["lines"].append({"line": line.number, "pieces": line.amount})
        trays[-1]["tools"] += tools
        trays[-1]["not_sized"].append(line.number)
        if line.weight_mg is None:
            trays[-1]["not_weighed"].append(line.number)
    return {"trays": trays, "floor": floor}
