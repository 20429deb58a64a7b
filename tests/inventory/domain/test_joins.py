"""Whether two records are of one number."""

from dataclasses import replace

import pytest

from inventory.domain.errors import DomainError
from inventory.domain.joins import Record, check_join, differences

KEPT = Record("A-201", "EA", "lot", "gasket", "FKM", {"id_mm": "94.92"}, 5)
JOINED = replace(KEPT, number="a 201")


def why(kept, joined, notices=()):
    with pytest.raises(DomainError) as caught:
        check_join(kept, joined, notices)
    assert caught.value.code == "records-differ"
    return caught.value


def test_one_number_written_in_two_ways_is_one_part():
    # key is the same for `A-201`, `a 201`, `A201`. Common practice of the parts counter.
    for number in ("a 201", "A201", "A-2O1"):
        check_join(KEPT, replace(KEPT, number=number))
    assert differences(KEPT, JOINED) == ()


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"unit": "MTR"}, "unit"),
        ({"tracked_by": "nothing"}, "tracked_by"),
        ({"kind": "seal"}, "kind"),
        ({"compound": "EPDM"}, "compound"),
        ({"ring": {"id_mm": "100"}}, "ring"),
        ({"pack": 1}, "pack"),
    ],
)
def test_what_differs_is_named_with_both_values(more, field):
    error = why(KEPT, replace(JOINED, **more))
    assert error.values["fields"] == [field]
    assert repr(getattr(KEPT, field)) in error.message
    assert repr(more[field]) in error.message


def test_what_one_record_does_not_state_is_no_difference():
    check_join(KEPT, Record("A 201", "EA", "lot", pack=5))
    check_join(Record("A-201", "EA", "lot"), replace(JOINED, pack=1))


def test_another_number_is_another_part():
    assert why(KEPT, replace(JOINED, number="A-203")).values["fields"] == ["number"]
    assert why(KEPT, KEPT).message == "A-201 is one record."


def test_sets_and_what_is_poured_are_not_joined():
    for more in ({"tracked_by": "set"}, {"poured": True}):
        assert "not joined" in why(replace(KEPT, **more), replace(JOINED, **more)).message


def test_notices_that_name_the_joined_record_are_named():
    assert why(KEPT, JOINED, [4, 7]).values["replacements"] == [4, 7]
