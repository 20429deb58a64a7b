"""Claims of owners: entered and judged, entries added, closed with a cause and an answer, nothing changed."""

from datetime import date
from decimal import Decimal

import pytest

from inventory.domain.errors import ManyErrors
from inventory.models import Act, Refusal
from inventory.services.owners import OwnerIn, add_owner
from kits.domain.owner_claims import ThingIn
from kits.models import ClaimThing, Engine, MeterReading, OwnerClaim
from kits.queries.owner_claims import claim_by_number, claim_record, claims, in_state, rendered_claims
from kits.services.claim_entries import answer_claim, close_claim, open_claim_again, state_cause, take_claim_back
from kits.services.engine_owners import change_hands
from kits.services.finish import close_job, mark_not_needed
from kits.services.owner_claims import MeterIn, enter_claim, name_things, withdraw_thing
from kits.services.terms import hand_engine_over, read_meter, withdraw_meter_reading
from tests.factories.acts import done, refused
from tests.factories.rebuilds import book, listed, person
from tests.kits.services.test_terms import TRUCK, at, built

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]

TOLD = date(2025, 6, 1)
CAUSE = {"cause": "ring rolled in fitting", "found_by": "inspector", "evidence": "flat on its outside, photo 9"}


def out(number="J1", on=date(2025, 1, 31), **more):
    built(number)
    done(hand_engine_over, job=number, handed_over_on=on, stamp=at(date(2025, 2, 3)), **more)


def meters(hours="900", kilometres="40000"):
    return [MeterIn("hours", Decimal(hours), "photo 1"), MeterIn("kilometres", Decimal(kilometres), "photo 2")]


def told(**more):
    said = {"engine": TRUCK, "told_on": TOLD, "told_by": "owner", "what": "coolant in the oil", "meters": meters()}
    return said | {"stamp": at(date(2025, 6, 2))} | more


def entry(**more):
    return {"stamp": at(date(2025, 6, 3))} | more


def built_later(number):
    """A job whose one line gets nothing, not closed yet."""
    job = book(number=number, engine=TRUCK, operations=["P4"], findings=[("pushrod-rejected", "VALVE-01")])
    rest = {name for line in listed(job).lines for name, _ in line.keys}
    done(mark_not_needed, job=number, positions=dict.fromkeys(rest, "it is good"))
    return job


def state(claim):
    return rendered_claims([claim_by_number(claim)])[0]


def test_a_claim_is_judged_on_its_day_for_the_job_that_was_handed_over_last():
    out()
    made = done(enter_claim, **told())
    assert (made["job"], made["engine"], made["asked"], made["things"], made["repeats"]) == ("J1", TRUCK, [], [], [])
    term = made["term"]
    assert (term["within"], term["handed_over_on"], term["ends_on"]) == (True, "2025-01-31", "2026-07-31")
    assert [(one["limit"], one["within"]) for one in term["limits"]] == [
        ("months", True), ("hours", True), ("kilometres", True),
    ]  # fmt: skip
    assert [(row.meter, row.moment, row.read_on) for row in MeterReading.objects.order_by("pk")] == [
        ("hours", "claim", TOLD), ("kilometres", "claim", TOLD),
    ]  # fmt: skip
    row = state(made["claim"])
    assert (row.state, row.within, row.lacking) == ("open", True, ("no cause is stated", "no answer is given"))


def test_out_of_time_by_one_limit_is_said_with_its_reason():
    out()
    read = {"engine": TRUCK, "meter": "hours", "photo_ref": "photo 0", "stamp": at(date(2025, 6, 1))}
    done(read_meter, moment="hand-over", read_on=date(2025, 1, 31), shows=Decimal(0), **read)
    made = done(enter_claim, **told(meters=meters(hours="3000.1")))
    assert (made["term"]["within"], made["term"]["why"]) == (
        False, "3,000.1 h since hand-over on 2025-06-01, limit 3,000 h",
    )  # fmt: skip
    # Judged as it was; known now is another thing, and both are read.
    wrong = MeterReading.objects.get(moment="claim", meter="hours")
    done(withdraw_meter_reading, engine=TRUCK, reading_id=wrong.pk, reason="it was 300.0", stamp=at(date(2025, 6, 4)))
    found = claim_record(claim_by_number(made["claim"]))
    assert (found["term"]["within"], found["term_now"]["within"]) == (False, None)
    assert found["term_now"]["why"] == "no reading of hours since hand-over"
    assert [(one["shows"], one["withdrawn"]) for one in found["readings"]] == [
        ("3,000.1 h", "it was 300.0"), ("40,000 km", ""),
    ]  # fmt: skip


