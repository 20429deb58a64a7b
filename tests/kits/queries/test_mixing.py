"""Kinds that may not stand together on one engine or bank."""

import pytest

from inventory.models import Part, Replacement, ReplacementPart
from kits.queries.mixing import may_be_mixed, mixed_on_job
from kits.services.left_over import ReturnIn, return_unused
from kits.services.strip import FindIn, find_in_engine
from tests.factories.acts import done
from tests.factories.rebuilds import book, hold, item_at, listed, shelve, shelve_sets, take

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]


def never_together(old, new, scope):
    row = Replacement.objects.create(old=Part.objects.get(number=old), way="one way", no_mix_on=scope)
    ReplacementPart.objects.create(replacement=row, part=Part.objects.get(number=new))


def picked_ring():
    shelve({"A-111": 1})
    job = book(findings=[("liner-lifted", "CYL-1")])
    body = hold(job, steps=["P1/10"])
    take(body)
    return job, body


def test_what_stays_in_and_what_lies_picked():
    never_together("A-111", "R-111", "engine")
    job, body = picked_ring()
    assert mixed_on_job(listed(job)) == []
    done(find_in_engine, job="J1", finds=[FindIn("CYL-3/base-ring", "R-111")])
    (clash,) = mixed_on_job(listed(job))
    assert (clash["scope"], clash["parts"]) == ("engine", {"A-111": 1, "R-111": 1})
    # What was brought back is no part of it.
    item = item_at(body, "CYL-1/base-ring")
    done(return_unused, job="J1", returns=[ReturnIn(item, 1, origin="cart", bag_sealed=True)])
    assert mixed_on_job(listed(job)) == []


def test_what_sits_at_a_listed_position_comes_out():
    never_together("A-111", "R-111", "engine")
    job, _ = picked_ring()
    done(find_in_engine, job="J1", finds=[FindIn("CYL-1/base-ring", "R-111")])
    assert mixed_on_job(listed(job)) == []


def test_without_a_notice_everything_may_stand_together_and_what_is_coming_counts():
    job, _ = picked_ring()
    assert mixed_on_job(listed(job), {"CYL-2/base-ring": "R-111"}) == []
    never_together("A-111", "R-111", "engine")
    assert [one["parts"] for one in mixed_on_job(listed(job), {"CYL-2/base-ring": "R-111"})] == [
        {"A-111": 1, "R-111": 1}
    ]


def test_base_rings_under_one_head_are_alike_where_the_family_says_so():
    """The demo shop's family wants one kind under all three (invented); where nothing is said, two kinds are nobody's business."""
    shelve_sets("L-101", "S-1")
    job = book("J1", engine="L3-00885", operations=["P6"], findings=[("cylinder-chosen", "CYL-1")])
    done(find_in_engine, job="J1", finds=[FindIn("CYL-2/base-ring", "L-121"), FindIn("CYL-3/base-ring", "L-121")])
    now = listed(job)
    assert may_be_mixed(now)
    assert mixed_on_job(now, {"CYL-1/base-ring": "L-121"}) == []
    (clash,) = mixed_on_job(now, {"CYL-1/base-ring": "L-122"})
    assert clash == {
        "scope": "bank",
        "parts": {"L-121": 2, "L-122": 1},
        "why": "ENGINE: 1 × L-122; 2 × L-121; base rings are all of one kind",
    }
