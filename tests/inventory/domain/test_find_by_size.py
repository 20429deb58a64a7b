"""Finding a part by its measures."""

import pytest

from inventory.domain.errors import DomainError
from inventory.domain.find_by_size import Near, Sized, near_sizes, read_size

RINGS = [
    Sized("A-111", (94_920_000, 2_620_000)),
    Sized("R-111", (120_240_000, 3_530_000)),
    Sized("R-112", (120_240_000, 3_530_000)),
    Sized("L-111", (107_540_000, 3_530_000)),
    Sized("M-108", (108_000_000, 3_500_000)),
    Sized("SHIM-10", (100_000,)),
    Sized("SHIM-15", (150_000,)),
]


@pytest.mark.parametrize(
    ("text", "nm"),
    [
        ("94.92 x 2.62", (94_920_000, 2_620_000)),
        ("94.92x2.62mm", (94_920_000, 2_620_000)),
        ("94.92 mm × 2.62 mm", (94_920_000, 2_620_000)),
        # 1 in = 25.4 mm. Source: NIST Special Publication 811, appendix B
        ("4 x 0.1 in", (101_600_000, 2_540_000)),
        ("4 in * 2.62 mm", (101_600_000, 2_620_000)),
        # AS568-154: 94.92 x 2.62 mm. Source: SAE AS568 as the table of sizes prints it
        ("AS568-154", (94_920_000, 2_620_000)),
        ("-154", (94_920_000, 2_620_000)),
        ("0.10 mm", (100_000,)),
        ("0.1", (100_000,)),
    ],
)
def test_as_it_is_typed(text, nm):
    assert read_size(text) == nm


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "size-unreadable"),
        ("x", "size-unreadable"),
        ("1 x 2 x 3", "size-unreadable"),
        ("0 x 2", "size-unreadable"),
        ("9" * 50, "size-unreadable"),
        ("94,92 x 2.62", "quantity-unreadable"),
        ("94.92 x 2.62 kg", "quantity-wrong-dimension"),
        ("94.92 x 2.62 furlongs", "quantity-unit-unknown"),
        ("-999", "ring-size-unknown"),
        ("large", "quantity-unreadable"),
    ],
)
def test_what_cannot_be_read_is_refused(text, code):
    with pytest.raises(DomainError) as caught:
        read_size(text)
    assert caught.value.code == code


def test_the_same_size_comes_first_without_a_word():
    assert near_sizes(read_size("120.24 x 3.53"), RINGS) == [Near("R-111", ""), Near("R-112", "")]


def test_a_used_ring_is_offered_what_is_near_the_nearest_first():
    # A ring of 108.3 inside, 3.55 and 3.41 across its section, has two candidates. Source: worked example of the demo shop (invented).
    assert near_sizes(read_size("108.3 x 3.48"), RINGS) == [
        Near("M-108", "inside diameter -0.30 mm, section +0.02 mm"),
        Near("L-111", "inside diameter -0.76 mm, section +0.05 mm"),
    ]
    assert near_sizes(read_size("94.9 x 2.6"), RINGS)[0].part == "A-111"
    assert near_sizes(read_size("50 x 2.6"), RINGS) == []
    assert near_sizes(read_size("94.92 x 5.3"), RINGS) == []


def test_a_thickness_finds_shims_and_never_rings():
    assert near_sizes(read_size("0.11 mm"), RINGS) == [Near("SHIM-10", "thickness -0.01 mm")]
    assert near_sizes(read_size("0.125 mm"), RINGS) == []


def test_no_more_than_twenty():
    many = [Sized(f"P-{number:02}", (94_920_000, 2_620_000 + number)) for number in range(40)]
    assert [near.part for near in near_sizes((94_920_000, 2_620_000), many)] == [f"P-{n:02}" for n in range(20)]