def test_no_hand_over_no_term_and_the_job_is_asked():
    built()
    error = refused("claim-job-unclear", enter_claim, **told(meters=[]))
    assert error.ways_out == ("Name job J1.",)
    made = done(enter_claim, **told(meters=[], job="J1"))
    assert (made["term"]["begun"], made["term"]["within"]) == (False, None)
    assert made["term"]["why"] == "no hand-over is on record: the term has not begun"
    # It comes on record later: what was judged stays, what is known now is told beside it.
    done(hand_engine_over, job="J1", handed_over_on=date(2025, 1, 31), stamp=at(date(2025, 6, 3)))
    found = claim_record(claim_by_number(made["claim"]))
    assert (found["term"]["begun"], found["term_now"]["begun"]) == (False, True)


def test_the_work_of_a_rework_stands_under_the_term_that_went_on():
    out()
    built("J2")
    done(hand_engine_over, job="J2", handed_over_on=date(2025, 3, 31), new_term=False, stamp=at(date(2025, 4, 3)))
    error = refused("claim-job-unclear", enter_claim, **told())
    assert error.ways_out == ("Name job J1.", "Name job J2.")
    made = done(enter_claim, **told(job="J2"))
    assert (made["job"], made["term"]["job"], made["term"]["handed_over_on"]) == ("J2", "J1", "2025-01-31")
    # A term that began later is not that of the first job's work.
    built("J3")
    done(hand_engine_over, job="J3", handed_over_on=date(2025, 4, 30), stamp=at(date(2025, 5, 3)))
    late = {"told_on": date(2025, 6, 2), "meters": [], "confirmed": True, "reason": "by telephone"}
    assert done(enter_claim, **told(**late))["job"] == "J3"
    assert done(enter_claim, **told(**late, job="J1"))["term"]["handed_over_on"] == "2025-01-31"


def test_a_job_that_was_closed_since_and_did_not_go_out_is_asked_about():
    out()
    built("J2")  # closed on the day of the factory, before the hand-over of J1
    assert done(enter_claim, **told())["job"] == "J1"
    done(
        close_job, job=built_later("J3").number, checker=person("checker", "act_check"), actor=person("fitter"),
        stamp=at(date(2025, 5, 1)),
    )  # fmt: skip
    error = refused("claim-job-unclear", enter_claim, **told())
    assert "after job J1 was handed over, J3 was closed" in error.message.replace("After", "after")
    assert done(enter_claim, **told(told_on=date(2025, 4, 30)))["job"] == "J1"


def test_what_is_odd_or_missing_about_the_meters_is_asked_all_together():
    out()
    read = {"engine": TRUCK, "moment": "arrival", "photo_ref": "photo 0", "stamp": at(date(2025, 6, 1))}
    done(read_meter, meter="kilometres", read_on=date(2025, 5, 1), shows=Decimal(41_000), **read)
    odd = {"meters": [MeterIn("kilometres", Decimal(40_000))]}
    error = refused("reading-asked", enter_claim, **told(**odd))
    asked = [
        "kilometres: 40,000 km is lower than 41,000 km on 2025-05-01 (arrival)",
        "kilometres: the meter was not photographed",
        "hours: not read on the day of the claim, and the term has a limit of it",
    ]
    assert error.values["questions"] == asked
    refused("reason-missing", enter_claim, **told(**odd, confirmed=True, reason=" "))
    assert (OwnerClaim.objects.count(), MeterReading.objects.filter(moment="claim").count()) == (0, 0)
    made = done(enter_claim, **told(**odd, confirmed=True, reason="told by telephone"))
    assert made["asked"] == asked
    row = state(made["claim"])
    assert (row.asked, row.reason, row.within) == ("; ".join(asked), "told by telephone", None)
    # Read for a claim on that day before: it is not asked again.
    read |= {"moment": "claim", "meter": "hours", "stamp": at(date(2025, 6, 2))}
    done(read_meter, read_on=TOLD, shows=Decimal(1000), **read)
    again = done(enter_claim, **told(meters=[MeterIn("kilometres", Decimal(41_001), "photo 3")]))
    assert (again["asked"], again["term"]["within"]) == ([], True)
    refused("done-already", enter_claim, **told(meters=[*meters(), *meters()]))


