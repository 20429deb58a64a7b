"""The difference between two lists, by position."""

from hypothesis import given, settings
from hypothesis import strategies as st

from kits.domain.changes import Entry, difference, entries
from kits.domain.choices import settle
from kits.domain.explosion import explode
from kits.domain.findings import Finding
from kits.domain.settled import NONE, Recorded
from tests.factories.engines import family, findings, number, operations

FAMILY = family()
OPERATIONS = operations(FAMILY)
ALL = [Finding(code.code, place) for code in FAMILY.findings.values() for place in FAMILY.map.places(code.scope)]
jobs = st.tuples(
    st.lists(st.sampled_from(list(OPERATIONS.values())), max_size=3), st.lists(st.sampled_from(ALL), max_size=5)
)


def listing(on_job, said, recorded=()):
    explosion = explode(FAMILY, on_job, said, number("T4-00150"))
    return entries(explosion, settle(explosion, {}, recorded))


def test_what_a_new_finding_adds_changes_and_keeps():
    before = listing([OPERATIONS["T1"]], findings("parted@CYL-1"))
    after = listing([OPERATIONS["T1"]], findings("parted@CYL-1", "ground@ENGINE"))
    changes = difference(before, after)
    assert [key[0] for key, _ in changes.kept] == ["ROD-1/bolt-1", "ROD-1/bolt-2"]
    assert [(key[0], old.parts, new.parts) for key, old, new in changes.changed] == [
        ("ROD-1/shells", ("SHELL-STD",), ("SHELL-25",))
    ]
    assert len(changes.added) == 3 * 3 + 3  # three more rods with two bolts and shells, three mains
    assert changes.removed == ()


def test_a_finding_withdrawn_shrinks_the_list():
    before = listing([OPERATIONS["T2"]], findings("valve-out@VALVE-1", "valve-out@VALVE-2"))
    changes = difference(before, listing([OPERATIONS["T2"]], findings("valve-out@VALVE-2")))
    assert changes.removed == ((("VALVE-1/stem-seal", 1), Entry(("STEM-SEAL",), 1, "piece", "always-new")),)


def test_an_open_choice_stands_with_its_candidates_and_a_choice_of_none_is_no_entry():
    said = findings("low@CYL-1")
    still_open = listing([OPERATIONS["T1"]], said)
    assert [(key[0], one.parts) for key, one in still_open.items()] == [("CYL-1/shim", ("SHIM-5", "SHIM-9"))]
    thick = listing([OPERATIONS["T1"]], said, [Recorded("shim", "CYL-1/shim", "thick")])
    assert [(old.parts, new.parts) for _, old, new in difference(still_open, thick).changed] == [
        (("SHIM-5", "SHIM-9"), ("SHIM-9",))
    ]
    none = listing([OPERATIONS["T1"]], said, [Recorded("shim", "CYL-1/shim", NONE)])
    assert [key[0] for key, _ in difference(thick, none).removed] == ["CYL-1/shim"]


def test_a_reused_position_is_no_entry():
    explosion = explode(FAMILY, [OPERATIONS["T2"]], findings("lifter-bad@VALVE-1"), number("T4-00150"))
    assert entries(explosion, settle(explosion, {}), frozenset({("LIFTER-1/lifter", 1)})) == {}


def test_lists_of_two_revisions_say_so():
    changes = difference({}, {}, {"T1": 1, "T2": 1, "T3": 4}, {"T1": 2, "T2": 1, "T4": 1})
    assert changes.revisions == (("T1", 1, 2), ("T3", 4, None), ("T4", None, 1))
    assert changes.sentences() == (
        "T1: the earlier list used revision 1, this one revision 2.",
        "T3 revision 4 left the job.",
        "T4 revision 1 came onto the job.",
    )
    assert difference({}, {}, {"T1": 1}, {"T1": 1}).sentences() == ()


@settings(max_examples=60, deadline=None)
@given(jobs, jobs)
def test_old_minus_removed_plus_added_is_new(one, other):
    before, after = listing(*one), listing(*other)
    changes = difference(before, after)
    made = dict(before)
    for key, _ in changes.removed:
        del made[key]
    for key, old, new in changes.changed:
        assert made[key] == old
        made[key] = new
    made.update(changes.added)
    assert made == after
    groups = [len(changes.added), len(changes.removed), len(changes.changed), len(changes.kept)]
    assert sum(groups) == len(before.keys() | after.keys())
    assert all(before[key] == entry == after[key] for key, entry in changes.kept)


@settings(max_examples=20, deadline=None)
@given(jobs)
def test_a_list_does_not_differ_from_itself(one):
    changes = difference(listing(*one), listing(*one))
    assert (changes.added, changes.removed, changes.changed) == ((), (), ())
