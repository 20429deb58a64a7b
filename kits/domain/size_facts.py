"""Which sizes stay with the engines of a family, and what each decides: the family's fact `sizes`.

Its limits come from the maker's manual, which overrides them. Lengths are whole nanometres.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from inventory.domain.units import Dimension
from kits.domain.engine_map import EngineMap
from kits.domain.fact_values import amount, limits, positions
from kits.domain.facts import Facts
from kits.domain.findings import FindingCode
from kits.domain.limits import Limits
from kits.domain.reading import LONGEST_NAME, Reader
from kits.domain.readings import WHAT

#: cut: what one job took off, adding up. undersize: how far the piece is below its new size, the newest counts. size: as measured,
#: the newest counts. thread: an insert in a hole, the newest counts. total: what several cuts come to together; nothing is entered of it.
CUT, UNDERSIZE, SIZE, THREAD, TOTAL = "cut", "undersize", "size", "thread", "total"
KINDS = (CUT, UNDERSIZE, SIZE, THREAD, TOTAL)
#: What a kind of size changes where the family does not say it otherwise. A cut lowers a seat or a deck, a bore or a piston stands
#: elsewhere after it; a journal is ground.
CHANGES = {
    CUT: frozenset(
        {"block-depth", "counterbore-depth", "seat-cupping", "protrusion", "piston-projection", "housing-bore"}
    ),
    UNDERSIZE: frozenset({"journal-diameter"}),
}
#: Said in `most` where the family's fact of its shims has the limit of a recut.
OF_SHIMS = "recut_most of shims"
_KEYS = frozenset(
    {
        "name",
        "kind",
        "text",
        "at",
        "most",
        "least",
        "low",
        "high",
        "choice",
        "takes",
        "finding",
        "of",
        "inserts",
        "read",
        "changes",
    }
)


@dataclass(frozen=True, slots=True)
class SizeFact:
    """One kind of size that stays with engines of a family.

    positions  use positions that it concerns; of a total those of its cuts
    most_nm    what may be off in all, that itself included; least_nm: one more cut takes at least so much; None: not stated
    limits     of a measured size
    choice     the choice that it decides. takes: of an undersize, alternative → how far below the new size its parts are made for;
               spans: of a cut or a measured size, alternative → from where to where the size may stand for its parts
    finding    cut: the finding that asks for one more. undersize: the finding that says so in the conditions of parts lines
    of         of a total: names of the cuts that it adds up
    inserts    of a thread: insert → numbers of the parts that go into it; one that is not here is asked about
    read       of a measured size: what is read for it, a word of `readings.WHAT`; empty: readings are not taken for it
    changes    words of `readings.WHAT`, and names of measured sizes: what was read or measured of it before an entry does not count after
               it (`closed_readings`, `overtaken` in `sizes`)
    """

    name: str
    kind: str
    text: str
    positions: frozenset[str]
    most_nm: int | None = None
    least_nm: int | None = None
    limits: Limits | None = None
    choice: str = ""
    takes: Mapping[str, int] = field(default_factory=dict)
    spans: Mapping[str, Limits] = field(default_factory=dict)
    finding: str = ""
    of: tuple[str, ...] = ()
    inserts: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    read: str = ""
    changes: frozenset[str] = frozenset()


def totals_of(facts: Iterable[SizeFact], name: str) -> tuple[SizeFact, ...]:
    """The totals that a cut counts in."""
    return tuple(one for one in facts if name in one.of)


def read_sizes(
    stated: Mapping[str, Any],
    engine_map: EngineMap,
    codes: Mapping[str, FindingCode],
    choices: Mapping[str, Sequence[str]],
    facts: Facts,
    reader: Reader,
) -> tuple[SizeFact, ...]:
    """The fact `sizes` of a family. choices: code → its alternatives. Problems go to the reader."""
    found: list[SizeFact] = []
    rows = reader.listing(stated, "sizes", "facts")
    measured = {str(one.get("name", "")) for one in rows if isinstance(one, Mapping) and one.get("kind") == SIZE}
    for number, value in enumerate(rows, 1):
        where = f"facts, sizes {number}"
        entry = reader.mapping(value, where, _KEYS)
        kind = reader.one_of(entry, "kind", where, KINDS)
        name = reader.text(entry, "name", where, longest=LONGEST_NAME)
        choice, finding = reader.text(entry, "choice", where, ""), reader.text(entry, "finding", where, "")
        if name in {one.name for one in found}:
            reader.problem(where, f"{name[:60]!r} stands twice")
        if finding and finding not in codes:
            reader.problem(where, f"unknown finding code {finding[:60]!r}")
        if finding and kind == UNDERSIZE and codes.get(finding) and codes[finding].scope != "engine":
            reader.problem(where, f"{finding} is said of the engine, as the whole piece is")
        cuts = _of(entry, where, kind, found, reader)
        takes, spans = _takes(entry, where, kind, choices.get(choice), choice, reader)
        found.append(
            SizeFact(
                name=name,
                kind=kind,
                text=reader.text(entry, "text", where),
                positions=_at(entry, where, cuts, engine_map, reader),
                most_nm=_most(entry, where, kind, facts, reader),
                least_nm=amount(entry, "least", where, Dimension.LENGTH, reader),
                limits=_limits(entry, where, reader),
                choice=choice,
                takes=takes,
                spans=spans,
                finding=finding,
                of=tuple(one.name for one in cuts),
                inserts=_inserts(entry, where, kind, reader),
                read=_read(entry, where, kind, reader),
                changes=_changes(entry, where, kind, measured, reader),
            )
        )
    return tuple(found)


def _of(
    entry: Mapping[str, Any], where: str, kind: str, found: Sequence[SizeFact], reader: Reader
) -> tuple[SizeFact, ...]:
    """The cuts of a total: two or more that stand before it."""
    names = reader.texts(entry, "of", where, required=kind == TOTAL)
    if names and kind != TOTAL:
        reader.problem(where, "'of' belongs to a total")
    cuts = tuple(one for one in found if one.name in names and one.kind == CUT)
    if kind == TOTAL and (len(cuts) < len(names) or len(names) < 2):
        reader.problem(where, "'of' names two or more cuts that stand before it")
    return cuts


def _at(
    entry: Mapping[str, Any], where: str, cuts: Sequence[SizeFact], engine_map: EngineMap, reader: Reader
) -> frozenset[str]:
    if "at" in entry or not cuts:
        return frozenset(positions(entry, "at", where, engine_map, reader))
    return frozenset().union(*(one.positions for one in cuts))


def _most(entry: Mapping[str, Any], where: str, kind: str, facts: Facts, reader: Reader) -> int | None:
    if entry.get("most") != OF_SHIMS:
        return amount(entry, "most", where, Dimension.LENGTH, reader, required=kind == TOTAL)
    most = facts.shims.recut_most_nm if facts.shims is not None else None
    if most is None:
        reader.problem(where, "the fact of the shims states no such limit")
    return most


def _limits(entry: Mapping[str, Any], where: str, reader: Reader) -> Limits | None:
    low, high = (amount(entry, key, where, Dimension.LENGTH, reader) for key in ("low", "high"))
    if low is not None and high is not None and low > high:
        reader.problem(where, "'low' is above 'high'")
        return None
    return Limits(low, high) if low is not None or high is not None else None


def _takes(
    entry: Mapping[str, Any], where: str, kind: str, alternatives: Sequence[str] | None, choice: str, reader: Reader
) -> tuple[dict[str, int], dict[str, Limits]]:
    """What the parts of each alternative are made for: one undersize, or a range of a cut or a measured size."""
    takes = entry.get("takes")
    if takes is None and not choice:
        return {}, {}
    whole = alternatives is not None and isinstance(takes, Mapping) and set(takes) == set(alternatives)
    if kind not in (UNDERSIZE, SIZE, CUT) or not whole or not isinstance(takes, Mapping):
        reader.problem(where, "'choice' and 'takes' go together: a size for every alternative of a known choice")
        return {}, {}
    if kind == UNDERSIZE:
        made = {one: amount(takes, one, f"{where}, takes", Dimension.LENGTH, reader, required=True) for one in takes}
        return {one: size for one, size in made.items() if size is not None}, {}
    keys = frozenset({"low", "high"})
    ranges = {
        one: limits(reader.mapping(takes[one], f"{where}, takes {one}", keys), f"{where}, takes {one}", reader)
        for one in takes
    }
    return {}, {one: span for one, span in ranges.items() if span is not None}


def _inserts(entry: Mapping[str, Any], where: str, kind: str, reader: Reader) -> dict[str, tuple[str, ...]]:
    found: dict[str, tuple[str, ...]] = {}
    for number, value in enumerate(reader.listing(entry, "inserts", where), 1):
        here = f"{where}, inserts {number}"
        one = reader.mapping(value, here, frozenset({"insert", "parts"}))
        name = plain(reader.text(one, "insert", here, longest=LONGEST_NAME))
        if name in found:
            reader.problem(here, f"{name[:60]!r} stands twice")
        found[name] = reader.texts(one, "parts", here, required=True)
    if found and kind != THREAD:
        reader.problem(where, "'inserts' belong to a thread")
    return found


def _read(entry: Mapping[str, Any], where: str, kind: str, reader: Reader) -> str:
    word = reader.text(entry, "read", where, "")
    if word and (kind != SIZE or word not in WHAT or WHAT[word].dimension is not Dimension.LENGTH):
        reader.problem(where, f"'read' names a length that is read, of a measured size: {word[:60]!r}")
        return ""
    return word


def _changes(
    entry: Mapping[str, Any], where: str, kind: str, measured: Collection[str], reader: Reader
) -> frozenset[str]:
    """An empty list says: nothing that is read, and no size. measured: names of the family's measured sizes."""
    usual = CHANGES.get(kind, frozenset())
    if "changes" not in entry:
        return usual
    words = reader.texts(entry, "changes", where)
    if not usual or any(word not in WHAT and word not in measured for word in words):
        said = ", ".join(words)[:60]
        reader.problem(where, f"'changes' names what is read or a measured size, of a cut or an undersize: {said!r}")
        return usual
    return frozenset(words)


def plain(insert: str) -> str:
    """An insert as it is compared: blanks and upper case say nothing."""
    return " ".join(insert.split()).casefold()
