"""Several people at one order, one claim, one credit: what is ordered is accepted once, what is rejected goes back once."""

from inventory.models import Credit, ReceiptLine, SupplierReturnLine
from inventory.services.claims import ReturnLine, enter_credit, return_to_supplier
from inventory.services.orders import EndIn, OrderLineIn, close_lines
from inventory.services.receive import ReceiveLine, receive
from tests.concurrency.races import answers, meet_before, no_locks, refusals
from tests.databases import together
from tests.factories.orders import came, numbers, ordered, rejected, sent_back, stands
from tests.factories.stores import PartFactory, PersonFactory, SupplierFactory, quarantine, shelf, stamp

PEOPLE = 4


def delivering(people: int):
    """People who each receive all ten that were ordered, each a lot of its own."""
    PartFactory(number="O-1")
    ordered(OrderLineIn("O-1", amount=10))
    shelf("R1")
    quarantine("Q1")

    def one(person, lot):
        return lambda: receive(
            actor=person, stamp=stamp(), supplier=SupplierFactory().code, order="PO-1", place="R1", quarantine="Q1",
            lines=[ReceiveLine("O-1", 10, lot=lot)],
        )  # fmt: skip

    return [one(PersonFactory(), f"L{number}") for number in range(people)]


def accepted() -> int:
    return sum(ReceiptLine.objects.filter(aside__isnull=True).values_list("amount", flat=True))


def test_what_was_ordered_once_is_accepted_once_and_the_rest_waits(shop_database):
    assert len(answers(together(delivering(PEOPLE)))) == PEOPLE
    assert accepted() == 10
    assert numbers(stands()) == [(10, 40, 10, 0, 30, 30, 0, 0)]


def test_control_without_locks_more_is_accepted_than_was_ordered(shop_database, monkeypatch):
    calls = delivering(2)
    no_locks(monkeypatch)
    meet_before(monkeypatch, "inventory.services.receive.allot", 2)
    together(calls)
    assert accepted() == 20


def test_what_is_closed_is_closed_once(shop_database):
    PartFactory(number="O-1")
    ordered(OrderLineIn("O-1", amount=10))

    def closing(person):
        return lambda: close_lines(actor=person, stamp=stamp(), order="PO-1", lines=[EndIn(1)], reason="none left")

    ended = together([closing(PersonFactory()) for _ in range(PEOPLE)])
    assert refusals(ended) == ["line-done"] * (PEOPLE - 1)
    assert numbers(stands()) == [(10, 0, 0, 0, 0, 0, 10, 0)]


def claim() -> tuple[int, int]:
    """Two of five in quarantine are rejected; claim and item."""
    PartFactory(number="O-1")
    ordered(OrderLineIn("O-1", amount=10))
    line = came(ReceiveLine("O-1", 15, lot="A"), order="PO-1")[1]
    return rejected(line["line"], 2), line["item"]


def test_a_claim_goes_back_once(shop_database):
    number, item = claim()

    def sending(person):
        lines = [ReturnLine(item, "Q1", 2, 900, reject=number)]
        return lambda: return_to_supplier(actor=person, stamp=stamp(), supplier="maker", note="RN-1", lines=lines)

    # Five lie there: what keeps the second from going is the claim alone.
    ended = together([sending(PersonFactory()) for _ in range(2)])
    assert refusals(ended) == ["more-than-outstanding"]
    assert SupplierReturnLine.objects.count() == 1


def test_a_credit_is_entered_once(shop_database):
    (line,) = sent_back([claim()[0]])

    def settling(person):
        return lambda: enter_credit(actor=person, stamp=stamp(), line=line, what="credited", coins=9_000)

    ended = together([settling(PersonFactory()) for _ in range(PEOPLE)])
    assert refusals(ended) == ["more-than-outstanding"] * (PEOPLE - 1)
    assert Credit.objects.count() == 1
