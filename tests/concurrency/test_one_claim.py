"""Two people answer, state the cause of, or close one claim at the same moment: one of them is told what the other said."""

import pytest

from kits.models import ClaimAnswer, ClaimCause, ClaimEnd
from kits.services.claim_entries import answer_claim, close_claim, state_cause, take_claim_back
from tests.concurrency.races import PATIENCE_S, Halfway, no_locks, refusals
from tests.factories import workshop
from tests.factories.claims import ANSWER, CAUSE, claimed, decided
from tests.factories.stores import PersonFactory, stamp

#: Where both have read what stands and neither has written.
ANSWERS = "kits.services.claim_entries.check_instead"
CLOSES = "kits.services.claim_entries.check_closing"


def call(service, claim, **given):
    """One of them."""
    person, when = PersonFactory(), stamp()
    return lambda: service(actor=person, stamp=when, claim=claim, **given)


def answered(monkeypatch, watched):
    claim = claimed(workshop.job("J1", "RINGS"))
    other = {"answer": "refused", "reason": "not our work"}
    calls = (call(answer_claim, claim, **ANSWER), call(answer_claim, claim, **other))
    halfway = Halfway(monkeypatch, ANSWERS, **watched)
    return halfway, halfway.race(*calls)


def closed(monkeypatch, watched):
    claim = decided(workshop.job("J1", "RINGS"))
    calls = (call(close_claim, claim), call(close_claim, claim))
    halfway = Halfway(monkeypatch, CLOSES, **watched)
    return halfway, halfway.race(*calls)


def test_the_second_answer_is_told_of_the_first(shop_database, monkeypatch):
    halfway, ended = answered(monkeypatch, {})
    assert not halfway.overtaken
    assert (refusals(ended), ClaimAnswer.objects.count()) == (["claim-entry-stands"], 1)


@pytest.mark.damages_books
def test_control_without_locks_a_claim_has_two_answers(shop_database, monkeypatch):
    no_locks(monkeypatch)
    halfway, ended = answered(monkeypatch, {"watched_s": PATIENCE_S})
    assert halfway.overtaken
    assert refusals(ended) == []
    assert sorted(ClaimAnswer.objects.values_list("answer", "instead_of")) == [("accepted", None), ("refused", None)]


def test_a_claim_is_closed_once(shop_database, monkeypatch):
    halfway, ended = closed(monkeypatch, {})
    assert not halfway.overtaken
    assert (refusals(ended), ClaimEnd.objects.count()) == (["claim-ended"], 1)


@pytest.mark.damages_books
def test_control_without_locks_a_claim_is_closed_twice(shop_database, monkeypatch):
    no_locks(monkeypatch)
    halfway, ended = closed(monkeypatch, {"watched_s": PATIENCE_S})
    assert halfway.overtaken
    assert (refusals(ended), ClaimEnd.objects.count()) == ([], 2)


@pytest.mark.parametrize(
    ("service", "given"),
    [(take_claim_back, {"reason": "the hose leaked"}), (state_cause, {**CAUSE, "cause": "counterbore low"})],
)
def test_while_one_closes_it_another_is_told_that_it_ended(service, given, shop_database, monkeypatch):
    claim = decided(workshop.job("J1", "RINGS"))
    halfway = Halfway(monkeypatch, CLOSES)
    ended = halfway.race(call(close_claim, claim), call(service, claim, **given))
    assert (halfway.overtaken, refusals(ended)) == (False, ["claim-ended"])
    assert (ClaimEnd.objects.get().what, ClaimCause.objects.count()) == ("closed", 1)