def test_who_and_what_is_refused():
    out()
    assert refused("engine-unknown", enter_claim, **told(engine="R6-7390")).ways_out == (f"Is it {TRUCK}?",)
    refused("not-found", enter_claim, **told(job="J9"))
    book(number="J8", engine="R6-7310", operations=["P4"])
    assert "was not done on engine" in refused("not-found", enter_claim, **told(job="J8")).message
    book(number="J7", engine=TRUCK, operations=["P4"])
    refused("job-not-closed", enter_claim, **told(job="J7"))
    refused("nothing-given", enter_claim, **told(what="  "))
    refused("nothing-given", enter_claim, **told(told_by=" "))
    refused("dates-turned", enter_claim, **told(told_on=date(2025, 6, 3)))
    refused("dates-turned", enter_claim, **told(told_on=date(2024, 1, 1), job="J1", meters=[]))
    refused("too-many-lines", enter_claim, **told(photos=["p"] * 201))
    refused("too-many-lines", enter_claim, **told(things=[ThingIn("CYL-1/set")] * 201))
    assert (OwnerClaim.objects.count(), Refusal.objects.filter(kind="enter claim").count()) == (0, 10)


def test_things_are_named_as_they_become_known_and_every_wrong_line_is_told():
    out()
    claim = done(enter_claim, **told(things=[ThingIn("CYL-2/groove-lower", what="water below it")]))["claim"]
    with pytest.raises(ManyErrors) as caught:
        done(name_things, claim=claim, things=[ThingIn("CYL-9/set"), ThingIn("CYL-1/set")], **entry())
    assert [(line, error.code) for line, error in caught.value.errors] == [(1, "position-unknown")]
    with pytest.raises(ManyErrors) as caught:
        lines = [ThingIn("CYL-1/set", 987), ThingIn("CYL-2/groove-lower"), ThingIn("CYL-3/set"), ThingIn("CYL-3/set")]
        done(name_things, claim=claim, things=lines, **entry())
    assert [(line, error.code) for line, error in caught.value.errors] == [
        (1, "claim-thing-elsewhere"), (2, "done-already"), (4, "done-already"),
    ]  # fmt: skip
    refused("nothing-given", name_things, claim=claim, things=[], **entry())
    refused("not-found", name_things, claim=claim + 1, things=[ThingIn("CYL-1/set")], **entry())
    assert ClaimThing.objects.count() == 1
    made = done(name_things, claim=claim, things=[ThingIn("CYL-1/set", photo_ref="photo 4")], **entry())["things"]
    assert [(one["position"], one["item"]) for one in made] == [("CYL-1/set", None)]
    taken = {"claim": claim, "thing": made[0]["thing"]}
    refused("reason-missing", withdraw_thing, **taken, reason=" ", **entry())
    done(withdraw_thing, **taken, reason="it is dry", **entry())
    refused("withdrawn-already", withdraw_thing, **taken, reason="it is dry", **entry())
    refused("not-found", withdraw_thing, claim=claim, thing=made[0]["thing"] + 1, reason="x", **entry())
    assert [(one.position, one.what, one.photo, one.withdrawn) for one in state(claim).things] == [
        ("CYL-2/groove-lower", "water below it", "", ""), ("CYL-1/set", "", "photo 4", "it is dry"),
    ]  # fmt: skip
    # What was withdrawn may be named again.
    done(name_things, claim=claim, things=[ThingIn("CYL-1/set")], **entry())


def test_the_same_position_of_the_same_engine_again_is_a_repeat():
    out()
    ring = [ThingIn("CYL-2/groove-lower")]
    first = done(enter_claim, **told(things=ring))["claim"]
    given_up = done(enter_claim, **told(things=ring))["claim"]
    done(take_claim_back, claim=given_up, reason="told twice", **entry())
    dry = done(enter_claim, **told(things=ring))
    assert dry["repeats"] == [{"claim": first, "position": "CYL-2/groove-lower"}]
    done(
        withdraw_thing, claim=dry["claim"], thing=dry["things"][0]["thing"], reason="another cylinder", **entry()
    )  # and is none then
    later = done(enter_claim, **told(things=[ThingIn("CYL-3/groove-lower")]))
    assert later["repeats"] == []
    named = done(name_things, claim=later["claim"], things=ring, **entry())
    assert named["repeats"] == [{"claim": first, "position": "CYL-2/groove-lower"}]
    rows = {row.claim: row for row in rendered_claims(claims())}
    assert {number: row.repeated for number, row in rows.items()} == {
        first: False, given_up: True, dry["claim"]: False, later["claim"]: True,
    }  # fmt: skip
    assert [one.failed_before for one in rows[later["claim"]].things] == [(), (first,)]


