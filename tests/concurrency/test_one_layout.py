"""Two people accept a layout at the same moment: of one job, one does; of two jobs that want the same sets, one has them."""

import pytest

from kits.models import AcceptedLayout
from kits.services.accept_layout import BoreIn, accept_layout
from tests.concurrency.races import answers, damaged, meet_before, no_locks, refusals
from tests.databases import together
from tests.factories import measuring, workshop
from tests.factories.stores import PersonFactory, stamp

SETS = ("S-1", "S-2")


def gauged(*numbers: str) -> None:
    """Jobs for two bores each, everything read; there are two sets."""
    workshop.sets(*SETS)
    measuring.gauge("G-1")
    for number in numbers:
        workshop.job(number, "SETS", cylinders=2)
        measuring.two_bores(number, *SETS)


def accepting(number: str):
    """Somebody accepts the layout of a job."""
    person = PersonFactory()
    bores = [BoreIn(f"CYL-{at}/set", serial) for at, serial in enumerate(SETS, 1)]
    return lambda: accept_layout(actor=person, stamp=stamp(), job=number, bores=bores)


def test_one_accepts_and_the_others_are_told_of_it(shop_database):
    gauged("J1")
    ended = together([accepting("J1") for _ in range(4)])
    assert refusals(ended) == ["layout-accepted"] * 3
    (done,) = answers(ended)
    assert {one.error.values["layout"] for one in ended if one.error is not None} == {done.body["layout"]}
    assert [one["serial"] for one in done.body["held"]] == list(SETS)


def test_two_jobs_do_not_get_the_same_sets(shop_database):
    gauged("J1", "J2")
    ended = together([accepting("J1"), accepting("J2")])
    assert refusals(ended) == ["not-free"]
    assert len(answers(ended)) == AcceptedLayout.objects.count() == 1


@pytest.mark.damages_books
def test_control_without_locks_both_are_accepted(shop_database, monkeypatch):
    gauged("J1")
    workshop.held_for("J1")  # else the balance of the sets would stop the second
    no_locks(monkeypatch)
    meet_before(monkeypatch, "kits.services.accept_layout.record_result", 2)
    assert damaged(together([accepting("J1") for _ in range(2)])) == 0
    assert AcceptedLayout.objects.count() == 2
