"""What stands in for a listed part is asked about at every step anew: the engine came under class, or its owner said no, since the last.

Bolts of the main bearings, by an invented notice: A-504 is replaced by A-504N, and none of the old ones is on the shelf.
"""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.models import Balance, Part, Replacement, ReplacementPart
from inventory.services.join_parts import join_parts
from kits.models import Engine, Fitting, Job
from kits.queries.build_sheet import build_sheet
from kits.queries.shorts import shorts_of
from kits.queries.substitute_words import words_record
from kits.services.engines import mark_classed
from kits.services.extras import ask_for_more
from kits.services.fit import FitIn, fit
from kits.services.jobs import record_choice
from kits.services.left_over import ReturnIn, return_unused
from kits.services.pick_kit import Scan, hand_over, pick
from kits.services.release import release
from kits.services.substitute_words import record_substitute_word
from kits.services.terms import hand_engine_over
from tests.factories.acts import done, refused
from tests.factories.rebuilds import (
    book,
    give,
    held,
    hold,
    item_at,
    label,
    later,
    missing,
    person,
    put_in,
    shelve,
    take,
)
from tests.factories.stores import NOON, PartFactory, stamp

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]

FIRST, SECOND = "MAIN-1/bolt-1", "MAIN-2/bolt-1"
BOLTS = [("main-bolt-rejected", FIRST), ("main-bolt-rejected", SECOND)]
WORD = {"job": "J1", "listed": "A-504", "instead": "A-504N", "given_by": "owner", "how": "letter"}
PAIR = [{"listed": "A-504", "instead": "A-504N"}]
ASK = "Ask the owner, and record the word."


def noticed(**stock):
    PartFactory(number="A-504N", kind="fastener")
    notice = Replacement.objects.create(old=Part.objects.get(number="A-504"), way="one way", fate="use up")
    ReplacementPart.objects.create(replacement=notice, part=Part.objects.get(number="A-504N"))
    shelve({part: count for part, count in ({"A-504N": 4} | stock).items() if count})


def classed(engine="A4-020543", classed=True):
    return done(mark_classed, engine=engine, classed=classed, reason="certificate 12")


def word(agreed, **more):
    return done(record_substitute_word, **(WORD | more), agreed=agreed)


def scans(body, only="A-504N"):
    return {
        "pick_list": body["pick_list"],
        "scans": [Scan(row["hold"], label(row)) for row in body["held"] if row["part"] == only],
    }


def given(body):
    """Whoever gives the cart of a hold over names what it lacks."""
    lacks = sorted({row["wanted"] for row in body["shorts"]})
    return {"pick_list": body["pick_list"], "received_by": person("fitter", "act_fit"), "missing": lacks}


def queries(call, **arguments):
    actor = person("somebody")
    with CaptureQueriesContext(connection) as captured:
        done(call, actor=actor, **arguments)
    return [one["sql"] for one in captured.captured_queries if "SAVEPOINT" not in one["sql"]]


def test_what_was_held_before_the_engine_came_under_class_is_not_picked_without_the_owners_yes():
    noticed()
    body = hold(book(findings=BOLTS))
    assert held(body) == {"A-504N": 2}
    classed()
    error = refused("substitute-not-agreed", pick, **scans(body))
    assert error.message == "The owner has not agreed (the engine is under class): A-504N in place of A-504."
    assert (error.values["pairs"], error.ways_out) == (PAIR, (ASK, "Release the line, and hold the listed part."))
    assert Balance.objects.filter(place__code="cart J1", amount__gt=0).count() == 0
    word(agreed=True)
    assert done(pick, **scans(body))["left"] == 0


def waiting():
    return words_record(Job.objects.get(number="J1"), NOON.date())["waiting"]


def test_what_waits_for_the_owners_word_is_listed_with_what_is_held_and_here_of_it():
    noticed()
    job = book(findings=BOLTS)
    body = hold(job)
    assert waiting() == []
    row = {"listed": "A-504", "instead": "A-504N", "said_no": False, "held": 2, "here": 0}
    assert classed()["waiting"] == [{"job": "J1", **row}]
    assert waiting() == [row]
    # The two numbers typed the wrong way round: what waits is told in the same answer.
    assert word(agreed=True, listed="A-504N", instead="A-504")["waiting"] == [row]
    assert word(agreed=True)["waiting"] == waiting() == []
    take(body)
    give(body)
    here = row | {"said_no": True, "held": 0, "here": 2}
    assert word(agreed=False)["waiting"] == waiting() == [here]
    classed(classed=False)
    put_in(job, (FIRST, item_at(body, FIRST)), checker=False)
    classed()
    assert waiting() == [row | {"said_no": True, "held": 0, "here": 1}]


