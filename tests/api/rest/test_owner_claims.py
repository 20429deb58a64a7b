"""Claims of owners over HTTP, as the warranty clerk enters, answers and closes them."""

import uuid
from datetime import timedelta

import pytest

from inventory.models import Act, Item
from inventory.queries.days import shop_day
from kits.domain.owner_claims import ThingIn
from kits.models import Job
from kits.services.owner_claims import enter_claim
from tests.api.rest.clients import ShopClient, somebody
from tests.api.rest.rebuilds import job_body
from tests.factories.acts import done
from tests.factories.stores import stamp

pytestmark = pytest.mark.django_db

CLAIMS = "engines/T4-00211/claims"
TOLD = {"told_on": "2025-03-01", "told_by": "owner", "what": "coolant in the oil after 900 h"}
CAUSE = {"cause": "set cracked", "found_by": "laboratory", "evidence": "report 7", "oil_sample": "O-12"}


@pytest.fixture
def clerk(rebuild):
    """The warranty clerk."""
    return ShopClient(somebody("warranty clerk"))


def handed_over(rebuild, clerk):
    """A set is fitted on J-1, it ran, is closed (by the row) and went out on 2025-02-04; the item that was fitted."""
    rebuild.at_bench()
    second, item = rebuild.inspector.person.username, Item.objects.get(part__number="SET", identity="serial=S-1").pk
    fitting = {"fittings": [{"position": "CYL-1/set", "item": item}], "checker": second}
    rebuild.did(rebuild.technician, "jobs/J-1/fittings", fitting)
    run = {"run_on": "2025-02-03", "values": [{"name": "oil pressure", "value": "3 bar"}], "released_by": second}
    rebuild.did(rebuild.technician, "jobs/J-1/first-runs", run)
    Job.objects.update(state="closed")
    rebuild.did(clerk, "jobs/J-1/engine-handovers", {"handed_over_on": "2025-02-04"})
    return item


def problem(answer):
    return answer.status_code, answer.json()["code"]


def test_a_claim_from_the_telephone_to_its_closing(rebuild, clerk):
    item = handed_over(rebuild, clerk)
    # He reads the number over the telephone, one digit wrong: what is near is named.
    wrong = clerk.send("engines/T4-00212/claims", TOLD)
    assert (problem(wrong), wrong.json()["ways_out"]) == ((422, "engine-unknown"), ["Is it T4-00211?"])
    key, said = uuid.uuid4(), TOLD | {"meters": [{"meter": "hours", "shows": "900", "photo_ref": "photo 1"}]}
    made = rebuild.did(clerk, CLAIMS, said, key=key)
    assert rebuild.did(clerk, CLAIMS, said, key=key) == made
    assert (made["job"], made["term"]["handed_over_on"], made["things"]) == ("J-1", "2025-02-04", [])
    path = f"claims/{made['claim']}"
    assert problem(clerk.send(f"{path}/closings", {})) == (422, "claim-cause-missing")
    # What it is about is known after the strip: the set that the job fitted there is found by itself.
    things = [{"position": "CYL-1/set", "what": "cracked", "photo_ref": "photo 2"}]
    assert rebuild.did(clerk, f"{path}/things", {"things": things})["things"][0]["item"] == item
    lines = [*things, {"position": "CYL-9/set"}]
    assert problem(clerk.send(f"{path}/things", {"things": lines})) == (422, "position-unknown")
    elsewhere = clerk.send(f"{path}/things", {"things": [{"position": "CYL-2/set", "item": item}]})
    assert problem(elsewhere) == (422, "claim-thing-elsewhere")
    # The inspector says why, and later better.
    first = rebuild.did(rebuild.inspector, f"{path}/causes", CAUSE | {"cause": "overheated"})["cause"]
    assert problem(clerk.send(f"{path}/causes", CAUSE)) == (409, "claim-entry-stands")
    second = rebuild.did(clerk, f"{path}/causes", CAUSE | {"instead_of": first})["cause"]
    assert problem(clerk.send(f"{path}/closings", {})) == (422, "claim-answer-missing")
    answer = rebuild.did(clerk, f"{path}/answers", {"answer": "accepted", "reason": "inside the term"})["answer"]
    closed = rebuild.did(clerk, f"{path}/closings", {})
    assert (closed["state"], closed["cause"], closed["answer"]) == ("closed", second, answer)
    assert problem(clerk.send(f"{path}/closings", {})) == (409, "claim-ended")
    shown = clerk.read(path).json()
    assert [(one["cause"], one["stands"]) for one in shown["causes"]] == [("overheated", False), ("set cracked", True)]
    assert [(one["position"], one["serial"], one["photo"]) for one in shown["things"]] == [
        ("CYL-1/set", "S-1", "photo 2"),
    ]  # fmt: skip
    assert (shown["state"], shown["lacking"], shown["repeated"]) == ("closed", [], False)
    assert (shown["term"], [one["shows"] for one in shown["readings"]]) == (made["term"], ["900 h"])
    # A second failure of the same position is flagged, and a claim is taken back by no correction.
    again = rebuild.did(clerk, CLAIMS, TOLD | {"things": [{"position": "CYL-1/set"}], "told_on": "2025-03-02"})
    assert again["repeats"] == [{"claim": made["claim"], "position": "CYL-1/set"}]
    act = clerk.rows("acts", kind="enter claim")[0]["id"]
    asked = rebuild.manager.send(f"acts/{act}/corrections", {"reason": "typed twice"})
    assert asked.json()["ways_out"] == ["Take the claim back, with the reason."]
    rebuild.did(clerk, f"claims/{again['claim']}/takings-back", {"reason": "told twice"})
    rebuild.did(clerk, f"{path}/reopenings", {"reason": "it leaks again"})
    story = [one for one in clerk.read("engines/T4-00211/story").json()["events"] if "claim" in one["what"]]
    assert [(one["what"], one["by"] == clerk.person.username, one["why"]) for one in story] == [
        ("claimed", True, ""), ("claim closed", True, ""), ("claimed", True, ""), ("claim taken back", True, "told twice"),
        ("claim opened again", True, "it leaks again"),
    ]  # fmt: skip
    assert [one["said"] for one in story][:2] == [
        f"claim {made['claim']}, told on 2025-03-01 by owner: coolant in the oil after 900 h",
        f"claim {made['claim']}: accepted",
    ]
    assert problem(clerk.send(f"{path}/reopenings", {"reason": "again"})) == (409, "claim-open")


