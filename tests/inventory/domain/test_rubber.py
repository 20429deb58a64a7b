"""Rubber against fluid, heat and lubricant. The expected words are trade practice from memory unless a line names its source."""

from __future__ import annotations

import csv
from itertools import product
from pathlib import Path

import pytest

from inventory.domain.rubber import (
    DEFAULT_TABLE,
    GUIDE,
    NOT_RUBBER,
    RATINGS,
    Compound,
    Lubricant,
    Side,
    Verdict,
    Word,
    allowed_at,
    good_lubricants,
    lubricant_word,
    may_touch,
    table,
)

YES, FAIR, NO = (True, False), (True, True), (False, False)

#: compound -> oil, coolant, both sides. EPDM not in oils: an encyclopaedia's O-ring list and a seal maker's page (both read).
#: ACM good in hot oil, very poor in water: a rubber moulder's page (read). The rest from memory.
EXPECTED = {
    "NBR": (YES, FAIR, FAIR),
    "HNBR": (YES, YES, YES),
    "FKM": (YES, NO, NO),
    "EPDM": (NO, YES, NO),
    "VMQ": (NO, FAIR, NO),
    "FVMQ": (FAIR, NO, NO),
    "ACM": (YES, NO, NO),
    "PTFE": (YES, NO, NO),
    "cork": (YES, NO, NO),
    "graphite rope": (YES, NO, NO),
    "AEM": (NO, NO, NO),
    "CR": (NO, NO, NO),
    "green": (NO, NO, NO),
    "EPDM FKM": (NO, NO, NO),
    "-": (NO, NO, NO),
    "": (NO, NO, NO),
}


@pytest.mark.parametrize("compound", EXPECTED)
def test_every_compound_on_every_side(compound: str) -> None:
    verdicts = [allowed_at(compound, side) for side in (Side.OIL, Side.COOLANT, Side.BOTH)]
    assert tuple((verdict.allowed, verdict.caution) for verdict in verdicts) == EXPECTED[compound]
    assert [verdict for verdict in verdicts if not verdict.reason.endswith(".")] == []


def test_the_expectations_cover_the_whole_default_table() -> None:
    assert set(DEFAULT_TABLE) - {name.upper() for name in EXPECTED} == set()
    assert len(DEFAULT_TABLE) == len(GUIDE) + len(NOT_RUBBER)


def test_reasons() -> None:
    assert allowed_at("epdm", Side.OIL) == Verdict(False, "EPDM never goes on the oil side (mineral oil swells it).")
    assert allowed_at("ACM", Side.COOLANT) == Verdict(False, "ACM never goes on the coolant side (water destroys it).")
    assert allowed_at("FKM", Side.BOTH) == Verdict(
        False,
        "FKM does not go on the coolant side (hot coolant: special grades only; list such a grade by name).",
    )
    assert allowed_at(" hnbr ", Side.BOTH) == Verdict(True, "HNBR suits oil and coolant.")
    assert (
        allowed_at("NBR", Side.COOLANT).reason
        == "NBR is only fair on the coolant side (coolant fair only, to about 100 °C)."
    )
    assert allowed_at("FVMQ", Side.COOLANT).reason == "The rubber guide does not give FVMQ for the coolant side."
    assert allowed_at("red", Side.OIL).reason == "red is not in the rubber guide, so it may not go on the oil side."
    assert allowed_at(None, Side.OIL).reason == (
        "A part without a known compound is not in the rubber guide, so it may not go on the oil side."
    )


def test_no_fluid_stated() -> None:
    assert allowed_at("EPDM", Side.NONE) == Verdict(
        True, "The map states no fluid at this position: look what it touches.", caution=True
    )
    assert allowed_at(None, Side.NONE).caution is False
    # The heat is judged all the same: NBR to about 100 degrees C (from memory).
    assert allowed_at("NBR", Side.NONE, hottest_mk=373_150).allowed
    assert allowed_at("NBR", Side.NONE, hottest_mk=373_151) == Verdict(False, "NBR stands no more than 100 °C.")


def test_the_side_may_be_the_word_of_the_map() -> None:
    for side in Side:
        assert allowed_at("EPDM", side.value) == allowed_at("EPDM", side)
    with pytest.raises(ValueError, match="air"):
        allowed_at("EPDM", "air")


def test_heat_limit_itself_passes_and_one_millikelvin_more_does_not() -> None:
    # NBR to about 100 °C, HNBR and ACM to 150 °C; EPDM to the lower of 130 and 150 °C (all from memory)
    for compound, celsius in (("NBR", 100), ("HNBR", 150), ("ACM", 150), ("FKM", 200), ("FVMQ", 175)):
        limit = celsius * 1000 + 273_150
        assert allowed_at(compound, Side.OIL, hottest_mk=limit).allowed
        assert allowed_at(compound, Side.OIL, hottest_mk=limit + 1) == Verdict(
            False, f"{compound} stands no more than {celsius} °C."
        )
    assert allowed_at("EPDM", Side.COOLANT, hottest_mk=403_150).allowed
    assert not allowed_at("EPDM", Side.COOLANT, hottest_mk=403_151).allowed


def test_the_stricter_of_guide_and_ratings_wins_either_way() -> None:
    for word, rating in product(Word, Word):
        guide = table([Compound("X", word, Word.GOOD, None, frozenset())])
        verdict = allowed_at("X", Side.OIL, guide, ratings={"X": (rating, Word.GOOD)})
        assert verdict.allowed == (max(word, rating) <= Word.FAIR)
        assert verdict.caution == (max(word, rating) == Word.FAIR)


