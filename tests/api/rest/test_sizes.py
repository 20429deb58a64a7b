"""Sizes that stay with an engine over HTTP: entered, shown wherever the engine is, asked about on the next job, withdrawn."""

import pytest

from tests.api.rest.rebuilds import job_body
from tests.factories.measuring import gauge, scales
from tests.factories.stores import PartFactory, shelf, stock

pytestmark = pytest.mark.django_db
SIZES = "jobs/J-1/sizes"


@pytest.fixture
def job(rebuild):
    rebuild.booked()
    gauge("G-1")
    return rebuild


def entered(job, *lines, number="J-1"):
    return job.did(job.technician, f"jobs/{number}/sizes", {"sizes": list(lines)})


def test_a_ground_crank_asks_before_the_next_list_and_is_shown_everywhere(job):
    pins = {"size": "pins", "place": "ENGINE", "value": "0.25 mm", "gauge": "G-1"}
    insert = {"size": "thread", "place": "SUMP/bolt-07", "detail": "M8, 16 mm"}
    made = entered(job, pins, insert)
    assert made["engine"] == "T4-00211"
    assert [(one["size"], one["off_nm"], one["left_nm"]) for one in made["sizes"]] == [
        ("pins", 250_000, 250_000), ("thread", None, None),
    ]  # fmt: skip
    job.did(job.manager, "jobs", job_body(number="J-2", new_engine=False))
    listed = job.technician.read("jobs/J-2/list").json()
    assert [(one["size"], one["shown"], one["left_shown"], one["job"], one["gauge"]) for one in listed["sizes"]] == [
        ("pins", "0.25 mm", "0.25 mm", "J-1", "G-1"), ("thread", "", "", "J-1", ""),
    ]  # fmt: skip
    (question,) = listed["conflicts"]
    assert (question["kind"], question["needs_person"], listed["complete"]) == ("size-on-record", True, False)
    assert question["detail"].endswith("SHELL-25 is taken by that record: a person confirms it")
    early = job.technician.send("jobs/J-2/holds", {})
    assert (early.status_code, early.json()["code"]) == (422, "list-not-ready")
    choice = {"choice": "pin-shells", "place": "ENGINE", "alternative": "undersize", "reason": "measured again"}
    job.did(job.technician, "jobs/J-2/choices", choice)
    held = job.did(job.technician, "jobs/J-2/holds", {})
    assert "SHELL-25" in {one["part"] for one in (*held["held"], *held["shorts"])}
    kept = job.technician.read(f"pick-lists/{held['pick_list']}").json()
    assert [one["size"] for one in kept["sizes"]] == ["pins", "thread"]
    contents = job.technician.read("engines/T4-00211/contents")
    assert [one["size"] for one in contents.json()["sizes"]] == ["pins", "thread"]
    assert job.technician.read("engines/T4-00211/contents", on="2025-01-01").json()["sizes"] is None
    story = job.technician.read("engines/T4-00211/story").json()["events"]
    assert [one["said"] for one in story if one["what"] == "size entered"] == [
        "pins: 0.25 mm, gauge G-1", "thread: M8, 16 mm",
    ]  # fmt: skip


def test_what_is_left_is_named_and_a_wrong_entry_is_withdrawn(job):
    cut = {"size": "seat", "place": "CYL-2", "value": "0.10 mm", "gauge": "G-1"}
    first = entered(job, cut)["sizes"][0]
    assert (first["off_nm"], first["left_nm"]) == (100_000, 150_000)
    # Two lines of one request count together; nothing of it is kept.
    both = job.technician.send(SIZES, {"sizes": [cut, cut | {"value": "0.06 mm"}]})
    assert (both.status_code, both.json()["lines"][0]["line"], both.json()["lines"][0]["code"]) == (
        422, 2, "size-over-limit",
    )  # fmt: skip
    assert both.json()["lines"][0]["values"]["left_nm"] == 50_000
    path = f"{SIZES}/{first['id']}/withdrawals"
    job.did(job.technician, path, {"reason": "it was cylinder 3"})
    again = job.technician.send(path, {"reason": "once more"})
    assert (again.status_code, again.json()["code"]) == (409, "withdrawn-already")
    record = job.technician.read("engines/T4-00211/sizes").json()
    assert (record["sizes"], [one["withdrawn"] for one in record["entries"]]) == ([], ["it was cylinder 3"])
    assert record["entries"][0]["gauge_state"] == "out of date"
    assert entered(job, cut | {"value": "0.25 mm"})["sizes"][0]["left_nm"] == 0