def test_what_came_out_before_the_claim_was_told_is_not_what_failed(rebuild, clerk):
    item = handed_over(rebuild, clerk)
    rebuild.did(rebuild.manager, "jobs", job_body(number="J-2", new_engine=False))
    out = {"removals": [{"position": "CYL-1/set", "reason": "cracked"}]}
    rebuild.did(rebuild.technician, "jobs/J-2/removals", out)
    removed = Act.objects.get(kind="remove").occurred_at

    def sat(days, **thing):
        """Which item a claim names that is told so many days after that."""
        when = removed + timedelta(days=days)
        said = TOLD | {"engine": "T4-00211", "job": "J-1", "told_on": shop_day(when)}
        made = done(enter_claim, **said, things=[ThingIn("CYL-1/set", **thing)], stamp=stamp(when))
        return made["things"][0]["item"]

    assert sat(0) == item  # it may have come out because of the claim
    assert (sat(2), sat(2, item_id=item)) == (None, item)


def test_the_list_is_filtered_and_costs_the_same_for_one_and_for_three(rebuild, clerk, django_assert_num_queries):
    handed_over(rebuild, clerk)
    first = rebuild.did(clerk, CLAIMS, TOLD | {"things": [{"position": "CYL-1/set"}]})["claim"]

    def listed(**asked):
        return [one["claim"] for one in clerk.rows("claims", **asked)]

    assert listed() == [first]
    with django_assert_num_queries(8):
        listed()
    second, third = (
        rebuild.did(clerk, CLAIMS, TOLD | {"told_on": f"2025-03-0{day}", "photos": ["p"]})["claim"] for day in (2, 3)
    )
    rebuild.did(clerk, f"claims/{second}/takings-back", {"reason": "told twice"})
    rebuild.did(rebuild.inspector, f"claims/{third}/causes", CAUSE)
    with django_assert_num_queries(8):
        assert listed() == [third, second, first]
    assert listed(engine="T4-00211", job="J-1", ordering="pk") == [first, second, third]
    assert [one["claim"] for one in clerk.rows("engines/T4-00211/claims")] == [third, second, first]
    near = clerk.read("engines/T4-00121/claims")
    assert (problem(near), near.json()["values"]["near"]) == ((404, "not-found"), ["T4-00211"])
    assert listed(state="open") == [third, first]
    assert (listed(state="taken back"), listed(state="closed")) == ([second], [])
    assert (listed(position="CYL-1/set"), listed(engine="T4-00212"), listed(told_from="2025-03-03")) == (
        [first], [], [third],
    )  # fmt: skip
    assert problem(clerk.read("claims", state="perhaps")) == (400, "fields-wrong")
    assert problem(clerk.read("claims/999999")) == (404, "not-found")


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"told_on": "soon"}, "told_on"),
        ({"told_by": ""}, "told_by"),
        ({"what": 7}, "what"),
        ({"meters": [{"meter": "miles", "shows": 1}]}, "meters"),
        ({"meters": [{"meter": "hours", "shows": "1.23"}]}, "meters"),
        ({"things": [{"position": "CYL-1/set", "colour": "red"}]}, "things"),
        ({"photos": [""]}, "photos"),
        ({"name": "of the owner"}, "name"),
    ],
)
def test_a_malformed_claim_is_refused_by_its_field(rebuild, clerk, wrong, field):
    answer = clerk.send(CLAIMS, TOLD | wrong)
    assert problem(answer) == (400, "fields-wrong")
    assert [name.partition(".")[0] for name in answer.json()["values"]["fields"]] == [field]


def test_who_is_no_clerk_reads_claims_and_enters_none(rebuild, clerk):
    handed_over(rebuild, clerk)
    claim = rebuild.did(clerk, CLAIMS, TOLD)["claim"]
    for client in (rebuild.manager, rebuild.technician, rebuild.storekeeper):
        assert client.read(f"claims/{claim}").json()["what"] == TOLD["what"]
        assert problem(client.send(CLAIMS, TOLD)) == (403, "not-allowed")
        assert problem(client.send(f"claims/{claim}/causes", CAUSE)) == (403, "not-allowed")
    assert problem(rebuild.inspector.send(f"claims/{claim}/answers", {})) == (403, "not-allowed")