def test_where_the_guide_is_stricter_than_the_handbook_scale() -> None:
    # The handbook scale (from memory) rates FKM 2 and NBR 1 in glycol coolant; the guide's word is the stricter.
    assert (RATINGS["FKM"][1], allowed_at("FKM", Side.COOLANT).allowed) == (Word.FAIR, False)
    assert (RATINGS["NBR"][1], allowed_at("NBR", Side.COOLANT).caution) == (Word.GOOD, True)


def test_adding_a_side_never_allows_more() -> None:
    for compound in EXPECTED:
        both = allowed_at(compound, Side.BOTH).allowed
        assert both == (allowed_at(compound, Side.OIL).allowed and allowed_at(compound, Side.COOLANT).allowed)


def test_the_shop_may_list_a_special_grade_under_its_own_name() -> None:
    grade = Compound("FKM GRADE 7", Word.GOOD, Word.GOOD, 473_150, frozenset({Lubricant.SOAP}), "maker's sheet, page 3")
    shop = table([*GUIDE, grade])
    assert allowed_at("fkm grade 7", Side.BOTH, shop) == Verdict(True, "FKM GRADE 7 suits oil and coolant.")
    assert not allowed_at("FKM", Side.COOLANT, shop).allowed
    replaced = table([*GUIDE, Compound("NBR", Word.GOOD, Word.NEVER, None, frozenset())])
    assert not allowed_at("NBR", Side.COOLANT, replaced).allowed


#: EPDM: only soap unless the manual says otherwise; never silicone grease on silicone: a seal maker's page (read). Rest from memory.
LUBRICANTS = {
    "EPDM": {Lubricant.SOAP, Lubricant.SILICONE},
    "FKM": {Lubricant.SOAP, Lubricant.SILICONE, Lubricant.MINERAL_OIL},
    "HNBR": {Lubricant.SOAP, Lubricant.SILICONE, Lubricant.MINERAL_OIL},
    "NBR": {Lubricant.SOAP, Lubricant.SILICONE, Lubricant.MINERAL_OIL},
    "VMQ": {Lubricant.SOAP},
    "FVMQ": {Lubricant.SOAP},
    "ACM": {Lubricant.MINERAL_OIL},
    "PTFE": {Lubricant.DRY},
    "green": set(),
    "": set(),
}


@pytest.mark.parametrize("compound", LUBRICANTS)
def test_every_lubricant_on_every_compound(compound: str) -> None:
    assert {lubricant for lubricant in Lubricant if may_touch(compound, lubricant).allowed} == LUBRICANTS[compound]


def test_lubricant_reasons() -> None:
    assert (
        may_touch("EPDM", Lubricant.MINERAL_OIL).reason
        == "EPDM: no mineral oil; use silicone grease or water-based soap."
    )
    assert may_touch("EPDM", Lubricant.PETROLEUM_JELLY).allowed is False
    assert (
        may_touch("PTFE", Lubricant.SOAP).reason == "PTFE: no water-based soap; it is fitted dry (lip and shaft dry)."
    )
    assert may_touch("EPDM", Lubricant.DRY).reason == "EPDM is not fitted dry; use silicone grease or water-based soap."
    assert may_touch("FKM", Lubricant.MINERAL_OIL) == Verdict(True, "FKM: mineral oil is fine.")


def test_lubricants_by_word() -> None:
    assert [lubricant_word(one.value.upper()) for one in Lubricant] == list(Lubricant)
    said = [lubricant_word(text) for text in ("soap", " Rubber  soap ", "engine oil", "Oil", "silicone", "none")]
    assert said == [Lubricant.SOAP] * 2 + [Lubricant.MINERAL_OIL] * 2 + [Lubricant.SILICONE, Lubricant.DRY]
    assert [lubricant_word(text) for text in ("", "butter", "oil grease", "soa")] == [None] * 4


def test_what_a_compound_may_be_fitted_with() -> None:
    for compound, wanted in LUBRICANTS.items():
        assert set(good_lubricants(compound)) == wanted


def published(name: str) -> list[dict[str, str]]:
    """Rows of a copied table; `tests/data/SOURCES.txt` says where it is from."""
    path = Path(__file__).resolve().parents[2] / "data" / name
    with path.open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def test_ratings_are_those_of_the_handbook_scale() -> None:
    rated = {
        (row["compound"], row["fluid"]): int(row["rating_1_good_4_bad"])
        for row in published("elastomer_fluid_rating.csv")
    }
    fluids = ("engine_oil", "glycol_coolant")
    assert {name: tuple(rated[name, fluid] for fluid in fluids) for name in {name for name, _ in rated}} == RATINGS


def test_no_compound_may_be_hotter_than_the_published_limits() -> None:
    limits = {row["compound"]: row["max_continuous_c"] for row in published("elastomer_temperature.csv")}
    ours = {name: row.hottest_mk for name, row in DEFAULT_TABLE.items() if name in limits}
    # EPDM: 125 sulphur cured, 150 peroxide; the guide's 130 lies between, its sheet says which it is.
    between = {"EPDM": 150}
    hotter = [
        name
        for name, limit in ours.items()
        if limit is not None and limit > 1000 * between.get(name, int(limits[name].split()[0])) + 273_150
    ]
    assert hotter == []
