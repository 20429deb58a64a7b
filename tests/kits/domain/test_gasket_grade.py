"""The gasket's grade by the largest projection. Grades are the invented Rowan-6's: up to 0.40, 0.60, 0.75 mm."""

from __future__ import annotations

import pytest

from inventory.domain.errors import DomainError
from kits.domain.gasket_grade import GasketChoice, GasketGrade, Projection, choose_gasket

UM = 1_000
GRADES = (GasketGrade("1", 400 * UM), GasketGrade("2", 600 * UM), GasketGrade("3", 750 * UM))
PISTONS = ("CYL-1", "CYL-2", "CYL-3")


def readings(*heights_um: int) -> list[Projection]:
    """Two places of each of three pistons, along the pin axis."""
    places = [(piston, at) for piston in PISTONS for at in ("timing end", "flywheel end")]
    return [Projection(*place, height * UM) for place, height in zip(places, heights_um, strict=True)]


def test_the_largest_of_six_decides():
    # Worked example of the demo shop: largest of six is 0.47, so grade 2.
    found = choose_gasket(GRADES, PISTONS, readings(380, 390, 410, 470, 400, 420), liners_clamped=True)
    assert found == GasketChoice("2", Projection("CYL-2", "flywheel end", 470 * UM))


@pytest.mark.parametrize(
    ("highest_nm", "grade"),
    [(-5, "1"), (400_000, "1"), (400_001, "2"), (600_000, "2"), (600_001, "3"), (750_000, "3")],
)
def test_a_limit_itself_passes(highest_nm, grade):
    found = [*readings(*[-100] * 5, -100)[:-1], Projection("CYL-3", "flywheel end", highest_nm)]
    assert choose_gasket(GRADES, PISTONS, found, liners_clamped=True).grade == grade


def test_above_the_last_grade_it_stops():
    found = [*readings(*[300] * 6)[:-1], Projection("CYL-3", "flywheel end", 750_001)]
    with pytest.raises(DomainError) as caught:
        choose_gasket(GRADES, PISTONS, found, liners_clamped=True)
    assert (caught.value.code, caught.value.values["piston"]) == ("gasket-grade-none", "CYL-3")


@pytest.mark.parametrize(
    ("found", "clamped"),
    [
        (readings(*[300] * 6), False),
        (readings(*[300] * 6), None),
        (readings(*[300] * 6)[:-1], True),
        ([*readings(*[300] * 6)[:-1], readings(*[300] * 6)[0]], True),
        ([*readings(*[300] * 6), Projection("CYL-4", "timing end", 1)], True),
        ([], True),
    ],
)
def test_what_is_not_accepted(found, clamped):
    with pytest.raises(DomainError) as caught:
        choose_gasket(GRADES, PISTONS, found, liners_clamped=clamped)
    assert caught.value.code == "projection-not-accepted"


@pytest.mark.parametrize("grades", [(), (GRADES[1], GRADES[0]), (GRADES[0], GRADES[0]), (GasketGrade("1", True),)])
def test_a_table_that_makes_no_sense(grades):
    with pytest.raises(DomainError) as caught:
        choose_gasket(grades, PISTONS, readings(*[300] * 6), liners_clamped=True)
    assert caught.value.code == "limits-unreadable"
    with pytest.raises(DomainError) as caught:
        choose_gasket(GRADES, PISTONS, [*readings(*[300] * 6)[:-1], Projection("CYL-3", "x", 1.5)], liners_clamped=True)
    assert caught.value.code == "limits-unreadable"
    with pytest.raises(DomainError) as caught:
        choose_gasket(GRADES, (), [], liners_clamped=True)
    assert caught.value.code == "projection-not-accepted"
