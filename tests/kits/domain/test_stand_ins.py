"""Parts that a person takes in place of listed ones."""

from dataclasses import replace
from fractions import Fraction

from kits.domain.choices import settle
from kits.domain.explosion import explode
from kits.domain.settled import Recorded
from kits.domain.stand_ins import as_said
from tests.factories.engines import family, findings, number, operations

#: (listed, named) → how many of the named one listed becomes.
NOTICES = {
    ("ROD-BOLT", "ROD-BOLT-2"): Fraction(1),
    ("ROD-BOLT", "STUD"): Fraction(2),
    ("ROD-BOLT", "THIRD"): Fraction(2, 3),
}


def said(*words):
    its = family()
    settled = settle(
        explode(its, [operations(its)["T1"]], findings("chosen@CYL-1"), number("T4-00211")), {}, list(words)
    )
    return settled, as_said(settled, words, lambda old, new: NOTICES.get((old, new)))


def at(settled, position):
    return next(
        (line.part, line.candidate.amount.amount, line.reason) for line in settled.lines if line.position == position
    )


def bolt(part, place="ROD-1/bolt-1"):
    return Recorded("", place, part=part)


def test_the_newest_word_on_a_position_is_followed_and_no_other_line_changes():
    before, after = said(bolt("STUD"), bolt("ROD-BOLT-2"))
    assert at(before, "ROD-1/bolt-1") == ("ROD-BOLT", 1, "")
    assert at(after, "ROD-1/bolt-1") == ("ROD-BOLT-2", 1, "chosen by a person in place of ROD-BOLT")
    others = [line for line in before.lines if line.position != "ROD-1/bolt-1"]
    assert [line for line in after.lines if line.position != "ROD-1/bolt-1"] == others


def test_the_notice_says_how_many_and_parts_of_a_piece_are_none():
    assert at(said(bolt("STUD"))[1], "ROD-1/bolt-1")[:2] == ("STUD", 2)
    for word in (bolt("THIRD"), bolt("NO-NOTICE"), bolt("ROD-BOLT")):
        before, after = said(word)
        assert after == before


def test_what_a_choice_decides_is_not_decided_by_a_word_on_a_position():
    before, after = said(bolt("SHELL-NEW", "ROD-1/shells"))
    assert after == replace(before)
