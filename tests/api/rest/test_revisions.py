"""Newer revisions of what a job was booked with, over HTTP: shown and asked, taken over or kept; a maker's stop forces them."""

import copy

import pytest

from inventory.models import Balance
from kits.models import Job, JobOperation, RevisionWord
from tests.factories.engines import family_document, found, line, operation_documents

pytestmark = pytest.mark.django_db

STOP = "bulletin 24-07"


def revised(revision=2, **more):
    """T1 with other rod bolts, no drain washer, and a lifter."""
    document = copy.deepcopy(operation_documents()["T1"])
    lines = [one for one in document["lines"] if one["id"] != "T1-washer"]
    for one in lines:
        if one["id"] == "T1-rod":
            one["part"] = "SUMP-BOLT"
    lines.append(line("T1-lift", 20, "LIFTER", "LIFTER-1/lifter", found("lifted", "any")))
    return document | {"revision": revision, "lines": lines} | more


def enter(rebuild, document=None, **more):
    return rebuild.did(rebuild.manager, "procedures", {"document": document or revised(), **more})


def decide(rebuild, take, revision=2, procedure="T1", job="J-1", reason="as the maker says", **more):
    one = {"procedure": procedure, "revision": revision} if procedure else {"revision": revision}
    return rebuild.manager.send(f"jobs/{job}/revisions", {"revisions": [one], "take": take, "reason": reason} | more)


def listed(rebuild, job="J-1"):
    return rebuild.technician.read(f"jobs/{job}/list").json()


def newer(rebuild, job="J-1"):
    return listed(rebuild, job)["newer"]


def parts(document):
    return {(position, one["part"]) for one in document["lines"] for position in one["positions"]}


def changed(changes):
    """Positions that were added, removed and changed."""
    return [sorted({one["position"] for one in changes[how]}) for how in ("added", "removed", "changed")]


CHANGED = [["LIFTER-1/lifter"], ["SUMP/washer"], ["ROD-1/bolt-1", "ROD-1/bolt-2"]]


def test_a_newer_revision_is_shown_with_what_it_would_change_and_asked_about(rebuild):
    rebuild.booked()
    before = listed(rebuild)
    assert before["newer"] == []
    enter(rebuild)
    (row,) = newer(rebuild)
    assert changed(row["changes"]) == CHANGED
    assert row["changes"]["revisions"] == ["T1: the earlier list used revision 1, this one revision 2."]
    assert (row["procedure"], row["has"], row["revision"], row["asks"], row["stop"]) == ("T1", 1, 2, True, "")
    assert row["by"] == rebuild.manager.person.username
    assert row["said"] == "T1 has revision 2; this job works by revision 1. Take it over, or keep the old one?"
    # Until somebody decides, the list is that of the revision that was booked: a job freezes it.
    assert {**listed(rebuild), "newer": []} == before
    assert rebuild.technician.read("jobs/J-1/revisions").json() == {"job": "J-1", "newer": [row], "words": []}
    # A job that is booked from now on has the newest, and is asked nothing.
    rebuild.booked(number="J-2", engine="T4-00300")
    assert (newer(rebuild, "J-2"), listed(rebuild, "J-2")["revisions"]) == ([], [{"procedure": "T1", "revision": 2}])


