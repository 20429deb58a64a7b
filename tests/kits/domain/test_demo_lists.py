"""Lists of the demo shop with known answers: the union beside the sum, one bank of a V engine, all its kinds of joint.

The figures are worked examples of the demo shop; they were computed by hand from its prose tables (fixtures/prose/).
"""

import json
from pathlib import Path

import pytest

from kits.domain.choices import settle, why_not
from kits.domain.engine_numbers import parse_engine_number
from kits.domain.explosion import explode
from kits.domain.families import parse_family
from kits.domain.findings import Finding
from kits.domain.procedures import parse_operation
from kits.domain.settled import Recorded, totals

SHOP = Path(__file__).resolve().parents[3] / "fixtures" / "shop"

#: Left out of the check table of the first example: rings, clips, shells, coolant, soap, lubricant, strips, nozzle tips.
LEFT_OUT = {"A-103", "A-104", "A-407", "A-408", "G-705", "G-707", "G-708", "G-709", "G-710"}


def family(name):
    return parse_family(json.loads((SHOP / "families" / f"{name}.json").read_text(encoding="utf-8")))


def operation(code, its):
    return parse_operation(json.loads((SHOP / "procedures" / f"{code}.json").read_text(encoding="utf-8")), its)


def a_job(name, codes, said, engine):
    its = family(name)
    number = parse_engine_number(engine, {its.numbering.prefix: its.numbering.width})
    found = [Finding(*one.split("@")) for one in said.split()]
    return explode(its, [operation(code, its) for code in codes.split()], found, number)


def amounts(settled):
    """part → amount in its base unit, whether pieces, microlitres or milligrams."""
    return {one.part: one.amount for one in totals(settled)}


VALVES = " ".join(f"valve-removed@VALVE-{n}" for n in range(1, 9))
OVERLAP = f"cylinder-chosen@CYL-2 cylinder-chosen@CYL-3 {VALVES} sump-off@ENGINE"


@pytest.mark.parametrize("codes", ["P1 P2 P3", "P3 P2 P1", "P2 P1 P3 P1"])
def test_overlapping_operations_are_counted_by_position(codes):
    explosion = a_job("alder-4", codes, OVERLAP, "A4-020543")
    settled = settle(explosion, {})
    assert {part: amount for part, amount in amounts(settled).items() if part not in LEFT_OUT} == {
        "A-101": 2,
        "A-111": 2,
        "A-203": 1,
        "A-204": 1,
        "A-205": 1,
        "A-210": 8,
        "A-212": 1,
        "A-502": 10,
        "A-503": 4,
        "A-901": 1,
        "G-701": 10_462,  # 1480 mm of a 3.0 mm bead: 10.46 mL
        "G-706": 5_200_000,
    }
    assert len([one for one in settled.lines if one.part not in LEFT_OUT]) == 33
    assert (explosion.conflicts, settled.complete) == ((), True)


def test_adding_the_operations_up_counts_the_shared_joints_twice():
    added: dict[str, int] = {}
    for code in ("P1", "P2", "P3"):
        for part, amount in amounts(settle(a_job("alder-4", code, OVERLAP, "A4-020543"), {})).items():
            added[part] = added.get(part, 0) + amount
    assert {part: added[part] for part in ("A-203", "A-204", "A-205", "A-502", "A-212", "A-901", "G-701", "G-706")} == {
        "A-203": 2, "A-204": 2, "A-205": 2, "A-502": 20, "A-212": 2, "A-901": 2, "G-701": 20_924, "G-706": 10_400_000,
    }  # fmt: skip
    assert {part: added[part] for part in ("A-101", "A-111", "A-503", "A-210")} == {
        "A-101": 2, "A-111": 2, "A-503": 4, "A-210": 8,
    }  # fmt: skip


def test_the_old_head_joint_is_ruled_out_above_the_change_number_in_words():
    explosion = a_job("alder-4", "P1 P2", "head-off@ENGINE", "A4-020454")
    settled = settle(explosion, {"A-201": 9, "A-501": 99})
    assert amounts(settled)["A-502"] == 10
    assert why_not(explosion, settled, "A-201") == "A-201 fits below A4-020450 only; this engine is A4-020454."


@pytest.mark.parametrize(
    ("bolts", "expected"), [(9, {"A-203": 1, "A-502": 10}), (10, {"A-201": 1, "A-501": 10})]
)  # fmt: skip
def test_below_the_change_number_the_old_pair_goes_only_with_ten_bolts(bolts, expected):
    settled = settle(a_job("alder-4", "P1 P2", "head-off@ENGINE", "A4-020443"), {"A-201": 6, "A-501": bolts})
    assert {part: n for part, n in amounts(settled).items() if part in ("A-201", "A-203", "A-501", "A-502")} == expected


def test_left_head_only_of_the_v_engine():
    explosion = a_job("hornbeam-v8", "P5", "head-off@BANK-LEFT", "H8-03412")
    settled = settle(explosion, {})
    assert amounts(settled) == {
        "H-201": 1,
        "H-501": 9,
        "H-502": 1,
        "H-204": 1,
        "H-221": 2,
        "H-222": 1,
        "H-223": 1,
        "H-206": 1,
        "H-225": 2,
        "H-226": 1,
        "G-701": 4 * 500 + 377,  # four corner dabs of 0.5 mL and 120 mm of a 2.0 mm bead (0.38 mL)
        "G-711": 480,  # 96 cm² × 0.05 mm
        "G-710": 2,
        "G-707": 6_000_000,
    }
    (odd,) = [one for one in settled.lines if one.part == "H-502"]
    assert odd.position == "HEAD-LEFT/bolt-07"
    assert settled.complete is True


