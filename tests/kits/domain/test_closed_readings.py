"""A cut closes what was read of its surface before it: by the clock, and in order of entry for the same moment."""

from datetime import UTC, datetime, timedelta
from random import Random

import pytest

from kits.domain.closed_readings import Cut, ReadAt, closed_by
from tests.factories.engines import family

FAMILY = family()
FACTS = {one.name: one for one in FAMILY.sizes}
NOON = datetime(2025, 1, 15, 12, tzinfo=UTC)


def read(what="block-depth", place="CYL-1", minutes=0, act=1):
    return ReadAt(what, place, NOON + timedelta(minutes=minutes), act)


def cut(number=1, name="seat", place="CYL-1", minutes=0, act=2):
    return Cut(number, name, place, "J-1", NOON + timedelta(minutes=minutes), act)


def closes(reading, *cuts):
    found = closed_by(reading, cuts, FACTS, FAMILY.map)
    return found.id if found else None


@pytest.mark.parametrize(
    ("minutes", "act", "closed"),
    [(1, 2, True), (0, 2, True), (0, 1, False), (-1, 2, False), (-1, 9, False), (1, 0, True)],
)
def test_before_and_after(minutes, act, closed):
    """What was cut earlier and entered late closes nothing that was read after it."""
    assert (closes(read(), cut(minutes=minutes, act=act)) is not None) is closed


@pytest.mark.parametrize(
    ("what", "place", "name", "at", "closed"),
    [
        ("block-depth", "CYL-1", "seat", "CYL-1", True),
        ("counterbore-depth", "CYL-1/set", "seat", "CYL-1", True),
        ("protrusion", "CYL-1", "seat", "ENGINE", True),
        ("block-depth", "CYL-2", "seat", "CYL-1", False),
        # The liner is another piece, and so is its bore.
        ("liner-height", "CYL-1", "seat", "CYL-1", False),
        ("bore-diameter", "CYL-1", "seat", "CYL-1", False),
        # A deck is that of its bank; a reading of the whole engine holds it.
        ("block-depth", "CYL-1", "deck", "HEAD-LEFT/gasket", True),
        ("block-depth", "CYL-3", "deck", "HEAD-LEFT/gasket", False),
        ("block-depth", "ENGINE", "deck", "HEAD-LEFT/gasket", True),
        ("journal-diameter", "ROD-1/shells", "pins", "ENGINE", True),
        ("journal-diameter", "CYL-1", "pins", "ENGINE", True),
        ("journal-diameter", "MAIN-1", "pins", "ENGINE", False),
        ("journal-diameter", "MAIN-1", "mains", "ENGINE", True),
        # A size that is only measured, a thread, and a total change nothing; nor does a size that the family does not keep.
        ("journal-diameter", "ROD-1/shells", "pin diameter", "ENGINE", False),
        ("block-depth", "CYL-1", "head and deck", "ENGINE", False),
        ("block-depth", "CYL-1", "valley", "ENGINE", False),
        ("block-depth", "CYL-9", "seat", "ENGINE", False),
    ],
)
def test_which_surface(what, place, name, at, closed):
    assert (closes(read(what, place), cut(name=name, place=at)) is not None) is closed


def test_the_first_cut_after_it_is_told_and_one_more_never_opens_it_again():
    random = Random(20250115)
    for _ in range(200):
        cuts = [cut(number, minutes=random.randint(-3, 3), act=number) for number in range(1, 6)]
        its = read(minutes=random.randint(-3, 3), act=random.randint(1, 6))
        later = sorted((one.at, one.act, one.id) for one in cuts if (one.at, one.act) > (its.at, its.act))
        assert closes(its, *cuts) == (later[0][2] if later else None)
        if closes(its, *cuts[:-1]) is not None:
            assert closes(its, *cuts) is not None