def test_a_short_says_to_what_the_owner_has_to_agree_first():
    noticed()
    job = book(findings=BOLTS)

    def conditions():
        shorts = shorts_of(Job.objects.get(pk=job.pk), NOON.date())["shorts"]
        ways = next(row["ways"] for row in shorts if row["part"] == "A-504")
        return next(way["conditions"] for way in ways if way["way"] == "replacement")

    assert conditions() == []
    classed()
    assert conditions() == ["the owner agrees to A-504N in place of A-504 first: the engine is under class"]
    word(agreed=False)
    assert conditions() == ["the owner said no to A-504N in place of A-504"]
    word(agreed=True)
    assert conditions() == []


def test_what_was_held_before_a_term_that_asks_is_not_picked_either():
    """A second job on the engine; the first one's engine goes out with a term of 24 months from that day."""
    noticed()
    book()
    body = hold(book("J2", findings=BOLTS))
    Job.objects.filter(number="J1").update(state="closed")
    done(hand_engine_over, job="J1", handed_over_on=NOON.date())
    assert "term runs to 2027-01-15" in refused("substitute-not-agreed", pick, **scans(body)).message
    word(agreed=True, job="J2")
    done(pick, **scans(body))


def test_the_rest_of_the_list_is_picked_meanwhile():
    noticed(**{"A-111": 2})
    body = hold(book(findings=[*BOLTS, ("liner-lifted", "CYL-1")]))
    classed()
    done(pick, **scans(body, "A-111"))
    refused("substitute-not-agreed", pick, **scans(body))


def test_a_line_that_is_released_is_short_of_the_listed_part_after_a_no():
    noticed()
    body = hold(book(findings=BOLTS))
    classed()
    # A no frees it by itself: nothing is left to pick.
    assert word(agreed=False)["released"] == [row["hold"] for row in body["held"]]
    assert refused("hold-ended", pick, **scans(body))
    again = hold(Job.objects.get(number="J1"))
    assert (held(again), missing(again)["A-504"]) == ({}, 2)
    # The listed part came: it is held, and nobody is asked.
    shelve({"A-504": 2})
    assert held(hold(Job.objects.get(number="J1"))) == {"A-504": 2}


def test_a_no_to_one_part_lets_another_that_replaces_it_come_in():
    noticed()
    PartFactory(number="A-504P", kind="fastener")
    other = Replacement.objects.create(old=Part.objects.get(number="A-504"), way="one way", fate="use up")
    ReplacementPart.objects.create(replacement=other, part=Part.objects.get(number="A-504P"))
    shelve({"A-504P": 2})
    job = book(findings=BOLTS)
    classed()
    word(agreed=False)
    word(agreed=True, instead="A-504P")
    assert held(hold(job)) == {"A-504P": 2}


def test_a_no_counts_for_nothing_where_nobody_has_to_be_asked():
    noticed()
    job = book(findings=BOLTS)
    word(agreed=False)
    assert held(hold(job)) == {"A-504N": 2}


def test_what_was_picked_before_goes_to_no_bench_and_comes_back():
    noticed()
    body = hold(book(findings=BOLTS))
    take(body)
    classed()
    error = refused("substitute-not-agreed", hand_over, **given(body))
    assert (error.values["pairs"], error.ways_out) == (PAIR, (ASK, "Return it, and hold the listed part."))
    back = [ReturnIn(item_at(body, FIRST), 2, origin="cart", bag_sealed=True)]
    assert done(return_unused, job="J1", returns=back)["returned"][0]["to"] == "stock"
    shelve({"A-504": 2})
    word(agreed=False)
    assert held(hold(Job.objects.get(number="J1"))) == {"A-504": 2}


def test_what_is_at_the_bench_is_not_fitted_and_what_was_fitted_before_stays():
    noticed()
    job = book(findings=BOLTS)
    body = hold(job)
    take(body)
    give(body)
    bolt = item_at(body, FIRST)
    put_in(job, (FIRST, bolt), checker=False)
    classed()
    one = {"job": "J1", "fittings": [FitIn(SECOND, bolt)]}
    error = refused("substitute-not-agreed", fit, **one)
    assert (error.values["pairs"], error.ways_out) == (PAIR, (ASK, "Return it, and hold the listed part."))
    # A yes that is withdrawn is none.
    word(agreed=True)
    word(agreed=False)
    assert "the owner said no" in refused("substitute-not-agreed", fit, **one).message
    assert list(Fitting.objects.values_list("spot__name", flat=True)) == [FIRST]
    word(agreed=True, stamp=stamp(later(1)))
    assert [row["instead_of"] for row in done(fit, **one, stamp=stamp(later(1)))["fitted"]] == ["A-504"]
    # The sheet names what each stands in for, and the word as it was when it went in.
    sheet = {row["position"]: row["instead_of"] for row in build_sheet(job, NOON.date())["positions"]}
    assert sheet[FIRST] == {"listed": "A-504", "given_by": "", "how": "", "at": None}
    assert sheet[SECOND] == {"listed": "A-504", "given_by": "owner", "how": "letter", "at": later(1)}


