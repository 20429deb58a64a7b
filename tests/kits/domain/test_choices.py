"""Either/or choices: bundles whole or not at all, by finding, measured ones left open, persons, one kind over a place."""

from copy import deepcopy

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from kits.domain.choices import numbers_of, settle, why_not
from kits.domain.explosion import explode
from kits.domain.findings import Finding
from kits.domain.procedures import parse_operation
from kits.domain.settled import BUY_IN, NONE, Recorded
from tests.factories.engines import family, findings, found, line, number, operation_documents, operations

FAMILY = family()
OPERATIONS = operations(FAMILY)
NEW, OLD = number("T4-00150"), number("T4-00149")
PLENTY = {"OLD-GASKET": 9, "OLD-BOLT": 99}
ALL = [Finding(code.code, place) for code in FAMILY.findings.values() for place in FAMILY.map.places(code.scope)]


def listed(codes, *said, at=NEW):
    return explode(FAMILY, [OPERATIONS[code] for code in codes.split()], findings(*said), at)


def parts(settled, *groups):
    """part → how many positions, for the groups asked for."""
    counted = {}
    for one in settled.lines:
        if one.position.partition("/")[0] in groups:
            counted[one.part] = counted.get(one.part, 0) + 1
    return counted


def open_at(settled):
    return [(one.choice, one.place, one.candidates) for one in settled.open_choices]


def kinds(settled):
    return [(conflict.kind, conflict.position) for conflict in settled.conflicts]


# Use-up: the whole bundle or the next


@pytest.mark.parametrize(
    ("gaskets", "bolts", "expected"),
    [
        (1, 10, {"OLD-GASKET": 1, "OLD-BOLT": 10}),
        (6, 9, {"NEW-GASKET": 1, "NEW-BOLT": 10}),  # nine old bolts: never nine old ones and a new one
        (0, 99, {"NEW-GASKET": 1, "NEW-BOLT": 10}),
    ],
)
def test_the_old_kind_is_used_up_only_whole(gaskets, bolts, expected):
    explosion = listed("T1 T2", "head-off@BANK-LEFT", at=OLD)
    settled = settle(explosion, {"OLD-GASKET": gaskets, "OLD-BOLT": bolts, "NEW-GASKET": 1, "NEW-BOLT": 10})
    assert parts(settled, "HEAD-LEFT") == expected
    assert settled.complete is True


def test_the_reason_says_what_was_short():
    settled = settle(listed("T1", "head-off@BANK-LEFT", at=OLD), {"OLD-GASKET": 6, "OLD-BOLT": 9})
    assert settled.lines[0].reason == (
        "old is not (OLD-BOLT: 9 of 10); new is not (NEW-BOLT: 0 of 10, NEW-GASKET: 0 of 1); new is taken and is short"
    )
    settled = settle(listed("T1", "head-off@BANK-LEFT", at=OLD), PLENTY)
    assert settled.lines[0].reason == "old is covered whole by stock"


def test_above_the_change_number_the_old_kind_is_out_whole_though_its_bolts_carry_no_range():
    explosion = listed("T1", "head-off@BANK-LEFT", at=NEW)
    settled = settle(explosion, PLENTY)
    assert parts(settled, "HEAD-LEFT") == {"NEW-GASKET": 1, "NEW-BOLT": 10}
    assert settled.lines[0].reason == "the only one that fits (OLD-GASKET fits below T4-00150 only)"
    assert why_not(explosion, settled, "OLD-GASKET") == "OLD-GASKET fits below T4-00150 only; this engine is T4-00150."
    picked = settle(explosion, PLENTY, [Recorded("head-joint", "BANK-LEFT", "old")])
    assert kinds(picked) == [("ruled-out", "HEAD-LEFT/gasket")]
    assert open_at(picked) == [("head-joint", "BANK-LEFT", (("new", ("NEW-BOLT", "NEW-GASKET")),))]
    assert parts(picked, "HEAD-LEFT") == {}


