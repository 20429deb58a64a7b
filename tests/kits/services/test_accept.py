"""What a result chose is accepted: the list asks for it, until a reading behind it is withdrawn; another choice comes in its stead."""

import copy
from datetime import timedelta

import pytest

from inventory.services.run import run
from kits.models import Acceptance, JobChoice, MeasuredResult
from kits.queries.job_list import job_list
from kits.queries.open_lines import open_lines
from kits.queries.results import results_of
from kits.queries.scope import job_by_number, scope_of
from kits.services.accept import accept_result
from kits.services.families import enter_family
from kits.services.fit import FitIn, fit
from kits.services.jobs import record_choice
from kits.services.judge import judge_readings
from kits.services.readings import ReadingIn, withdraw_reading
from kits.services.results import record_result
from kits.services.revisions import RevisionIn, decide_revisions
from kits.services.strip import RemoveIn, remove
from tests.factories.acts import done, refused
from tests.factories.measuring import gauge, read
from tests.factories.rebuilds import (
    TODAY,
    at_bench,
    book,
    give,
    hold,
    item_at,
    listed,
    person,
    put_in,
    shelve,
    shelve_sets,
    take,
)
from tests.factories.stores import NOON, stamp
from tests.fixtures.shop_files import family_document

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]

GASKETS = {"R-201", "R-202", "R-203"}


@pytest.fixture
def six():
    """A six-cylinder with its head off, one gasket of each grade on the shelf, a gauge of u = 2 µm."""
    gauge("G-1", uncertainty="0.002 mm")
    shelve({"R-201": 1, "R-202": 1, "R-203": 1})
    return book(engine="R6-7381", operations=("P4",), findings=[("head-off", "ENGINE")])


def projected(highest, *, of=range(1, 7), **more):
    """Two places of each piston; the highest is the front of the fourth. Ids by (cylinder, point)."""
    points = [(cylinder, point) for cylinder in of for point in ("front", "rear")]
    lines = [
        ReadingIn(
            "piston-projection", highest if one == (4, "front") else "0.38 mm", "G-1", place=f"CYL-{one[0]}", point=one[1],
            **{"clamped": True} | more,
        )
        for one in points
    ]  # fmt: skip
    return dict(zip(points, [row["id"] for row in read("J1", *lines)["readings"]], strict=True))


def judged(kind="gasket grade", **more):
    return done(judge_readings, job="J1", kind=kind, **more)


def accepted(result, **more):
    return done(accept_result, job="J1", result_id=result["result"], **more)


def withdrawn(reading):
    return done(withdraw_reading, job="J1", reading_id=reading, reason="zero was off")


def gasket(job):
    return [line.part for line in listed(job).lines if line.part in GASKETS]


def opened(job):
    return [one.choice for one in listed(job).settled.open_choices if one.choice == "head-gasket"]


def test_the_largest_of_six_settles_the_gasket_until_its_reading_is_withdrawn(six):
    # Worked example of the demo shop: the largest of six is 0.47, so grade 2.
    done(record_choice, job="J1", choice="head-gasket", place="ENGINE", alternative="1", reason="as it was")
    ids = projected("0.47 mm")
    result = judged()
    assert (result["verdict"], result["document"]["grade"], gasket(six)) == ("pass", "2", ["R-201"])
    body = accepted(result)
    assert body["choices"] == [{"choice": "head-gasket", "place": "ENGINE", "alternative": "2"}]
    assert (body["verdict"], gasket(six)) == ("pass", ["R-202"])
    act = Acceptance.objects.get().act_id
    assert scope_of(six, act).recorded[-1].alternative == "2"

    gone = withdrawn(ids[4, "front"])
    assert [row["result"] for row in gone["stale"]] == [result["result"]]
    # Open again: the word before it was replaced, and does not come back; as known before the withdrawal it counted.
    assert (gasket(six), opened(six)) == ([], ["head-gasket"])
    assert scope_of(six, act).recorded[-1].alternative == "2"
    assert ("measure again", "ENGINE") in [(row["what"], row.get("position")) for row in open_lines(six, TODAY)]
    # A word of a person stands in its stead.
    done(record_choice, job="J1", choice="head-gasket", place="ENGINE", alternative="3", reason="the maker's word")
    assert (gasket(six), opened(six)) == (["R-203"], [])
    assert "measure again" not in [row["what"] for row in open_lines(six, TODAY)]


