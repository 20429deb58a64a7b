"""Several people give up what a job's list asks for no longer: each hold ends once."""

import pytest

from inventory.models import HoldEnd
from kits.services.jobs import withdraw_finding
from kits.services.pick_kit import pick
from kits.services.release_unasked import release_unasked
from tests.concurrency.races import answers, damaged, meet_before, no_locks, refusals
from tests.databases import together
from tests.factories import workshop
from tests.factories.acts import done
from tests.factories.stores import PersonFactory, stamp


def unasked_hold():
    """A job that holds two rings for a finding that was withdrawn since; what holding it answered."""
    workshop.rings(2)
    job = workshop.job("J1", "RINGS", cylinders=2)
    held = workshop.held_for("J1")
    for finding in job.findings.all():
        done(withdraw_finding, job="J1", finding_id=finding.pk, reason="it is good")
    return held


def releasing(count):
    """People who each give it up."""

    def by(person):
        return lambda: release_unasked(actor=person, stamp=stamp(), job="J1", reason="the liners stay")

    return [by(PersonFactory()) for _ in range(count)]


def test_it_is_given_up_once(shop_database):
    unasked_hold()
    ended = together(releasing(4))
    assert (len(answers(ended)), refusals(ended)) == (1, ["nothing-to-release"] * 3)
    assert HoldEnd.objects.count() == HoldEnd.objects.filter(how="released").count() == 1


def test_picked_or_released_never_both(shop_database):
    held = unasked_hold()
    picker = PersonFactory()
    scans = workshop.scans_of(held)
    ended = together(
        [
            *releasing(1),
            lambda: pick(actor=picker, stamp=stamp(), pick_list=held.body["pick_list"], scans=scans),
        ]
    )
    assert refusals(ended) in (["hold-ended"], ["nothing-to-release"])
    assert HoldEnd.objects.count() == 1


@pytest.mark.damages_books
def test_control_without_locks_both_end_the_same_hold(shop_database, monkeypatch):
    unasked_hold()
    calls = releasing(2)
    no_locks(monkeypatch)
    meet_before(monkeypatch, "inventory.services.holding.end", 2)
    ended = together(calls)
    # the table itself takes one end of a hold: the second fails without an answer of the rules
    assert damaged(ended) == 1