def test_two_banks_share_one_stock():
    explosion = listed("T2", "head-off@BANK-LEFT", "head-off@BANK-RIGHT", at=OLD)
    settled = settle(explosion, {"OLD-GASKET": 2, "OLD-BOLT": 19})
    assert parts(settled, "HEAD-LEFT") == {"OLD-GASKET": 1, "OLD-BOLT": 10}
    assert parts(settled, "HEAD-RIGHT") == {"NEW-GASKET": 1, "NEW-BOLT": 10}
    assert settled.decided[:2] == (("head-joint", "BANK-LEFT", "old"), ("head-joint", "BANK-RIGHT", "new"))


def test_what_the_list_needs_anyway_is_not_used_up():
    spare = deepcopy(operation_documents()["T3"]) | {"code": "T9", "opens": []}
    spare["lines"] = [line("a", 40, "OLD-BOLT", "SUMP/bolt-01", found("head-off", "any"))]
    its = parse_operation(spare, FAMILY)
    explosion = explode(FAMILY, [OPERATIONS["T2"], its], findings("head-off@BANK-LEFT"), OLD)
    assert parts(settle(explosion, {"OLD-GASKET": 1, "OLD-BOLT": 10}), "HEAD-LEFT") == {"NEW-GASKET": 1, "NEW-BOLT": 10}
    assert parts(settle(explosion, {"OLD-GASKET": 1, "OLD-BOLT": 11}), "HEAD-LEFT") == {"OLD-GASKET": 1, "OLD-BOLT": 10}


