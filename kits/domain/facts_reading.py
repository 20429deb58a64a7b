"""Reads the facts of a family's document into `kits.domain.facts.Facts`; every problem is named with the fact it stands in."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from inventory.domain.errors import DomainError
from inventory.domain.groove import Groove
from inventory.domain.units import Dimension
from kits.domain.bearing_facts import read_bearings
from kits.domain.build_facts import BUILD_FACTS
from kits.domain.clearances import RingLimits
from kits.domain.displacement import contradicts
from kits.domain.engine_map import EngineMap
from kits.domain.expansion import PIECES
from kits.domain.fact_values import amount, amounts, angles, limits, positions
from kits.domain.facts import (
    FREE_LENGTH,
    NECK,
    STRETCH,
    BaseRings,
    Clamping,
    EndFloat,
    Facts,
    Fill,
    NewPart,
    Protrusion,
    ReuseLimit,
    Seat,
    Shims,
    Step,
)
from kits.domain.gasket_grade import GasketGrade
from kits.domain.gauges import expansion
from kits.domain.limits import Limits
from kits.domain.origin_facts import read_origins
from kits.domain.reading import Reader
from kits.domain.thrust import Washer

#: Facts that are words for people; `shims`, `head_gasket_grades` and `turns_deg` may be words instead of values, and `changes` are for people too.
TEXTS = ("source", "block", "liner_seat", "liner_seals", "lifters")
_TYPED = (
    "bore", "stroke", "displacement", "oil", "coolant_concentrate", "fills", "liner_height", "block_depth", "protrusion", "clamping",
    "seat", "within_one_liner", "step", "turns_deg", "shims", "base_rings", "grooves", "piston_clearance", "piston_measured_at",
    "ring_gaps", "weight_spread", "weight_with", "bolts", "bearings", "end_float", "head_gasket_grades", "expansion_ppm", "changes",
    "origins", "liners_closed_by",
)  # fmt: skip
#: Read beside these: joints, pieces, sizes and warranty by the modules of the same names, spans by `expected`.
_ELSEWHERE = ("joints", "pieces", "sizes", "warranty", "spans")
KNOWN = frozenset({*TEXTS, *_TYPED, *_ELSEWHERE, *BUILD_FACTS})
_GROOVE = ("groove_diameter", "bore", "width")
REUSE = ("never", "within limits", "by inspection")
VOLUMES = ("displacement", "oil", "coolant_concentrate")


def read_facts(document: Mapping[str, Any], engine_map: EngineMap, reader: Reader) -> Facts:
    """The facts of a family; problems go to the reader, each beginning with `facts`. Absent facts stay None or empty."""
    known = reader.mapping(document, "facts", KNOWN)
    turns, any_turn = _turns(known, reader)
    for where, change in _rows(known, "changes", "from text", reader):
        for key in ("from", "text"):
            reader.text(change, key, where)
    return Facts(
        texts={key: reader.text(known, key, "facts") for key in TEXTS if key in known},
        bore_nm=_bore(known, engine_map, reader),
        fills=_fills(known, engine_map, reader),
        liner_height=_new_part(known, "liner_height", reader),
        block_depth=_new_part(known, "block_depth", reader),
        protrusion=_protrusion(known, reader),
        clamping=_clamping(known, reader),
        seat=_seat(known, reader),
        within_one_liner_nm=_length(known, "within_one_liner", reader),
        step=_step(known, reader),
        turns_deg=turns,
        any_turn=any_turn,
        shims=_shims(known, reader),
        base_rings=_base_rings(known, reader),
        grooves=_grooves(known, reader),
        piston_clearance=_limits(known, "piston_clearance", reader),
        piston_measured_at_nm=_piston_height(known, reader),
        ring_gaps=_ring_gaps(known, reader),
        weight_spread_mg=amount(known, "weight_spread", "facts", Dimension.MASS, reader),
        weight_with=reader.text(known, "weight_with", "facts", *([] if "weight_spread" in known else [""])),
        liners_closed_by=frozenset(
            positions(known, "liners_closed_by", "facts", engine_map, reader) if "liners_closed_by" in known else ()
        ),
        bolts=_bolts(known, engine_map, reader),
        bearings=read_bearings(known, engine_map, reader),
        end_float=_end_float(known, reader),
        head_gasket_grades=_gasket_grades(known, reader),
        expansion_ppm=_expansion(known, reader),
        origins=read_origins(known, engine_map, reader),
    )


def _entry(document: Mapping[str, Any], key: str, keys: str, reader: Reader) -> Mapping[str, Any] | None:
    """The object at `key` with its keys checked; None where it is absent or none."""
    if document.get(key) is None:
        return None
    entry = reader.mapping(document[key], f"facts, {key}", frozenset(keys.split()))
    return entry or None


def _rows(document: Mapping[str, Any], key: str, keys: str, reader: Reader) -> list[tuple[str, Mapping[str, Any]]]:
    """The objects of a list, each with the place where it stands."""
    return [
        (f"facts, {key} {number}", reader.mapping(entry, f"facts, {key} {number}", frozenset(keys.split())))
        for number, entry in enumerate(reader.listing(document, key, "facts"), 1)
    ]


def _length(document: Mapping[str, Any], key: str, reader: Reader, where: str = "facts") -> int | None:
    return amount(document, key, where, Dimension.LENGTH, reader)


def _limits(document: Mapping[str, Any], key: str, reader: Reader) -> Limits | None:
    entry = _entry(document, key, "low high", reader)
    return limits(entry, f"facts, {key}", reader) if entry else None


def _bore(document: Mapping[str, Any], engine_map: EngineMap, reader: Reader) -> int | None:
    """The bore, held against the printed displacement. The book fills are read as well, be they used at a position or not."""
    bore, stroke = _length(document, "bore", reader), _length(document, "stroke", reader)
    printed, *_ = (amount(document, key, "facts", Dimension.VOLUME, reader) for key in VOLUMES)
    if wrong := contradicts(bore, stroke, sum(len(numbers) for _, numbers in engine_map.banks), printed):
        reader.problem("facts, displacement", wrong)
    return bore


def _fills(document: Mapping[str, Any], engine_map: EngineMap, reader: Reader) -> tuple[Fill, ...]:
    """At which positions a book fill goes in: `{"of": "oil", "at": "OIL/fill"}`. A flush is at a position that is not named."""
    found = []
    for where, entry in _rows(document, "fills", "of at", reader):
        of = reader.one_of(entry, "of", where, ("oil", "coolant_concentrate"))
        at = positions(entry, "at", where, engine_map, reader)
        book = amount(document, of, "facts", Dimension.VOLUME, reader, required=True) if of else None
        if book is not None and at:
            found.append(Fill(of, frozenset(at), book))
    return tuple(found)


def _new_part(document: Mapping[str, Any], key: str, reader: Reader) -> NewPart | None:
    entry, where = _entry(document, key, "what low high nominal with_ring", reader), f"facts, {key}"
    if entry is None:
        return None
    found = limits(entry, where, reader)
    nominal, ring = _length(entry, "nominal", reader, where), _length(entry, "with_ring", reader, where)
    return NewPart(reader.text(entry, "what", where), found, nominal, ring) if found else None


def _protrusion(document: Mapping[str, Any], reader: Reader) -> Protrusion | None:
    entry, where = _entry(document, "protrusion", "low high nominal target gauged", reader), "facts, protrusion"
    if entry is None:
        return None
    found, nominal, target = (
        limits(entry, where, reader),
        *(_length(entry, k, reader, where) for k in ("nominal", "target")),
    )
    return Protrusion(found, nominal, target, reader.text(entry, "gauged", where, "")) if found else None


def _seat(document: Mapping[str, Any], reader: Reader) -> Seat | None:
    entry, where = _entry(document, "seat", "depth_spread cupping_most", reader), "facts, seat"
    if entry is None:
        return None
    return Seat(*(_length(entry, key, reader, where) for key in ("depth_spread", "cupping_most")))


def _clamping(document: Mapping[str, Any], reader: Reader) -> Clamping | None:
    entry, where = _entry(document, "clamping", "bolts torque from", reader), "facts, clamping"
    if entry is None:
        return None
    # A torque is quoted with edition and page, or not shown.
    bolts = reader.whole(entry, "bolts", where, low=1, high=100)
    return Clamping(bolts, reader.text(entry, "torque", where), reader.text(entry, "from", where))


def _step(document: Mapping[str, Any], reader: Reader) -> Step | None:
    entry, where = _entry(document, "step", "limit staircase between facing_deg", reader), "facts, step"
    if entry is None:
        return None
    limit = amount(entry, "limit", where, Dimension.LENGTH, reader, required=True)
    staircase = reader.one_of(entry, "staircase", where, ("no", "one way"), "no") == "one way"
    between = reader.one_of(entry, "between", where, ("averages", "facing points"), "averages")
    facing_at = entry.get("facing_deg")
    if (between == "facing points") != (facing_at is not None):
        reader.problem(where, "'facing_deg' is given with 'between': 'facing points', and only then")
        return None
    facing = None if facing_at is None else angles(entry, "facing_deg", where, reader, step=1)
    if facing is not None and len(facing) != 2:
        reader.problem(where, "'facing_deg' holds two angles: towards the next bore, and back")
        return None
    return None if limit is None else Step(limit, staircase, (facing[0], facing[1]) if facing else None)


def _turns(document: Mapping[str, Any], reader: Reader) -> tuple[tuple[int, ...] | None, bool]:
    if document.get("turns_deg") == "any":
        return None, True
    if document.get("turns_deg") is None:
        return None, False
    return angles(document, "turns_deg", "facts", reader), False


def _shims(document: Mapping[str, Any], reader: Reader) -> Shims | None:
    if isinstance(document.get("shims"), str):
        reader.text(document, "shims", "facts")
        return Shims((), None)
    entry, where = _entry(document, "shims", "sizes recut_most parts", reader), "facts, shims"
    if entry is None:
        return None
    sizes = amounts(entry, "sizes", where, reader)
    return Shims(sizes, _length(entry, "recut_most", reader, where), _parts_of(entry, sizes, where, reader))


def _parts_of(entry: Mapping[str, Any], sizes: tuple[int, ...], where: str, reader: Reader) -> tuple[str, ...]:
    """The part of each size; empty where none is named."""
    named = reader.listing(entry, "parts", where)
    if not named:
        return ()
    if len(named) != len(sizes) or not all(isinstance(one, str) and one for one in named):
        reader.problem(where, "'parts' names the part of each size, in the same order")
        return ()
    return tuple(named)


def _base_rings(document: Mapping[str, Any], reader: Reader) -> BaseRings | None:
    entry, where = _entry(document, "base_rings", "sizes alike parts", reader), "facts, base_rings"
    if entry is None:
        return None
    sizes = amounts(entry, "sizes", where, reader)
    alike = bool(reader.text(entry, "alike", where, ""))
    return BaseRings(sizes, alike, _parts_of(entry, sizes, where, reader))


def _grooves(document: Mapping[str, Any], reader: Reader) -> tuple[tuple[str, Groove], ...]:
    """Each of the three measures may have a tolerance, plus and minus, beside it; none is an exact measure."""
    found = []
    keys = " ".join(("part", *_GROOVE, *(f"{name}_tolerance" for name in _GROOVE)))
    for where, entry in _rows(document, "grooves", keys, reader):
        sizes = [amount(entry, key, where, Dimension.LENGTH, reader, required=True) for key in _GROOVE]
        more = [amount(entry, f"{key}_tolerance", where, Dimension.LENGTH, reader) or 0 for key in _GROOVE]
        part = reader.text(entry, "part", where)
        middles = [size for size in sizes if size is not None]
        if len(middles) == len(_GROOVE):
            found.append((part, Groove(middles[0], middles[1], middles[2], more[0], more[1], more[2])))
    return tuple(found)


def _piston_height(document: Mapping[str, Any], reader: Reader) -> int | None:
    entry, where = _entry(document, "piston_measured_at", "height above", reader), "facts, piston_measured_at"
    if entry is None:
        return None
    reader.text(entry, "above", where)
    return amount(entry, "height", where, Dimension.LENGTH, reader, required=True)


def _ring_gaps(document: Mapping[str, Any], reader: Reader) -> tuple[RingLimits, ...]:
    found: dict[str, RingLimits] = {}
    for where, entry in _rows(document, "ring_gaps", "ring low high worn_most", reader):
        ring, new = reader.text(entry, "ring", where), limits(entry, where, reader)
        worn = _length(entry, "worn_most", reader, where)
        if ring in found:
            reader.problem(where, f"the ring {ring[:60]!r} stands twice")
        if new is not None and worn is not None and worn < (new.high_nm or 0):
            reader.problem(where, "'worn_most' is below 'high'")
        elif new is not None:
            found[ring] = RingLimits(ring, new, worn)
    return tuple(found.values())


BOLT_LIMITS = {"length_most": FREE_LENGTH, "stretch_most": STRETCH, "neck_least": NECK}


def _bolts(document: Mapping[str, Any], engine_map: EngineMap, reader: Reader) -> tuple[ReuseLimit, ...]:
    found = []
    for where, entry in _rows(
        document, "bolts", "part at reuse length_most stretch_most neck_least uses_most tightening", reader
    ):
        reuse = reader.one_of(entry, "reuse", where, REUSE)
        uses = entry.get("uses_most")
        if uses is not None:
            uses = reader.whole(entry, "uses_most", where, low=1, high=100)
        limits = {key: _length(entry, key, reader, where) for key in BOLT_LIMITS}
        given = [key for key, limit in limits.items() if limit is not None]
        if reuse == "within limits" and uses is None and not given:
            reader.problem(where, f"'within limits' names {', '.join(map(repr, BOLT_LIMITS))} or 'uses_most'")
        if len(given) > 1:
            reader.problem(where, f"a bolt is judged by one measure, not by {' and '.join(map(repr, given))}")
        quoted = reader.text(entry, "tightening", where, "")
        at = frozenset(positions(entry, "at", where, engine_map, reader))
        measured = BOLT_LIMITS[given[0]] if given else FREE_LENGTH
        most = limits["length_most"] if measured == FREE_LENGTH else limits["stretch_most"]
        part = reader.text(entry, "part", where)
        found.append(ReuseLimit(part, at, reuse == "never", most, uses, measured, limits["neck_least"], quoted))
    return tuple(found)


def _end_float(document: Mapping[str, Any], reader: Reader) -> EndFloat | None:
    entry, where = _entry(document, "end_float", "low high washers faces alike", reader), "facts, end_float"
    if entry is None:
        return None
    found, washers = limits(entry, where, reader), []
    for number, row in enumerate(reader.listing(entry, "washers", where), 1):
        at = f"{where}, washer {number}"
        washer = reader.mapping(row, at, frozenset({"part", "thickness"}))
        size, part = (
            amount(washer, "thickness", at, Dimension.LENGTH, reader, required=True),
            reader.text(washer, "part", at),
        )
        if size is not None:
            washers.append(Washer(part, size))
    faces = reader.whole(entry, "faces", where, low=1, high=2)
    return EndFloat(found, tuple(washers), faces, reader.yes(entry, "alike", where)) if found else None


def _gasket_grades(document: Mapping[str, Any], reader: Reader) -> tuple[GasketGrade, ...]:
    if isinstance(document.get("head_gasket_grades"), str):
        reader.text(document, "head_gasket_grades", "facts")
        return ()
    found: list[GasketGrade] = []
    for where, entry in _rows(document, "head_gasket_grades", "grade projection_most part", reader):
        most = amount(entry, "projection_most", where, Dimension.LENGTH, reader, required=True)
        if most is None:
            continue
        if found and most <= found[-1].projection_most_nm:
            reader.problem(where, "grades go up from the thinnest gasket")
        found.append(GasketGrade(reader.text(entry, "grade", where), most, reader.text(entry, "part", where, "")))
    return tuple(found)


def _expansion(document: Mapping[str, Any], reader: Reader) -> dict[str, Fraction]:
    """Piece → parts per million and kelvin, each an exact decimal as text."""
    found = {}
    for piece, text in (_entry(document, "expansion_ppm", " ".join(PIECES), reader) or {}).items():
        try:
            found[piece] = expansion(text if isinstance(text, str) else "")
        except DomainError as error:
            reader.problem(f"facts, expansion_ppm, {piece}", error.message)
    return found
