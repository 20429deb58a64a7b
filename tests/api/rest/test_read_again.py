"""What was read anew or cut after it was judged is judged again: a verdict, a layout and a joint go by nothing older."""

import pytest

from tests.factories.measuring import DRY, gauge

pytestmark = pytest.mark.django_db
ROUND = ("12", "3", "6", "9")
TWO = [{"code": "chosen", "place": "CYL-1"}, {"code": "chosen", "place": "CYL-2"}]


def in_date(rebuild):
    """A gauge of u = 3 µm: U of a height is 8 µm, of one kind of reading 6 µm."""
    gauge("G-1", due=None)
    made = {"done_on": "2024-07-01", "next_due": "2999-06-30", "master": "M-1", "done_by": "the laboratory"}
    rebuild.did(rebuild.inspector, "gauges/G-1/calibrations", made)
    return rebuild


@pytest.fixture
def bench(rebuild):
    """Set S-1 at the bench for CYL-1. The family's limits: 0.050 to 0.120 mm over the block."""
    return in_date(rebuild.at_bench())


def read(rebuild, what, um, **where):
    """Readings round a liner or a bore, micrometres above 93 mm; their ids."""
    more = {"what": what, "gauge": "G-1", "value": f"{93_000 + um} um"} | DRY | where
    body = {"readings": [more | {"point": point} for point in ROUND]}
    return [one["id"] for one in rebuild.did(rebuild.technician, "jobs/J-1/readings", body)["readings"]]


def bore(rebuild, um, place="CYL-1"):
    return read(rebuild, "block-depth", um, place=place)


def judge(rebuild):
    return rebuild.technician.send("jobs/J-1/protrusions", {"position": "CYL-1/set", "set": "S-1"})


def judged(rebuild):
    """The height of S-1 in CYL-1: its result and verdict."""
    answer = judge(rebuild)
    assert answer.status_code == 201, answer.content
    return answer.json()["result"], answer.json()["verdict"]


def good(rebuild):
    """0.080 mm over the block; the result."""
    read(rebuild, "liner-height", 100, set="S-1")
    bore(rebuild, 20)
    result, verdict = judged(rebuild)
    assert verdict == "pass"
    return result


def cut(rebuild, size="seat", place="CYL-1", **more):
    line = {"size": size, "place": place, "value": "0.07 mm", "gauge": "G-1"} | more
    return rebuild.did(rebuild.technician, "jobs/J-1/sizes", {"sizes": [line]})["sizes"][0]["id"]


def fit(rebuild, position="CYL-1/set", serial="S-1", **more):
    """Fit a set: status, and code and words of its line where it is refused."""
    one = {"position": position, "item": rebuild.item("SET", f"serial={serial}")} | more
    checked = {"checker": rebuild.inspector.person.username}
    answer = rebuild.technician.send("jobs/J-1/fittings", {"fittings": [one]} | checked)
    first = next(iter(answer.json().get("lines", ())), {})
    return answer.status_code, first.get("code", ""), first.get("detail", "")


def results(rebuild):
    return {one["id"]: (one["stale"], one["why"]) for one in rebuild.technician.rows("jobs/J-1/results")}


def again(rebuild):
    """Open lines that ask for another verdict: (place, kind, why)."""
    left = rebuild.technician.read("jobs/J-1/open-lines").json()["open"]
    return [(one["position"], one["name"], one["why"]) for one in left if one["what"] == "judge again"]


def test_a_bore_that_is_read_deeper_since_asks_for_another_verdict_before_the_set_goes_in(bench):
    result = good(bench)
    assert results(bench) == {result: (False, [])}
    ids = bore(bench, 80)
    why = [f"reading {one} of CYL-1 was taken since it was judged" for one in ids]
    assert results(bench) == {result: (True, why)}
    status, code, words = fit(bench)
    assert (status, code) == (422, "verdict-stale")
    assert (
        f"into CYL-1/set: result {result}, protrusion of CYL-1/set, does not say it any more: {'; '.join(why)}" in words
    )
    # Two that are 60 µm apart agree on nothing: it is read once more, and then the newest has to be among those that agree.
    assert judge(bench).json()["code"] == "height-not-read"
    bore(bench, 80)
    # 0.020 mm over the block
    result, verdict = judged(bench)
    assert verdict == "fail"
    assert fit(bench)[:2] == (422, "verdict-fails")
    assert results(bench)[result] == (False, [])