def test_it_is_closed_with_its_cause_and_its_answer_and_each_names_what_it_replaces():
    out()
    claim = done(enter_claim, **told())["claim"]
    refused("claim-cause-missing", close_claim, claim=claim, **entry())
    for empty in CAUSE:
        refused("nothing-given", state_cause, claim=claim, **CAUSE | {empty: " "}, **entry())
    first = done(state_cause, claim=claim, **CAUSE, **entry())["cause"]
    refused("claim-answer-missing", close_claim, claim=claim, **entry())
    refused("claim-entry-stands", state_cause, claim=claim, **CAUSE, **entry())
    other = {**CAUSE, "cause": "counterbore low", "oil_sample": "O-12", "coolant_sample": "C-3"}
    second = done(state_cause, claim=claim, **other, instead_of=first, **entry())["cause"]
    refused("claim-entry-stands", state_cause, claim=claim, **CAUSE, instead_of=first, **entry())
    refused("reason-missing", answer_claim, claim=claim, answer="accepted", reason=" ", **entry())
    refused("nothing-given", answer_claim, claim=claim, answer="perhaps", reason="we shall see", **entry())
    part = done(answer_claim, claim=claim, answer="part", reason="parts, not the tow", **entry())["answer"]
    whole = {"claim": claim, "answer": "accepted", "reason": "the tow as well"}
    refused("claim-entry-stands", answer_claim, **whole, **entry())
    accepted = done(answer_claim, **whole, instead_of=part, **entry())["answer"]
    closed = done(close_claim, claim=claim, **entry())
    assert closed == {
        "claim": claim, "state": "closed", "cause": second, "answer": accepted, "said": "accepted",
    }  # fmt: skip
    row = state(claim)
    assert [(one.cause, one.oil_sample, one.coolant_sample, one.stands, one.instead_of) for one in row.causes] == [
        ("ring rolled in fitting", "", "", False, None), ("counterbore low", "O-12", "C-3", True, first),
    ]  # fmt: skip
    assert [(one.answer, one.reason, one.stands, one.instead_of) for one in row.answers] == [
        ("part", "parts, not the tow", False, None), ("accepted", "the tow as well", True, part),
    ]  # fmt: skip
    assert [(one.what, one.cause_id, one.answer_id) for one in row.ends] == [("closed", second, accepted)]
    assert (row.state, row.lacking) == ("closed", ())


def test_nothing_is_added_to_one_that_ended_until_it_is_opened_again():
    out()
    claim = done(enter_claim, **told())["claim"]
    refused("claim-open", open_claim_again, claim=claim, reason="by mistake", **entry())
    refused("reason-missing", take_claim_back, claim=claim, reason=" ", **entry())
    done(take_claim_back, claim=claim, reason="the hose leaked", **entry())
    for call, given in (
        (take_claim_back, {"reason": "again"}),
        (close_claim, {}),
        (state_cause, CAUSE),
        (answer_claim, {"answer": "refused", "reason": "not ours"}),
        (name_things, {"things": [ThingIn("CYL-1/set")]}),
        (withdraw_thing, {"thing": 1, "reason": "x"}),
    ):
        refused("claim-ended", call, claim=claim, **given, **entry())
    refused("reason-missing", open_claim_again, claim=claim, reason="", **entry())
    assert done(open_claim_again, claim=claim, reason="not the hose", **entry())["state"] == "open"
    done(state_cause, claim=claim, **CAUSE, **entry())
    row = state(claim)
    assert [(one.what, one.reason) for one in row.ends] == [
        ("taken back", "the hose leaked"), ("opened again", "not the hose"),
    ]  # fmt: skip
    assert (row.state, row.lacking) == ("open", ("no answer is given",))
    assert {one: [row.pk for row in in_state(claims(), one)] for one in ("open", "closed", "taken back")} == {
        "open": [claim], "closed": [], "taken back": [],
    }  # fmt: skip


def test_the_owner_of_that_day_is_named_by_number_and_a_replay_adds_nothing():
    out()
    old, new = (done(add_owner, owner=OwnerIn(name))["owner"] for name in ("first", "second"))
    for owner, since in ((old, date(2025, 1, 1)), (new, date(2025, 6, 2))):
        done(change_hands, engine=TRUCK, owner_id=owner, since=since, stamp=at(date(2025, 6, 2)))
    said = told(actor=person("hester"))
    once = enter_claim(**said)
    assert enter_claim(**said).body == once.body
    assert state(once.body["claim"]).owner == old
    assert (OwnerClaim.objects.count(), Act.objects.filter(kind="enter claim").count()) == (1, 1)
    assert Engine.objects.get(number=TRUCK).owner_id == new
