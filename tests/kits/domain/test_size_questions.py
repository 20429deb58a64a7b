"""What the record of an engine takes, and what it asks before a list is ready."""

from datetime import date
from itertools import count

from kits.domain.choices import settle
from kits.domain.explosion import explode
from kits.domain.repaired_threads import as_repaired
from kits.domain.settled import Recorded
from kits.domain.size_questions import Record, not_entered, size_questions, why_not_in
from kits.domain.sizes import Entry, standing_findings
from tests.factories.engines import family, findings, number, operations

FAMILY = family()
OPERATIONS = operations(FAMILY)
_ids = count(1)


CATALOGUE = {"SUMP-BOLT", "BIG-BOLT", "BIG-STUD"}


def entry(name, place, value_nm=None, *, job="J-0", renewed=False, detail=""):
    return Entry(next(_ids), name, place, value_nm, renewed, detail, job, date(2024, 5, 2), "G-1")


def record(said, entries, recorded=(), job="J-1"):
    """The list of operation T1 as it is settled, and the record that it meets."""
    standing = standing_findings(FAMILY.sizes, entries, FAMILY.map)
    exploded = explode(FAMILY, [OPERATIONS["T1"]], findings(*said), number("T4-00211"), standing)
    settled = settle(exploded, {}, recorded)
    settled = as_repaired(FAMILY.sizes, entries, settled, recorded, CATALOGUE, FAMILY.map)
    return Record(FAMILY.sizes, entries, job, exploded.closure, recorded, FAMILY.map), settled


def asked(codes, said, entries, recorded=(), job="J-1"):
    """(parts at the rods and mains, questions) of a job of the small engine."""
    standing = standing_findings(FAMILY.sizes, entries, FAMILY.map)
    exploded = explode(
        FAMILY, [OPERATIONS[code] for code in codes.split()], findings(*said), number("T4-00211"), standing
    )
    settled = settle(exploded, {}, recorded)
    settled = as_repaired(FAMILY.sizes, entries, settled, recorded, CATALOGUE, FAMILY.map)
    found = size_questions(Record(FAMILY.sizes, entries, job, exploded.closure, recorded, FAMILY.map), settled)
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


def test_a_repaired_hole_takes_what_goes_into_its_insert():
    rejected = ("bolt-bad@SUMP/bolt-07", "bolt-bad@SUMP/bolt-08")

    def bolts(insert, *words):
        its, settled = record(rejected, [entry("thread", "SUMP/bolt-07", detail=insert)], words)
        lines = {one.position: one for one in settled.lines if one.position.startswith("SUMP/bolt")}
        questions = [(one.position, one.parts, one.detail.split("; ")[-1]) for one in size_questions(its, settled)]
        assert why_not_in(its, lines["SUMP/bolt-08"]) == ""
        assert bool(why_not_in(its, lines["SUMP/bolt-07"])) == bool(questions)
        return lines["SUMP/bolt-07"].part, lines["SUMP/bolt-08"].part, questions

    # The booked bolt goes into that insert: nothing to ask.
    assert bolts("M8,  16 MM") == ("SUMP-BOLT", "SUMP-BOLT", [])
    asks = [("SUMP/bolt-07", ("BIG-BOLT",), "BIG-BOLT is taken by that record: a person confirms it")]
    assert bolts("M10, 20 mm") == ("BIG-BOLT", "SUMP-BOLT", asks)
    big, stud, plain = (Recorded("", "SUMP/bolt-07", part=one) for one in ("BIG-BOLT", "BIG-STUD", "SUMP-BOLT"))
    assert bolts("M10, 20 mm", big) == ("BIG-BOLT", "SUMP-BOLT", [])
    assert bolts("M10, 20 mm", stud) == ("BIG-STUD", "SUMP-BOLT", [])
    # No word makes the booked bolt fit; the newest word that fits counts.
    assert bolts("M10, 20 mm", plain) == ("BIG-BOLT", "SUMP-BOLT", asks)
    # An insert of which the family says nothing is asked about.
    unknown = [("SUMP/bolt-07", ("SUMP-BOLT",), "a person says whether SUMP-BOLT is right for that")]
    assert bolts("something odd") == ("SUMP-BOLT", "SUMP-BOLT", unknown)
    assert bolts("something odd", plain) == ("SUMP-BOLT", "SUMP-BOLT", [])