def test_what_was_issued_for_the_earlier_choice_is_not_fitted_after_another(six):
    ids = projected("0.47 mm")
    accepted(judged())
    held = hold(six, steps=["P4/30"])
    take(held, only=GASKETS)
    give(
        held,
        missing=sorted({row["part"] for row in held["held"]} - GASKETS | {row["wanted"] for row in held["shorts"]}),
    )
    wrong = item_at(held, "HEAD/gasket")
    withdrawn(ids[4, "front"])
    fittings = [FitIn("HEAD/gasket", wrong)]
    assert refused("choice-open", fit, job="J1", fittings=fittings, actor=person("fitter"))
    projected("0.62 mm", of=[4])
    accepted(judged())
    assert gasket(six) == ["R-203"]
    answer = refused("wrong-part", fit, job="J1", fittings=fittings, actor=person("fitter"))
    assert answer.errors[0][1].values["allowed"] == ["R-203"]
    assert JobChoice.objects.filter(choice="head-gasket").count() == 2


def test_a_doubtful_one_needs_its_permission_and_its_reason_and_a_stale_or_empty_one_is_not_accepted(six):
    ids = projected("0.598 mm")
    doubtful = judged()
    assert doubtful["verdict"] == "doubtful"
    # whoever may not take it is told so, with a reason or without
    answer = refused("doubtful", accept_result, job="J1", result_id=doubtful["result"], reason="both gauges say so")
    assert answer.values["why"] == ["0.598 mm is nearer to another grade than the gauge can tell"]
    may = {"actor": person("inspector", "act_accept_doubtful")}
    refused("reason-missing", accept_result, job="J1", result_id=doubtful["result"], reason=" ", **may)
    again = judged()
    assert refused("result-stale", accept_result, job="J1", result_id=doubtful["result"]).values["why"] == [
        f"result {again['result']} took its place"
    ]
    assert accepted(again, reason="both gauges say so", **may)["choices"][0]["alternative"] == "2"
    assert Acceptance.objects.values_list("doubtful", "reason").get() == (True, "both gauges say so")
    said = JobChoice.objects.get()
    assert said.reason == f"gasket grade of ENGINE, result {again['result']}: both gauges say so"
    withdrawn(ids[1, "rear"])
    refused("result-stale", accept_result, job="J1", result_id=again["result"], reason="all the same")
    refused("not-found", accept_result, job="J1", result_id=again["result"] + 100)
    rings = [ReadingIn("ring-gap", "0.50 mm", "G-1", place="CYL-1", point=ring) for ring in ("top", "second", "oil")]
    read("J1", *rings)
    refused("nothing-to-accept", accept_result, job="J1", result_id=judged("ring gap", place="CYL-1")["result"])
    assert Acceptance.objects.count() == 1


def test_a_projection_is_read_again_after_a_liner_was_changed(six):
    shelve_sets("R-101", "S-1")
    job = book("J2", engine="R6-7388", operations=("P4",), findings=[("cylinder-chosen", "CYL-4")])
    lines = [
        ReadingIn("piston-projection", "0.38 mm", "G-1", place=f"CYL-{cylinder}", point=point, clamped=True)
        for cylinder in range(1, 7)
        for point in ("front", "rear")
    ]
    read("J2", *lines)
    assert done(judge_readings, job="J2", kind="gasket grade")["document"]["grade"] == "1"
    body = at_bench(job)
    put_in(job, ("CYL-4/set", item_at(body, "CYL-4/set")), at=NOON + timedelta(hours=1))
    late = refused("projection-not-accepted", judge_readings, job="J2", kind="gasket grade")
    assert late.values["pistons"] == ["CYL-4"]
    fresh = [ReadingIn("piston-projection", "0.47 mm", "G-1", place="CYL-4", point=p, clamped=True) for p in ("a", "b")]
    read("J2", *fresh, stamp=stamp(NOON + timedelta(hours=2)))
    result = done(judge_readings, job="J2", kind="gasket grade", stamp=stamp(NOON + timedelta(hours=3)))
    assert (result["document"]["grade"], len(results_of(job_by_number("J2")))) == ("2", 2)
    assert job_list(job, TODAY).job.number == "J2"


