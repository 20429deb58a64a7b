"""A pick list as it lies on paper: one group of lines for each step and tray, in order of work, every caution once. Pure."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any

from kits.domain.spans import in_brief, spans

#: A lighter tray is not worth a word; the weight is for the back of who lifts it.
_WORTH_SAYING_G = 1000
_SENTENCE_END = re.compile(r"(?<=\.) (?=[A-Z])")


#: States of a hold that brings something: what ended otherwise lies on no cart.
BRINGING = ("held", "picked")


def sheet(record: Mapping[str, Any]) -> dict[str, Any]:
    """What is printed of a pick list.

    record  a pick list with `trays`, `floor` and `walk`, as it is read
    `walk` has what is taken from one bin at once as one row. Adds `work`, in order of work: {where, weight, step, name, tools, cautions, cautions_at, lines}. `where` is the tray or the
    floor; `cautions` are those that no group before has shown, `cautions_at` the steps at which the others stand. A line has
    `where` (positions, with set, tube or one of several lots) and `brief` (its becauses in brief). Adds `foot`, one line without any
    sign that a style sheet reads otherwise.
    """
    groups: dict[tuple[str, str], dict[str, Any]] = {}
    laid = [(f"Tray {tray['tray']}", tray["weight_g"], line) for tray in record["trays"] for line in tray["lines"]]
    laid += [("Floor of the trolley", 0, line) for line in record["floor"]]
    for where, weight_g, line in sorted(laid, key=lambda one: int(one[2]["line"])):
        bringing = [one for one in line["held"] if one["state"] in BRINGING]
        if line["held"] and not bringing:
            continue
        step = f"{line['procedure']}/{line['step']}"
        group = groups.setdefault(
            (where, step),
            {
                "where": where,
                "weight": f"{weight_g / 1000:.1f} kg" if weight_g >= _WORTH_SAYING_G else "",
                "step": step,
                "name": line["step_name"],
                "tools": [],
                "lines": [],
            },
        )
        group["lines"].append(
            {**line, "brief": in_brief(line["reasons"], step), "where": told_apart(line["spans"], bringing)}
        )
        group["tools"] += [tool for tool in line["tools"] if tool not in group["tools"]]
    return {
        **record,
        "walk": _taken_together(record["walk"]),
        "work": _cautions_once(list(groups.values())),
        "foot": re.sub(r"[^\w .-]", "_", f"Pick list {record['number']} of job {record['job']}"),
    }


def _taken_together(walk: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """One row for all that is taken of one item from one bin: pieces that lie together but were held line by line.

    `again` marks a row under another of the same part, which need not say the part's name once more.
    """
    rows: dict[tuple[Any, ...], dict[str, Any]] = {}
    for held in walk:
        key = tuple(held[name] for name in ("place", "spot", "item", "wanted", "state", "on_approval"))
        row = rows.setdefault(
            key if held["base"] == "piece" else (held["hold"],), {**held, "amount": 0, "picked": 0, "trays": []}
        )
        row["amount"] += held["amount"]
        row["picked"] += held["picked"]
        row["trays"] = sorted({*row["trays"], *held["trays"]})
        row["shown"] = str(row["amount"]) if held["base"] == "piece" else held["shown"]
    found = list(rows.values())
    for before, row in pairwise([{}, *found]):
        row["again"] = before.get("part") == row["part"]
    return found


def told_apart(spans_here: Sequence[str], held: Sequence[Mapping[str, Any]]) -> list[str]:
    """Where a line goes, and what tells its things apart at the bench: the set or tube, which of several lots goes where."""
    several = len(held) > 1
    found = []
    for one in held:
        instead = "" if one["part"] == one["wanted"] else f"{one['part']} instead"
        label = one["tube"] or one["serial"] or (one["lot"] if several else "")
        said = ", ".join(filter(None, (instead, label)))
        places = spans([share["position"] for share in one["positions"]]) if several else spans_here
        found.append(": ".join(filter(None, (said, ", ".join(places)))))
    return found or list(spans_here)


def _cautions_once(groups: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Each sentence of caution stands before the first step that it is about; a later step names that one."""
    shown_at: dict[str, str] = {}
    for group in groups:
        told = (caution for line in group["lines"] for caution in line["cautions"])
        cautions = list(dict.fromkeys(sentence for caution in told for sentence in _SENTENCE_END.split(caution)))
        group["cautions"] = [caution for caution in cautions if caution not in shown_at]
        at = dict.fromkeys(shown_at[caution] for caution in cautions if caution in shown_at)
        group["cautions_at"] = [step for step in at if step != group["step"]]
        shown_at |= dict.fromkeys(group["cautions"], group["step"])
    return groups
