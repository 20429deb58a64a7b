"""Where everything went that a job was issued, over HTTP."""

import pytest

pytestmark = pytest.mark.django_db
ZEROS = dict.fromkeys(
    ("made_here", "out_of_engine", "counted_over", "came_otherwise", "taken_apart", "counted_short", "given_back", "went_elsewhere"), 0
)  # fmt: skip


def bolts(rebuild):
    body = rebuild.technician.read("jobs/J-1/issued").json()
    assert body["adds_up"] is True
    (row,) = [one for one in body["items"] if one["part"] == "NEW-BOLT"]
    assert {name: row[name] for name in ZEROS} == ZEROS
    assert row["still_here"] == row["stands_here"]
    assert row["issued"] == row["fitted"] + row["returned"] + row["scrapped"] + row["still_here"]
    return row["issued"], row["fitted"], row["returned"], row["scrapped"], row["still_here"]


def test_issued_is_fitted_and_returned_and_scrapped_and_still_here(rebuild):
    rebuild.booked().held()
    assert rebuild.technician.read("jobs/J-1/issued").json() == {"job": "J-1", "items": [], "adds_up": True}
    rebuild.picked().looked_at()
    assert bolts(rebuild) == (10, 0, 0, 0, 10)
    handed = {"received_by": rebuild.technician.person.username}
    rebuild.did(rebuild.storekeeper, f"pick-lists/{rebuild.said['held']['pick_list']}/handovers", handed)
    item = rebuild.item("NEW-BOLT")
    scrapped = {"item": item, "amount": "2 EA", "reason": "thread torn", "who_pays": "shop"}
    act = rebuild.technician.send("jobs/J-1/scraps", scrapped).headers["Location"].rstrip("/").rsplit("/", 1)[-1]
    back = {"returns": [{"item": item, "amount": 3, "bag_sealed": True, "to_place": "R1"}]}
    rebuild.did(rebuild.technician, "jobs/J-1/returns", back)
    assert bolts(rebuild) == (10, 0, 3, 2, 5)
    # What was taken back never happened.
    rebuild.did(rebuild.manager, f"acts/{act}/corrections", {"reason": "the thread was only dirty"})
    assert bolts(rebuild) == (10, 0, 3, 0, 7)
    assert rebuild.technician.read("jobs/J-9/issued").json()["code"] == "not-found"
