"""Old parts are followed through the places, beside new ones of the same lot."""

from inventory.domain.places import PlaceKind as P
from kits.domain.belongings import Lying, Step, follow

KINDS = {1: P.ENGINE, 2: P.ENGINE, 3: P.BENCH, 4: P.SCRAP, 5: P.OWNER, 6: P.SHELF, 9: P.BEFORE_RECORDS}


def step(amount, origin, target, **more):
    return Step(amount, origin, KINDS[origin], target, KINDS[target], **more)


def lying(*steps):
    return [(one.of, one.spot, one.amount, one.reused) for one in follow(steps)]


def test_found_is_reused_and_given_back_and_scrapped():
    # What was found adds up: found = reused + given back + scrapped.
    found = [step(2, 9, 1, enters=7), step(2, 9, 2, enters=8)]
    out = [step(2, 1, 3), step(2, 2, 3)]
    assert lying(*found, *out) == [(7, 3, 2, 0), (8, 3, 2, 0)]
    went = [step(1, 3, 1, back=True), step(2, 3, 4), step(1, 3, 5)]
    rows = lying(*found, *out, *went)
    assert rows == [(7, 1, 1, 1), (7, 4, 1, 0), (8, 4, 1, 0), (8, 5, 1, 0)]
    assert sum(amount for _, _, amount, _ in rows) == 4


def test_new_ones_beside_them_are_not_theirs():
    found = [step(1, 9, 1, enters=7), step(1, 1, 3), step(3, 6, 3)]
    # What goes to a shelf, or newly into the engine, is one of the others; to scrap the old one goes first.
    assert lying(*found, step(2, 3, 6), step(1, 3, 2)) == [(7, 3, 1, 0)]
    assert lying(*found, step(2, 3, 4)) == [(7, 4, 1, 0)]
    # And what is taken out again where a new one sat is no old one.
    assert lying(*found, step(1, 3, 2), step(1, 2, 3), step(1, 3, 5)) == [(7, 5, 1, 0)]


def test_what_was_reused_and_comes_out_again_is_not_reused():
    rows = [step(1, 9, 1, enters=7), step(1, 1, 3), step(1, 3, 1, back=True), step(1, 1, 3)]
    assert follow(rows) == [Lying(7, 3, 1, 0)]
    assert follow([]) == []
