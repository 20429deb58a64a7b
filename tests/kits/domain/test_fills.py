"""A fill above one and a half times the book is asked about."""

import pytest

from inventory.domain.errors import DomainError
from kits.domain.facts import Fill
from kits.domain.fills import fill_questions, litres, over_book, read_fill, refuse_over_book
from kits.domain.settled import Recorded
from tests.factories.engines import family, findings, number, operations

OIL = Fill("oil", frozenset({"OIL/fill"}), 5_200_000)
COOLANT = Fill("coolant_concentrate", frozenset({"COOLANT/fill", "COOLANT/bottle"}), 3_400_000)
FILLS = (OIL, COOLANT)


def over(*amounts, said=()):
    found = over_book(FILLS, [((position, make), ul) for position, make, ul in amounts], said)
    return [(one.fill.of, one.key, one.total_ul) for one in found]


def word(text, place="OIL/fill"):
    return Recorded("", place, text)


def test_one_and_a_half_times_the_book_is_the_last_that_passes():
    # Oil 5.2 L; a fill over 1.5 x book is asked about. Source: worked example of the demo shop (invented).
    assert over(("OIL/fill", 1, 7_800_000)) == []
    assert over(("OIL/fill", 1, 7_800_001)) == [("oil", ("OIL/fill", 1), 7_800_001)]


def test_each_make_counts_by_itself_and_a_flush_is_counted_apart():
    assert over(("OIL/fill", 1, 5_200_000), ("OIL/fill", 2, 5_200_000)) == []
    assert over(("OIL/fill", 1, 5_200_000), ("OIL/flush", 1, 5_200_000)) == []
    assert over(("OIL/fill", 1, 5_200_000), ("OIL/fill", 2, 9_000_000)) == [("oil", ("OIL/fill", 2), 9_000_000)]


def test_positions_of_one_fill_count_together():
    assert over(("COOLANT/fill", 1, 3_400_000), ("COOLANT/bottle", 1, 1_700_000)) == []
    assert over(("COOLANT/fill", 1, 3_400_000), ("COOLANT/bottle", 1, 1_700_001)) == [
        ("coolant_concentrate", ("COOLANT/fill", 1), 5_100_001)
    ]


def test_a_word_covers_up_to_its_amount_and_the_newest_counts():
    nine = ("OIL/fill", 1, 9_000_000)
    assert over(nine, said=[word("fill:9 L")]) == []
    assert over(nine, said=[word("fill:9000 mL")]) == []
    assert over(nine, said=[word("fill:8.9 L")]) != []
    assert over(nine, said=[word("fill:9 L"), word("fill:8 L")]) != []
    # Words about something else confirm nothing.
    others = [
        word("fill:20 L", "COOLANT/fill"),
        Recorded("", "OIL/fill", part="OIL"),
        Recorded("shim", "ENGINE", "thin"),
    ]
    assert over(nine, said=others) != []


def test_what_is_said_reads_back_as_the_word_that_confirms_it():
    for ul in (7_800_001, 9_000_000, 24_000_000, 12_345_678):
        assert read_fill(f"fill:{litres(ul)}") == ul
    (one,) = over_book(FILLS, [(("OIL/fill", 1), 9_000_000)], ())
    assert one.sentence == (
        "oil: 9 L at OIL/fill, the book says 5.2 L: more than one and a half times that. Correct it, or confirm it by the"
        ' choice "fill:9 L" at OIL/fill, with the reason'
    )
    with pytest.raises(DomainError) as caught:
        refuse_over_book([one])
    assert (caught.value.code, caught.value.values["book_ul"]) == ("fill-over-book", 5_200_000)
    refuse_over_book([])


def test_a_list_asks_once_for_each_fill():
    from kits.domain.choices import settle
    from kits.domain.explosion import explode

    its = family()
    exploded = explode(its, [operations(its)["T3"]], findings("sump-off@ENGINE"), number("T4-00211"))
    settled = settle(exploded, {})
    # T3 fills 4.0 L of oil.
    small = [Fill("oil", frozenset({"OIL/fill"}), 2_000_000)]
    (asked,) = fill_questions(small, settled, ())
    assert (asked.kind, asked.position, asked.make, asked.parts, asked.needs_person) == (
        "fill-over-book",
        "OIL/fill",
        1,
        ("OIL",),
        True,
    )
    assert fill_questions(small, settled, [word("fill:4 L")]) == ()
    # A word that confirms a fill settles nothing else.
    assert settle(exploded, {}, [word("fill:4 L")]).lines == settled.lines
    assert fill_questions([Fill("oil", frozenset({"OIL/fill"}), 4_000_000)], settled, ()) == ()
    assert fill_questions((), settled, ()) == ()
