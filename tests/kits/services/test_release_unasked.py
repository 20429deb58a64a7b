"""What is held and no longer asked for is shown wherever the job is read, and given up in one act."""

import pytest

from inventory.models import Balance, Hold
from kits.domain.sheet import sheet
from kits.queries.job_list import changes_document, changes_since, job_list
from kits.queries.open_lines import open_lines
from kits.queries.pick_lists import full_record, hold_record, holds_of, pick_list
from kits.queries.to_return import to_return, unasked_on, unasked_rows
from kits.services.extras import ask_for_more
from kits.services.finish import cancel_job, mark_not_needed
from kits.services.jobs import FindingIn, record_findings, withdraw_finding
from kits.services.release_unasked import release_unasked
from tests.factories.acts import done, refused
from tests.factories.rebuilds import TODAY, book, hold, listed, shelve, shelve_sets, take

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]

RELEASE = {"job": "J1", "reason": "the liner stays in"}


def two_liners():
    """A job that holds the base rings of two liners on one line, and a set for each; the second finding is withdrawn."""
    shelve({"A-111": 4})
    shelve_sets("A-101", "S-1", "S-2")
    both = [(code, place) for place in ("CYL-1", "CYL-2") for code in ("cylinder-chosen", "liner-lifted")]
    job = book(findings=both)
    body = hold(job, steps=["P1/10"])
    said = [
        done(withdraw_finding, job="J1", finding_id=one.pk, reason="the other engine")
        for one in job.findings.filter(place="CYL-2").order_by("pk")
    ]
    return job, body, said[-1]


def held_of(number):
    """(free and held, held) of a part on the shelves."""
    return list(Balance.objects.filter(part__number=number, real=True, held__gt=0).values_list("amount", "held"))


def test_a_withdrawn_finding_names_what_it_leaves_held_everywhere():
    job, body, said = two_liners()
    rows = unasked_rows(listed(job))
    assert [(row["part"], row["amount"], row["held"], row["positions"]) for row in rows] == [
        ("A-101", 1, 1, ["CYL-2/set"]),
        ("A-111", 1, 2, ["CYL-2/base-ring"]),
    ]
    assert said["to_return"]["held"] == rows == to_return(job, TODAY)["held"]
    (paper,) = job.pick_lists.all()
    assert unasked_on(paper, TODAY) == rows
    before = job_list(job, TODAY, upto_act=paper.act_id)
    removed = changes_document(changes_since(listed(job), before), rows)["removed"]
    holds = {row["position"]: row["held"] for row in removed if row["held"]}
    assert holds == {"CYL-2/set": [rows[0]["hold"]], "CYL-2/base-ring": [rows[1]["hold"]]}
    whys = {one["hold"]: one.get("why", "") for one in open_lines(job, TODAY) if one["what"] == "still held"}
    assert [whys[row["hold"]] for row in rows] == [
        "no longer asked for: release what the list does not ask for",
        "1 of it no longer asked for: release what the list does not ask for",
    ]
    assert sum(bool(why) for why in whys.values()) == 2


def test_it_is_released_in_one_act_and_what_serves_is_held_on():
    job, body, _ = two_liners()
    assert held_of("A-111") == [(4, 2)]
    refused("reason-missing", release_unasked, job="J1", reason=" ")
    released = done(release_unasked, **RELEASE)["released"]
    assert [(row["part"], row["freed"], row["positions"], bool(row["again"])) for row in released] == [
        ("A-101", 1, ["CYL-2/set"], False),
        ("A-111", 1, ["CYL-2/base-ring"], True),
    ]
    assert (held_of("A-111"), held_of("A-101")) == ([(4, 1)], [(1, 1)])
    again = Hold.objects.get(pk=released[1]["again"]).job_hold
    assert (again.positions, again.pick_list_id) == ([["CYL-1/base-ring", 1, 1]], body["pick_list"])
    assert unasked_rows(listed(job)) == []
    refused("nothing-to-release", release_unasked, **RELEASE)
    assert hold(job, steps=["P1/10"])["held"] == []