def test_the_sheet_says_nothing_of_what_was_listed_itself():
    noticed(**{"A-504": 2})
    job = book(findings=BOLTS)
    body = hold(job)
    take(body)
    give(body)
    put_in(job, (FIRST, item_at(body, FIRST)), checker=False)
    assert [row["instead_of"] for row in build_sheet(job, NOON.date())["positions"]] == [None]
    assert Fitting.objects.get().instead_of is None


def test_a_mark_that_is_taken_back_asks_nobody_any_more():
    noticed()
    body = hold(book(findings=BOLTS))
    classed()
    refused("substitute-not-agreed", pick, **scans(body))
    classed(classed=False)
    done(pick, **scans(body))


def test_what_a_person_chose_in_its_place_is_asked_about_at_every_step_too():
    noticed(**{"A-504": 4})
    job = book(findings=BOLTS)
    done(record_choice, job="J1", choice="", place=FIRST, alternative="part:A-504N", reason="stronger")
    body = hold(job)
    assert held(body) == {"A-504": 1, "A-504N": 1}
    classed()
    done(pick, **scans(body, "A-504"))
    assert refused("substitute-not-agreed", pick, **scans(body)).values["pairs"] == PAIR
    word(agreed=True)
    done(pick, **scans(body))
    word(agreed=False)
    refused("substitute-not-agreed", hand_over, **given(body))
    word(agreed=True)
    give(body)
    word(agreed=False)
    bolts = [FitIn(FIRST, item_at(body, FIRST)), FitIn(SECOND, item_at(body, SECOND))]
    assert refused("substitute-not-agreed", fit, job="J1", fittings=bolts).values["pairs"] == PAIR
    done(fit, job="J1", fittings=bolts[1:])


def test_one_more_is_asked_about_again_and_freed_by_a_no():
    noticed(**{"A-504": 2})
    hold(book(findings=BOLTS))
    more = {"job": "J1", "part": "A-504N", "amount": 1, "reason": "dropped", "positions": [FIRST]}
    first, second = done(ask_for_more, **more), done(ask_for_more, **(more | {"positions": []}))
    line = {"pick_list": first["pick_list"], "scans": [Scan(first["held"][0]["hold"], first["held"][0]["lot"])]}
    classed()
    assert refused("substitute-not-agreed", pick, **line).values["pairs"] == PAIR
    assert word(agreed=False)["released"] == [row["held"][0]["hold"] for row in (first, second)]


def test_another_record_of_the_number_is_asked_about_and_freed_as_the_part_itself():
    noticed(**{"A-504N": 0})
    record = Part.objects.get(number="A-504N")
    record.pk, record.number = None, "A 504N"
    record.save()
    shelve({"A 504N": 4})
    done(join_parts, joined="A 504N", kept="A-504N", reason="typed twice")
    body = hold(book(findings=BOLTS))
    assert held(body) == {"A 504N": 2}
    classed()
    refused("substitute-not-agreed", pick, **scans(body, "A 504N"))
    word(agreed=True)
    assert word(agreed=False)["released"] == [row["hold"] for row in body["held"]]


def test_nothing_more_is_asked_where_nothing_stands_in_and_once_where_something_does():
    noticed(**{"A-111": 4})
    lines = [*BOLTS, ("liner-lifted", "CYL-1"), ("liner-lifted", "CYL-2")]
    body = hold(book(findings=lines))
    plain = scans(body, "A-111")
    asked = [sql for sql in queries(pick, **plain) if "kits_substituteword" in sql]
    assert asked == []
    asked = [
        sql for sql in queries(pick, **scans(body)) if "kits_substituteword" in sql or "kits_enginehandover" in sql
    ]
    assert len(asked) == 1
    give(body, missing=sorted({row["wanted"] for row in body["shorts"]}))
    engine = Engine.objects.get()
    asked = queries(fit, job="J1", fittings=[FitIn(FIRST, item_at(body, FIRST))])
    assert len([sql for sql in asked if "kits_substituteword" in sql or "kits_enginehandover" in sql]) == 1
    assert not engine.classed


def test_a_line_may_be_released_by_hand_as_the_refusal_says():
    noticed()
    body = hold(book(findings=BOLTS))
    classed()
    refused("substitute-not-agreed", pick, **scans(body))
    done(release, hold=body["held"][0]["hold"], reason="the owner was not reached")
    shelve({"A-504": 2})
    assert held(hold(Job.objects.get(number="J1"))) == {"A-504": 2}