def test_a_persons_word_goes_before_stock_and_never_mixes():
    explosion = listed("T2", "head-off@BANK-LEFT", at=OLD)
    settled = settle(explosion, PLENTY, [Recorded("head-joint", "BANK-LEFT", "new")])
    assert parts(settled, "HEAD-LEFT") == {"NEW-GASKET": 1, "NEW-BOLT": 10}
    assert settled.lines[0].reason == "chosen by a person"
    part = settle(explosion, PLENTY, [Recorded("head-joint", "BANK-LEFT", "new", part="OTHER-BOLT")])
    assert kinds(part) == [("not-a-candidate", "HEAD-LEFT/gasket")]


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 3), st.integers(0, 25), st.integers(0, 3), st.integers(0, 25), st.sampled_from([NEW, OLD]))
def test_a_bank_never_gets_two_kinds(old_gaskets, old_bolts, new_gaskets, new_bolts, engine):
    explosion = listed("T1 T2", "head-off@BANK-LEFT", "head-off@BANK-RIGHT", at=engine)
    stock = {"OLD-GASKET": old_gaskets, "OLD-BOLT": old_bolts, "NEW-GASKET": new_gaskets, "NEW-BOLT": new_bolts}
    settled = settle(explosion, stock)
    old_banks = 0 if engine is NEW else min(old_gaskets, old_bolts // 10, 2)
    kinds_of_banks = [parts(settled, f"HEAD-{bank}") for bank in ("LEFT", "RIGHT")]
    whole_old, whole_new = {"OLD-GASKET": 1, "OLD-BOLT": 10}, {"NEW-GASKET": 1, "NEW-BOLT": 10}
    assert kinds_of_banks == [whole_old] * old_banks + [whole_new] * (2 - old_banks)


# By finding


def test_by_finding_the_first_alternative_whose_condition_is_met():
    standard = settle(listed("T1", "parted@CYL-1", "parted@CYL-4"), {})
    assert parts(standard, "ROD-1", "ROD-4") == {"ROD-BOLT": 4, "SHELL-STD": 2}
    ground = settle(listed("T1", "parted@CYL-1", "ground@ENGINE"), {})
    assert parts(ground, "ROD-1", "ROD-2", "ROD-3", "ROD-4") == {"ROD-BOLT": 8, "SHELL-25": 4}
    assert ground.complete is True


def test_a_position_that_only_the_other_alternative_covers_is_named():
    document = operation_documents()["T1"]
    (under,) = (one for one in document["lines"] if one["id"] == "T1-under")
    under["when"] = {"all": [found("low"), found("parted")]}
    its = parse_operation(document, FAMILY)
    settled = settle(explode(FAMILY, [its], findings("low@CYL-1", "parted@CYL-1", "parted@CYL-2"), NEW), {})
    assert [(one.part, one.position) for one in settled.lines if one.position.endswith("shells")] == [
        ("SHELL-25", "ROD-1/shells")
    ]
    assert kinds(settled) == [("uncovered", "ROD-2/shells")]
    assert settled.complete is False


def test_where_the_alternative_taken_has_no_line_at_all_nothing_is_needed():
    document = operation_documents()["T2"]
    document["lines"].append(
        line(
            "W", 30, "OLD-WASHER", "SUMP/washer", found("head-off", "any"), choice="pin-shells", alternative="standard"
        )
    )
    document["lines"].append(
        line(
            "U", 30, "NEW-FILL", "SUMP/bolt-01", found("head-off", "any"), choice="pin-shells", alternative="undersize"
        )
    )
    settled = settle(explode(FAMILY, [parse_operation(document, FAMILY)], findings("head-off@BANK-LEFT"), NEW), {})
    assert parts(settled, "SUMP") == {"NEW-FILL": 1}
    assert settled.left_out == (("SUMP/washer", 1),)
    assert settled.complete is True


# Measured


def test_a_measured_choice_stays_open_with_all_its_candidates():
    explosion = listed("T1", "low@CYL-2", "low@CYL-3")
    settled = settle(explosion, {"SHIM-5": 50})
    candidates = (("thin", ("SHIM-5",)), ("thick", ("SHIM-9",)))
    assert open_at(settled) == [("shim", "CYL-2/shim", candidates), ("shim", "CYL-3/shim", candidates)]
    assert (parts(settled, "CYL-2", "CYL-3"), settled.complete) == ({}, False)
    assert why_not(explosion, settled, "SHIM-5") == (
        "SHIM-5 is a candidate of shim at CYL-2/shim, which is still to be chosen."
    )


def test_a_measurement_settles_its_own_position_and_none_is_an_answer_where_one_at_most_is_asked():
    explosion = listed("T1", "low@CYL-2", "low@CYL-3")
    settled = settle(explosion, {}, [Recorded("shim", "CYL-2/shim", "thick"), Recorded("shim", "CYL-3/shim", NONE)])
    assert [(one.position, one.part, one.reason) for one in settled.lines] == [("CYL-2/shim", "SHIM-9", "measured")]
    assert (settled.left_out, settled.complete) == ((("CYL-3/shim", 1),), True)
    assert settled.decided == (("shim", "CYL-2/shim", "thick"), ("shim", "CYL-3/shim", NONE))


def test_what_is_not_among_the_candidates_stays_open_and_is_shown():
    explosion = listed("T1", "low@CYL-2", "head-off@BANK-LEFT")
    settled = settle(explosion, {}, [Recorded("shim", "CYL-2/shim", "huge"), Recorded("head-joint", "BANK-LEFT", NONE)])
    assert kinds(settled) == [("not-a-candidate", "CYL-2/shim"), ("not-a-candidate", "HEAD-LEFT/gasket")]
    assert [one.choice for one in settled.open_choices] == ["head-joint", "shim"]


def test_a_choice_or_a_place_that_does_not_exist_is_refused():
    for recorded, code in (
        (Recorded("lost", "ENGINE"), "choice-unknown"),
        (Recorded("shim", "CYL-9/shim"), "position-unknown"),
    ):
        with pytest.raises(DomainError) as caught:
            settle(listed("T1"), {}, [recorded])
        assert caught.value.code == code


# One kind over the whole engine


def test_the_other_bank_keeps_another_kind_and_a_person_chooses():
    explosion = listed("T2", "head-off@BANK-LEFT")
    alike = settle(explosion, {}, already={"COVER-RIGHT/gasket": "COVER-RUBBER"})
    assert (parts(alike, "COVER-LEFT"), alike.conflicts) == ({"COVER-RUBBER": 1}, ())
    cork = {"COVER-RIGHT/gasket": "COVER-CORK"}
    settled = settle(explosion, {}, already=cork)
    (conflict,) = settled.conflicts
    assert (conflict.kind, conflict.position, conflict.needs_person) == ("not-alike", "COVER-LEFT/gasket", True)
    assert conflict.detail == (
        "COVER-RIGHT/gasket keeps COVER-CORK, COVER-LEFT/gasket would take COVER-RUBBER: same kind on both banks"
    )
    assert parts(settled, "COVER-LEFT") == {}
    chosen = settle(explosion, {}, [Recorded("cover-kind", "ENGINE", part="COVER-CORK")], cork)
    assert (parts(chosen, "COVER-LEFT"), chosen.conflicts) == ({"COVER-CORK": 1}, ())
    both = settle(listed("T2", "head-off@BANK-LEFT", "head-off@BANK-RIGHT"), {}, already=cork)
    assert (parts(both, "COVER-LEFT", "COVER-RIGHT"), both.conflicts) == ({"COVER-RUBBER": 2}, ())


# Parts in conflict


def test_a_person_settles_parts_in_conflict():
    document = operation_documents()["T3"] | {"code": "T9", "opens": []}
    document["lines"] = [line("a", 40, "RING", "SUMP/washer", found("sump-off"))]
    its = parse_operation(document, FAMILY)
    explosion = explode(FAMILY, [OPERATIONS["T3"], its], [], NEW)
    waiting = settle(explosion, {})
    assert (parts(waiting, "SUMP"), waiting.complete) == ({"SEALANT": 1}, False)
    assert why_not(explosion, waiting, "RING") == "RING at SUMP/washer waits for a person: parts are in conflict there."
    said = settle(explosion, {}, [Recorded("", "SUMP/washer", part="RING")])
    assert (parts(said, "SUMP"), said.complete) == ({"SEALANT": 1, "RING": 1}, True)
    assert [conflict.needs_person for conflict in said.conflicts] == [False]
    assert why_not(explosion, said, "WASHER") == (
        "SUMP/washer takes RING, not WASHER: chosen by a person between parts in conflict."
    )
    wrong = settle(explosion, {}, [Recorded("", "SUMP/washer", part="GASKET")])
    assert (parts(wrong, "SUMP"), wrong.complete) == ({"SEALANT": 1}, False)


def made_twice(*wishes):
    """Operations that each want one part at one washer's place, at a make, beside the sump's own washer at make 1."""
    others = []
    for at, (part, make) in enumerate(wishes):
        wish = line("a", 40, part, "SUMP/washer", found("sump-off"), **({"make": make} if make > 1 else {}))
        document = operation_documents()["T3"] | {"code": f"T{at + 5}", "opens": [], "lines": [wish]}
        others.append(parse_operation(document, FAMILY))
    return explode(FAMILY, [OPERATIONS["T3"], *others], [], NEW)


def washers(settled):
    return [(one.make, one.part) for one in settled.lines if one.position == "SUMP/washer"]


def test_a_word_on_parts_in_conflict_holds_for_every_make_of_the_joint():
    explosion = made_twice(("RING", 1), ("RING", 2), ("WASHER", 2))
    assert [(one.position, one.make) for one in explosion.conflicts] == [("SUMP/washer", 1), ("SUMP/washer", 2)]
    assert (washers(settle(explosion, {})), settle(explosion, {}).complete) == ([], False)
    said = settle(explosion, {}, [Recorded("", "SUMP/washer", part="RING")])
    assert (washers(said), said.complete) == ([(1, "RING"), (2, "RING")], True)
    again = settle(explosion, {}, [Recorded("", "SUMP/washer", part=part) for part in ("RING", "WASHER")])
    assert (washers(again), again.complete) == ([(1, "WASHER"), (2, "WASHER")], True)


def test_makes_in_conflict_over_different_parts_take_the_newest_word_that_names_one_of_theirs():
    explosion = made_twice(("RING", 1), ("RING", 2), ("GASKET", 2))
    one = settle(explosion, {}, [Recorded("", "SUMP/washer", part="WASHER")])
    assert (washers(one), one.complete) == ([(1, "WASHER")], False)
    (waiting,) = [conflict for conflict in one.conflicts if conflict.needs_person]
    assert (waiting.make, waiting.detail.endswith("; WASHER was chosen, which is none of them")) == (2, True)
    both = settle(explosion, {}, [Recorded("", "SUMP/washer", part=part) for part in ("WASHER", "GASKET")])
    assert (washers(both), both.complete) == ([(1, "WASHER"), (2, "GASKET")], True)


def test_a_person_says_that_the_buy_in_is_right():
    document = operation_documents()["T3"] | {"code": "T9", "opens": []}
    document["lines"] = [line("a", 40, "CAMSHAFT", "CAMSHAFT/camshaft", found("cam-worn"))]
    explosion = explode(FAMILY, [parse_operation(document, FAMILY)], findings("cam-worn@ENGINE"), NEW)
    assert settle(explosion, {}).complete is False
    bought = settle(explosion, {}, [Recorded("", "CAMSHAFT/camshaft", BUY_IN)])
    assert (bought.lines, bought.left_out, bought.complete) == ((), (("CAMSHAFT/camshaft", 1),), True)
    listed_part = settle(explosion, {}, [Recorded("", "CAMSHAFT/camshaft", part="CAMSHAFT")])
    assert (parts(listed_part, "CAMSHAFT"), listed_part.complete) == ({"CAMSHAFT": 1}, True)


def test_the_numbers_of_a_part_are_said_only_where_no_line_wants_it_for_this_engine():
    asked = ("OLD-GASKET", "OLD-BOLT", "NEW-GASKET", "PISTON")
    said = {
        at.text: [numbers_of(listed("T1", "head-off@BANK-LEFT", at=at), part) for part in asked] for at in (OLD, NEW)
    }
    assert said == {"T4-00149": ["", "", "", ""], "T4-00150": ["below T4-00150", "", "", ""]}


def test_why_not_knows_what_is_on_the_list_and_what_is_nowhere():
    explosion = listed("T3")
    settled = settle(explosion, {})
    assert why_not(explosion, settled, "WASHER") == ""
    assert why_not(explosion, settled, "PISTON") == "PISTON is not on the list of this job."


# Invariants


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.sampled_from(list(OPERATIONS.values())), max_size=4),
    st.lists(st.sampled_from(ALL), max_size=6),
    st.sampled_from([NEW, OLD]),
    st.dictionaries(st.sampled_from(["OLD-GASKET", "OLD-BOLT", "NEW-GASKET", "NEW-BOLT"]), st.integers(0, 30)),
    st.randoms(use_true_random=False),
)
def test_every_requirement_is_settled_open_left_out_or_in_conflict_and_exactly_once(
    on_job, said, engine, stock, random
):
    explosion = explode(FAMILY, on_job, said, engine)
    settled = settle(explosion, stock)
    lines = [one.key for one in settled.lines]
    waiting = [key for choice in settled.open_choices for key in choice.keys]
    apart = [
        (c.position, c.make) for c in settled.conflicts if c.kind in ("part", "buy-in", "uncovered") and c.needs_person
    ]
    everywhere = lines + waiting + list(settled.left_out) + apart
    assert sorted(everywhere) == sorted(explosion.requirements)
    shuffled = on_job * 2
    random.shuffle(shuffled)
    assert settle(explode(FAMILY, shuffled, said[::-1], engine), dict(reversed(stock.items()))) == settled
