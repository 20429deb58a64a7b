"""How much a line takes: counted, poured, weighed, beads and films."""

import pytest

from kits.domain.amounts import LineAmount, measured_otherwise, read_amount
from kits.domain.reading import Reader


def read(how, **document):
    reader = Reader()
    amount = read_amount(document, how, "here", reader)
    return amount, [problem.detail for problem in reader.problems]


def bead(length, diameter, **dabs):
    return read("bead", bead={"length": f"{length} mm", "diameter": f"{diameter} mm", **dabs})[0].amount


@pytest.mark.parametrize(
    ("how", "typed", "amount", "base"),
    [
        ("count", "1 EA", 1, "piece"),
        ("count", "2 pairs", 2, "piece"),
        ("volume", "3 mL", 3_000, "microlitre"),
        ("fill", "5.2 L", 5_200_000, "microlitre"),
        ("volume", "2 US fl oz", 59_147, "microlitre"),  # 29.5735 mL each (NIST Handbook 44, appendix C)
        ("mass", "2 g", 2_000, "milligram"),
    ],
)
def test_what_is_typed_is_held_in_base_units(how, typed, amount, base):
    assert read(how, amount=typed) == (LineAmount(amount, base, how, typed), [])


@pytest.mark.parametrize(
    ("length", "diameter", "dabs", "amount_ul"),
    # joints of the demo shop (worked examples; V = pi/4 · d² · L + dabs, in mL to two decimals: 10.46, 4.04, 1.32, 22.71, 13.76,
    # 4.81, 0.54, 9.26)
    [
        (1480, "3.0", {}, 10_462),
        (620, "2.5", {"dabs": 2, "dab": "0.5 mL"}, 4_043),
        (420, "2.0", {}, 1_319),
        (2360, "3.5", {}, 22_706),
        (1720, "3.0", {"dabs": 4, "dab": "0.4 mL"}, 13_758),
        (980, "2.5", {}, 4_811),
        (305, "1.5", {}, 539),
        (1310, "3.0", {}, 9_260),
    ],
)
def test_beads(length, diameter, dabs, amount_ul):
    assert bead(length, diameter, **dabs) == amount_ul


@pytest.mark.parametrize(
    ("across", "shape", "amount_ul"),
    # a metre of 3 mm: π/4·9 = 7.0686, π/8·9 = 3.5343, 9/2 = 4.5 mL (geometry, by hand)
    [("diameter", "round", 7_069), ("width", "half-round", 3_534), ("leg", "fillet", 4_500)],
)
def test_what_is_measured_across_a_bead_names_its_shape(across, shape, amount_ul):
    found, problems = read("bead", bead={"length": "1000 mm", across: "3 mm"})
    assert (found.amount, found.shape, found.length_nm, found.across_nm, problems) == (
        amount_ul, shape, 1_000_000_000, 3_000_000, [],
    )  # fmt: skip
    assert found.typed == f"bead 1000 mm × 3 mm{'' if shape == 'round' else f' {shape}'}"
    both, problems = read("bead", bead={"length": "1000 mm", across: "3 mm", "dabs": 2, "dab": "0.5 mL"})
    assert (both.amount, problems) == (amount_ul + 1_000, [])


def test_dabs_alone_and_films():
    amount, problems = read("bead", bead={"dabs": 1, "dab": "0.2 mL"})
    assert (amount.amount, amount.dabs, amount.dab_ul, amount.typed, problems) == (
        200,
        1,
        200,
        "bead 1 dab of 0.2 mL",
        [],
    )
    film, problems = read("film", film={"area": "132 cm2", "thickness": "0.10 mm"})
    assert (film.amount, film.area_um2, film.thickness_nm, problems) == (1_320, 13_200_000_000, 100_000, [])
    assert film.typed == "film 132 cm2 × 0.10 mm"
    assert read("film", film={"area": "96 cm2", "thickness": "0.05 mm"})[0].amount == 480


@pytest.mark.parametrize(
    ("how", "document", "problems"),
    [
        ("count", {}, ["'amount' must be a text that is not empty"]),
        ("count", {"amount": 1}, ["'amount' must be a text that is not empty"]),
        ("count", {"amount": "1/2 EA"}, ['"1/2 EA" is not a whole number of pieces']),
        ("fill", {"amount": "0 L"}, ["'0 L' is nothing"]),
        ("mass", {"amount": "3 mL"}, ['"3 mL" is a volume; a mass is wanted']),
        ("bead", {}, ["must be an object with named values", "'length' must be a text that is not empty", "'diameter' must be a text that is not empty"]),
        ("bead", {"bead": {"length": "62 mm"}}, ["'diameter' must be a text that is not empty"]),
        ("bead", {"bead": {"length": "62 mm", "width": "3 mm", "leg": "3 mm"}}, ["a bead has one shape: 'width' or 'leg', not both"]),
        ("bead", {"bead": {"leg": "3 mm"}}, ["'length' must be a text that is not empty"]),
        ("bead", {"bead": {"dab": "1 mL"}}, ["'length' must be a text that is not empty", "'diameter' must be a text that is not empty", "'dabs' must be a whole number from 1 to 1000"]),
        ("film", {"film": {"area": "3 mm", "thickness": "1 mm", "colour": "red"}}, ["unknown key 'colour'", '"3 mm" is a length; a area is wanted']),
        ("film", {"film": {"area": "3 cm2", "thickness": "1 mm"}, "amount": "1 EA"}, ["'film' takes 'film', not 'amount'"]),
    ],
)  # fmt: skip
def test_what_cannot_be_read_is_named(how, document, problems):
    assert read(how, **document)[1] == problems


FILM = {"film": {"area": "3 cm2", "thickness": "1 mm"}}


@pytest.mark.parametrize(
    ("how", "document", "part", "why"),
    [
        ("count", {"amount": "2 EA"}, ("EA", "piece", None, None), ""),
        ("count", {"amount": "1 PR"}, ("PR", "piece", None, None), ""),
        ("count", {"amount": "2 EA"}, ("PR", "piece", None, None), ""),
        ("count", {"amount": "2 EA"}, ("LTR", "microlitre", 1_000_000, 880), "'2 EA' is counted, and the part is kept by the L"),
        ("count", {"amount": "2 PR"}, ("EA", "piece", None, None),
         '"2 PR": this part is counted by the EA, not by the pair'),
        ("fill", {"amount": "5.2 L"}, ("LTR", "microlitre", 1_000_000, 880), ""),
        ("mass", {"amount": "300 g"}, ("LTR", "microlitre", 1_000_000, 880),
         "'300 g' is measured out, and the part is kept by the L: say how much in that measure"),
        ("volume", {"amount": "2 mL"}, ("KGM", "milligram", None, None),
         "'2 mL' is measured out, and the part is kept by the kg: say how much in that measure"),
        ("volume", {"amount": "2 mL"}, ("EA", "piece", None, None),
         "'2 mL' is measured out, and of the part it is not on record how much is in one"),
        ("mass", {"amount": "2 g"}, ("XTN", "piece", 266_000, None), "'2 g' is weighed, and the part has no density on record"),
        ("mass", {"amount": "2 g"}, ("XTN", "piece", 266_000, 940), ""),
        ("film", FILM, ("XTU", "piece", 50_000, None), ""),
    ],
)  # fmt: skip
def test_a_part_is_asked_for_in_the_measure_in_which_it_is_kept(how, document, part, why):
    """Two pieces of an oil that is kept by the litre would be two microlitres of it."""
    assert measured_otherwise(read(how, **document)[0], *part) == why