def test_taking_it_over_makes_the_list_anew_and_names_what_is_left_over(rebuild):
    rebuild.booked().held()
    before = listed(rebuild)
    enter(rebuild)
    answer = decide(rebuild, True)
    assert answer.status_code == 201, answer.content
    body = answer.json()
    assert body["revisions"] == [{"procedure": "T1", "revision": 2, "instead_of": 1}]
    assert changed(body["changes"]) == CHANGED
    assert body["changes"]["fitted"] == []
    # What was held for the old list and serves nothing on the new one is to be released, as after a withdrawn finding.
    assert {(one["part"], one["amount"]) for one in body["to_return"]["held"]} == {("ROD-BOLT", 2), ("WASHER", 1)}
    assert rebuild.technician.read("jobs/J-1/to-return").json() == body["to_return"]
    now = listed(rebuild)
    assert (now["newer"], now["revisions"]) == ([], [{"procedure": "T1", "revision": 2}])
    assert parts(now) - parts(before) == {
        ("LIFTER-1/lifter", "LIFTER"),
        ("ROD-1/bolt-1", "SUMP-BOLT"),
        ("ROD-1/bolt-2", "SUMP-BOLT"),
    }
    (operation,) = rebuild.manager.read("jobs/J-1").json()["operations"]
    assert operation["revision"] == 2
    # What changed since the first pick list says which revision each used.
    since = rebuild.technician.read("jobs/J-1/list", since="1").json()["changes"]
    assert (changed(since), since["revisions"]) == (CHANGED, body["changes"]["revisions"])
    assert rebuild.technician.send("jobs/J-1/holds", {}).json()["number"] == 2
    (word,) = rebuild.manager.read("jobs/J-1/revisions").json()["words"]
    assert (word["taken"], word["revision"], word["instead_of"], word["reason"]) == (True, 2, 1, "as the maker says")
    assert decide(rebuild, True).json()["lines"][0]["code"] == "revision-not-asked"


def test_keeping_the_old_one_is_shown_as_kept_and_asked_again_only_for_a_still_newer_one(rebuild):
    rebuild.booked()
    before = listed(rebuild)
    enter(rebuild)
    assert rebuild.technician.send("jobs/J-1/revisions", {}).json()["code"] == "not-allowed"
    assert decide(rebuild, False, reason=" ").json()["code"] == "fields-wrong"
    for revision, procedure in ((1, "T1"), (3, "T1"), (2, "T2"), (2, "")):
        answer = decide(rebuild, False, revision, procedure)
        assert (answer.status_code, answer.json()["lines"][0]["code"]) == (409, "revision-not-asked"), answer.content
    body = decide(rebuild, False, reason="the bolts are in the drawer").json()
    assert (body["taken"], body["changes"], body["to_return"]) == (False, None, None)
    (row,) = newer(rebuild)
    assert (row["asks"], row["kept_because"]) == (False, "the bolts are in the drawer")
    assert row["said"] == "T1: revision 1 is kept, not 2: the bolts are in the drawer"
    assert {**listed(rebuild), "newer": []} == before
    assert decide(rebuild, False).json()["lines"][0]["code"] == "revision-not-asked"
    enter(rebuild, revised(3))
    (row,) = newer(rebuild)
    assert (row["asks"], row["revision"], row["kept_because"]) == (True, 3, "")
    # Who kept an old one may still take the newest over.
    assert decide(rebuild, True, 3).json()["revisions"] == [{"procedure": "T1", "revision": 3, "instead_of": 1}]
    assert newer(rebuild) == []
    assert [word["taken"] for word in rebuild.manager.read("jobs/J-1/revisions").json()["words"]] == [False, True]
    assert (JobOperation.objects.count(), RevisionWord.objects.count()) == (2, 2)


def stopped(answer):
    """The sentence of a refusal by a maker's stop."""
    document = answer.json()
    rows = document["lines"] or [document]
    assert answer.status_code == 422, answer.content
    assert {row["code"] for row in rows} == {"stopped-by-maker"}, answer.content
    assert all(STOP in row["detail"] and "STOP" in row["detail"] for row in rows)
    assert rows[0]["ways_out"] == ["Take T1 revision 2 over to the job."]
    return rows[0]["detail"]


