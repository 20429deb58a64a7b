"""What makes a part record, a kit's contents and a supplier usable, before anything is written."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from inventory.domain.articles import a
from inventory.domain.compound_life import check_life
from inventory.domain.errors import DomainError
from inventory.domain.items import Base, Tracked
from inventory.domain.part_numbers import compare_key, look_alike_warnings
from inventory.domain.quantities import MAX_BASE_AMOUNT
from inventory.domain.receiving import check_window
from inventory.domain.ring_sizes import ring_sizes
from inventory.domain.ring_substitutes import read_ring
from inventory.domain.rubber import Lubricant
from inventory.domain.storage import read_needs
from inventory.domain.text import shown
from inventory.domain.units import BY_CODE, Dimension, find_unit

#: What parts of a rebuild shop are. A kind that is not listed is kept as "to be sorted" (the empty text).
KINDS = frozenset(
    {
        "O-ring",
        "bearing",
        "consumable",
        "core",
        "fastener",
        "fluid",
        "gasket",
        "hard part",
        "kit",
        "kit of sets",
        "lip seal",
        "lubricant",
        "matched set",
        "measuring",
        "seal",
        "sealant",
        "service part",
        "shim",
        "stem seal",
        "valve train",
        "washer",
    }
)  # fmt: skip - a list of words reads better in rows
TO_BE_SORTED = ""
#: Kinds of what is opened and holds other parts; a parts line of a procedure never names one.
KITS = frozenset({"kit", "kit of sets"})
#: Kinds that a second person looks at: on the cart before it is handed over, and as they go in (common practice).
LOOKED_AT_TWICE = frozenset({"bearing", "matched set"})
BASE_OF = {
    Dimension.COUNT: Base.PIECE,
    Dimension.VOLUME: Base.MICROLITRE,
    Dimension.MASS: Base.MILLIGRAM,
    Dimension.LENGTH: Base.NANOMETRE,
}
#: Longest texts, as the tables hold them.
LENGTHS = {"number": 60, "shop_number": 60, "name": 200, "compound": 20, "code": 40}
MOST_PACK = 1_000_000
_RING_WORDS = ("size", "id_mm", "section_mm", "shape")


@dataclass(frozen=True, slots=True)
class PartFacts:
    """A part as a person enters it. Units stand last in the names; None where not known.

    unit        UN/CEFACT Rec 20 or 21 code, or a usual name of it
    life        rule of shelf life, {} for none; see `compound_life.life_rule`
    lubricant   what it is to rubber, for parts that rubber is fitted with: a word of `rubber.Lubricant`, "" for all others
    ring        of an O-ring: size, id_mm, section_mm, shape, all text; {} for none
    label_window   of a matched set: what its label may say, {} for anything; see `receiving.check_window`
    packed_ul   what one takes up in a tray, in its wrapping
    net_ul      content of one closed tube, tin or bottle; empty_mg: its weight when empty
    storage     what it needs where it lies: class, low, high, group, apart_from (`storage.read_needs`); {} for nothing stated
    """

    number: str
    name: str
    unit: str
    kind: str = TO_BE_SORTED
    tracked_by: str = Tracked.NOTHING
    shop_number: str = ""
    life: Mapping[str, Any] = field(default_factory=dict)
    compound: str = ""
    lubricant: str = ""
    ring: Mapping[str, Any] = field(default_factory=dict)
    label_window: Mapping[str, Any] = field(default_factory=dict)
    weight_mg: int | None = None
    packed_ul: int | None = None
    pack: int = 1
    loose_issue: bool = True
    price_coins: int | None = None
    density_mg_per_ml: int | None = None
    net_ul: int | None = None
    empty_mg: int | None = None
    hazard_note: str = ""
    storage_note: str = ""
    storage: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class CheckedPart:
    """A usable record: compare-key, unit code, base unit, the kind as kept, and what a person should look at."""

    compare_key: str
    unit: str
    base: Base
    kind: str
    warnings: tuple[str, ...]


def check_part(facts: PartFacts) -> CheckedPart:
    """Judge a part record as a whole.

    Raises DomainError "part-number-unreadable", "unit-unknown", "life-rule-unreadable", "compound-unknown", "text-too-long",
    "storage-unusable", "label-window-unreadable", "part-unusable".
    """
    key = compare_key(facts.number)
    for name in ("number", "shop_number", "name", "compound"):
        check_length(name, getattr(facts, name))
    if not facts.name.strip():
        raise DomainError("part-unusable", f"{facts.number} has no name.", part=facts.number, field="name")
    unit = BY_CODE.get(facts.unit) or find_unit(facts.unit)
    if unit is None or unit.dimension not in BASE_OF:
        raise DomainError(
            "unit-unknown",
            f"{facts.number}: parts are not counted in {shown(facts.unit)!r}.",
            part=facts.number,
            unit=shown(facts.unit),
        )
    base = BASE_OF[unit.dimension]
    if facts.tracked_by not in set(Tracked):
        raise _unusable(facts, "tracked_by", facts.tracked_by, "a part is tracked by nothing, lot, serial or set")
    if facts.tracked_by in (Tracked.SERIAL, Tracked.SET) and base is not Base.PIECE:
        raise _unusable(
            facts, "tracked_by", facts.tracked_by, f"what is measured in {unit.symbol} has no serial numbers"
        )
    check_life(dict(facts.life) or None, facts.compound)
    if facts.lubricant and facts.lubricant not in set(Lubricant):
        raise _unusable(facts, "lubricant", facts.lubricant, f"rubber is fitted with {', '.join(Lubricant)}")
    read_needs(facts.storage)
    check_window(facts.label_window)
    _check_numbers(facts)
    warnings = (*look_alike_warnings(facts.number), *_check_ring(facts))
    kind = facts.kind
    if kind not in KINDS:
        kind = TO_BE_SORTED
        typed = f'"{shown(facts.kind)}" is no kind we know; ' if facts.kind else ""
        warnings += (f"{typed}kept as to be sorted: it cannot be issued until it has a kind",)
    return CheckedPart(key, unit.code, base, kind, tuple(warnings))


def check_length(name: str, text: str) -> None:
    """DomainError "text-too-long" for what the table cannot hold."""
    if len(text) > LENGTHS[name]:
        raise DomainError(
            "text-too-long",
            f"{name} {shown(text)!r} has {len(text)} characters; at most {LENGTHS[name]} are kept.",
            field=name,
            most=LENGTHS[name],
        )


def _unusable(facts: PartFacts, name: str, value: object, why: str) -> DomainError:
    return DomainError(
        "part-unusable",
        f"{facts.number}: {name} {shown(value)!r}: {why}.",
        part=facts.number,
        field=name,
        value=shown(value),
    )


def _check_numbers(facts: PartFacts) -> None:
    for name in ("weight_mg", "packed_ul", "price_coins", "net_ul", "empty_mg"):
        value = getattr(facts, name)
        if value is not None and not 0 <= value <= MAX_BASE_AMOUNT:
            raise _unusable(facts, name, value, "a number from 0 up is needed")
    if facts.density_mg_per_ml is not None and not 1 <= facts.density_mg_per_ml <= MOST_PACK:
        raise _unusable(
            facts, "density_mg_per_ml", facts.density_mg_per_ml, f"a number from 1 to {MOST_PACK} is needed"
        )
    if not 1 <= facts.pack <= MOST_PACK:
        raise _unusable(facts, "pack", facts.pack, f"a pack holds from 1 to {MOST_PACK}")


def _check_ring(facts: PartFacts) -> tuple[str, ...]:
    """What a person should look at: a size of the tables whose measures are others."""
    for name, value in facts.ring.items():
        if name not in _RING_WORDS or not isinstance(value, str) or len(value) > 40:
            raise _unusable(facts, "ring", f"{name}: {value}", f"a ring has {', '.join(_RING_WORDS)}, each as text")
    if not facts.ring:
        return ()
    try:
        ring = read_ring(facts.number, facts.compound, facts.ring)
    except DomainError as error:
        raise _unusable(facts, "ring", error.values["field"], error.message.rstrip(".")) from error
    size = ring_sizes().get(facts.ring.get("size", ""))
    if size is None or (size.inside_nm, size.section_nm) == (ring.inside_nm, ring.section_nm):
        return ()
    return (f"The size {size.size} is {size.words}, not {ring.measures}",)


@dataclass(frozen=True, slots=True)
class KitLine:
    """One content of a kit: part number and whole base units of it in one kit."""

    part: str
    amount: int


def check_kit(kit: str, kind: str, lines: Iterable[KitLine], contents: Mapping[str, Iterable[str]]) -> None:
    """Judge what a kit is said to hold.

    kind       of the part on record: what is no kit holds nothing, for procedures name it as one part
    contents   kit number -> numbers in its newest revision, for every kit that can be reached
    Raises DomainError "nothing-given", "kit-unusable", "kit-loop" (the circle is printed).
    """
    given = list(lines)
    if kind not in KITS:
        raise DomainError(
            "kit-unusable",
            f"{kit} is {a(kind) if kind else 'to be sorted, no kind is on record'}: only a kit holds other parts.",
            ways_out=("Give the part the kind of a kit, if it is one.",),
            kit=kit,
            kind=kind,
        )
    if not given:
        raise DomainError("nothing-given", f"A kit holds something: no line was given for {kit}.", kit=kit)
    seen: set[str] = set()
    for line in given:
        if line.part in seen:
            raise DomainError("kit-unusable", f"{line.part} stands twice in kit {kit}.", kit=kit, part=line.part)
        seen.add(line.part)
        if not 1 <= line.amount <= MOST_PACK:
            raise DomainError(
                "kit-unusable",
                f"{kit}: {line.amount} of {line.part}; from 1 to {MOST_PACK} may be in a kit.",
                kit=kit,
                part=line.part,
                amount=line.amount,
            )
    for number in sorted(seen):
        way = _way_to(kit, number, contents)
        if way is not None:
            circle = [kit, *way]
            raise DomainError(
                "kit-loop", f"The kit would contain itself: {' → '.join(circle)}.", kit=kit, circle=circle
            )


def around(kit: str, contents: Mapping[str, Iterable[str]]) -> list[str]:
    """The kits that hold `kit`, directly or in a kit that they hold; whoever is inside another comes before it.

    contents   kit number -> numbers in its newest revision; no kit contains itself
    """
    holding = sorted(outer for outer in contents if outer != kit and _way_to(kit, outer, contents) is not None)
    order: list[str] = []
    while len(order) < len(holding):
        order += [
            outer
            for outer in holding
            if outer not in order and not any(inner in holding and inner not in order for inner in contents[outer])
        ]
    return order


def _way_to(kit: str, start: str, contents: Mapping[str, Iterable[str]]) -> list[str] | None:
    """How `start` leads to `kit` by being opened, if it does."""
    before: dict[str, str | None] = {start: None}
    front = [start]
    while front:
        here = front.pop()
        if here == kit:
            way: list[str] = []
            at: str | None = here
            while at is not None:
                way.append(at)
                at = before[at]
            return way[::-1]
        for inner in sorted(contents.get(here, ())):
            if inner not in before:
                before[inner] = here
                front.append(inner)
    return None
