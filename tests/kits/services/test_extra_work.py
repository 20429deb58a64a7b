"""Parts of extra work are held inside the sum that the owner named."""

import pytest

from inventory.models import Hold, Part, Supplier, SupplierPart
from kits.queries.extra_work import approvals_record
from kits.queries.scope import job_by_number
from kits.services.extras import ask_for_more
from kits.services.hold_kit import hold_kit
from kits.services.jobs import FindingIn, record_approval, record_findings
from kits.services.release import release
from tests.factories.acts import done, refused
from tests.factories.rebuilds import TODAY, book, held, hold, person, shelve
from tests.factories.stores import stamp

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]

BOOKED, EXTRA, SECOND = "MAIN-1/bolt-1", "MAIN-1/bolt-2", "MAIN-2/bolt-1"


def waiting(*places):
    """A job of one bolt, with more bolts found rejected; the numbers of those findings."""
    shelve({"A-504": 6})
    Part.objects.filter(number="A-504").update(price_coins=350)
    job = book(findings=[("main-bolt-rejected", BOOKED)])
    found = [FindingIn("main-bolt-rejected", place) for place in places]
    return job, [one["id"] for one in done(record_findings, job="J1", findings=found, extra_work=True)["findings"]]


def says(findings, limit, **more):
    word = {"job": "J1", "findings": findings, "approved": True, "given_by": "owner", "how": "telephone"}
    return done(record_approval, **word, limit_coins=limit, **more)


def spent(job):
    record = approvals_record(job_by_number(job.number), TODAY)
    return record["limit_coins"], record["used_coins"], record["left_coins"], record["unpriced"]


def test_on_the_limit_it_is_held():
    job, findings = waiting(EXTRA)
    assert spent(job) == (None, 0, None, [])
    says(findings, 350)
    assert spent(job) == (350, 350, 0, [])
    assert held(hold(job)) == {"A-504": 2}


def test_above_the_limit_nothing_of_it_is_held_until_a_new_word():
    job, findings = waiting(EXTRA, SECOND)
    says(findings, 699)
    error = refused("over-limit", hold_kit, job="J1")
    assert error.values == {"limit_coins": 699, "used_coins": 700, "left_coins": -1, "unpriced": []}
    assert Hold.objects.count() == 0
    # The new word replaces the one on the same findings; it does not add to it.
    says(findings[:1], 100)
    assert spent(job) == (799, 700, 99, [])
    says(findings, 700)
    assert spent(job) == (700, 700, 0, [])
    assert held(hold(job)) == {"A-504": 3}


def test_the_booked_scope_goes_on_meanwhile():
    job, findings = waiting(EXTRA)
    assert held(hold(job)) == {"A-504": 1}
    says(findings, 0)
    refused("over-limit", hold_kit, job="J1")
    assert Hold.objects.count() == 1


def test_a_word_without_a_sum_limits_nothing():
    job, findings = waiting(EXTRA, SECOND)
    says(findings[:1], None)
    says(findings[1:], 350)
    assert spent(job) == (350, 350, 0, [])
    assert held(hold(job)) == {"A-504": 3}


def test_what_has_no_price_is_named():
    job, findings = waiting(EXTRA)
    Part.objects.filter(number="A-504").update(price_coins=None)
    says(findings, 0)
    assert spent(job) == (0, 0, 0, ["A-504"])
    supplier = Supplier.objects.create(code="NEW", name="A new supplier")
    SupplierPart.objects.create(supplier=supplier, part=Part.objects.get(number="A-504"), price_coins=320)
    assert spent(job) == (0, 320, -320, [])


def test_one_more_that_was_found_after_strip_is_inside_the_sum_and_a_mishap_is_not():
    job, findings = waiting(EXTRA)
    more = {"job": "J1", "part": "A-504", "amount": 1}
    says(findings, 699)
    assert held(hold(job)) == {"A-504": 2}
    error = refused("over-limit", ask_for_more, **more, reason="found after strip")
    assert error.values == {"limit_coins": 699, "used_coins": 700, "left_coins": -1, "unpriced": []}
    done(ask_for_more, **more, reason="damaged in fitting")
    assert spent(job) == (699, 350, 349, [])
    says(findings, 700)
    done(ask_for_more, **more, reason="found after strip")
    assert spent(job) == (700, 700, 0, [])
    # What was given up again costs nothing; without a sum nothing is limited.
    newest = Hold.objects.order_by("-pk")[0]
    done(release, hold=newest.pk, reason="not needed after all")
    assert spent(job) == (700, 350, 350, [])
    says(findings, None)
    done(ask_for_more, **(more | {"amount": 2}), reason="found after strip")
    assert spent(job) == (None, 0, None, [])


def test_the_same_key_answers_the_same():
    job, findings = waiting(EXTRA)
    says(findings, 350)
    once = stamp()
    first = hold_kit(actor=person("keeper"), stamp=once, job="J1")
    says(findings, 0)
    assert hold_kit(actor=person("keeper"), stamp=once, job="J1").body == first.body