def test_a_makers_stop_lets_nothing_go_on_until_the_newer_revision_is_taken(rebuild):
    rebuild.booked(
        operations=["T1", "T2"],
        findings=[{"code": "chosen", "place": "CYL-1"}, {"code": "valve-out", "place": "VALVE-1"}],
    )
    rebuild.held().picked().looked_at()
    enter(rebuild, makers_stop=STOP)
    (row,) = newer(rebuild)
    assert (row["stop"], row["asks"], row["said"].startswith("STOP by the maker, bulletin 24-07")) == (STOP, True, True)
    stopped(decide(rebuild, False))
    pick_list = rebuild.said["held"]["pick_list"]
    body = {"received_by": rebuild.technician.person.username, "missing": ["cover-kind"]}
    stopped(rebuild.storekeeper.send(f"pick-lists/{pick_list}/handovers", body))
    asked = {"part": "RING", "amount": 1, "reason": "dropped"}
    stopped(rebuild.technician.send("jobs/J-1/extras", asked))
    stopped(rebuild.technician.send("jobs/J-1/extras", asked | {"positions": ["CYL-1/ring"]}))
    # What only the other procedure asks for goes on.
    rebuild.did(
        rebuild.technician, "jobs/J-1/extras", asked | {"part": "STEM-SEAL", "positions": ["VALVE-1/stem-seal"]}
    )
    assert decide(rebuild, True).status_code == 201
    handed = rebuild.storekeeper.send(
        f"pick-lists/{pick_list}/handovers", body | {"missing": ["cover-kind", "LIFTER", "SUMP-BOLT"]}
    )
    assert handed.status_code == 201, handed.content


def test_what_is_at_the_bench_is_not_fitted_under_a_stop_and_what_is_in_stays_and_is_named(rebuild):
    rebuild.at_bench()
    bolts = rebuild.item("ROD-BOLT")
    fitting = {"position": "ROD-1/bolt-1", "item": bolts}
    rebuild.did(rebuild.technician, "jobs/J-1/fittings", {"fittings": [fitting]})
    enter(rebuild, makers_stop=STOP)
    second = {"fittings": [fitting | {"position": "ROD-1/bolt-2"}]}
    assert stopped(rebuild.technician.send("jobs/J-1/fittings", second)).startswith("ROD-1/bolt-2: STOP by the maker")
    closing = rebuild.technician.send("jobs/J-1/closings", {"checker": rebuild.inspector.person.username})
    stopped(closing)
    (row,) = newer(rebuild)
    (odd,) = row["changes"]["fitted"]
    assert (odd["position"], odd["part"], odd["wanted"]) == ("ROD-1/bolt-1", "ROD-BOLT", ["SUMP-BOLT"])
    body = decide(rebuild, True).json()
    assert body["changes"]["fitted"] == [odd]
    assert {(one["part"], one["amount"]) for one in body["to_return"]["lying"]} == {("ROD-BOLT", 1), ("WASHER", 1)}
    # It is in, and the new list asks for another: the job stays open until it is taken out again.
    opened = rebuild.technician.read("jobs/J-1/open-lines").json()["open"]
    assert [one["why"] for one in opened if one["what"] == "another part is fitted"] == [
        "ROD-BOLT is in, SUMP-BOLT is listed"
    ]
    answer = rebuild.technician.send("jobs/J-1/fittings", second)
    assert {one["code"] for one in answer.json()["lines"]} == {"wrong-part"}
    assert Balance.objects.get(place__code="T4-00211", part__number="ROD-BOLT", amount__gt=0).amount == 1


def test_nothing_is_held_under_a_stop_but_what_only_another_procedure_asks_for(rebuild):
    found_at = [{"code": "chosen", "place": "CYL-1"}, {"code": "valve-out", "place": "VALVE-1"}]
    rebuild.booked(operations=["T1", "T2"], findings=found_at)
    enter(rebuild, makers_stop=STOP)
    stopped(rebuild.technician.send("jobs/J-1/holds", {}))
    said = stopped(rebuild.technician.send("jobs/J-1/holds", {"steps": ["T1/10"]}))
    assert said.startswith("CYL-1/ring, CYL-1/set: STOP by the maker, bulletin 24-07: T1 revision 1 is not worked by")
    held = rebuild.did(rebuild.technician, "jobs/J-1/holds", {"steps": ["T2/10"]})
    assert [one["part"] for one in held["held"]] == ["STEM-SEAL"]
    # A joint that both procedures close is closed as the stopped one says it: it waits too.
    stopped(rebuild.technician.send("jobs/J-1/holds", {"steps": ["T2/30"]}))
    (refusal,) = rebuild.manager.rows("refusals", page_size=1, ordering="-recorded_at") or [None]
    assert refusal["code"] == "stopped-by-maker"


