"""What a table program made of a number that is a name."""

import pytest

from inventory.domain.import_damage import is_error, turned


@pytest.mark.parametrize("text", ["#N/A", "#REF!", "#n/a", " #VALUE! ", "#NAME?", "#DIV/0!"])
def test_an_error_of_the_table_program_is_no_value(text):
    assert is_error(text)


@pytest.mark.parametrize("text", ["N/A", "#1", "#", "R-#REF!", "REF", ""])
def test_what_somebody_may_have_typed_is_none(text):
    assert not is_error(text)


@pytest.mark.parametrize(
    ("text", "is_number", "is_day", "word"),
    [
        ("2024-03-01", False, True, "day"),
        ("01-Mar", False, False, "day"),
        ("1-mar", False, False, "day"),
        ("Mar-24", False, False, "day"),
        ("TRUE", False, False, "truth"),
        ("no", False, False, "truth"),
        ("1234567890123456", True, False, "digits"),
    ],
)
def test_what_the_label_says_is_asked(text, is_number, is_day, word):
    assert word in turned(text, is_number=is_number, is_day=is_day)


@pytest.mark.parametrize(
    ("text", "is_number"),
    [
        ("2024-03-01", False),  # typed as text: a maker may number so
        ("123456789012345", True),  # fifteen digits are kept
        ("1234567890123456", False),
        ("MAR-124", False),
        ("R-01-Mar", False),
        ("412", True),
        ("NO-1", False),
    ],
)
def test_a_number_that_nothing_can_have_happened_to_is_not_asked_about(text, is_number):
    assert turned(text, is_number=is_number, is_day=False) == ""