def test_entries_that_cannot_be(job):
    scales("W-1")
    good = {"size": "seat", "place": "CYL-2", "value": "0.10 mm", "gauge": "G-1"}
    for wrong, status, code in (
        ({"size": "colour"}, 422, "no-limit"),
        ({"gauge": ""}, 422, "size-unusable"),
        ({"gauge": "G-9"}, 404, "not-found"),
        ({"gauge": "W-1"}, 422, "gauge-wrong"),
        ({"value": "0.10"}, 422, "quantity-unreadable"),
        ({"value": "0.10 kg"}, 422, "quantity-wrong-dimension"),
        ({"value": "NaN mm"}, 422, "quantity-unreadable"),
        ({"place": "CYL-9"}, 422, "position-unknown"),
        ({"place": "MAIN-1"}, 422, "size-unusable"),
    ):
        answer = job.technician.send(SIZES, {"sizes": [good | wrong]})
        assert (answer.status_code, answer.json()["lines"][0]["code"]) == (status, code), wrong
    empty = job.technician.send(SIZES, {"sizes": []})
    assert (empty.status_code, empty.json()["code"]) == (422, "nothing-given")
    unknown = job.technician.send(f"{SIZES}/99/withdrawals", {"reason": "no"})
    assert (unknown.status_code, unknown.json()["code"]) == (404, "not-found")
    assert job.storekeeper.send(SIZES, {"sizes": [good]}).json()["code"] == "not-allowed"
    assert job.technician.read("engines/T4-00211/sizes").json()["entries"] == []


def test_a_repaired_hole_takes_another_bolt_and_the_booked_one_does_not_go_in(rebuild):
    stock(PartFactory(number="BIG-BOLT", name="bolt", kind="fastener", tracked_by="nothing"), 4, place=shelf("R1"))
    bad = [{"code": "chosen", "place": "CYL-1"}, {"code": "bolt-bad", "place": "SUMP/bolt-07"}]
    rebuild.said["booked"] = rebuild.did(rebuild.manager, "jobs", job_body(findings=bad))
    rebuild.held().picked().looked_at()
    path = f"pick-lists/{rebuild.said['held']['pick_list']}/handovers"
    rebuild.did(rebuild.storekeeper, path, {"received_by": rebuild.technician.person.username})
    # The booked bolt is at the bench when the hole is repaired.
    insert = entered(rebuild, {"size": "thread", "place": "SUMP/bolt-07", "detail": "M10, 20 mm"})["sizes"][0]
    bolt = {"position": "SUMP/bolt-07", "item": rebuild.item("SUMP-BOLT")}

    def why(part):
        body = {"fittings": [bolt | {"item": rebuild.item(part)}]}
        answer = rebuild.technician.send("jobs/J-1/fittings", body)
        return answer.status_code, answer.json()["lines"][0]["code"], answer.json()["lines"][0]["detail"]

    assert why("SUMP-BOLT")[:2] == (422, "size-forbids")
    assert "BIG-BOLT is taken by that record: a person confirms it" in why("BIG-BOLT")[2]
    listed = rebuild.technician.read("jobs/J-1/list").json()
    assert ("BIG-BOLT", ["SUMP/bolt-07"]) in [(one["part"], one["positions"]) for one in listed["lines"]]
    assert [(one["kind"], one["position"]) for one in listed["conflicts"]] == [("size-on-record", "SUMP/bolt-07")]
    word = {"choice": "", "place": "SUMP/bolt-07", "alternative": "part:BIG-BOLT", "reason": "the insert's own sheet"}
    strange = rebuild.technician.send("jobs/J-1/choices", word | {"alternative": "part:ROD-BOLT"})
    assert (strange.status_code, strange.json()["code"]) == (422, "choice-not-candidate")
    rebuild.did(rebuild.technician, "jobs/J-1/choices", word)
    assert rebuild.technician.read("jobs/J-1/list").json()["conflicts"] == []
    assert why("SUMP-BOLT")[:2] == (422, "wrong-part")
    # The entry was wrong: the booked bolt goes in.
    rebuild.did(rebuild.technician, f"{SIZES}/{insert['id']}/withdrawals", {"reason": "it was hole 8"})
    fitted = rebuild.did(rebuild.technician, "jobs/J-1/fittings", {"fittings": [bolt]})
    assert [one["part"] for one in fitted["fitted"]] == ["SUMP-BOLT"]


