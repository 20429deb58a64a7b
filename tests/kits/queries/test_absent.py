"""What is not with the cart when it is handed over: whatever the reason, it is asked for by name, with how much and where."""

import pytest

from inventory.models import Hold, Lot
from inventory.services.stops import stop_lot
from kits.models import Handover
from kits.queries.absent import absent_of
from kits.queries.served import promised_of
from kits.services.extras import ask_for_more
from kits.services.finish import mark_not_needed
from kits.services.jobs import FindingIn, record_choice, record_findings, withdraw_finding
from kits.services.pick_kit import hand_over
from kits.services.shared import pick_list_by_id
from kits.services.strip import FindIn, InspectIn, RemoveIn, find_in_engine, inspect, remove
from tests.factories.acts import done, refused
from tests.factories.rebuilds import (
    at_bench,
    book,
    give,
    hold,
    item_at,
    listed,
    missing,
    person,
    put_in,
    shelve,
    shelve_sets,
    take,
)

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]

TWO = [("liner-lifted", "CYL-1"), ("liner-lifted", "CYL-2")]


def unnamed(body, *named):
    """What the hand-over asks for by name beside what is named: (name, amount, positions)."""
    error = refused(
        "missing-not-named",
        hand_over,
        pick_list=body["pick_list"],
        received_by=person("fitter", "act_fit"),
        missing=named,
    )
    assert error.values["parts"] == sorted(row["name"] for row in error.values["missing"])
    return [(row["name"], row["amount"], row["positions"]) for row in error.values["missing"]]


def absent(job, body):
    """Names of what is absent of a list now."""
    return [one.name for one in absent_of(listed(job), pick_list_by_id(body["pick_list"]), promised_of(job))[0]]


def test_what_was_short_when_it_was_held_is_asked_for_as_what_was_not_picked_is():
    shelve({"A-111": 2, "G-708": 1})
    shelve_sets("A-101", "S-1")
    job = book(findings=[("cylinder-chosen", "CYL-1"), ("cylinder-chosen", "CYL-2")])
    body = hold(job, steps=["P1/10", "P1/20", "P1/30"])
    take(body, only=["A-101", "G-708"])
    bolts = [f"ROD-{rod}/bolt-{bolt}" for rod in (1, 2) for bolt in (1, 2)]
    asked = unnamed(body)
    assert asked[0] == ("A-101", 1, ["CYL-2/set"])
    assert ("A-111", 2, ["CYL-1/base-ring", "CYL-2/base-ring"]) in asked
    assert ("A-503", 4, bolts) in asked
    assert {name for name, _, _ in asked} == missing(body).keys() | {"A-111"}
    done_ = give(body, missing=[*missing(body), "A-111"]).body
    assert done_["missing"] == sorted(missing(body).keys() | {"A-111"}) == Handover.objects.get().missing
    why = {row["name"]: row["why"] for row in done_["absent"]}
    assert why["A-111"] == "held at TB-R07, not picked"
    assert why["A-503"].startswith("short when it was held: ")
    # The books have two rings in the bin that nobody brought: it is counted, and the line stays open.
    assert [(row["place"], row["part"], row["on_books"]) for row in done_["to_count"]] == [("TB-R07", "A-111", 2)]
    assert Hold.objects.filter(end__isnull=True).count() == 1


def test_less_picked_than_was_held_is_missing_and_its_bin_is_counted():
    shelve({"A-111": 2, "G-708": 1})
    job = book(findings=TWO)
    body = hold(job, steps=["P1/10"])
    take(body, amounts={"A-111": 1})
    assert unnamed(body) == [("A-111", 1, ["CYL-2/base-ring"])]
    done_ = give(body, missing=["A-111"]).body
    assert [(row["place"], row["part"], row["lot"], row["on_books"]) for row in done_["to_count"]] == [
        ("TB-R07", "A-111", "A-111/1", 1)
    ]


def test_what_was_asked_for_since_at_its_steps_is_missing_too_and_other_steps_are_not_asked():
    shelve({"A-111": 2, "G-708": 1})
    job = book(findings=TWO)
    body = hold(job, steps=["P1/10"])
    take(body)
    done(record_findings, job="J1", findings=[FindingIn("liner-lifted", "CYL-3"), FindingIn("head-off")])
    # The soap for it is in the tin that lies on the cart.
    assert unnamed(body) == [("A-111", 1, ["CYL-3/base-ring"])]
    assert give(body, missing=["A-111"]).body["to_count"] == []


def test_fitted_reused_and_not_needed_are_not_asked_for():
    shelve({"A-111": 2, "G-708": 1})
    job = book(findings=TWO)
    first = at_bench(job, steps=["P1/10"])
    put_in(job, ("CYL-1/base-ring", item_at(first, "CYL-1/base-ring")))
    assert absent(job, first) == []
    done(record_findings, job="J1", findings=[FindingIn("liner-lifted", "CYL-3")])
    assert absent(job, first) == ["A-111"]
    done(mark_not_needed, job="J1", positions={"CYL-3/base-ring": "kept dry", "CYL-3/soap": "no ring"})
    assert absent(job, first) == []


