"""Four people look at the same picked set at the same moment, each finding it wrong: it goes back to its bin once."""

from inventory.models import Balance
from kits.models import BinToCount, SecondLook
from kits.services.look_again import LookIn, look_again
from kits.services.pick_kit import pick
from tests.concurrency.races import answers, refusals
from tests.databases import together
from tests.factories import workshop
from tests.factories.stores import PersonFactory, stamp

PEOPLE = 4


def test_one_puts_it_back_and_three_are_told_that_it_was_looked_at(shop_database):
    workshop.sets("S-1")
    workshop.job("J1", "SETS", cylinders=1)
    held = workshop.held_for("J1")
    listed = held.body["pick_list"]
    pick(actor=PersonFactory(), stamp=stamp(), pick_list=listed, scans=workshop.scans_of(held))
    looks = [LookIn(held.body["held"][0]["hold"], "scratched")]
    people = [workshop.checker(f"checker {number}") for number in range(PEOPLE)]

    def looking(person):
        return lambda: look_again(actor=person, stamp=stamp(), pick_list=listed, looks=looks)

    ended = together([looking(person) for person in people])
    assert refusals(ended) == ["done-already"] * 3
    (done,) = answers(ended)
    assert [row["serial"] for row in done.body["put_back"]] == ["S-1"]
    assert (SecondLook.objects.count(), BinToCount.objects.count()) == (1, 1)
    assert list(Balance.objects.filter(amount__gt=0, real=True).values_list("place__code", flat=True)) == ["R1"]
