"""Four people enter the same line of a sheet, or book the same sheet, at the same moment: one of them does."""

from inventory.models import CountPosting, Movement, SheetCount
from inventory.services.count_sheets import post_sheet
from inventory.services.enter_counts import SheetLineIn, enter_counts
from tests.concurrency.races import answers, meet_before, no_locks, refusals
from tests.databases import together
from tests.factories.counting import minutes, sheet_of, two_bins
from tests.factories.stores import PersonFactory

PEOPLE = 4
LOOKED = ["stem seal", "O-ring"]


def entering(sheet):
    def called(person):
        return lambda: enter_counts(
            actor=person, stamp=minutes(1), sheet=sheet, lines=[SheetLineIn(39, 1)], looked_at=LOOKED
        )

    return [called(PersonFactory()) for _ in range(PEOPLE)]


def test_a_line_is_counted_once_and_a_sheet_is_booked_once(shop_database):
    two_bins()
    sheet = sheet_of("SEAL")
    ended = together(entering(sheet))
    assert (len(answers(ended)), refusals(ended)) == (1, ["counted-already"] * 3)

    def booking(person):
        return lambda: post_sheet(actor=person, stamp=minutes(5), sheet=sheet, reason="one torn")

    ended = together([booking(PersonFactory()) for _ in range(PEOPLE)])
    assert (len(answers(ended)), refusals(ended)) == (1, ["sheet-booked"] * 3)
    assert (SheetCount.objects.count(), CountPosting.objects.count()) == (1, 1)
    assert list(Movement.objects.filter(to_spot__place__kind="count difference").values_list("amount", flat=True)) == [
        1
    ]


def test_without_locks_a_line_is_counted_by_everybody(shop_database, monkeypatch):
    """The control."""
    two_bins()
    sheet = sheet_of("SEAL")
    people = entering(sheet)
    no_locks(monkeypatch)
    meet_before(monkeypatch, "inventory.services.enter_counts.check_looked_at", PEOPLE)
    together(people)
    assert SheetCount.objects.count() > 1