def test_what_goes_back_into_its_own_place_is_not_asked_for():
    shelve({"R-603": 1})
    rejected = [("pushrod-rejected", f"VALVE-0{number}") for number in (1, 2, 3)]
    job = book(engine="R6-7309", operations=["P4"], findings=rejected)
    own = "PUSHROD-01/pushrod"
    item = done(find_in_engine, job="J1", finds=[FindIn(own, "R-603")])["found"][0]["item"]
    done(remove, job="J1", removals=[RemoveIn(own)])
    body = hold(job)
    take(body)
    assert [(name, amount) for name, amount, _ in unnamed(body)] == [("R-603", 2)]
    done(inspect, job="J1", inspections=[InspectIn(own, "run-out 0.3 mm", "0.1 mm", True, item)])
    assert [(name, amount) for name, amount, _ in unnamed(body)] == [("R-603", 1)]


def test_a_choice_that_is_open_is_named_by_its_code_until_all_its_candidates_are_here():
    shelve(dict.fromkeys(("A-401", "A-402", "A-403"), 5) | {"A-404": 5})
    job = book(findings=[("coolant-in-oil", "ENGINE")])
    body = hold(job, steps=["P1/15"])
    take(body, only=["A-401", "A-402", "A-404"])
    mains = [f"MAIN-{number}" for number in range(1, 6)]
    rest = [row["part"] for row in body["shorts"] if row["part"] not in ("A-405", "A-406")]
    assert unnamed(body, *rest) == [
        ("upper-half", 0, [f"{main}/upper-half" for main in mains]),
        ("lower-half", 0, [f"{main}/lower-half" for main in mains]),
    ]
    take(body, only=["A-403"])
    assert [name for name, _, _ in unnamed(body, *rest)] == ["lower-half"]
    for main in mains:
        done(
            record_choice, job="J1", choice="lower-half", place=f"{main}/lower-half", alternative="1", reason="measured"
        )
    assert "lower-half" not in give(body, missing=rest).body["missing"]


def test_what_is_held_in_place_of_the_listed_part_may_be_named_as_either():
    shelve({"A-502": 6, "A-203": 1})
    job = book("J1", engine="A4-020443", findings=[("head-off", "ENGINE")])
    body = hold(job, steps=["P1/50"])
    take(body, only=["A-203"])
    names = {name for name, _, _ in unnamed(body)}
    assert {"A-502", "A-203"} & names == {"A-502"}
    assert next(amount for name, amount, _ in unnamed(body) if name == "A-502") == 10


def test_an_extra_asks_for_itself_alone():
    shelve({"A-111": 3, "G-708": 1})
    job = book(findings=TWO)
    at_bench(job, steps=["P1/10"])
    more = done(ask_for_more, job="J1", part="A-111", amount=2, reason="dropped")
    take({**more, "held": [{**row, "part": "A-111"} for row in more["held"]]})
    assert unnamed(more) == [("A-111", 1, [])]
    assert give(more, missing=["A-111"]).body["missing"] == ["A-111"]


def test_a_finding_withdrawn_since_leaves_what_is_held_on_the_paper():
    shelve({"A-111": 2, "G-708": 1})
    job = book(findings=TWO)
    body = hold(job, steps=["P1/10"])
    take(body, only=["G-708"])
    for finding in job.findings.all():
        done(withdraw_finding, job="J1", finding_id=finding.pk, reason="mixed up")
    assert unnamed(body) == [("A-111", 2, ["CYL-1/base-ring", "CYL-2/base-ring"])]


def test_why_a_hold_ended_is_said():
    shelve({"A-111": 2, "G-708": 1})
    job = book(findings=TWO)
    body = hold(job, steps=["P1/10"])
    take(body, only=["G-708"])
    done(stop_lot, lot_id=Lot.objects.get(code="A-111/1").pk, reason="porous")
    why = next(
        one.why
        for one in absent_of(listed(job), pick_list_by_id(body["pick_list"]), promised_of(job))[0]
        if one.name == "A-111"
    )
    assert why == "its hold was made impossible: lot A-111/1 of A-111 was stopped: porous"


def test_what_is_to_be_bought_in_and_has_no_part_is_named_by_its_position_at_its_step_until_it_has_one():
    shelve({"A-111": 1, "G-708": 1})
    cam = "CAMSHAFT/camshaft"
    job = book(findings=[("liner-lifted", "CYL-1"), ("camshaft-worn", "ENGINE")])
    body = hold(job, steps=["P1/10"])
    take(body)
    assert [one["position"] for one in body["buy_in"]] == [cam]
    assert body["buy_in"][0]["step"] == "P1/10"  # no line of the job is of its group: the first step
    assert unnamed(body) == [(cam, 0, [cam])]
    done_ = give(body, missing=[cam]).body
    assert [(one["name"], one["what"], one["step"]) for one in done_["absent"]] == [(cam, "buy-in", "P1/10")]
    shelve({"A-503": 4})
    later_step = hold(job, steps=["P1/30"])
    take(later_step)
    assert cam not in absent(job, later_step)
    done(mark_not_needed, job="J1", positions={cam: "ground and kept"})
    assert absent(job, body) == []
