"""The customer's own parts go back against a signature; what is the shop's does not."""

import pytest

from inventory.models import Balance
from inventory.services.transfer import ReleaseLine, release_quarantine
from kits.models import GiveBack, GivenThing, Job
from kits.queries.belongings import finds_of, gives_back_of
from kits.services.finish import cancel_job
from kits.services.give_back import GiveIn, give_back
from kits.services.left_over import ReturnIn, return_unused, scrap_for_job
from kits.services.strip import FindIn, RemoveIn, find_in_engine, remove
from tests.factories.acts import done, gone, refused
from tests.factories.rebuilds import at_bench, book, item_at, put_in, shelve
from tests.factories.stores import NOON, quarantine

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]

BOLTS = [("main-bolt-rejected", "MAIN-1/bolt-1"), ("main-bolt-rejected", "MAIN-1/bolt-2")]
FIRST, SECOND, THIRD = "MAIN-1/bolt-1", "MAIN-1/bolt-2", "MAIN-2/bolt-1"
SIGNED = {"job": "J1", "signed_by": "R. Alder"}


def found(*finds):
    """Items found in the engine of a new job."""
    book(findings=BOLTS)
    return [row["item"] for row in done(find_in_engine, job="J1", finds=list(finds))["found"]]


def sums():
    names = ("found", "reused", "given_back", "scrapped", "still_here", "adds_up")
    return [tuple(row[name] for name in names) for row in finds_of(Job.objects.get())]


def test_an_old_part_that_is_refused_as_unused_goes_back_to_the_owner():
    (bolt,) = found(FindIn(FIRST, "A-504"))
    done(remove, job="J1", removals=[RemoveIn(FIRST)])
    error = refused("not-unused", return_unused, job="J1", returns=[ReturnIn(bolt, 1)])
    assert "Give it back to the owner." in error.errors[0][1].ways_out
    refused("not-signed", give_back, job="J1", given=[GiveIn(bolt)], signed_by=" ")
    refused("nothing-given", give_back, **SIGNED, given=[])
    body = done(give_back, **SIGNED, given=[GiveIn(bolt)])
    assert body == {"job": "J1", "given_back": [{"part": "A-504", "item": bolt, "amount": 1, "from": "bench J1"}]}
    assert [part for part, _, _ in gone("owner")] == ["A-504"]
    (signed,) = gives_back_of(Job.objects.get())
    assert (signed["signed_by"], signed["signed_at"], len(signed["things"])) == ("R. Alder", NOON, 1)
    refused("not-there", give_back, **SIGNED, given=[GiveIn(bolt)])


def test_what_may_not_be_released_goes_back_from_quarantine():
    (bolt,) = found(FindIn(FIRST, "A-504"))
    quarantine("Q9", at=Job.objects.get().site)
    done(remove, job="J1", removals=[RemoveIn(FIRST, to="Q9")])
    refused("wrong-place", remove, job="J1", removals=[RemoveIn(FIRST, to="owner")])
    shelf = Balance.objects.filter(place__kind="shelf").values_list("place__code", flat=True).first()
    if shelf is None:
        shelve({"A-504": 1})
        shelf = Balance.objects.filter(place__kind="shelf").values_list("place__code", flat=True).first()
    line = ReleaseLine(bolt, 1, "Q9", shelf)
    assert (
        "Give it back to the owner." in refused("lot-unknown", release_quarantine, lines=[line]).errors[0][1].ways_out
    )
    assert sums() == [(1, 0, 0, 0, 1, True)]
    refused("not-there", give_back, **SIGNED, given=[GiveIn(bolt)])
    assert done(give_back, **SIGNED, given=[GiveIn(bolt, place="Q9")])["given_back"][0]["from"] == "Q9"
    assert sums() == [(1, 0, 1, 0, 0, True)]


def test_what_is_the_shops_own_stays():
    shelve({"A-504": 4})
    job = book(findings=BOLTS)
    new = item_at(at_bench(job), FIRST)
    put_in(job, (FIRST, new))
    done(remove, job="J1", removals=[RemoveIn(FIRST)])
    (mine,) = (
        row["item"] for row in done(find_in_engine, job="J1", finds=[FindIn(THIRD, "A-504", whose="shop")])["found"]
    )
    done(remove, job="J1", removals=[RemoveIn(THIRD)])
    for item in (new, mine):
        error = refused("shops-own", give_back, **SIGNED, given=[GiveIn(item)])
        assert error.values["lines"][0]["values"]["customers"] == 0
    refused("wrong-place", give_back, **SIGNED, given=[GiveIn(new, place="cart J1")])
    refused("not-found", give_back, **SIGNED, given=[GiveIn(999_999)])
    refused("not-found", give_back, **SIGNED, given=[GiveIn(new, place="nowhere")])
    assert (gone("owner"), GiveBack.objects.count()) == ([], 0)


def test_what_an_earlier_job_put_in_is_the_customers():
    shelve({"A-504": 4})
    job = book(findings=BOLTS)
    body = at_bench(job)
    put_in(job, (FIRST, item_at(body, FIRST)))
    book("J2", findings=BOLTS)
    done(remove, job="J2", removals=[RemoveIn(FIRST)])
    given = {"job": "J2", "signed_by": "R. Alder"}
    done(give_back, **given, given=[GiveIn(item_at(body, FIRST))])
    # The other one, never fitted, lies at the bench of the first job and is the shop's.
    refused("shops-own", give_back, **SIGNED, given=[GiveIn(item_at(body, SECOND))])


def test_a_find_is_reused_given_back_or_scrapped():
    # What was found adds up: found = reused + given back + scrapped.
    one, two, three = found(FindIn(FIRST, "A-504"), FindIn(SECOND, "A-504"), FindIn(THIRD, "A-504"))
    assert sums() == [(1, 0, 0, 0, 1, True)] * 3
    done(remove, job="J1", removals=[RemoveIn(FIRST), RemoveIn(SECOND), RemoveIn(THIRD)])
    done(give_back, **SIGNED, given=[GiveIn(one)])
    done(scrap_for_job, job="J1", item_id=two, amount=1, reason="stretched", who_pays="job")
    assert sums() == [(1, 0, 1, 0, 0, True), (1, 0, 0, 1, 0, True), (1, 0, 0, 0, 1, True)]
    assert finds_of(Job.objects.get())[2]["at_bench"] == 1


@pytest.mark.damages_books
def test_a_find_that_the_books_have_less_of_does_not_add_up():
    (bolt,) = found(FindIn(FIRST, "A-504"))
    Balance.objects.filter(item=bolt, real=True).update(amount=0)
    assert sums() == [(1, 0, 0, 0, 1, False)]


def test_a_cancelled_job_keeps_who_signed():
    (bolt,) = found(FindIn(FIRST, "A-504"))
    quarantine("Q9")
    done(remove, job="J1", removals=[RemoveIn(FIRST, to="Q9")])
    assert refused("not-signed", cancel_job, job="J1", reason="sold").values["items"] == [bolt]
    body = done(cancel_job, job="J1", reason="sold", signed_by="R. Alder")
    assert [(row["item"], row["from"]) for row in body["given_back"]] == [(bolt, "Q9")]
    thing = GivenThing.objects.get()
    assert (thing.item_id, thing.amount, thing.give_back.signed_by) == (bolt, 1, "R. Alder")
