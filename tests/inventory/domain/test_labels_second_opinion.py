"""What is read of a GS1 label beside biip, a general parser of GS1 symbols that only tests install."""

from datetime import date

import biip
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from inventory.domain.labels import FNC1, check_digit, read_label

DAY = date(2025, 1, 15)
#: Both take the century that is nearest: decades away from where "nearest" turns over, they have to agree.
days = st.dates(date(2000, 1, 1), date(2060, 12, 31))
texts = st.text("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-./+_", min_size=1, max_size=20)
gtins = st.text("0123456789", min_size=13, max_size=13).map(lambda body: f"{body}{check_digit(body)}")


def fields_by_biip(scanned: str) -> dict[str, object]:
    """Identifier → value, as a day where it is one."""
    message = biip.parse(scanned).gs1_message
    assert message is not None
    return {one.ai.ai: one.date or one.value for one in message.element_strings}


@given(gtins, days, days, texts, texts, st.permutations(["11", "17", "10", "21"]))
def test_both_read_the_same(gtin, made_on, expires_on, lot, serial, order):
    values = {"11": f"{made_on:%y%m%d}", "17": f"{expires_on:%y%m%d}", "10": lot, "21": serial}
    scanned = f"]C101{gtin}" + "".join(code + values[code] + (FNC1 if code in ("10", "21") else "") for code in order)
    label = read_label(scanned.removesuffix(FNC1), DAY)
    told = {"01": label.gtin, "11": label.made_on, "17": label.expires_on, "10": label.lot, "21": label.serial}
    assert told == fields_by_biip(scanned.removesuffix(FNC1))


@given(gtins, st.integers(1, 9))
def test_both_see_a_wrong_check_digit(gtin, more):
    scanned = f"]C101{gtin[:-1]}{(int(gtin[-1]) + more) % 10}"
    with pytest.raises(DomainError) as caught:
        read_label(scanned, DAY)
    assert caught.value.code == "check-digit-wrong"
    # It does not raise: the element says what is wrong with it.
    assert "check digit" in (error_by_biip(scanned) or "")


def error_by_biip(scanned: str) -> str | None:
    """What biip has against the GTIN of a symbol."""
    message = biip.parse(scanned).gs1_message
    assert message is not None
    return message.element_strings[0].gtin_error


def test_neither_has_anything_against_a_published_number():
    scanned = "]C10104012345987652"  # gs1/EPCIS Digital Link example
    assert (read_label(scanned, DAY).gtin, error_by_biip(scanned)) == ("04012345987652", None)