def test_the_paper_shouts_it(rebuild):
    rebuild.booked().held()
    pick_list = f"pick-lists/{rebuild.said['held']['pick_list']}"
    assert rebuild.storekeeper.read(pick_list).json()["stopped_by_maker"] == []
    enter(rebuild, makers_stop=STOP)
    (said,) = rebuild.storekeeper.read(pick_list).json()["stopped_by_maker"]
    assert said.startswith("STOP by the maker, bulletin 24-07")
    assert said.replace("'", "&#x27;") in rebuild.storekeeper.read(pick_list, format="html").content.decode()


def test_only_a_revision_that_follows_another_stops_anything(rebuild):
    document = copy.deepcopy(operation_documents()["T1"]) | {"code": "T7"}
    answer = rebuild.manager.send("procedures", {"document": document, "makers_stop": STOP})
    assert answer.json()["code"] == "nothing-changed"
    rebuild.booked()
    # Entered as forced, and followed by another that nobody forces: the stop stays on whoever is older than the forced one.
    enter(rebuild, makers_stop=STOP)
    enter(rebuild, revised(3))
    (row,) = newer(rebuild)
    assert (row["revision"], row["stop"]) == (3, STOP)
    assert decide(rebuild, True, 2).json()["lines"][0]["code"] == "revision-not-asked"
    assert decide(rebuild, True, 3).status_code == 201
    assert newer(rebuild) == []


def test_a_job_that_is_ended_keeps_its_list_for_ever(rebuild):
    rebuild.booked()
    before = listed(rebuild)
    Job.objects.update(state=Job.State.CLOSED)
    enter(rebuild, makers_stop=STOP)
    # The same job reprinted next year is the same list.
    assert listed(rebuild) == before
    assert decide(rebuild, True).json()["code"] == "job-ended"


def test_a_newer_family_is_asked_about_too_and_goes_with_the_procedure_that_needs_it(rebuild):
    rebuild.booked().held()
    document = family_document() | {"revision": 2}
    document["groups"].append({"group": "FAN", "scope": "engine", "names": [{"name": "belt"}]})
    document["rules"].append({"if": "chosen", "then": ["valve-out"], "text": "the valves come out with the head"})
    rebuild.did(rebuild.manager, "engine-families", {"document": document, "makers_stop": STOP})
    fan = revised()
    fan["lines"].append(line("T1-fan", 20, "LIFTER", "FAN/belt", found("lifted", "any")))
    enter(rebuild, fan)
    family, procedure = newer(rebuild)
    assert (family["family"], family["procedure"], family["revision"], family["stop"]) == ("Testbed-4", "", 2, STOP)
    assert (procedure["procedure"], procedure["changes"], procedure["stop"]) == ("T1", None, "")
    assert "FAN/belt" in procedure["unusable"]
    assert decide(rebuild, True).json()["code"] == "procedure-unusable"
    both = [{"revision": 2}, {"procedure": "T1", "revision": 2}]
    body = decide(rebuild, True, revisions=both).json()
    assert body["changes"]["revisions"] == [
        "T1: the earlier list used revision 1, this one revision 2.",
        "Testbed-4: the earlier list used revision 1, this one revision 2.",
    ]
    assert "FAN/belt" in changed(body["changes"])[0]
    assert (newer(rebuild), Job.objects.get().family_revision.revision) == ([], 2)
    # The list as it stood before is still computed from what the job worked by then.
    since = rebuild.technician.read("jobs/J-1/list", since="1").json()["changes"]
    assert (changed(since), since["revisions"]) == (changed(body["changes"]), body["changes"]["revisions"])


def test_a_family_that_no_longer_knows_what_the_job_says_is_refused(rebuild):
    rebuild.booked(findings=[{"code": "chosen", "place": "CYL-1"}, {"code": "noise"}])
    document = family_document() | {"revision": 2}
    document["findings"] = [one for one in document["findings"] if one["code"] != "noise"]
    rebuild.did(rebuild.manager, "engine-families", {"document": document})
    (row,) = newer(rebuild)
    assert (row["changes"], "noise" in row["unusable"]) == (None, True)
    assert decide(rebuild, True, procedure="").json()["code"] == "finding-unknown"
    assert decide(rebuild, False, procedure="").status_code == 201
