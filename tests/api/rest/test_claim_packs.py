"""The pack of a claim over HTTP: from the build sheet, with what came out since, papers, and every gap in its place and in the list."""

import html
import re
from base64 import b64encode

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.domain.certificates import checksum
from inventory.models import Item
from kits.models import Job
from tests.api.rest.clients import ShopClient, somebody
from tests.api.rest.rebuilds import job_body
from tests.api.rest.test_owner_claims import CAUSE, CLAIMS, TOLD, handed_over
from tests.factories.papers import PDF

pytestmark = pytest.mark.django_db


@pytest.fixture
def clerk(rebuild):
    """The warranty clerk."""
    return ShopClient(somebody("warranty clerk"))


def claimed(rebuild, clerk, **more):
    """The set of J-1 was fitted, and the engine went out; a claim on it."""
    handed_over(rebuild, clerk)
    return rebuild.did(clerk, CLAIMS, TOLD | {"things": [{"position": "CYL-1/set"}]} | more)["claim"]


def pack_of(clerk, claim):
    answer = clerk.read(f"claims/{claim}/pack")
    assert answer.status_code == 200, answer.content
    return answer.json()


def cells(clerk, claim):
    """The printed pack: text of all its cells, and how many sheets there are."""
    answer = clerk.read(f"claims/{claim}/pack", format="html")
    assert (answer.status_code, answer["Content-Type"]) == (200, "text/html; charset=utf-8")
    page = answer.content.decode()
    found = [html.unescape(text) for text in re.findall(r"<td(?: class=\"\w+\")?>(.*?)</td>", page, re.DOTALL)]
    return [" ".join(text.split()) for text in found], page.count('<section class="sheet">')


def test_what_was_built_is_the_build_sheet_and_the_claim_is_the_claim(rebuild, clerk):
    claim = claimed(rebuild, clerk)
    pack = pack_of(clerk, claim)
    assert pack["build_sheet"] == clerk.read("jobs/J-1/build-sheet").json()
    assert pack["claim"] == clerk.read(f"claims/{claim}").json()
    assert {name: pack["job"][name] for name in ("number", "booked_by", "family_revision")} == {
        "number": "J-1", "booked_by": rebuild.manager.person.username, "family_revision": 1,
    }  # fmt: skip
    assert pack["job"]["handed_over"]["on"] == "2025-02-04"
    signed = {one["what"]: one["who"] for one in pack["signatures"]}
    assert signed["fitted: 1 of 1 positions"] == rebuild.technician.person.username
    assert signed["checked: 1 of 1 positions"] == rebuild.inspector.person.username
    assert signed["released after the first run"] == rebuild.inspector.person.username
    assert (signed["handed over to the customer"], signed["cause stated"]) == (clerk.person.username, "")
    assert [one["title"] for one in pack["contents"]][-1] == "What is missing"


def test_every_gap_is_printed_in_its_place_and_listed(rebuild, clerk):
    claim = claimed(rebuild, clerk)
    pack = pack_of(clerk, claim)
    printed, sheets = cells(clerk, claim)
    listed = sum(len(gap["rows"]) or 1 for gap in pack["missing"])
    assert listed == printed.count("not recorded") == sum(one["gaps"] for one in pack["contents"]) > 10
    named = {(gap["section"], gap["what"]) for gap in pack["missing"]}
    assert {("Claim sheet", "cause"), ("Claim sheet", "answer"), ("Claim sheet", "oil sample")} <= named
    for gap in pack["missing"]:  # the list itself is on the last sheets
        assert gap["section"] in printed
    # A gap that is filled is none any more.
    rebuild.did(rebuild.inspector, f"claims/{claim}/causes", CAUSE)
    after = {(gap["section"], gap["what"]) for gap in pack_of(clerk, claim)["missing"]}
    assert named - after >= {("Claim sheet", "cause"), ("Claim sheet", "evidence"), ("Claim sheet", "oil sample")}
    assert ("Claim sheet", "coolant sample") in after
    assert sheets >= len(pack["contents"]) + 1


def test_the_contents_name_the_sheets(rebuild, clerk):
    claim = claimed(rebuild, clerk, what="coolant in the oil\n" * 150, photos=[f"photo {at}" for at in range(90)])
    printed, sheets = cells(clerk, claim)
    lines = [printed[at : at + 4] for at in range(0, 12 * 4, 4)]
    assert [line[1] for line in lines] == [one["title"] for one in pack_of(clerk, claim)["contents"]]
    spans = [[int(page) for page in line[2].split(" to ")] for line in lines]
    assert [spans[0][0], spans[-1][-1]] == [2, sheets]
    assert [after[0] - before[-1] for before, after in zip(spans, spans[1:], strict=False)] == [1] * 11
    assert (len(spans[0]), len(spans[7])) == (2, 2)  # claim and photographs go on over more than one