def test_an_old_bolt_does_not_go_back_into_a_hole_that_takes_another(rebuild):
    rebuild.booked()
    found = {"finds": [{"position": "SUMP/bolt-07", "part": "SUMP-BOLT", "amount": 1}]}
    rebuild.did(rebuild.technician, "jobs/J-1/finds", found)
    removed = rebuild.did(rebuild.technician, "jobs/J-1/removals", {"removals": [{"position": "SUMP/bolt-07"}]})
    item = removed["removed"][0]["item"]
    entered(rebuild, {"size": "thread", "place": "SUMP/bolt-07", "detail": "M10, 20 mm"})
    answer = rebuild.technician.send("jobs/J-1/fittings", {"fittings": [{"position": "SUMP/bolt-07", "item": item}]})
    assert (answer.status_code, answer.json()["lines"][0]["code"]) == (422, "size-forbids")
    assert "does not go into the insert M10, 20 mm" in answer.json()["lines"][0]["detail"]


def test_readings_are_accepted_as_a_size_and_their_withdrawal_takes_it_back(job):
    pin = {"what": "journal-diameter", "gauge": "G-1", "place": "ROD-1/shells"}
    sent = [
        pin | {"value": value, "point": point}
        for value, point in (("59.978 mm", "1"), ("59.980 mm", "1"), ("59.970 mm", "2"))
    ]
    ids = [one["id"] for one in job.did(job.technician, "jobs/J-1/readings", {"readings": sent})["readings"]]
    size = {"size": "pin diameter", "place": "ROD-1/shells"}

    def refused(**more):
        answer = job.technician.send(SIZES, {"sizes": [size | more]})
        return answer.status_code, answer.json()["lines"][0]["code"]

    # The gauge was not calibrated for today: it counts only with a word why.
    assert refused(readings=ids[:2]) == (422, "size-unusable")
    said = {"detail": "the laboratory is late"}
    assert refused(readings=ids, **said) == (422, "size-unusable")
    assert refused(readings=[99_999], **said) == (404, "not-found")
    assert refused(readings=ids[:2], value="59.979 mm", gauge="G-1") == (422, "size-unusable")
    assert refused(readings=ids[:2], place="ROD-2/shells", **said) == (422, "size-unusable")
    assert refused(readings=ids[:2], size="pins", **said) == (422, "size-unusable")
    made = entered(job, size | said | {"readings": ids[:2]})["sizes"][0]
    assert made["value_nm"] == 59_979_000
    (conflict,) = job.technician.read("jobs/J-1/list").json()["conflicts"]
    assert conflict["position"] == "ROD-1/shells"
    assert "pin diameter: 59.979 mm by job J-1" in conflict["detail"]
    assert "SHELL-STD is for 59.98 mm to 60 mm" in conflict["detail"]
    entry = job.technician.read("engines/T4-00211/sizes").json()["entries"][0]
    assert (entry["readings"], entry["gauge"], entry["withdrawn"]) == (ids[:2], "G-1", "")
    job.did(job.inspector, f"jobs/J-1/readings/{ids[0]}/withdrawals", {"reason": "zero was off"})
    record = job.technician.read("engines/T4-00211/sizes").json()
    assert (record["sizes"], record["entries"][0]["withdrawn"]) == (
        [], f"reading {ids[0]} was withdrawn: zero was off",
    )  # fmt: skip
    assert job.technician.read("jobs/J-1/list").json()["conflicts"] == []
    assert refused(readings=ids[:2], **said) == (422, "size-unusable")


def test_a_ground_crank_is_entered_before_its_job_is_closed(job):
    ground = {"findings": [{"code": "ground", "place": "ENGINE"}]}
    job.did(job.technician, "jobs/J-1/findings", ground)

    def missing():
        answer = job.technician.send("jobs/J-1/closings", {"checker": job.inspector.person.username})
        return [one["position"] for one in answer.json()["values"]["open"] if one["what"] == "size not entered"]

    assert missing() == ["ENGINE"]
    entered(job, {"size": "pins", "place": "ENGINE", "value": "0.25 mm", "gauge": "G-1"})
    assert missing() == []
