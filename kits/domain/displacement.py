"""What bore, stroke and cylinders displace: a slip in one of the three shows when the family's document is entered."""

from __future__ import annotations

from fractions import Fraction

from inventory.domain.quantities import decimal_text

#: 355/113, pi to six decimal places.
PI = Fraction(355, 113)
_NM3_OF_UL, _UL_OF_L = 10**18, 10**6
#: Makers print displacement rounded; further apart than this share one of the numbers is wrong.
APART = Fraction(1, 100)


def swept_ul(bore_nm: int, stroke_nm: int, cylinders: int) -> Fraction:
    """The swept volume in microlitres: pi / 4 times bore squared times stroke times cylinders."""
    return PI * bore_nm**2 * stroke_nm * cylinders / (4 * _NM3_OF_UL)


def contradicts(bore_nm: int | None, stroke_nm: int | None, cylinders: int, printed_ul: int | None) -> str:
    """What a printed displacement should be, where it is further than `APART` from what the others make; "" where it agrees or one of
    them is not stated."""
    if not (bore_nm and stroke_nm and printed_ul):
        return ""
    swept = swept_ul(bore_nm, stroke_nm, cylinders)
    if abs(swept - printed_ul) <= printed_ul * APART:
        return ""
    return f"bore and stroke of {cylinders} cylinders make {decimal_text(swept / _UL_OF_L, 3)} L"