def test_what_was_read_by_mistake_is_withdrawn_and_the_verdict_stands_again(bench):
    result = good(bench)
    ids = bore(bench, 80)
    assert fit(bench)[1] == "verdict-stale"
    for one in ids:
        bench.did(bench.technician, f"jobs/J-1/readings/{one}/withdrawals", {"reason": "the next bore"})
    assert results(bench) == {result: (False, [])}
    assert fit(bench)[0] == 201


def test_what_fails_goes_on_failing_until_it_is_judged_anew(bench):
    read(bench, "liner-height", 100, set="S-1")
    bore(bench, 80)
    result, verdict = judged(bench)
    assert verdict == "fail"
    bore(bench, 81)
    assert results(bench)[result][0] is True
    assert fit(bench)[:2] == (422, "verdict-fails")


def test_a_reading_of_another_bore_or_with_rings_on_changes_nothing(bench):
    result = good(bench)
    bore(bench, 80, "CYL-2")
    read(bench, "block-depth", 80, place="CYL-1", without_rubber=False)
    assert results(bench) == {result: (False, [])}
    assert fit(bench)[0] == 201


def test_a_cut_closes_what_was_read_before_it(bench):
    result = good(bench)
    bore(bench, 21)
    judged(bench)
    entry = cut(bench)
    rows = bench.technician.rows("jobs/J-1/readings", what="block-depth")
    closed = f"seat at CYL-1 was entered since (entry {entry} of job J-1, 0.07 mm)"
    assert {(one["closed"], one["computed_with"], one["withdrawn"]) for one in rows} == {(closed, False, "")}
    heights = bench.technician.rows("jobs/J-1/readings", what="liner-height")
    assert {(one["closed"], one["computed_with"]) for one in heights} == {("", True)}
    status, code, words = fit(bench)
    assert (status, code) == (422, "verdict-stale")
    assert closed in words
    # There is nothing to judge by until the bore is read again; then that reading alone counts, not the middle of the three.
    assert judge(bench).json()["code"] == "height-not-read"
    bore(bench, 91)
    result, verdict = judged(bench)
    assert verdict == "fail"
    (points,) = [one["document"]["points"] for one in bench.technician.rows("jobs/J-1/results") if one["id"] == result]
    assert {one["height_nm"] for one in points} == {9_000}


def test_a_cut_that_was_entered_wrongly_closes_nothing_once_it_is_withdrawn(bench):
    result = good(bench)
    entry = cut(bench)
    assert results(bench)[result][0] is True
    bench.did(bench.technician, f"jobs/J-1/sizes/{entry}/withdrawals", {"reason": "of another engine"})
    assert results(bench) == {result: (False, [])}
    assert fit(bench)[0] == 201


@pytest.mark.parametrize(
    ("size", "place", "stale"),
    [
        ("seat", "CYL-2", False),
        # The deck of the left bank: a bore's depth is read from it.
        ("deck", "HEAD-LEFT/gasket", True),
        ("deck", "HEAD-RIGHT/gasket", False),
        ("pins", "ENGINE", False),
    ],
)
def test_which_cut_is_of_the_surface_that_was_read(bench, size, place, stale):
    result = good(bench)
    cut(bench, size, place)
    assert results(bench)[result][0] is stale


def test_three_readings_of_which_the_newest_is_off_are_no_verdict(bench):
    """Nobody entered what was cut: the middle of three would be the depth that is gone."""
    good(bench)
    bore(bench, 21)
    judged(bench)
    bore(bench, 91)
    assert judge(bench).json()["code"] == "height-not-read"
    assert fit(bench)[:2] == (422, "verdict-stale")


def test_a_set_that_is_in_and_read_anew_keeps_the_job_open_and_is_not_closed_over(bench):
    result = good(bench)
    assert fit(bench)[0] == 201
    assert again(bench) == []
    ids = read(bench, "liner-height", 101, set="S-1")
    why = "; ".join(f"reading {one} of S-1 was taken since it was judged" for one in ids)
    assert again(bench) == [("CYL-1", "protrusion", why)]
    closed = bench.technician.send("jobs/J-1/closings", {"checker": bench.inspector.person.username})
    assert closed.json()["code"] == "job-not-done"
    assert judged(bench) == (result + 1, "pass")
    assert again(bench) == []


