"""Frozen documents read once: families and operations by their digest."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from typing import TypeVar

from inventory.queries import by_hand
from kits.domain.engine_numbers import EngineNumber
from kits.domain.explosion import explode
from kits.domain.families import Family, parse_family
from kits.domain.findings import Finding
from kits.domain.procedures import Operation, parse_operation
from kits.domain.requirements import Explosion
from kits.models import FamilyRevision, ProcedureRevision

#: What an explosion is computed from; documents are told apart as the objects they were read into, which the key keeps.
_Standing = tuple[tuple[Finding, frozenset[str]], ...]
_Asked = tuple["_Same", tuple["_Same", ...], tuple[Finding, ...], EngineNumber, _Standing]
_Parsed = TypeVar("_Parsed")
_Name = TypeVar("_Name")
#: Documents never change under one digest, so what was read may be kept; bounded, oldest out first.
_KEEP = 256
_families: OrderedDict[str, Family] = OrderedDict()
_operations: OrderedDict[str, Operation] = OrderedDict()
_exploded: OrderedDict[_Asked, Explosion] = OrderedDict()


def _kept(store: OrderedDict[_Name, _Parsed], digest: _Name, read: Callable[[], _Parsed]) -> _Parsed:
    found = store.get(digest)
    if found is None:
        found = store[digest] = read()
        while len(store) > _KEEP:
            store.popitem(last=False)
    return found


def family_of(revision: FamilyRevision) -> Family:
    """The family of a frozen revision; a document that was not fetched with it is fetched only where it was never read."""
    return _kept(_families, revision.digest, lambda: parse_family(revision.document))


def newest_family(family_id: int) -> Family | None:
    """The family as its newest revision has it, None before the first. One query; one more where it was never read."""
    newest = by_hand.rows(
        f"SELECT id, digest FROM {FamilyRevision._meta.db_table} WHERE family_id = %s ORDER BY revision DESC LIMIT 1",
        [family_id],
    )
    if not newest:
        return None
    pk, digest = newest[0]
    return _kept(_families, digest, lambda: parse_family(FamilyRevision.objects.get(pk=pk).document))


def operation_of(revision: ProcedureRevision, family: Family) -> Operation:
    """The operation of a frozen revision, read against the family's map; its document is fetched as that of a family."""
    kept_as = f"{family.code}/{family.revision}/{revision.digest}"
    return _kept(_operations, kept_as, lambda: parse_operation(revision.document, family))


class _Same:
    """An object as a key: equal to itself alone."""

    __slots__ = ("it",)

    def __init__(self, it: Family | Operation) -> None:
        self.it = it

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and self.it is other.it

    def __hash__(self) -> int:
        return id(self.it)


def exploded(
    family: Family,
    operations: tuple[Operation, ...],
    findings: tuple[Finding, ...],
    engine_number: EngineNumber,
    standing: _Standing = (),
) -> Explosion:
    """As `explode`, which is a pure function: the list of a job is asked for at each act on it, and nearly always the same."""
    asked = (_Same(family), tuple(map(_Same, operations)), findings, engine_number, standing)
    return _kept(_exploded, asked, lambda: explode(family, operations, findings, engine_number, standing))