@pytest.mark.parametrize("how", ["fitted", "taken out", "read anew"])
def test_a_gasket_that_was_accepted_is_open_again_after_a_liner_was_changed_or_a_projection_read_anew(how):
    """Recheck after a liner change: the projections were those of another piston, or of a liner that stands otherwise now."""
    gauge("G-1", uncertainty="0.002 mm")
    shelve({"R-201": 1, "R-202": 1, "R-203": 1})
    shelve_sets("R-101", "S-1")
    job = book("J1", engine="R6-7388", operations=("P4",), findings=[("cylinder-chosen", "CYL-4")])
    body = at_bench(job)
    if how == "taken out":
        put_in(job, ("CYL-4/set", item_at(body, "CYL-4/set")))
    ids = projected("0.47 mm")
    accepted(judged())
    act = Acceptance.objects.get().act_id
    assert (gasket(job), opened(job)) == (["R-202"], [])
    late = {"stamp": stamp(NOON + timedelta(hours=1))}
    if how == "fitted":
        put_in(job, ("CYL-4/set", item_at(body, "CYL-4/set")), at=NOON + timedelta(hours=1))
    elif how == "taken out":
        done(remove, job="J1", removals=[RemoveIn("CYL-4/set")], **late)
    else:
        projected("0.62 mm", of=[4])
    assert (gasket(job), opened(job)) == ([], ["head-gasket"])
    (result,) = results_of(job, "gasket grade")
    first = ids[4, "front"]
    said = {"read anew": "of CYL-4 was taken since it was judged"}.get(
        how, f"the set at CYL-4 was {how} after reading {first}"
    )
    assert any(said in why for why in result.why)
    assert ("measure again", "ENGINE") in [(row["what"], row.get("position")) for row in open_lines(job, TODAY)]
    refused("result-stale", accept_result, job="J1", result_id=result.id)
    # As it was known when it was accepted, it counted.
    assert scope_of(job_by_number("J1"), act).recorded[-1].alternative == "2"


def test_other_limits_taken_over_open_the_choice_again(six):
    projected("0.47 mm")
    accepted(judged())
    act = Acceptance.objects.get().act_id
    changed = copy.deepcopy(family_document("Rowan-6"))
    changed["revision"] += 1
    changed["facts"]["head_gasket_grades"][1]["projection_most"] = "0.46 mm"
    done(enter_family, document=changed)
    assert gasket(six) == ["R-202"]
    taken = [RevisionIn(changed["revision"])]
    done(decide_revisions, job="J1", revisions=taken, take=True, reason="the maker's new table")
    assert (gasket(six), opened(six)) == ([], ["head-gasket"])
    assert ("measure again", "ENGINE") in [(row["what"], row.get("position")) for row in open_lines(six, TODAY)]
    assert scope_of(job_by_number("J1"), act).recorded[-1].alternative == "2"
    # 0.47 is the third grade's now.
    accepted(judged())
    assert gasket(six) == ["R-203"]


def test_what_fails_is_accepted_by_nobody(six):
    """No rule chooses what fails; a result that says so all the same is not taken, whoever asks."""
    projected("0.47 mm")
    good = judged()
    row = MeasuredResult.objects.get(pk=good["result"])

    def work(act):
        document = {**row.document, "verdict": "fail", "why": ["by hand"]}
        return {"result": record_result(act, row.job, row.kind, row.subject, document, []).pk}

    bad = run("judge", work, actor=person("fitter"), stamp=stamp(), request={}).body
    may = person("inspector", "act_accept_doubtful")
    refused("verdict-fails", accept_result, actor=may, job="J1", result_id=bad["result"], reason="it must go on")
    assert not Acceptance.objects.exists()
