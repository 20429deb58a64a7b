"""Rows of tables that are brought in: accepted, questioned, refused."""

from hypothesis import given
from hypothesis import strategies as st

from inventory.domain.import_cells import Cell, gather
from inventory.domain.import_checks import CHECKS
from inventory.domain.import_kinds import KINDS, PRICES, STOCK, SUPPLIERS
from inventory.domain.import_rows import COUNTS, LEFT_OUT, First, Verdict, beside, counts, judge, key_of
from tests.factories.tables import KNOWN, TODAY, asked, refused, row


def test_two_rows_about_the_same_thing():
    first, same, other = (row(SUPPLIERS, code="A", name=name) for name in ("one", "one", "two"))
    before = First(1, first.values)
    again = beside(SUPPLIERS, same, first=before)
    assert (again.verdict, asked(again)) == (Verdict.QUESTIONED, [("row-twice", "", "")])
    assert "says the same" in again.doubts[0].words
    assert "says otherwise" in beside(SUPPLIERS, other, first=before).doubts[0].words
    assert beside(SUPPLIERS, other, first=before, said=COUNTS) == other
    left = beside(SUPPLIERS, other, first=before, said=LEFT_OUT)
    assert (left.verdict, refused(left)) == (Verdict.REFUSED, ["row-left-out"])


def test_a_row_that_is_on_record_needs_nothing_and_changes_nothing():
    judged = row(SUPPLIERS, code="A", name="one")
    assert beside(SUPPLIERS, judged, on_record={"name": "one", "send back days": 30}).known
    other = beside(SUPPLIERS, judged, on_record={"name": "two"})
    assert (other.known, asked(other)) == (False, [("on-record-otherwise", "", LEFT_OUT)])
    assert "name 'two', here 'one'" in other.doubts[0].words


def test_a_price_is_the_newest_word():
    judged = row(PRICES, supplier="SALT", part="X-111", price="2.10")
    after = beside(PRICES, judged, on_record={"price": 230})
    assert (after.verdict, after.known) == (Verdict.ACCEPTED, False)


def test_a_word_on_a_row_that_is_none_is_refused():
    assert refused(beside(SUPPLIERS, row(SUPPLIERS, code="A", name="one"), said="perhaps")) == ["cell-unreadable"]


def test_keys_compare_part_numbers_by_their_compare_key():
    assert key_of(STOCK, {"part": "x 111", "place": "R1", "spot": "-"}) == key_of(
        STOCK, {"part": "X-111", "place": "R1", "spot": "-"}
    )


CELLS = st.one_of(
    st.sampled_from(
        ["", "X-111", "412", "00412", "R1", "SALT", "4", "4 EA", "2E+05", "25/12/2024", "12/25/2024", "EA", "lot", "S1"]
    ),
    st.text(max_size=10),
)


@given(st.sampled_from(list(KINDS.values())), st.data())
def test_every_row_is_accepted_questioned_or_refused_and_says_why(kind, data):
    """Rows in = accepted + questioned + refused, whatever stands in them; proposals are readable answers."""
    rows = data.draw(
        st.lists(st.fixed_dictionaries({column.name: CELLS.map(Cell) for column in kind.columns}), max_size=4)
    )
    evidence = gather(rows, kind.reads)
    judged = [judge(kind, cells, evidence, KNOWN, today=TODAY, check=CHECKS[kind.name]) for cells in rows]
    assert sum(counts([one.verdict for one in judged]).values()) == len(rows)
    for cells, one in zip(rows, judged, strict=True):
        assert (one.verdict is Verdict.REFUSED) == bool(one.errors)
        assert (one.verdict is Verdict.QUESTIONED) == (bool(one.doubts) and not one.errors)
        answers = {doubt.column: doubt.proposal for doubt in one.doubts if doubt.proposal}
        after = judge(kind, cells, evidence, KNOWN, today=TODAY, check=CHECKS[kind.name], answers=answers)
        assert not {(doubt.code, doubt.column) for doubt in after.doubts if doubt.column in answers}