def test_a_measured_size_limits_the_parts_that_a_choice_offers():
    one_rod = ("chosen@CYL-1",)

    def why(value_nm, said=one_rod, words=()):
        its, settled = record(said, [entry("pin diameter", "ENGINE", value_nm)], words)
        return [one.detail.split("; ")[-1] for one in size_questions(its, settled)]

    for inside in (59_980_000, 60_000_000):
        assert why(inside) == []
    for outside in (59_979_999, 60_000_001, 59_740_000):
        (asked_about,) = why(outside, words=[STANDARD])
        assert asked_about.startswith("SHELL-STD is for 59.98 mm to 60 mm")
    ground = (*one_rod, "ground@ENGINE")
    assert why(59_740_000, ground) == []
    assert why(59_760_000, ground, [UNDERSIZE])[0].startswith("SHELL-25 is for 59.73 mm to 59.75 mm")


def test_a_measured_size_outside_its_limits_is_confirmed_where_no_choice_tells_parts_apart():
    """The choice there tells kinds apart, not sizes: its word confirms the part."""
    low = entry("cover height", "BANK-LEFT", 19_999_999)
    said, words = ("head-off@BANK-LEFT",), [Recorded("cover-kind", "ENGINE", "rubber")]
    its, settled = record(said, [low], words)
    assert size_questions(its, settled) == ()
    part = next(one for one in settled.lines if one.position == "COVER-LEFT/gasket")
    unsaid = Record(its.facts, its.entries, its.job, its.closure, (), its.engine_map)
    assert why_not_in(unsaid, part).endswith("a person says whether COVER-RUBBER is right for that")
    exact = Record(
        its.facts, [entry("cover height", "BANK-LEFT", 20_000_000)], its.job, its.closure, (), its.engine_map
    )
    assert why_not_in(exact, part) == ""


def test_what_the_job_changed_and_did_not_enter():
    said = ("low@CYL-2", "ground@ENGINE")

    def missing(*entries):
        return [(fact.name, place) for fact, place in not_entered(record(said, list(entries))[0])]

    both = [("pins", "ENGINE"), ("seat", "CYL-2")]
    assert missing() == both
    assert missing(entry("seat", "CYL-2", 50_000), entry("pins", "ENGINE", 250_000)) == both
    assert missing(entry("seat", "CYL-2", 50_000, job="J-1")) == both[:1]
    assert missing(entry("seat", "CYL-1", 50_000, job="J-1"), entry("pins", "CYL-1", 250_000, job="J-1")) == both
    assert (
        missing(entry("seat", "ENGINE", 50_000, job="J-1"), entry("pins", "ENGINE", 0, renewed=True, job="J-1")) == []
    )


def test_a_measured_size_that_was_ground_over_since_is_measured_again_or_answered_by_a_word():
    measured = entry("pin diameter", "ENGINE", 59_990_000)
    its, settled = record(("chosen@CYL-1",), [measured], [STANDARD])
    line = next(one for one in settled.lines if one.position == "ROD-1/shells")
    assert why_not_in(its, line) == ""
    ground = entry("pins", "CYL-1", 0, renewed=True)
    its, settled = record(("chosen@CYL-1",), [measured, ground])
    line = next(one for one in settled.lines if one.position == "ROD-1/shells")
    assert f"pins at CYL-1 was entered since (entry {ground.id} of job J-0): measure it again" in why_not_in(its, line)
    assert [one.kind for one in size_questions(its, settled)] == ["size-on-record"]
    its, settled = record(("chosen@CYL-1",), [measured, ground], [STANDARD])
    assert size_questions(its, settled) == ()
    again = entry("pin diameter", "CYL-1", 59_985_000)
    its, settled = record(("chosen@CYL-1",), [measured, ground, again])
    assert size_questions(its, settled) == ()
