"""The sealed joints of an engine family: where each is, how many bolts close it, what its faces are, which sealant suits them.

A joint is named by the group of its use positions (`SUMP`; a seat bead of every cylinder gives `CYL-1`, `CYL-2`, …), so a
group holds one sealed joint. They stand in the family's document under facts, `joints`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from inventory.domain.errors import DomainError
from inventory.domain.product_sheets import CURES, DRYING, MOISTURE, NO_AIR
from inventory.domain.quantities import read_amount
from inventory.domain.units import Dimension
from kits.domain.engine_map import EngineMap
from kits.domain.reading import Reader

LINER_SEAT = "liner seat"
#: What the faces are → how a sealant for them may cure (common practice; the engine maker's manual comes first).
FACES: Mapping[str, tuple[str, ...]] = {
    "pressed steel": (MOISTURE,),
    "cast cover": (MOISTURE,),
    "corner": (MOISTURE,),
    "machined": (NO_AIR,),
    "sliding": (DRYING,),
    LINER_SEAT: CURES,
}
#: Why another sealant is refused there.
_WHY: Mapping[str, str] = {
    "pressed steel": "pressed steel flexes and its gap is wide: a bead that cures to rubber bridges it, a film without air does not",
    "cast cover": "the gap of a cast cover is wide: a bead that cures to rubber bridges it",
    "corner": "a corner is filled by a dab that cures to rubber",
    "machined": "close machined faces leave no room for a bead: it squeezes out inside; a film that cures without air stays",
    "sliding": "the faces slide on each other as they warm: they get a dry coating",
}
#: Faces that take a film; the others but a liner seat take a bead. It decides only where nobody knows how the sealant cures.
_FILM_FACES = frozenset({"machined", "sliding"})


#: How long a bead is expected to be, in percent of once round its joint (common practice; a family's document may say otherwise).
BEAD_PERCENT = (50, 200)


@dataclass(frozen=True, slots=True)
class Joint:
    """One sealed joint.

    code       group of its positions; nozzle: position of the tip that lays it, "" where none is cut
    positions  where sealant goes, in map order
    product    what the engine maker names for it, as the family's document says
    bolts      how many close it; faces: a key of FACES, "" where the document is silent
    flange_nm, gap_nm   width of the flange, gap of the closed joint; None: not known
    helper     the list says that a second person is there
    sensor_safe   what seals there must not harm the sensors behind it (oxygen, air mass)
    perimeter_nm  once round the joint, None: not known; bead_percent  how long a bead is expected to be, in percent of it
    """

    code: str
    name: str
    positions: tuple[str, ...]
    nozzle: str
    product: str
    bolts: int
    faces: str
    flange_nm: int | None
    gap_nm: int | None
    helper: bool
    sensor_safe: bool = False
    perimeter_nm: int | None = None
    bead_percent: tuple[int, int] = BEAD_PERCENT


_KEYS = frozenset(
    {
        "name", "at", "nozzle", "product", "bolts", "faces", "flange", "gap", "helper", "volume", "closing", "closing_with_helper",
        "sensor_safe", "perimeter", "bead_percent",
    }
)  # fmt: skip


def read_joints(facts: Mapping[str, Any], engine_map: EngineMap, reader: Reader) -> dict[str, Joint]:
    """The joints of a family's facts by code; what is wrong goes to `reader`."""
    joints: dict[str, Joint] = {}
    for index, entry in enumerate(reader.listing(facts, "joints", "facts"), start=1):
        where = f"joint {index}"
        document = reader.mapping(entry, where, _KEYS)
        groups: dict[str, list[str]] = {}
        for position in _positions(document, engine_map, where, reader):
            groups.setdefault(position.partition("/")[0], []).append(position)
        nozzle = reader.text(document, "nozzle", where, "")
        if nozzle and not engine_map.is_position(nozzle):
            reader.problem(where, f"the nozzle {nozzle[:60]!r} is no use position")
        for code, positions in groups.items():
            if code in joints:
                reader.problem(where, f"{code} holds another sealed joint already: a group holds one")
            joints[code] = Joint(
                code=code,
                name=reader.text(document, "name", where),
                positions=tuple(positions),
                nozzle=nozzle,
                product=reader.text(document, "product", where),
                bolts=reader.whole(document, "bolts", where, low=0, high=500),
                faces=reader.one_of(document, "faces", where, tuple(FACES)) if document.get("faces") else "",
                flange_nm=_length(document, "flange", where, reader),
                gap_nm=_length(document, "gap", where, reader),
                helper=reader.yes(document, "helper", where),
                sensor_safe=reader.yes(document, "sensor_safe", where),
                perimeter_nm=_length(document, "perimeter", where, reader),
                bead_percent=_band(document, where, reader),
            )
    return joints


