"""What the record of an engine takes, and what it asks before a list is ready."""

from datetime import date
from itertools import count

from kits.domain.choices import settle
from kits.domain.explosion import explode
from kits.domain.settled import Recorded
from kits.domain.size_questions import size_questions
from kits.domain.sizes import Entry, standing_findings
from tests.factories.engines import family, findings, number, operations

FAMILY = family()
OPERATIONS = operations(FAMILY)
_ids = count(1)


def entry(name, place, value_nm, *, job="J-0", renewed=False):
    return Entry(next(_ids), name, place, value_nm, renewed, "", job, date(2024, 5, 2), "G-1")


def asked(codes, said, entries, recorded=(), job="J-1"):
    """(parts at the rods and mains, questions) of a job of the small engine."""
    standing = standing_findings(FAMILY.sizes, entries, FAMILY.map)
    exploded = explode(
        FAMILY, [OPERATIONS[code] for code in codes.split()], findings(*said), number("T4-00211"), standing
    )
    settled = settle(exploded, {}, recorded)
    found = size_questions(FAMILY.sizes, entries, job, settled, exploded.closure, recorded, FAMILY.map)
    shells = {line.position: line.part for line in settled.lines if line.position.endswith("/shells")}
    return shells, [(one.kind, one.position, one.needs_person, one.detail.split("; ")[-1]) for one in found]


GROUND = entry("pins", "ENGINE", 250_000)
UNDERSIZE = Recorded("pin-shells", "ENGINE", "undersize")
STANDARD = Recorded("pin-shells", "ENGINE", "standard")


def test_standard_shells_are_never_taken_for_a_ground_crank():
    one_rod = ("chosen@CYL-1",)
    assert asked("T1", one_rod, []) == ({"ROD-1/shells": "SHELL-STD"}, [])
    # The record offers the other shell where shells are needed anyway, and nothing else comes out or is renewed.
    shells, questions = asked("T1", one_rod, [GROUND])
    assert shells == {"ROD-1/shells": "SHELL-25"}
    assert questions == [
        ("size-on-record", "ROD-1/shells", True, "SHELL-25 is taken by that record: a person confirms it")
    ]
    assert asked("T1", one_rod, [GROUND], [UNDERSIZE]) == ({"ROD-1/shells": "SHELL-25"}, [])
    shells, questions = asked("T1", one_rod, [GROUND], [STANDARD])
    assert shells == {"ROD-1/shells": "SHELL-STD"}
    assert questions[0][3].startswith("SHELL-STD is for 0 mm")
    # Further than any shell goes: no word makes one fit.
    (question,) = asked("T1", one_rod, [entry("pins", "ENGINE", 500_000)], [UNDERSIZE])[1]
    assert question[3].startswith("SHELL-25 is for 0.25 mm")
    # The job itself found it, or the crank is new: nothing is asked.
    assert asked("T1", (*one_rod, "ground@ENGINE"), [GROUND])[1] == []
    assert asked("T1", one_rod, [GROUND, entry("pins", "ENGINE", 0, renewed=True)]) == (
        {"ROD-1/shells": "SHELL-STD"},
        [],
    )
    assert asked("T2", ("valve-out@VALVE-1",), [GROUND]) == ({}, [])


def test_what_no_choice_tells_apart_is_confirmed_by_a_word():
    mains = entry("mains", "MAIN-2", 250_000)
    crank_out = ("crank-out@ENGINE",)
    assert asked("T1", crank_out, [mains])[1] == [
        ("size-on-record", "MAIN-2/shells", True, "a person says whether MAIN-SHELL is right for that")
    ]
    assert asked("T1", crank_out, [mains], [Recorded("", "MAIN-2/shells", part="MAIN-SHELL")])[1] == []


def test_one_more_cut_needs_something_left():
    low = ("low@CYL-2",)
    assert asked("T1", low, [entry("seat", "CYL-2", 200_000)])[1] == []
    (question,) = asked("T1", low, [entry("seat", "CYL-2", 200_001)])[1]
    assert question[:3] == ("size-on-record", "CYL-2/set", True)
    assert question[3].startswith("0.049999 mm is left to cut, one more takes 0.05 mm")
    assert asked("T1", ("low@CYL-1",), [entry("seat", "CYL-2", 250_000)])[1] == []
    # What this job cut itself is no reason to ask.
    assert asked("T1", low, [entry("seat", "CYL-2", 250_000, job="J-1")])[1] == []
