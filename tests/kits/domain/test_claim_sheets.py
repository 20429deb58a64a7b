"""Sections of tables: what is not on record is a gap in its place and in the list, and both agree."""

from datetime import UTC, date, datetime

from kits.domain.claim_sheets import (
    ContentsLine,
    NotThere,
    Section,
    Table,
    cell,
    contents_of,
    facts,
    gaps_of,
    in_words,
    missing_section,
    places,
    plain,
)

LOTS = Table(
    "lots", ("lot", "received", "papers"), (1, 1, 1), (("A", "1 May", None), ("B", None, None), ("C", "", "x"))
)
EMPTY = Table("photographs", ("of", "kept"), (1, 1), (), needed=True)
NONE_NEEDED = Table("findings", ("finding", "place"), (1, 1), ())


def test_every_place_that_is_a_gap_is_listed_once():
    told = Section("Claim", (facts("claim", {"told on": date(2025, 1, 2), "oil sample": " ", "owner": None}),))
    papers = Section("Papers", (LOTS, EMPTY, NONE_NEEDED))
    found = gaps_of([told, papers])
    assert found == (
        NotThere("Claim", "oil sample", ("oil sample",)),
        NotThere("Claim", "owner", ("owner",)),
        NotThere("Papers", "lots: received", ("B",)),
        NotThere("Papers", "lots: papers", ("A", "B")),
        NotThere("Papers", "photographs", ()),
    )
    assert [places(told), places(papers)] == [2, 4]
    assert sum(len(gap.rows) or 1 for gap in found) == 6
    assert contents_of([told, papers]) == (ContentsLine(1, "Claim", 3, 2), ContentsLine(2, "Papers", 3, 4))


def test_a_row_without_a_name_in_its_first_column_is_named_by_the_next():
    table = Table(
        "torques", ("part", "name", "as tightened"), (1, 1, 1), (("", "4 clamp bolts", None), ("B", "b", None))
    )
    assert gaps_of([Section("Torques", (table,))])[0].rows == ("4 clamp bolts", "B")


def test_the_list_of_what_is_missing_has_no_gap_of_its_own():
    last = missing_section(gaps_of([Section("Papers", (LOTS, EMPTY))]))
    assert last.tables[0].rows == (
        ("Papers", "lots: received", "B"), ("Papers", "lots: papers", "A, B"), ("Papers", "photographs", ""),
    )  # fmt: skip
    assert (gaps_of([last]), gaps_of([missing_section(())])) == ((), ())


def test_nothing_is_a_gap_and_empty_text_is_not_where_nothing_belongs():
    assert [cell(value) for value in (None, "", "  ", 0, False, "x", date(2025, 1, 2))] == [
        None, None, None, "0", "no", "x", "2025-01-02",
    ]  # fmt: skip
    assert [plain(value) for value in (None, "", True, datetime(2025, 1, 2, 3, 4, 59, tzinfo=UTC), 1.5)] == [
        "", "", "yes", "2025-01-02 03:04", "1.5",
    ]  # fmt: skip


def test_a_document_is_said_as_it_is_on_record():
    document = {
        "over_deck": False, "points": [{"hour": 12, "height_nm": 63_000}, {"hour": 3, "height_nm": -1}],
        "why": [], "turn_deg": 180, "shim_nm": 0, "allowance_nm": 10_000, "factor": 2, "note": "", "weight_mg": 416_500,
        "ledge_cracked": True, "deck_nm": None,
    }  # fmt: skip
    assert in_words(document) == (
        "over deck no, points: hour 12, height 0.063 mm; hour 3, height -0.000001 mm, turn 180 °, shim 0 mm,"
        " allowance 0.01 mm, factor 2, weight 416.5 g, ledge cracked yes"
    )
    assert (in_words([]), in_words(7)) == ("", "7")