def test_paper_has_on_the_cart_what_is_held_still():
    job, body, _ = two_liners()

    def ring():
        record = full_record(pick_list(body["pick_list"]))
        (line,) = (line for tray in record["trays"] for line in tray["lines"] if line["part"] == "A-111")
        printed = [line for group in sheet(record)["work"] for line in group["lines"]]
        return line["here"], line["spans"], [(one["part"], one["where"]) for one in printed]

    assert ring() == (
        2,
        ["CYL-1/base-ring", "CYL-2/base-ring"],
        [("A-101", ["S-1: CYL-1/set", "S-2: CYL-2/set"]), ("A-111", ["CYL-1/base-ring, CYL-2/base-ring"])],
    )
    done(release_unasked, **RELEASE)
    assert ring() == (
        1,
        ["CYL-1/base-ring"],
        [("A-101", ["S-1: CYL-1/set"]), ("A-111", ["CYL-1/base-ring"])],
    )
    take({"held": [row for row in hold_rows(job) if row["part"] == "A-111"], "pick_list": body["pick_list"]})
    assert ring()[:2] == (1, ["CYL-1/base-ring"])


def hold_rows(job):
    """The open holds of a job, as holding answers them."""
    return [hold_record(row) for row in holds_of(job).filter(hold__end__isnull=True)]


def test_less_picked_than_held_is_what_lies_on_the_cart():
    shelve({"A-111": 4})
    job = book(findings=[("liner-lifted", "CYL-1"), ("liner-lifted", "CYL-2")])
    body = hold(job, steps=["P1/10"])
    take(body, amounts={"A-111": 1})
    (line,) = (
        line
        for tray in full_record(pick_list(body["pick_list"]))["trays"]
        for line in tray["lines"]
        if line["part"] == "A-111"
    )
    assert (line["here"], line["here_shown"], line["spans"]) == (1, "1", ["CYL-1/base-ring"])


def test_what_is_found_again_before_it_was_released_serves_again():
    job, _, _ = two_liners()
    found = [FindingIn("cylinder-chosen", "CYL-2"), FindingIn("liner-lifted", "CYL-2")]
    done(record_findings, job="J1", findings=found)
    assert unasked_rows(listed(job)) == []
    refused("nothing-to-release", release_unasked, **RELEASE)


def test_one_more_that_was_asked_for_beside_the_list_stays_held():
    job, _, _ = two_liners()
    done(ask_for_more, job="J1", part="A-111", amount=1, reason="found after strip", positions=["CYL-3/base-ring"])
    # It would serve nothing on the list, and so would the ring of the withdrawn finding: only that one is released.
    assert [row["freed"] for row in done(release_unasked, **RELEASE)["released"]] == [1, 1]
    assert held_of("A-111") == [(4, 2)]


def test_what_is_said_to_be_not_needed_is_released_too():
    shelve({"A-111": 4})
    job = book(findings=[("liner-lifted", "CYL-1"), ("liner-lifted", "CYL-2")])
    hold(job, steps=["P1/10"])
    done(mark_not_needed, job="J1", positions={"CYL-2/base-ring": "it stays in"})
    assert [(row["part"], row["freed"]) for row in done(release_unasked, **RELEASE)["released"]] == [("A-111", 1)]


def test_a_cancelled_job_holds_nothing_asked_for_or_not():
    job, body, _ = two_liners()
    released = done(cancel_job, job="J1", reason="sold")["released"]
    assert sorted(released) == sorted(row["hold"] for row in body["held"])
    assert (held_of("A-111"), held_of("A-101")) == ([], [])
    refused("job-ended", release_unasked, **RELEASE)
    (paper,) = job.pick_lists.all()
    assert unasked_on(paper, TODAY) == []
