"""A small invented V engine with three operations, for tests of the list. No story and no number of the demo shop is in it."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

from kits.domain.engine_numbers import EngineNumber, parse_engine_number
from kits.domain.families import Family, parse_family
from kits.domain.findings import Finding
from kits.domain.procedures import Operation, parse_operation


def bank_groups(bank: str) -> list[dict[str, Any]]:
    """A head with ten bolts and a cover, for one bank."""
    bolts = {"name": "bolt", "series": [1, 10]}
    return [
        {"group": f"HEAD-{bank}", "scope": "bank", "bank": bank, "names": [{"name": "gasket"}, bolts]},
        {"group": f"COVER-{bank}", "scope": "bank", "bank": bank, "names": [{"name": "gasket", "side": "oil"}]},
    ]


def run_of(group: str, scope: str, last: int, *names: dict[str, Any]) -> dict[str, Any]:
    """A numbered group from 1 to `last`."""
    return {"group": group, "scope": scope, "first": 1, "last": last, "names": list(names)}


GROUPS: list[dict[str, Any]] = [
    run_of("CYL", "cylinder", 4, {"name": "set"}, {"name": "ring", "side": "both"}, {"name": "shim"}),
    run_of("ROD", "cylinder", 4, {"name": "bolt", "series": [1, 2]}, {"name": "shells"}),
    run_of("MAIN", "main", 3, {"name": "shells"}),
    run_of("VALVE", "valve", 8, {"name": "stem-seal", "side": "oil"}),
    run_of("LIFTER", "valve", 8, {"name": "lifter"}),
    *bank_groups("LEFT"),
    *bank_groups("RIGHT"),
    {
        "group": "SUMP",
        "scope": "engine",
        "names": [{"name": "bead"}, {"name": "washer"}, {"name": "bolt", "series": [1, 12]}],
    },
    {"group": "OIL", "scope": "engine", "names": [{"name": "fill"}]},
    {"group": "CAMSHAFT", "scope": "engine", "names": [{"name": "camshaft"}]},
]
FINDINGS: list[dict[str, Any]] = [
    {"code": "chosen", "scope": "cylinder", "text": "cylinder chosen"},
    {"code": "lifted", "scope": "cylinder", "text": "liner lifted"},
    {"code": "low", "scope": "cylinder", "text": "protrusion low"},
    {"code": "parted", "scope": "cylinder", "text": "rod parted"},
    {"code": "head-off", "scope": "bank", "text": "head off"},
    {"code": "sump-off", "scope": "engine", "text": "sump off"},
    {"code": "drained", "scope": "engine", "text": "oil drained"},
    {"code": "crank-out", "scope": "engine", "text": "crank out"},
    {"code": "ground", "scope": "engine", "text": "crank ground"},
    {"code": "cam-worn", "scope": "engine", "text": "camshaft worn"},
    {"code": "valve-out", "scope": "valve", "text": "valve removed"},
    {"code": "lifter-bad", "scope": "valve", "text": "lifter rejected"},
    {"code": "bolt-bad", "scope": "position", "text": "bolt damaged"},
    {"code": "noise", "scope": "engine", "text": "noise heard"},
]
RULES: list[dict[str, Any]] = [
    {"if": "chosen", "then": ["lifted"], "text": "a chosen set is lifted"},
    {"if": "lifted", "then": ["head-off", "parted", "sump-off"], "text": "a liner comes out upwards"},
    {"if": "sump-off", "then": ["drained"], "text": "the sump comes off drained"},
    {"if": "ground", "then": ["crank-out"], "text": "a crank is ground out of the engine"},
    {"if": "crank-out", "then": ["parted"], "text": "the crank comes out of its rods", "joins": ["T3"]},
    {"if": "cam-worn", "then": ["lifter-bad"], "text": "a new camshaft takes new lifters"},
]


def choice(code: str, scope: str, rule: str, by: str, alternatives: list[str], text: str) -> dict[str, Any]:
    """A choice of the family."""
    return {"code": code, "scope": scope, "rule": rule, "by": by, "alternatives": alternatives, "text": text}


CHOICES: list[dict[str, Any]] = [
    choice("head-joint", "bank", "exactly-one", "use-up", ["old", "new"], "gasket and bolts of one kind"),
    choice("pin-shells", "engine", "exactly-one", "finding", ["undersize", "standard"], "all pins the same undersize"),
    choice("shim", "position", "at-most-one", "measured", ["thin", "thick"], "one shim at most"),
    choice("cover-kind", "engine", "exactly-one", "person", ["rubber", "cork"], "same kind on both banks"),
]


#: Closing it alone: 1000 mm at 20 mm/s, 45 s to place the cover, 12 bolts of 7 s: 179 s; with a helper of 4 s a bolt 143 s.
JOINT: dict[str, Any] = {
    "name": "sump", "at": ["SUMP/bead"], "product": "SEALANT", "bolts": 12, "faces": "pressed steel", "flange": "14 mm",
    "gap": "0.50 mm",
}  # fmt: skip
#: Limits of the heights of liners, as two test engines state them.
LINERS: dict[str, Any] = {
    "block": "iron",
    "protrusion": {"low": "0.050 mm", "high": "0.120 mm"},
    "within_one_liner": "0.030 mm",
}
#: Limits of a piston in its liner, as the same two engines state them; of weights they state none.
PISTONS: dict[str, Any] = {
    "piston_clearance": {"low": "0.090 mm", "high": "0.130 mm"},
    "piston_measured_at": {"height": "14 mm", "above": "the lower edge of the skirt"},
}
#: One grade of the head gasket. Limits of the built engine; a piston is looked at for two things, no finding asks for the leak test.
FACTS: dict[str, Any] = {
    **LINERS,
    **PISTONS,
    "joints": [JOINT],
    "head_gasket_grades": [{"grade": "1", "projection_most": "0.5 mm", "part": "NEW-GASKET"}],
    "piston_checks": ["crown", "ring tops"],
    "photo_checks": [{"what": "oil hole clear", "at": "MAIN-*/shells", "before": "ROD-*/bolt-*", "from": "page 4"}],
    "leak_test": {
        "pressure_least": "0.5 bar",
        "pressure_most": "1.0 bar",
        "hold_least": "10 min",
        "drop_most": "5 kPa",
        "from": "page 1",
    },
    "first_run": {"values": [{"name": "oil pressure", "low": "1.0 bar", "high": "5.0 bar"}], "from": "page 2"},
    "sizes": [
        {
            "name": "pins",
            "kind": "undersize",
            "text": "pins ground below new",
            "at": "ROD-*/shells",
            "most": "0.50 mm",
            "choice": "pin-shells",
            "takes": {"standard": "0 mm", "undersize": "0.25 mm"},
            "finding": "ground",
        },
        {
            "name": "seat",
            "kind": "cut",
            "text": "seat recut, in all",
            "at": "CYL-*/set",
            "most": "0.25 mm",
            "least": "0.05 mm",
            "finding": "low",
        },
        {"name": "mains", "kind": "undersize", "text": "mains ground below new", "at": "MAIN-*/shells"},
        {"name": "cover height", "kind": "size", "text": "as measured", "at": "COVER-*/gasket", "low": "20 mm"},
        {
            "name": "thread",
            "kind": "thread",
            "text": "repaired with an insert",
            "at": "SUMP/bolt-*",
            "inserts": [
                {"insert": "M8, 16 mm", "parts": ["SUMP-BOLT"]},
                {"insert": "M10, 20 mm", "parts": ["BIG-BOLT", "BIG-STUD"]},
            ],
        },
        {"name": "deck", "kind": "cut", "text": "deck skimmed", "at": "HEAD-*/gasket", "most": "0.20 mm"},
        {"name": "head", "kind": "cut", "text": "head skimmed", "at": "HEAD-*/gasket", "most": "0.30 mm"},
        {"name": "head and deck", "kind": "total", "text": "in all", "of": ["deck", "head"], "most": "0.40 mm"},
        {
            "name": "pin diameter",
            "kind": "size",
            "text": "as measured",
            "at": "ROD-*/shells",
            "read": "journal-diameter",
            "choice": "pin-shells",
            "takes": {
                "standard": {"low": "59.980 mm", "high": "60.000 mm"},
                "undersize": {"low": "59.730 mm", "high": "59.750 mm"},
            },
        },
    ],
    "after_first_run": [
        {"what": "oil change", "days": 30, "parts": [{"part": "OIL", "amount": "4 L"}], "from": "page 3"}
    ],
}


def family_document() -> dict[str, Any]:
    """Four cylinders in two banks, eight valves, three mains: 83 use positions. Every call gives a copy of its own."""
    return deepcopy(
        {
            "code": "Testbed-4",
            "name": "Testbed four",
            "revision": 1,
            "engine_numbers": {"prefix": "T4-", "first": 100, "width": 5},
            "numbering_end": "timing end",
            "front": "timing end",
            "banks": [{"name": "LEFT", "cylinders": [1, 2]}, {"name": "RIGHT", "cylinders": [3, 4]}],
            "valves_per_cylinder": 2,
            "mains": 3,
            "groups": GROUPS,
            "findings": FINDINGS,
            "rules": RULES,
            "choices": CHOICES,
            "washed_out": [{"name": "core plug", "count": 4}, {"name": "dowel, head", "count": 2}],
            "buy_in": [{"finding": "cam-worn", "at": "CAMSHAFT/camshaft", "amount": "1 EA", "text": "camshaft"}],
            "facts": FACTS,
        }
    )


def line(identity: str, step: int, part: str, at: str | list[str], when: Any = None, **more: Any) -> dict[str, Any]:
    """A parts line of one counted piece, always new, unless `more` says otherwise."""
    document = {
        "id": identity,
        "step": step,
        "tray": 1,
        "part": part,
        "at": at,
        "amount": "1 EA",
        "how": "count",
        "class": "always-new",
        **more,
    }
    if when is not None:
        document["when"] = when
    return {key: value for key, value in document.items() if value is not None}


def found(code: str, at: str = "same") -> dict[str, str]:
    """A leaf condition."""
    return {"finding": code, "at": at}


def operation_documents() -> dict[str, dict[str, Any]]:
    """T1 liners, T2 heads, T3 sump; T1 and T3 both close the sump, T1 and T2 both close the heads."""
    head = [
        line("G-old", 30, "OLD-GASKET", "HEAD-*/gasket", found("head-off"), choice="head-joint", alternative="old",
             fits={"below": "T4-00150"}),
        line("G-new", 30, "NEW-GASKET", "HEAD-*/gasket", found("head-off"), choice="head-joint", alternative="new"),
        line("B-old", 30, "OLD-BOLT", "HEAD-*/bolt-*", found("head-off"), choice="head-joint", alternative="old"),
        line("B-new", 30, "NEW-BOLT", "HEAD-*/bolt-*", found("head-off"), choice="head-joint", alternative="new"),
        line("C", 30, "COVER-RUBBER", "COVER-*/gasket", found("head-off"), choice="cover-kind", alternative="rubber"),
    ]  # fmt: skip
    sump = [
        line("bead", 40, "SEALANT", "SUMP/bead", found("sump-off"), amount=None, how="bead", tools=["bead gun"],
             bead={"length": "1000 mm", "diameter": "3.0 mm"}),
        line("washer", 40, "WASHER", "SUMP/washer", {"any": [found("sump-off"), found("drained")]}),
        line("oil", 40, "OIL", "OIL/fill", found("drained"), amount="4.0 L", how="fill"),
        line("bolt", 40, "SUMP-BOLT", "SUMP/bolt-*", found("bolt-bad"), **{"class": "inspect"}),
    ]  # fmt: skip
    liners = [
        line("set", 10, "SET", "CYL-*/set", found("chosen"), **{"class": "measured"}),
        line("ring", 10, "RING", "CYL-*/ring", found("lifted"), note="soap, never oil"),
        line("thin", 10, "SHIM-5", "CYL-*/shim", found("low"), choice="shim", alternative="thin", **{"class": "measured"}),
        line("thick", 10, "SHIM-9", "CYL-*/shim", found("low"), choice="shim", alternative="thick", **{"class": "measured"}),
        line("rod", 20, "ROD-BOLT", "ROD-*/bolt-*", found("parted")),
        line("std", 20, "SHELL-STD", "ROD-*/shells", found("parted"), choice="pin-shells", alternative="standard",
             **{"class": "inspect"}),
        line("under", 20, "SHELL-25", "ROD-*/shells", {"all": [found("ground"), found("parted")]}, choice="pin-shells",
             alternative="undersize", **{"class": "measured"}),
        line("main", 20, "MAIN-SHELL", "MAIN-*/shells", found("crank-out", "any")),
    ]  # fmt: skip
    valves = [
        line("seal", 10, "STEM-SEAL", "VALVE-*/stem-seal", found("valve-out"), tools=["stem sleeve"]),
        line("lift", 20, "LIFTER", "LIFTER-*/lifter", found("lifter-bad"), original_place=True, **{"class": "inspect"}),
    ]

    def operation(code: str, name: str, lines: list[dict[str, Any]], opens: list[str]) -> dict[str, Any]:
        numbers = sorted({one["step"] for one in lines})
        steps = [{"step": n, "after": [m for m in numbers if m < n][-1:], "name": f"step {n}"} for n in numbers]
        return {
            "code": code,
            "family": "Testbed-4",
            "revision": 1,
            "name": name,
            "opens": opens,
            "steps": steps,
            "lines": [{**one, "id": f"{code}-{one['id']}"} for one in lines],
        }

    return {
        "T1": operation("T1", "liners", liners + head + sump, []),
        "T2": operation("T2", "heads", valves + head, []),
        "T3": operation("T3", "sump", sump, ["sump-off"]),
    }


def family() -> Family:
    """The small family, parsed."""
    return parse_family(family_document())


def operations(its: Family) -> dict[str, Operation]:
    """The three operations, parsed, by code."""
    return {code: parse_operation(document, its) for code, document in operation_documents().items()}


def number(text: str) -> EngineNumber:
    """An engine number of the small family."""
    return parse_engine_number(text, {"T4-": 5})


def findings(*said: str) -> list[Finding]:
    """Findings written as `code@PLACE`."""
    return [Finding(*one.split("@")) for one in said]
