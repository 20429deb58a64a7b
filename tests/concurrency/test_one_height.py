"""Four people let the liner of one bore be at the same moment: one word stands, the others are told that nothing is open there."""

from inventory.models import Item
from kits.models import HeightLetBe
from kits.services.fit import FitIn, fit
from kits.services.heights import let_height_be
from tests.concurrency.races import answers, refusals
from tests.databases import together
from tests.factories import workshop
from tests.factories.stores import PersonFactory, stamp

PEOPLE = 4


def test_one_word_stands(shop_database):
    workshop.sets("S-1")
    workshop.job("J1", "SETS", cylinders=1)
    workshop.handed_over_for("J1")
    rows = [FitIn("CYL-1/set", Item.objects.get(part__number="SET").pk)]
    fit(actor=PersonFactory(), stamp=stamp(), job="J1", fittings=rows, checker=workshop.checker("edda"))
    words = {"job": "J1", "position": "CYL-1/set", "reason": "the gauge broke"}
    people = [PersonFactory() for _ in range(PEOPLE)]

    def saying(person):
        return lambda: let_height_be(actor=person, stamp=stamp(), **words)

    ended = together([saying(person) for person in people])
    assert refusals(ended) == ["height-not-asked"] * (PEOPLE - 1)
    (said,) = answers(ended)
    assert said.body["serial"] == "S-1"
    assert HeightLetBe.objects.count() == 1
