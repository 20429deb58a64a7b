"""Texts of tags and paint marks of removed parts."""

from kits.domain.tags import Removed, paint_mark, tag_lines


def test_a_tag_says_job_place_serial_and_front():
    one = Removed("J1", "CYL-3/set", "SET", serial="S-9", tag="3", clock_deg=180)
    assert tag_lines(one, "timing end") == ("J1  CYL-3/set", "SET S-9", "tag 3", "mark at 180°", "front: timing end")
    assert paint_mark(one) == "3 set, and a line towards the front"


def test_a_cap_says_its_arrow_and_a_rod_its_side():
    cap = Removed("J1", "MAIN-2/cap", "CAP", side="front", mark="arrow")
    assert tag_lines(cap, "") == ("J1  MAIN-2/cap", "CAP", "arrow towards front")
    rod = Removed("J1", "ROD-1/rod", "ROD", lot="L-1", side="left", mark="side", amount=2)
    assert tag_lines(rod, "") == ("J1  ROD-1/rod", "ROD L-1 (2 pieces)", "number on the left")
    assert paint_mark(Removed("J1", "CAMSHAFT/camshaft", "CAM")) == "CAMSHAFT camshaft, and a line towards the front"


def test_a_part_without_a_place_is_told_apart_and_gets_no_direction():
    lost = Removed("J1", "", "TAPPET", tag="V2")
    assert tag_lines(lost, "timing end") == ("J1  POSITION LOST", "TAPPET", "tag V2")
    assert paint_mark(lost) == "X"
