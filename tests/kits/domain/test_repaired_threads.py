"""Which parts go into a hole that was repaired with an insert."""

from datetime import date
from itertools import count

from kits.domain.repaired_threads import does_not_go_in, insert_parts, repair_at
from kits.domain.sizes import Entry
from tests.factories.engines import family

FAMILY = family()
HOLE = "SUMP/bolt-07"
_ids = count(1)


def fixed(place, detail, *, renewed=False):
    return Entry(next(_ids), "thread", place, None, renewed, detail, "J-0", date(2024, 5, 2), "")


def against(part, *entries, position=HOLE):
    return does_not_go_in(FAMILY.sizes, entries, position, part, FAMILY.map)


def test_the_newest_insert_of_the_hole_decides():
    small, big = fixed(HOLE, "M8, 16 mm"), fixed(HOLE, "M10, 20 mm")
    assert against("BIG-BOLT") == ""
    assert against("SUMP-BOLT", small) == ""
    assert against("SUMP-BOLT", small, big) == (
        "SUMP-BOLT does not go into the insert M10, 20 mm by job J-0 on 2024-05-02: BIG-BOLT or BIG-STUD does"
    )
    assert [against(part, small, big) for part in ("BIG-BOLT", "BIG-STUD")] == ["", ""]
    assert against("SUMP-BOLT", small, big, position="SUMP/bolt-08") == ""
    # The old block went, and its inserts with it; of an insert that the family does not know nothing is against a part.
    assert against("SUMP-BOLT", big, fixed("ENGINE", "", renewed=True)) == ""
    assert repair_at(FAMILY.sizes, [big, fixed("ENGINE", "", renewed=True)], HOLE, FAMILY.map) is None
    assert against("SUMP-BOLT", fixed(HOLE, "odd")) == ""


def test_parts_of_the_inserts_on_record():
    assert insert_parts(FAMILY.sizes, []) == frozenset()
    assert insert_parts(FAMILY.sizes, [fixed(HOLE, "m10,  20 mm"), fixed("SUMP/bolt-08", "odd")]) == {
        "BIG-BOLT",
        "BIG-STUD",
    }
