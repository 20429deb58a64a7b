"""Product sheets: typed tables, and what makes no sense in them."""

from __future__ import annotations

import pytest

from inventory.domain.errors import DomainError
from inventory.domain.product_sheets import (
    CURES,
    DRYING,
    MOISTURE,
    MOST_ENTRIES,
    SheetEntry,
    check_entries,
    check_sheet,
    density_of,
    read_entries,
    read_humidity,
)

TYPED = {"temperature": "23 °C", "humidity": "50 %", "window": "10 min", "fill_after": "2 h", "run_after": "12 h"}


def test_a_typed_row() -> None:
    # 0 °C is 273.15 K by definition (SI brochure, 9th edition, 2.3.1)
    assert read_entries([TYPED]) == (SheetEntry(296_150, 500, 600, 7200, 43_200),)
    assert read_entries([TYPED | {"fill_after": "1.5 h", "temperature": "86 °F"}])[0] == SheetEntry(
        303_150, 500, 600, 5400, 43_200
    )
    assert read_entries([]) == ()


@pytest.mark.parametrize(
    ("wrong", "code"),
    [
        ({"humidity": "50"}, "bay-unreadable"),
        ({"humidity": "101 %"}, "bay-unreadable"),
        ({"humidity": "half"}, "bay-unreadable"),
        ({"temperature": "23 mL"}, "quantity-wrong-dimension"),
        ({"window": "10"}, "quantity-unreadable"),
        ({"window": "0 s"}, "sheet-unusable"),
        ({"run_after": "1 h"}, "sheet-unusable"),
    ],
)
def test_a_row_that_cannot_be_read(wrong: dict[str, str], code: str) -> None:
    with pytest.raises(DomainError) as refused:
        read_entries([TYPED | wrong])
    assert refused.value.code == code


def test_more_entries_than_any_sheet_has() -> None:
    rows = [TYPED | {"temperature": f"{n} °C"} for n in range(MOST_ENTRIES + 1)]
    assert len(read_entries(rows[:-1])) == MOST_ENTRIES
    with pytest.raises(DomainError) as refused:
        read_entries(rows)
    assert (refused.value.code, refused.value.values["entries"]) == ("sheet-unusable", MOST_ENTRIES + 1)


def test_humidities() -> None:
    assert [read_humidity(text) for text in ("0 %", "50 %", "52.5%", " 100 % ")] == [0, 500, 525, 1000]


def test_densities() -> None:
    # 1.32 g/mL is 1320 mg/mL: a gram is a thousand milligrams
    assert [density_of(text) for text in ("1.32 g/mL", "1320 mg/mL", "1g/mL")] == [1320, 1320, 1000]
    for text in ("1.32", "1.32 kg/L", "0.12345 g/mL", "1.5 mg/mL"):
        with pytest.raises(DomainError) as refused:
            density_of(text)
        assert refused.value.code == "sheet-unusable"


def test_a_sheet_says_how_it_cures_and_which_sheet_it_is() -> None:
    for cures in CURES:
        check_sheet(cures, "sheet 7, edition 3, page 2", 1320, 28)
    check_sheet(DRYING, "sheet 8", None, None)
    for wrong in (
        ("magic", "sheet 7", 1320, 28),
        (MOISTURE, " ", 1320, 28),
        (MOISTURE, "sheet 7", 0, 28),
        (MOISTURE, "sheet 7", 1320, -1),
        (MOISTURE, "sheet 7", True, 28),
    ):
        with pytest.raises(DomainError) as refused:
            check_sheet(*wrong)
        assert refused.value.code == "sheet-unusable"


@pytest.mark.parametrize(
    "wrong",
    [
        {"temperature_mk": -1},
        {"humidity_permille": 1001},
        {"humidity_permille": True},
        {"window_s": 0},
        {"window_s": 1.5},
        {"fill_after_s": -1},
        {"run_after_s": 100},
    ],
)
def test_entries_without_sense_are_refused(wrong: dict[str, object]) -> None:
    good = {"temperature_mk": 1, "humidity_permille": 1000, "window_s": 1, "fill_after_s": 200, "run_after_s": 200}
    check_entries([SheetEntry(**good)])
    with pytest.raises(DomainError) as refused:
        check_entries([SheetEntry(**(good | wrong))])  # type: ignore[arg-type]  # wrong types are the point
    assert refused.value.code == "sheet-unusable"


def test_one_bay_twice_is_refused() -> None:
    sheet = read_entries([TYPED, TYPED | {"temperature": "30 °C"}])
    with pytest.raises(DomainError) as refused:
        check_entries([*sheet, SheetEntry(296_150, 500, 540, 7200, 43_200)])
    assert (refused.value.code, refused.value.values["humidity_permille"]) == ("sheet-unusable", 500)
