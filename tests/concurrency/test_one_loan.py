"""Two jobs want the same two rings of a third, both with its technician's consent: one gets them."""

import pytest

from inventory.models import Loan, LoanAnswer, LoanEnd
from inventory.queries.audit import audit
from kits.queries.job_list import job_list
from kits.queries.scope import job_by_number
from kits.queries.to_return import unasked_rows
from kits.services.jobs import withdraw_finding
from kits.services.lending import answer_to_lend, lend
from kits.services.loan_ends import close_loan, give_back_loan
from kits.services.release import release
from kits.services.release_unasked import release_unasked
from tests.concurrency.races import answers, damaged, meet_before, no_locks, refusals
from tests.databases import together
from tests.factories.acts import done, refused
from tests.factories.lending import lending
from tests.factories.stores import NOON, PersonFactory, stamp


def lenders(requests):
    """People who each lend on a request."""

    def lending_on(person, request):
        return lambda: lend(actor=person, stamp=stamp(), request=request)

    return [lending_on(PersonFactory(), request) for request in requests]


def test_two_want_the_same_and_one_gets_it(shop_database):
    stage = lending(borrowers=2)
    ended = together(lenders([stage.agreed(job) for job in stage.borrowers]))
    assert refusals(ended) == ["hold-ended"]
    (lent,) = answers(ended)
    assert stage.open() == {lent.body["to_job"]: 2}
    assert stage.books() == (2, 2)


@pytest.mark.damages_books
def test_control_without_locks_both_end_the_same_hold(shop_database, monkeypatch):
    stage = lending(borrowers=2)
    calls = lenders([stage.agreed(job) for job in stage.borrowers])
    no_locks(monkeypatch)
    meet_before(monkeypatch, "kits.services.lending._split", 2)
    ended = together(calls)
    # the table itself takes one end of a hold: the second fails without an answer of the rules
    assert damaged(ended) == 1
    assert Loan.objects.count() == 1


def test_the_same_request_is_lent_once(shop_database):
    stage = lending()
    request = stage.agreed(stage.borrowers[0])
    ended = together(lenders([request] * 4))
    assert refusals(ended) == ["done-already"] * 3
    assert (Loan.objects.count(), stage.open()) == (1, {stage.borrowers[0]: 2})


def test_one_answer_stands_when_both_are_sent(shop_database):
    stage = lending()
    request = stage.asked(stage.borrowers[0])

    def saying(agreed):
        return lambda: answer_to_lend(
            actor=stage.technician, stamp=stamp(), request=request, agreed=agreed, reason="we need them"
        )

    ended = together([saying(True), saying(False)])
    assert refusals(ended) == ["loan-answered"]
    assert LoanAnswer.objects.count() == 1


def test_lent_or_released_never_both(shop_database):
    stage = lending()
    request = stage.agreed(stage.borrowers[0])
    ended = together(
        [*lenders([request]), lambda: release(actor=PersonFactory(), stamp=stamp(), hold=stage.hold, reason="not now")]
    )
    assert refusals(ended) in (["hold-ended"], ["loan-unusable"])
    assert stage.books() in ((2, 2), (2, 0))


def test_it_is_given_back_once(shop_database):
    stage = lending()
    request = stage.agreed(stage.borrowers[0])
    done(lend, request=request)
    people = [PersonFactory() for _ in range(4)]
    ended = together(
        [
            lambda person=person: give_back_loan(actor=person, stamp=stamp(), loan=request, reason="others came")
            for person in people
        ]
    )
    assert refusals(ended) == ["done-already"] * 3
    assert (stage.open(), stage.books()) == ({"D1": 2}, (2, 2))
    assert audit() == []


def ending(request):
    """Two people: one gives the loan back, the other closes it."""
    people = [PersonFactory(), PersonFactory()]
    return [
        lambda: give_back_loan(actor=people[0], stamp=stamp(), loan=request, reason="others came"),
        lambda: close_loan(actor=people[1], stamp=stamp(), loan=request, paid_back=False, reason="it tore"),
    ]


def test_it_is_given_back_or_closed_never_both(shop_database):
    stage = lending()
    request = stage.agreed(stage.borrowers[0])
    done(lend, request=request)
    ended = together(ending(request))
    assert refusals(ended) == ["done-already"]
    assert (LoanEnd.objects.count(), stage.books(), audit()) == (1, (2, 2), [])
    assert stage.open() == ({"D1": 2} if LoanEnd.objects.get().hold_id else {stage.borrowers[0]: 2})


@pytest.mark.damages_books
def test_control_without_locks_both_end_it(shop_database, monkeypatch):
    stage = lending()
    request = stage.agreed(stage.borrowers[0])
    done(lend, request=request)
    no_locks(monkeypatch)
    meet_before(monkeypatch, "kits.services.loan_ends._locked", 2)
    ended = together(ending(request))
    # the table itself takes one end of a loan: the second fails without an answer of the rules
    assert damaged(ended) == 1


def test_what_another_job_lent_is_given_back_and_not_released(shop_database):
    stage = lending()
    request = stage.agreed(stage.borrowers[0])
    done(lend, request=request)
    borrower = job_by_number(stage.borrowers[0])
    for finding in borrower.findings.all():
        done(withdraw_finding, job=borrower.number, finding_id=finding.pk, reason="it is good")
    (row,) = unasked_rows(job_list(borrower, NOON.date()))
    error = refused("nothing-to-release", release_unasked, job=borrower.number, reason="the liner stays")
    assert error.message == f"Everything that job {borrower.number} holds but what was lent to it is on its list."
    assert error.ways_out == (f"Give loan {request} back (loans/{request}/returns).",)
    assert error.values["lent"] == [{"loan": request, "hold": row["hold"], "part": row["part"], "amount": 2}]
    assert done(give_back_loan, loan=request, reason="the liner stays")["ended"] == [row["hold"]]
