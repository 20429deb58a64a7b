"""What a removal brings, of which class an old part is, and which joint was opened; with a twin that goes cell by cell."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from kits.domain.choices import settle
from kits.domain.engine_map import ENGINE
from kits.domain.explosion import explode
from kits.domain.families import parse_family
from kits.domain.findings import Finding, close_findings, evaluate
from kits.domain.procedures import CLASSES
from kits.domain.renewals import class_asked, class_of_old, removed_findings, renewed_with
from tests.factories.engines import family_document, findings, number, operations

DOCUMENT = family_document() | {
    "removed": [
        {"finding": "head-off", "at": ["HEAD-*/gasket", "HEAD-*/bolt-*"]},
        {"finding": "lifted", "at": "CYL-*/set"},
        {"finding": "bolt-bad", "at": "SUMP/bolt-*"},
        {"finding": "drained", "at": ["SUMP/washer", "SUMP/bolt-*"]},
    ]
}
FAMILY = parse_family(DOCUMENT)
OPERATIONS = operations(FAMILY)
NEW, OLD = number("T4-00150"), number("T4-00149")
POSITIONS = [position.name for position in FAMILY.map.positions]
ALL = [Finding(code.code, place) for code in FAMILY.findings.values() for place in FAMILY.map.places(code.scope)]


def shown(*positions):
    return removed_findings(FAMILY.removed, FAMILY.findings, FAMILY.map, positions)


def closure(*said):
    return close_findings(FAMILY.map, FAMILY.findings, FAMILY.rules, findings(*said))


def class_at(position, *said, at=NEW):
    return class_of_old(OPERATIONS.values(), position, closure(*said), FAMILY.map, at)


def test_what_is_out_shows_what_is_open_there_and_nowhere_else():
    assert shown("HEAD-LEFT/bolt-03") == {Finding("head-off", "BANK-LEFT"): "HEAD-LEFT/bolt-03"}
    assert shown("CYL-3/set", "HEAD-LEFT/gasket", "HEAD-LEFT/bolt-01") == {
        Finding("head-off", "BANK-LEFT"): "HEAD-LEFT/gasket",
        Finding("lifted", "CYL-3"): "CYL-3/set",
    }
    assert shown("SUMP/bolt-07") == {
        Finding("bolt-bad", "SUMP/bolt-07"): "SUMP/bolt-07",
        Finding("drained", ENGINE): "SUMP/bolt-07",
    }
    assert shown("VALVE-2/stem-seal") == {}


@pytest.mark.parametrize(
    ("entry", "problem"),
    [
        ({"finding": "no-such", "at": "CYL-*/set"}, "removed 1: unknown finding code 'no-such'"),
        ({"finding": "lifted", "at": "SUMP/bolt-*"}, "SUMP/bolt-01 stands at no cylinder, where 'lifted' is found"),
        ({"finding": "lifted", "at": "CYL-9/set"}, "'CYL-9/set' is not a place of this engine family"),
        ({"finding": "lifted", "at": "CYL-*/set", "not": "x"}, "not"),
    ],
)
def test_a_rule_that_cannot_be_is_named(entry, problem):
    with pytest.raises(DomainError) as caught:
        parse_family(family_document() | {"removed": [entry]})
    assert caught.value.code == "family-unusable"
    assert problem in caught.value.message + str(caught.value.values)


def test_the_class_of_an_old_part_is_that_of_the_lines_that_are_true_else_the_mildest():
    assert class_at("HEAD-LEFT/gasket") == "always-new"  # every line of it says so
    assert class_at("LIFTER-3/lifter") == "inspect"
    assert class_at("ROD-1/shells") == "inspect"  # inspect and measured; neither is asked for
    assert class_at("ROD-1/shells", "ground@ENGINE") == "measured"  # the crank is ground and the rods are parted
    assert class_at("CAMSHAFT/camshaft") == ""
    asked = [
        class_asked(OPERATIONS.values(), at, closure("ground@ENGINE"), FAMILY.map, NEW)
        for at in ("ROD-1/shells", "CYL-1/ring")
    ]
    assert asked == ["measured", ""]


def test_lines_for_other_engine_numbers_do_not_count():
    only_old = [op for op in OPERATIONS.values() if op.code == "T2"]
    lines = [line for op in only_old for line in op.lines if line.part == "OLD-GASKET"]
    assert {line.fits.contains(OLD) for line in lines} == {True}
    assert class_of_old(only_old, "HEAD-LEFT/gasket", closure(), FAMILY.map, OLD) == "always-new"


@settings(max_examples=100)
@given(st.sampled_from(POSITIONS), st.lists(st.sampled_from(ALL), max_size=4), st.sampled_from([NEW, OLD]))
def test_the_class_is_that_of_the_twin(position, said, at):
    truth = close_findings(FAMILY.map, FAMILY.findings, FAMILY.rules, said)
    rows = [
        (CLASSES.index(line.line_class), evaluate(line.condition, position, truth, FAMILY.map) is not None)
        for code in ("T3", "T2", "T1")
        for line in OPERATIONS[code].lines
        if position in line.positions and not (line.fits and not line.fits.contains(at))
    ]
    true = sorted(rank for rank, holds in rows if holds)
    every = sorted(rank for rank, _ in rows)
    expected = CLASSES[true[0]] if true else CLASSES[every[-1]] if every else ""
    assert class_of_old(OPERATIONS.values(), position, truth, FAMILY.map, at) == expected


KINDS = {"NEW-GASKET": "gasket", "NEW-BOLT": "fastener", "RING": "O-ring", "WASHER": "washer", "ROD-BOLT": "fastener"}


def opened(*touched, kinds=KINDS):
    explosion = explode(
        FAMILY, [OPERATIONS["T1"], OPERATIONS["T2"]], findings("head-off@BANK-LEFT", "lifted@CYL-3"), NEW
    )
    settled = settle(explosion, {})
    return renewed_with(settled, kinds, touched)


def test_a_joint_is_open_where_one_of_its_positions_was_touched():
    bolts = {f"HEAD-LEFT/bolt-{at:02}": "HEAD-LEFT/gasket" for at in range(1, 11)}
    assert opened("HEAD-LEFT/gasket") == {"HEAD-LEFT/gasket": "HEAD-LEFT/gasket"} | bolts
    assert opened() == {}
    assert opened("ROD-3/bolt-1")["ROD-3/bolt-2"] == "ROD-3/bolt-1"
    assert set(opened("CYL-3/ring")) == {"CYL-3/ring"}
    # Another group of the map is another joint, though one finding brings both.
    assert "ROD-4/bolt-1" not in opened("ROD-3/bolt-1")


def test_what_is_used_up_by_the_work_is_in_no_joint():
    assert opened("SUMP/bead") == {}
    assert set(opened("SUMP/washer")) == {"SUMP/washer"}
    assert opened("SUMP/washer", kinds=KINDS | {"WASHER": "consumable"}) == {}
