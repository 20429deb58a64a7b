"""The facts of the demo families, typed: against the shop's own table and the worked examples."""

from __future__ import annotations

from fractions import Fraction

import pytest

from kits.domain.bearings import Journal, Wish, choose_halves
from kits.domain.facts import BaseRings, Facts, Shims, Step
from kits.domain.families import parse_family
from kits.domain.gasket_grade import GasketGrade
from kits.domain.limits import Limits
from tests.factories.engines import family_document as small_engine
from tests.fixtures.shop_files import FAMILY_FILES, family_document, prose

UM = 1_000


def facts(family: str) -> Facts:
    return parse_family(family_document(family)).facts


def test_a_family_without_facts_has_none_and_no_defaults():
    assert parse_family(small_engine() | {"facts": {}}).facts == Facts()
    assert (Facts().step, Facts().protrusion, Facts().bolts, Facts().turns_deg, Facts().any_turn) == (
        None,
        None,
        (),
        None,
        False,
    )


@pytest.mark.parametrize(
    ("family", "low", "high", "within", "step", "stairs", "turns", "grams"),
    [
        # The demo shop's table of engine families, in micrometres and grams.
        ("Alder-4", 50, 120, 30, 40, True, (0, 180), 4),
        ("Rowan-6", 50, 120, 30, 50, False, (0, 90, 180, 270), 10),
        ("Hornbeam-V8", 40, 100, 30, 40, False, (0, 180), 4),
        ("Larch-3", 20, 120, 40, 60, False, None, 8),
    ],
)
def test_limits_of_the_table(family, low, high, within, step, stairs, turns, grams):
    found = facts(family)
    assert found.protrusion is not None
    assert found.protrusion.limits == Limits(low * UM, high * UM)
    assert (found.within_one_liner_nm, found.step) == (within * UM, Step(step * UM, stairs, None))
    assert (found.turns_deg, found.any_turn) == (turns, turns is None)
    assert (found.weight_spread_mg, found.weight_with) == (grams * 1000, "pin")
    assert found.piston_measured_at_nm is not None
    assert [ring.ring for ring in found.ring_gaps] == ["top", "second", "oil"]


def test_shims_rings_and_heights():
    rowan, larch = facts("Rowan-6"), facts("Larch-3")
    shims = ("R-121", "R-122", "R-123", "R-124")
    assert rowan.shims == Shims((50_000, 100_000, 150_000, 250_000), 250_000, shims)
    # alloy 22, cast iron 11 parts per million and kelvin (handbook values, from memory)
    assert (facts("Alder-4").expansion_ppm["block"], facts("Alder-4").expansion_ppm["liner"]) == (22, 11)
    assert facts("Alder-4").shims == Shims((), None)
    assert larch.shims is None
    assert larch.base_rings == BaseRings((900_000, 1_000_000), True, ("L-121", "L-122"))
    assert larch.block_depth is not None
    assert (larch.block_depth.nominal_nm, larch.block_depth.ring_nm) == (61_840_000, 900_000)
    assert rowan.clamping is not None
    assert (rowan.clamping.torque, rowan.clamping.source) == (
        "60 N·m",
        "Rowan-6 bench book, invented, edition 3, page 41",
    )


def test_gasket_grades():
    assert facts("Rowan-6").head_gasket_grades == tuple(
        GasketGrade(grade, most * UM, f"R-20{grade}") for grade, most in (("1", 400), ("2", 600), ("3", 750))
    )
    assert facts("Alder-4").head_gasket_grades == ()


def test_expansion():
    # Alloy 22 and steel 11.5 parts per million: worked example of the demo shop; iron 11, pistons 21: common practice.
    blocks = {"Alder-4": 22, "Rowan-6": 11, "Hornbeam-V8": 22, "Larch-3": 11}
    for family, block in blocks.items():
        assert facts(family).expansion_ppm == {
            "block": block, "liner": 11, "piston": 21, "crank": Fraction("11.5"),
        }  # fmt: skip
        assert (facts(family).texts["block"] == "alloy") == (block == 22)


def test_the_mains_of_the_worked_example_from_the_family():
    # Worked example of the demo shop: housing less journal, stock of halves by grade; uppers 2,2,3,2,3 and lowers 1,2,3,2,3.
    (mains,) = facts("Alder-4").bearings
    journals = [
        Journal(upper, 60_000_000 + room * UM, 60_000_000, 60_000_000)
        for upper, room in zip(mains.upper_at, (4028, 4035, 4040, 4031, 4046), strict=True)
    ]
    stock = dict(zip([*mains.uppers, *mains.lowers], [2, 3, 2, 1, 2, 2], strict=True))
    wish = Wish(mains.clearance, mains.target_nm, mains.same_undersize)
    choice = choose_halves(journals, mains.uppers, mains.lowers, stock, wish)
    assert choice.twice_apart_nm == 2 * 11_000
    assert [pair.upper.part for pair in choice.pairs] == ["A-402", "A-402", "A-403", "A-402", "A-403"]
    assert [pair.lower.part for pair in choice.pairs] == ["A-404", "A-405", "A-406", "A-405", "A-406"]
    assert len(mains.lower_at) == 5


def test_the_halves_of_the_table_are_the_parts_of_the_list():
    names = {row["number"]: row["name"] for row in prose("parts")}
    (mains,) = facts("Alder-4").bearings
    said = {half.part: f"Main bearing half, {side}, grade {half.grade}" for side, halves in
            (("upper", mains.uppers), ("lower", mains.lowers)) for half in halves}  # fmt: skip
    assert said == {part: names[part] for part in said}


def test_where_old_parts_go_back():
    alder, rowan, hornbeam = facts("Alder-4"), facts("Rowan-6"), facts("Hornbeam-V8")
    lifter = alder.origin("LIFTER-2/lifter")
    assert lifter is not None
    assert (lifter.lost_never, lifter.bedded_to, lifter.mark) == (True, "CAMSHAFT/camshaft", "")
    liner, turned = alder.origin("CYL-1/set"), rowan.origin("CYL-1/set")
    assert liner is not None
    assert turned is not None
    assert (liner.lost_never, liner.mark, liner.turns_deg, turned.turns_deg) == (False, "clock", (0,), (0, 180))
    assert hornbeam.origin("LIFTER-01/lifter") is None
    assert alder.origin("HEAD/gasket") is None


def test_every_fact_of_every_family_is_read():
    for family in FAMILY_FILES:
        found = facts(family)
        assert set(found.texts) == {"source", "block", "liner_seat", "liner_seals", "lifters"}
        assert found.texts["source"].startswith("invented for the demo shop")
        assert None not in (
            found.bore_nm, found.liner_height, found.block_depth, found.piston_clearance,
        )  # fmt: skip
