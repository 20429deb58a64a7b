"""What a broken set is worth as a core: a row beside it, the newest decision counts."""

import pytest

from inventory.models import CoreValue
from inventory.queries.trace import set_history
from inventory.services.break_set import break_set
from inventory.services.core_value import decide_core_value
from tests.factories.acts import done, refused
from tests.factories.stores import PartFactory, PersonFactory, quarantine, stock

pytestmark = pytest.mark.django_db
WORDS = {"part": "S-1", "serial": "S-0441", "reason": "the maker takes liners back"}


@pytest.fixture
def broken():
    stock(PartFactory(number="S-1", tracked_by="set", unit="SET"), serial="S-0441")
    quarantine("Q1")
    done(
        break_set,
        part="S-1",
        serial="S-0441",
        damaged="piston",
        reason="dropped",
        orphan_place="Q1",
        photo_ref="photo 12",
    )


def test_somebody_decides_and_may_decide_again(broken):
    first = done(decide_core_value, **WORDS, value_coins=2_500)
    assert (first["value_coins"], first["before"], first["decided_before"]) == (2_500, None, False)
    again = done(
        decide_core_value,
        actor=PersonFactory(username="hester"),
        **WORDS | {"reason": "they do not, after all"},
        value_coins=None,
    )
    assert (again["value_coins"], again["before"], again["decided_before"]) == (None, 2_500, True)
    told = set_history("S-1", "S-0441").core_values
    assert [(one.value_coins, one.reason) for one in told] == [
        (2_500, "the maker takes liners back"), (None, "they do not, after all")
    ]  # fmt: skip
    assert told[-1].by == "hester"


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({"reason": " "}, "reason-missing"),
        ({"value_coins": 0}, "amount-not-positive"),
        ({"value_coins": 10**18}, "amount-too-large"),
        ({"serial": "S-9"}, "not-found"),
        ({"part": "S-9"}, "not-found"),
    ],
)
def test_what_is_refused(broken, changed, code):
    refused(code, decide_core_value, **WORDS | {"value_coins": 1} | changed)
    assert CoreValue.objects.count() == 0


def test_of_a_whole_set_nobody_asks():
    stock(PartFactory(number="S-1", tracked_by="set", unit="SET"), serial="S-0441")
    refused("set-whole", decide_core_value, **WORDS, value_coins=1)
