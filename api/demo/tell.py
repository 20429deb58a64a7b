"""The demo's printing: the list in order of work, the kit, the hand-over, the build sheet, the trace."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import fields
from typing import Any

from api.demo.catalogue import Say
from inventory.domain.quantities import shown_amount
from inventory.queries.days import shop_day, shop_time

_DIGITS = re.compile(r"\d+")


def positions_in_short(names: Sequence[str]) -> str:
    """CYL-1/set, CYL-2/set, CYL-3/set → CYL-1..3/set; what does not run on stays as it is."""
    groups: dict[str, list[str]] = {}
    for name in names:
        groups.setdefault(_DIGITS.sub("#", name), []).append(name)
    said = []
    for pattern, members in groups.items():
        if len(members) == 1:
            said.append(members[0])
            continue
        columns = list(zip(*(_DIGITS.findall(member) for member in members), strict=True))
        runs = [column[0] if len(set(column)) == 1 else _run(sorted(set(column), key=int)) for column in columns]
        pieces = pattern.split("#")
        said.append("".join(piece + run for piece, run in zip(pieces, [*runs, ""], strict=True)))
    return ", ".join(said)


def _run(numbers: Sequence[str]) -> str:
    whole = [int(number) for number in numbers]
    if whole == list(range(whole[0], whole[-1] + 1)) and len(whole) > 1:
        return f"{numbers[0]}..{numbers[-1]}"
    return "+".join(numbers)


def tell_list(say: Say, listed: Mapping[str, Any], held: Iterable[Mapping[str, Any]]) -> None:
    """The list in order of work, each line with what was held for it, its positions and its because."""
    by_part: dict[str, list[Mapping[str, Any]]] = {}
    for row in held:
        by_part.setdefault(row["wanted"], []).append(row)
    said: set[str] = set()
    for line in listed["lines"]:
        for caution in line["cautions"]:
            if caution not in said:
                said.add(caution)
                _wrapped(say, "CAUTION ", caution)
        say(f"  {line['procedure']}/{line['step']:<3}  {line['part']:<6} {line['shown']:>9}  {line['name']}")
        say(f"        at {positions_in_short(line['positions'])}  [{line['class'].replace('-', ' ')}]")
        places = set(line["positions"])
        for row in by_part.get(line["part"], []):
            if places & {share[0] for share in row["positions"]}:
                say(f"        from {held_in_short(row)}")
        _wrapped(
            say,
            "because ",
            line["because"][0] + (f" (and {len(line['because']) - 1} more)" if line["because"][1:] else ""),
        )
        for word, values in (("note", line["notes"]), ("tool", line["tools"])):
            if values:
                _wrapped(say, f"{word}: ", "; ".join(values))


def _wrapped(say: Say, head: str, text: str) -> None:
    for number, row in enumerate(textwrap.wrap(text, 100)):
        say(f"        {head if number == 0 else ' ' * len(head)}{row}")


def held_in_short(row: Mapping[str, Any]) -> str:
    """One held thing: where it lies, which lot, set or tube, how much, until when it is good."""
    label = row["serial"] or (
        f"open tube {row['tube']}" if row["tube"] else f"lot {row['lot']}" if row["lot"] else "no lot"
    )
    until = f", use by {row['use_by']}" if row["use_by"] else ""
    instead = f" (issued for {row['wanted']})" if row["part"] != row["wanted"] else ""
    amount = shown_amount(row["amount"], "microlitre") if row["tube"] or row["amount"] > 100_000 else str(row["amount"])
    return f"{row['place']}: {amount} of {row['part']}{instead}, {label}{until}"


def tell_cart(say: Say, cart: Mapping[str, Any], lines: Sequence[Mapping[str, Any]]) -> None:
    """Trays from the top down, and what stands on the floor of the trolley."""
    parts = {line["line"]: line["part"] for line in lines}
    for tray in cart["trays"]:
        inside = ", ".join(f"{one['pieces']} {parts[one['line']]}" for one in tray["lines"])
        say(f"  tray {tray['tray']} ({tray['weight_g'] / 1000:.1f} kg): {inside}")
        if tray["tools"]:
            say(f"        tools: {', '.join(tray['tools'])}")
    for one in cart["floor"]:
        hoist = ", two people or hoist" if one["by_hoist"] else ""
        say(f"  floor: {one['pieces']} {parts[one['line']]}{hoist}")


def tell_contents(say: Say, contents: Iterable[Any]) -> None:
    """The build sheet as far as the books know it: position by position."""
    for row in contents:
        unknown = "found, not known" if row.reused or row.found else "no lot"
        label = row.serial or (f"lot {row.lot}" if row.lot else unknown)
        people = f"{row.fitter}" + (f", checked by {row.checker}" if row.checker else "")
        say(
            f"  {row.position:<26} {row.part:<6} {shown_amount(row.amount, row.base):>9}  {label:<18}"
            f" {shop_day(row.since)} {people}{' (reused)' if row.reused else ''}"
        )


def tell_steps(say: Say, steps: Iterable[Any]) -> None:
    """A life, movement by movement."""
    for step in steps:
        way = step.said or f"{step.from_place} → {step.to_place}" + (f" {step.to_spot}" if step.to_spot != "-" else "")
        if step.said and (step.to_place or step.from_place):
            way += f" ({step.to_place or step.from_place})"
        say(f"  {shop_time(step.occurred_at):%Y-%m-%d %H:%M}  {step.kind:<14} {way}  {step.by} {step.subject}")


def tell_lot(say: Say, where: Any) -> None:
    """Everywhere a lot is, with the sum that must equal what was received."""
    for place in where.places:
        boxes = f", and {place.in_kits} inside {place.boxes} closed kits" if place.in_kits else ""
        used = f", {place.used} of them used" if place.used else ""
        say(f"  {place.loose:>5} at {place.place} ({place.kind}){used}{boxes}")
    engines: dict[str, int] = {}
    for one in where.engines:
        engines[one.place] = engines.get(one.place, 0) + one.amount
    for engine, amount in engines.items():
        say(f"  {amount:>5} in engine {engine}")
    total = where.sum
    flows = {
        field.name.replace("_", " "): getattr(total, field.name)
        for field in fields(total)
        if getattr(total, field.name)
    }
    say(
        "  sum: " + ", ".join(f"{name} {amount}" for name, amount in flows.items()) + f"; difference {total.difference}"
    )