def test_what_came_out_since_is_told_with_its_job(rebuild, clerk):
    claim = claimed(rebuild, clerk)
    assert (pack_of(clerk, claim)["removed_since"], pack_of(clerk, claim)["build_sheet"]["positions"][0]["there"]) == (
        [], True,
    )  # fmt: skip
    rebuild.did(rebuild.manager, "jobs", job_body(number="J-2", new_engine=False))
    rebuild.did(rebuild.technician, "jobs/J-2/removals", {"removals": [{"position": "CYL-1/set", "reason": "cracked"}]})
    pack = pack_of(clerk, claim)
    (out,) = pack["removed_since"]
    assert (out["position"], out["called"], out["job"], out["went_to"], out["reason"]) == (
        "CYL-1/set", "S-1", "J-2", "bench", "cracked",
    )  # fmt: skip
    assert pack["build_sheet"]["positions"][0]["there"] is False
    printed, _ = cells(clerk, claim)
    assert printed[printed.index("J-2") - 4 : printed.index("J-2")][:3] == ["CYL-1/set", "SET", "S-1"]


def test_lots_come_with_their_receipt_and_certificates(rebuild, clerk):
    rebuild.at_bench()
    held = next(row for row in rebuild.said["held"]["held"] if row["lot"] and row["positions"])
    ring = Item.objects.get(part__number=held["part"], lot__code=held["lot"])
    fitting = {"position": held["positions"][0][0], "item": ring.pk}
    checker = rebuild.inspector.person.username
    rebuild.did(rebuild.technician, "jobs/J-1/fittings", {"fittings": [fitting], "checker": checker})
    Job.objects.update(state="closed")
    claim = rebuild.did(clerk, CLAIMS, TOLD | {"job": "J-1", "things": [{"position": fitting["position"]}]})["claim"]
    bare = pack_of(clerk, claim)
    (lot,) = bare["lots"]
    assert (lot["part"], lot["lot"], lot["certificates"]) == (held["part"], held["lot"], [])
    assert lot["received_on"] == ring.lot.received_on.isoformat()
    papers = "what the job fitted, by lot and by serial: certificates"
    assert {gap["what"]: gap["rows"] for gap in bare["missing"]}[papers] == [held["lot"]]
    body = {
        "number": "C-7",
        "dated_on": "2024-12-01",
        "printed_lots": [held["lot"]],
        "supplier": ring.lot.supplier.code,
    }
    file = {"filename": "c7.pdf", "content_type": "application/pdf", "content": b64encode(PDF).decode()}
    rebuild.did(clerk, "certificates", body | file | {"lots": [ring.lot_id]})
    pack = pack_of(clerk, claim)
    ((paper,),) = [one["certificates"] for one in pack["lots"]]
    assert (paper["number"], paper["sha256"], paper["speaks_of_it"]) == ("C-7", checksum(PDF), True)
    assert papers not in {gap["what"] for gap in pack["missing"]}
    printed, _ = cells(clerk, claim)
    assert [text for text in printed if checksum(PDF) in text.replace(" ", "")] != []


def test_as_many_queries_for_four_things_as_for_one(rebuild, clerk):
    claim = claimed(rebuild, clerk)
    with CaptureQueriesContext(connection) as one:
        pack_of(clerk, claim)
    things = [{"position": name} for name in ("LIFTER-3/lifter", "OIL/fill", "CYL-2/set")]
    rebuild.did(clerk, f"claims/{claim}/things", {"things": things})
    with CaptureQueriesContext(connection) as four:
        pack_of(clerk, claim)
    assert len(four) == len(one)


def test_what_is_not_there_or_not_asked_rightly_is_refused(rebuild, clerk):
    claim = claimed(rebuild, clerk)
    assert clerk.read("claims/999999/pack").json()["code"] == "not-found"
    assert clerk.read(f"claims/{claim}/pack", format="pdf").json()["code"] == "parameter-wrong"
    assert clerk.read("claims/999999/pack", format="html").status_code == 404
    assert ShopClient().read(f"claims/{claim}/pack").json()["code"] == "not-logged-in"