def test_the_right_bank_still_wears_cork_and_a_person_chooses():
    explosion = a_job("hornbeam-v8", "P5", "head-off@BANK-LEFT", "H8-03412")
    cork = {"ROCKER-COVER-RIGHT/gasket": "H-205"}
    settled = settle(explosion, {}, already=cork)
    assert [(one.kind, one.position, one.needs_person) for one in settled.conflicts] == [
        ("not-alike", "ROCKER-COVER-LEFT/gasket", True)
    ]
    assert "H-206" not in amounts(settled)
    assert settled.complete is False
    said = settle(explosion, {}, [Recorded("rocker-cover-gasket", "ENGINE", part="H-205")], cork)
    assert (amounts(said)["H-205"], said.conflicts, said.complete) == (1, (), True)
    both = settle(a_job("hornbeam-v8", "P5", "head-off@BANK-LEFT head-off@BANK-RIGHT", "H8-03412"), {}, already=cork)
    assert (amounts(both)["H-206"], both.conflicts) == (2, ())


def test_the_joint_kinds_of_a_v_engine_are_all_expressible():
    cylinders = " ".join(f"cylinder-chosen@CYL-{n}" for n in range(1, 9))
    said = f"{cylinders} rear-cap-off@ENGINE front-cover-off@ENGINE sleeve-parted@ENGINE adapter-off@ENGINE"
    settled = settle(a_job("hornbeam-v8", "P5", said, "H8-03419"), {})
    at = {one.position: one for one in settled.lines}

    def what(*positions):
        return [
            (at[position].part, at[position].candidate.amount.amount, at[position].candidate.amount.how)
            for position in positions
        ]

    # two-piece rear seal with sealed cap corners and grooves: 0.2 mL a corner, 62 mm of a 3.0 mm bead a groove
    assert what("CRANK/rear-seal-half-1", "CRANK/rear-seal-half-2") == [("H-213", 1, "count")] * 2
    assert what("CRANK/rear-cap-corner-dab-2", "CRANK/rear-cap-side-groove-1") == [
        ("G-701", 200, "bead"),
        ("G-701", 438, "bead"),
    ]
    # end seals with corner dabs
    assert what("VALLEY/end-seal-front", "VALLEY/end-seal-rear", "VALLEY/corner-dab-4") == [
        ("H-222", 1, "count"), ("H-223", 1, "count"), ("G-701", 500, "bead"),
    ]  # fmt: skip
    # a sleeve with several rings, one of them not like the others; square rings
    assert what("COOLANT-SLEEVE/ring-1", "COOLANT-SLEEVE/ring-2", "COOLANT-SLEEVE/ring-3") == [
        ("H-232", 1, "count"), ("H-232", 1, "count"), ("H-233", 1, "count"),
    ]  # fmt: skip
    assert what("OIL-FILTER-ADAPTER/ring-inner", "OIL-FILTER-ADAPTER/ring-outer") == [
        ("H-235", 1, "count"),
        ("H-236", 1, "count"),
    ]
    # corner pieces under a bead, dry film, driven hub seal, one odd bolt in a group
    assert what("ROCKER-COVER-RIGHT/corner-piece-2", "ROCKER-COVER-RIGHT/corner-bead") == [
        ("H-225", 1, "count"),
        ("G-701", 377, "bead"),
    ]
    assert what("EXHAUST-RIGHT/coating") == [("G-711", 480, "film")]
    assert at["CRANK/front-seal"].candidate.tools == ("seal driver",)
    assert what("HEAD-RIGHT/bolt-06", "HEAD-RIGHT/bolt-07", "HEAD-RIGHT/bolt-08") == [
        ("H-501", 1, "count"), ("H-502", 1, "count"), ("H-501", 1, "count"),
    ]  # fmt: skip
    # liner seat beads one by one, one nozzle for all; sump bead 13.76 mL, front cover 4.81 mL
    assert what("CYL-1/seat-bead", "CYL-8/seat-bead", "SEATS/nozzle") == [
        ("G-701", 539, "bead"), ("G-701", 539, "bead"), ("G-710", 1, "count"),
    ]  # fmt: skip
    assert what("SUMP/bead", "FRONT-COVER/bead") == [("G-701", 13_758, "bead"), ("G-701", 4_811, "bead")]


def test_nothing_ticked_is_an_empty_list_that_says_so():
    explosion = a_job("rowan-6", "P4", "", "R6-7376")
    assert (dict(explosion.requirements), [code for code, _ in explosion.empty_operations]) == ({}, ["P4"])


def test_one_gasket_for_two_cylinders_is_counted_by_gasket():
    # an odd number of cylinders: the manifold gasket position is the key, never half a gasket for each cylinder
    explosion = a_job("rowan-6", "P4", "cylinder-chosen@CYL-1", "R6-7376")
    assert [key[0] for key in explosion.requirements if key[0].startswith("MANIFOLD")] == [
        "MANIFOLD/gasket-1", "MANIFOLD/gasket-2", "MANIFOLD/gasket-3",
    ]  # fmt: skip


def test_stem_seals_of_exactly_the_valves_removed():
    explosion = a_job("alder-4", "P2", "valve-removed@VALVE-2 valve-removed@VALVE-5", "A4-020751")
    seals = [key[0] for key in explosion.requirements if key[0].startswith("VALVE")]
    assert seals == ["VALVE-2/stem-seal", "VALVE-5/stem-seal"]
