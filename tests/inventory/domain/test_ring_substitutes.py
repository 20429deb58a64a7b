"""Other rings for a place. The words for compounds: usual trade practice, from memory; the sizes: the worked example."""

from __future__ import annotations

import pytest

from inventory.domain.errors import DomainError
from inventory.domain.groove import Groove
from inventory.domain.ring_identity import Shape
from inventory.domain.ring_substitutes import Place, RingPart, RingReason, Substitute, read_ring, ring_substitutes
from inventory.domain.rubber import Side

#: Worked example of the demo shop (independent script): both 107.54 x 3.53 and 108 x 3.5 fit it.
GROOVE = Groove(108_600_000, 114_500_000, 4_800_000)


def part(number: str, compound: str, inside: str = "107.54", section: str = "3.53", shape: str = "round") -> RingPart:
    return read_ring(number, compound, {"id_mm": inside, "section_mm": section, "shape": shape})


WANTED = part("W", "FKM")
OTHERS = [
    part("EPDM-SAME", "EPDM"),
    part("HNBR-METRIC", "HNBR", "108", "3.5"),
    part("FKM-SAME", "FKM"),
    part("FKM-LARGE", "FKM", "120.24"),
    part("UNKNOWN", ""),
    part("SQUARE", "FKM", shape="square"),
    WANTED,
]


def suiting(place: Place, wanted: RingPart = WANTED) -> list[str]:
    return [one.part for one in ring_substitutes(wanted, OTHERS, place) if one.suits]


def test_size_groove_and_rubber_decide_together() -> None:
    assert suiting(Place(Side.OIL)) == ["FKM-SAME"]
    assert suiting(Place(Side.OIL, groove=GROOVE)) == ["FKM-SAME", "HNBR-METRIC"]
    assert suiting(Place(Side.COOLANT, groove=GROOVE)) == ["EPDM-SAME", "HNBR-METRIC"]
    assert suiting(Place(Side.BOTH, groove=GROOVE)) == ["HNBR-METRIC"]
    # HNBR to 150 degrees C, FKM to 200 (both from memory)
    assert suiting(Place(Side.OIL, 423_151, GROOVE)) == ["FKM-SAME"]
    assert suiting(Place(Side.OIL, 423_150, GROOVE)) == ["FKM-SAME", "HNBR-METRIC"]


def test_the_wanted_part_is_none_of_its_substitutes_and_every_other_is_answered() -> None:
    found = ring_substitutes(WANTED, OTHERS, Place(Side.OIL))
    assert {one.part for one in found} == {one.number for one in OTHERS} - {"W"}
    assert [one.part for one in found][:1] == ["FKM-SAME"]
    assert [one.same_size for one in found] == [True, True, True, False, False, False]


def test_every_answer_says_why() -> None:
    found = {one.part: one for one in ring_substitutes(WANTED, OTHERS, Place(Side.OIL, groove=GROOVE))}
    assert found["FKM-SAME"] == Substitute(
        "FKM-SAME",
        True,
        True,
        (
            RingReason("size", True, False, "The same size, 107.54 x 3.53."),
            RingReason("rubber", True, False, "FKM suits oil."),
        ),
    )
    assert found["EPDM-SAME"].reasons[1] == RingReason(
        "rubber", False, False, "EPDM never goes on the oil side (mineral oil swells it)."
    )
    assert found["HNBR-METRIC"].reasons[0] == RingReason(
        "groove", True, True, "Another size, 108 x 3.5 for 107.54 x 3.53; both fit the groove on record."
    )
    large = found["FKM-LARGE"].reasons[0]
    assert (large.good, large.sentence) == (
        False,
        "120.24 x 3.53 does not fit the groove: The ring is larger than its groove: the stretch is -9.68 %.",
    )
    assert found["SQUARE"].reasons[0].sentence == "Another shape: 107.54 x 3.53 square for 107.54 x 3.53."
    unknown = [one for one in ring_substitutes(WANTED, OTHERS, Place(Side.NONE)) if one.part == "UNKNOWN"][0]
    for one in (found["UNKNOWN"], unknown):
        assert one.reasons[1] == RingReason(
            "rubber", False, False, "No rubber that the guide lists is on record for UNKNOWN."
        )


def test_another_size_without_a_groove_on_record_is_no() -> None:
    found = {one.part: one for one in ring_substitutes(WANTED, OTHERS, Place(Side.OIL))}
    assert found["HNBR-METRIC"].reasons[0].sentence == (
        "Another size, 108 x 3.5 for 107.54 x 3.53, and no groove is on record."
    )


def test_a_groove_that_the_wanted_ring_does_not_fit_proves_nothing() -> None:
    deep = Groove(108_600_000, 116_500_000, 4_800_000)
    found = {one.part: one for one in ring_substitutes(WANTED, OTHERS, Place(Side.OIL, groove=deep))}
    assert "itself does not fit the groove on record" in found["HNBR-METRIC"].reasons[0].sentence
    assert found["FKM-SAME"].suits  # the same ring is no worse than the wanted one


def test_square_rings_only_by_their_size() -> None:
    square = part("S", "HNBR", "34", "3", "square")
    others = [part("S-SAME", "FKM", "34", "3", "square"), part("S-OTHER", "FKM", "35", "3", "square")]
    found = ring_substitutes(square, others, Place(Side.OIL, groove=GROOVE))
    assert [(one.part, one.suits) for one in found] == [("S-SAME", True), ("S-OTHER", False)]
    assert found[1].reasons[0].sentence.endswith("only round rings are judged by their groove.")


@pytest.mark.parametrize(
    "facts",
    [
        {},
        {"id_mm": "94.92"},
        {"id_mm": "94,92", "section_mm": "2.62"},
        {"id_mm": "0", "section_mm": "2.62"},
        {"id_mm": "-1", "section_mm": "2.62"},
        {"id_mm": 94.92, "section_mm": "2.62"},
        {"id_mm": "NaN", "section_mm": "2.62"},
        {"id_mm": "94.92", "section_mm": "2.62", "shape": "oval"},
    ],
)
def test_a_record_that_describes_no_ring_is_refused(facts: dict[str, object]) -> None:
    with pytest.raises(DomainError) as refused:
        read_ring("X", "FKM", facts)
    assert refused.value.code == "ring-unreadable"


def test_tolerances_are_those_of_the_size() -> None:
    ring = part("X", "FKM").ring
    assert (ring.inside_tolerance_nm, ring.section_tolerance_nm) == (760_000, 100_000)
    assert part("X", "FKM", shape="D").shape is Shape.D