def test_a_clearance_of_a_set_that_is_in_is_judged_again_too(bench):
    cool = {"part_temperature": "20 °C", "gauge_temperature": "20 °C"}
    more = {"gauge": "G-1", "set": "S-1", "confirmed": True, "reason": "read twice"} | cool
    points = ("top/along", "top/across", "bottom/along", "bottom/across")
    lines = [more | {"what": "bore-diameter", "value": "86.015 mm", "point": point} for point in points]
    piston = more | {"what": "piston-diameter", "value": "85.905 mm", "point": "14 mm"}
    bench.did(bench.technician, "jobs/J-1/readings", {"readings": [*lines, piston]})
    asked = {"kind": "piston clearance", "set": "S-1"}
    assert bench.did(bench.technician, "jobs/J-1/verdicts", asked)["verdict"] == "pass"
    bench.did(bench.technician, "jobs/J-1/readings", {"readings": [piston | {"value": "85.906 mm"}]})
    assert fit(bench)[:2] == (422, "verdict-stale")
    assert bench.did(bench.technician, "jobs/J-1/verdicts", asked)["verdict"] == "pass"
    assert fit(bench)[0] == 201
    bench.did(bench.technician, "jobs/J-1/readings", {"readings": [piston]})
    assert [(place, kind) for place, kind, _ in again(bench)] == [("S-1", "piston clearance")]


@pytest.fixture
def laid_out(rebuild):
    """Two sets at the bench, their layout accepted; the rebuild, and set → its bore."""
    rebuild.booked(findings=TWO).held().picked().looked_at()
    to = {"received_by": rebuild.technician.person.username}
    rebuild.did(rebuild.storekeeper, f"pick-lists/{rebuild.said['held']['pick_list']}/handovers", to)
    in_date(rebuild)
    for place in ("CYL-1", "CYL-2"):
        bore(rebuild, 20, place)
    for serial in ("S-1", "S-2"):
        read(rebuild, "liner-height", 100, set=serial)
    shown = rebuild.technician.read("jobs/J-1/layout").json()
    assert shown["outcome"] == "certain", shown
    names = ("position", "serial", "turn_deg", "shim_nm")
    bores = [{name: one[name] for name in names} for one in shown["bores"] if not one["stays"]]
    rebuild.did(rebuild.technician, "jobs/J-1/layout-acceptances", {"bores": bores})
    return rebuild, {one["serial"]: one["position"] for one in bores}


@pytest.mark.parametrize("how", ["cut", "read"])
def test_a_layout_does_not_hold_after_one_of_its_bores_was_cut_or_read_anew(laid_out, how):
    rebuild, at = laid_out
    place = at["S-2"].partition("/")[0]
    cut(rebuild, place=place) if how == "cut" else bore(rebuild, 80, place)
    (layout,) = rebuild.technician.read("jobs/J-1/layout-acceptances").json()["layouts"]
    assert (layout["stands"], layout["why"] != []) == (False, True)
    for serial, position in at.items():
        status, code, _ = fit(rebuild, position, serial)
        assert (status, code) == (422, "layout-stale")


def test_sets_that_went_in_by_a_layout_are_judged_again_where_their_bore_was_cut_since(laid_out):
    rebuild, at = laid_out
    for serial, position in at.items():
        assert fit(rebuild, position, serial)[0] == 201
    assert again(rebuild) == []
    bore_2 = at["S-2"].partition("/")[0]
    entry = cut(rebuild, place=bore_2)
    ((place, kind, why),) = again(rebuild)
    assert (place, kind) == (bore_2, "protrusion")
    assert f"(entry {entry} of job J-1, 0.07 mm)" in why
    # A verdict on that bore by what is read since answers it.
    bore(rebuild, 20, bore_2)
    body = {"position": at["S-2"], "set": "S-2"}
    assert rebuild.did(rebuild.technician, "jobs/J-1/protrusions", body)["verdict"] == "pass"
    assert again(rebuild) == []
