"""What a document says of old parts: halves of one piece, arrows of caps."""

from kits.domain.origin_facts import read_origins
from kits.domain.origins import partner_of
from kits.domain.reading import Reader
from tests.factories.engines import family


def read(*entries):
    reader = Reader()
    found = read_origins({"origins": list(entries)}, family().map, reader)
    return found, [one.detail for one in reader.problems]


def test_halves_of_one_piece_never_survive_a_lost_place():
    ((rods,), problems) = read({"at": "ROD-*/bolt-*", "lost": "ask", "halves": ["bolt-1", "bolt-2"], "mark": "side"})
    assert problems == []
    assert (rods.lost_never, rods.halves, len(rods.positions)) == (True, ("bolt-1", "bolt-2"), 8)
    assert partner_of(rods, "ROD-3/bolt-1") == "ROD-3/bolt-2"


def test_a_mark_is_one_of_three():
    assert [read({"at": "LIFTER-1/lifter", "mark": one})[0][0].mark for one in ("", "clock", "side", "arrow")] == [
        "", "clock", "side", "arrow",
    ]  # fmt: skip
    assert read({"at": "LIFTER-1/lifter", "mark": "paint"})[1] == ["'mark' is clock, side or arrow"]