def _positions(document: Mapping[str, Any], engine_map: EngineMap, where: str, reader: Reader) -> tuple[str, ...]:
    value = document.get("at")
    patterns = [value] if isinstance(value, str) else value
    if not isinstance(patterns, list) or not patterns or not all(isinstance(one, str) for one in patterns):
        reader.problem(where, "'at' must be a use position, a pattern, or a list of them")
        return ()
    try:
        return engine_map.expand(patterns)
    except DomainError as error:
        reader.problem(where, error.message)
        return ()


def _length(document: Mapping[str, Any], key: str, where: str, reader: Reader) -> int | None:
    typed = reader.text(document, key, where, "")
    if not typed:
        return None
    try:
        length = read_amount(typed, Dimension.LENGTH).amount
    except DomainError as error:
        reader.problem(where, error.message)
        return None
    if length <= 0:
        reader.problem(where, f"{key} {typed!r} is nothing")
        return None
    return length


def _band(document: Mapping[str, Any], where: str, reader: Reader) -> tuple[int, int]:
    if document.get("bead_percent") is None:
        return BEAD_PERCENT
    band = reader.mapping(document["bead_percent"], f"{where} bead_percent", frozenset({"low", "high"}))
    low, high = (reader.whole(band, side, f"{where} bead_percent", low=1, high=10_000) for side in ("low", "high"))
    if low > high:
        reader.problem(where, "'bead_percent' is turned: 'low' lies above 'high'")
    return low, high


def sensor_question(joint: Joint, product: str, sensor_safe: bool | None) -> str:
    """Why a sealant is not laid where sensors ask for a safe one, "" where it is.

    sensor_safe  what its product sheet says; None: the sheet is silent, or none is on record
    """
    if not joint.sensor_safe or sensor_safe:
        return ""
    if sensor_safe is None:
        return f"{joint.code} asks for a sealant that harms no sensors, and of {product} that is not known"
    return f"{joint.code} asks for a sealant that harms no sensors: by its sheet {product} does"


def unsuitable(joint: Joint, product: str, cures_by: str | None, *, bead: bool = True) -> str:
    """Why a sealant does not belong in a joint, "" where it does; of faces that the document does not name nothing is said.

    cures_by  what its product sheet says; None: no sheet is on record, then only the product that the maker names is known to suit,
              and only in the form that the faces take
    bead      it is laid as a bead; else as a film
    """
    if not joint.faces:
        return ""
    if joint.faces == LINER_SEAT and product != joint.product:
        return f"a liner seat takes the product that the maker names, {joint.product}, not {product}"
    if cures_by is None and product != joint.product:
        return f"how {product} cures is not known, no product sheet of it is on record; the maker names {joint.product}"
    if cures_by is None:
        wrong = joint.faces != LINER_SEAT and bead == (joint.faces in _FILM_FACES)
        return f"{'a bead' if bead else 'a film'} is listed on {joint.faces}; {_WHY[joint.faces]}" if wrong else ""
    if cures_by not in FACES[joint.faces]:
        return f"{product} cures by {cures_by}; {_WHY[joint.faces]}"
    return ""
