"""A whole engine of the demo shop over HTTP, from the booking to the closed job, with one mistake at each stage.

What the stage is about is done right afterwards; each mistake is refused by the code that names it. The amounts are those of
the demo shop's worked list of this job (invented): four sets, ten head bolts, three beads.
"""

from __future__ import annotations

from collections import Counter
from datetime import UTC, datetime, timedelta
from typing import Any
from urllib.parse import quote

from inventory.models import Part
from tests.api.rest.described import DescribedClient
from tests.factories.shop import home_of
from tests.journeys.gauged import DEPTHS, HEIGHTS, of_bore, of_set, register
from tests.journeys.shop import JOBS, Story, scans, totals

JOB, ENGINE = "J1175", "A4-020744"
BENCH = quote(f"bench {JOB}")
OPENED, STRIP = datetime(2025, 1, 15, 8, tzinfo=UTC), datetime(2025, 1, 20, 8, tzinfo=UTC)
#: Gauged: not in the order in which they were held.
BORES = {"CYL-1/set": "S-0503", "CYL-2/set": "S-0502", "CYL-3/set": "S-0501", "CYL-4/set": "S-0504"}
#: Worked example of the demo shop: pieces, and what is poured or beaded in microlitres (G-705: milligrams).
LISTED = {
    "A-101": 4, "A-104": 8, "A-111": 4, "A-203": 1, "A-204": 1, "A-205": 1, "A-208": 1, "A-209": 1, "A-210": 8, "A-212": 1,
    "A-502": 10, "A-503": 8, "A-901": 1, "G-701": 15_824, "G-705": 8_000, "G-706": 5_200_000, "G-707": 3_400_000,
    "G-708": 12_000, "G-709": 4, "G-710": 3,
}  # fmt: skip
#: Sold in tubes and tins that are opened at the bench.
TUBES = ("G-701", "G-705", "G-708")


class Rebuild:
    """The job and its people; every act happens some minutes after the one before."""

    def __init__(self, story: Story) -> None:
        self.story, self.now = story, STRIP
        self.manager, self.storekeeper = story.client("maren"), story.client("piet")
        self.technician, self.inspector = story.client("jonah"), story.client("edda")
        self.tools: list[str] = []
        self.held: list[dict[str, Any]] = []
        self.last: list[dict[str, Any]] = []

    def send(self, client: DescribedClient, path: str, body: dict[str, Any]) -> Any:
        self.now += timedelta(minutes=5)
        return client.send(path, body | {"occurred_at": self.now.isoformat()})

    def did(self, client: DescribedClient, path: str, body: dict[str, Any]) -> Any:
        """What is done right; its answer."""
        answer = self.send(client, path, body)
        assert answer.status_code == 201, answer.content
        return answer.json()

    def refused(self, client: DescribedClient, path: str, body: dict[str, Any], code: str) -> None:
        """The mistake of a stage, and what it is called."""
        answer = self.send(client, path, body)
        assert (answer.json()["code"], answer.status_code >= 400) == (code, True), answer.content

    def read(self, path: str, **parameters: Any) -> Any:
        answer = self.technician.read(path, **parameters)
        assert answer.status_code == 200, answer.content
        return answer.json()

    def on_bench(self) -> list[dict[str, Any]]:
        """What stands at the job's bench."""
        return list(self.read(f"places/{BENCH}/contents", page_size=200)["results"])

    def book_and_find(self) -> None:
        card = {name: JOBS[JOB][name] for name in ("engine", "site", "operations")} | {
            "number": JOB,
            "new_engine": True,
        }
        self.refused(self.manager, "jobs", card | {"strip_on": "2025-01-25", "fit_on": "2025-01-20"}, "dates-turned")
        days = {"strip_on": "2025-01-20", "fit_on": "2025-01-25"}
        booked = self.did(self.manager, "jobs", card | days)
        assert {row["numbers"] for row in booked["number_ranges"]} == {"from A4-020450"}
        found = [{"code": row["code"], "place": place} for row in JOBS[JOB]["findings"] for place in row["places"]]
        turned = {"findings": [{"code": "valve-removed", "place": "CYL-1"}]}
        self.refused(self.technician, f"jobs/{JOB}/findings", turned, "finding-place-wrong")
        self.did(self.technician, f"jobs/{JOB}/findings", {"findings": found})

    def deliver(self) -> None:
        """What the list asks for, one delivery for each shelf, and one gasket more than that."""
        wanted: dict[str, list[dict[str, Any]]] = {}
        for number, amount in LISTED.items():
            part = Part.objects.get(number=number)
            line: dict[str, Any] = {"part": number, "amount": 1 if number in TUBES else amount}
            if number == "A-205":
                line["amount"] = 2
            if part.tracked_by == "lot":
                dated = {"cure_code": "1Q23"} if part.life.get("from") == "cure" else {"made_on": "2025-01-01"}
                line |= {"lot": f"{number}/1"} | dated
            lines = [{"part": number, "amount": 1, "serial": one} for one in sorted(BORES.values())]
            wanted.setdefault(home_of(part, "TB"), []).extend(lines if part.tracked_by == "set" else [line])
        for place, lines in wanted.items():
            self.did(self.storekeeper, "receipts", {"supplier": "Saltby", "place": place, "lines": lines})

    def list_and_hold(self) -> None:
        wrong = self.technician.read(f"jobs/{JOB}/list", since="yesterday").json()
        assert wrong["code"] == "parameter-wrong"
        assert totals(self.read(f"jobs/{JOB}/list")["lines"]) == LISTED
        held = self.did(self.technician, f"jobs/{JOB}/holds", {})
        assert held["shorts"] == []
        assert totals(held["held"]) == LISTED | dict.fromkeys(TUBES, 1)
        self.refused(self.technician, f"jobs/{JOB}/holds", {}, "nothing-to-hold")
        self.held = held["held"]
        self.list = held["pick_list"]

    def pick(self, listed: int, held: list[dict[str, Any]]) -> None:
        """By scans; one label is first that of another set."""
        told = scans(held)
        wrong = [told[0] | {"scanned": told[1]["scanned"] if len(told) > 1 else "A-111/1"}, *told[1:]]
        self.refused(self.storekeeper, f"pick-lists/{listed}/picks", {"scans": wrong}, "wrong-scan")
        picked = self.did(self.storekeeper, f"pick-lists/{listed}/picks", {"scans": told})
        assert totals(picked["picked"]) == totals(held)

    def hand_over(self, listed: int) -> list[str]:
        path = f"pick-lists/{listed}/handovers"
        self.story.look(listed)
        self.refused(self.storekeeper, path, {"received_by": "piet"}, "same-person")
        over = self.did(self.storekeeper, path, {"received_by": "jonah"})
        return list(over["tools"])

    def strip(self) -> None:
        """The old gasket is found and comes out; nothing is on record beside it."""
        at = "HEAD/gasket"
        self.refused(self.technician, f"jobs/{JOB}/removals", {"removals": [{"position": at}]}, "position-empty")
        found = {"finds": [{"position": at, "part": "A-203", "condition": "burnt through between 2 and 3"}]}
        self.did(self.technician, f"jobs/{JOB}/finds", found)
        self.did(self.technician, f"jobs/{JOB}/removals", {"removals": [{"position": at, "to": "scrap"}]})

    def give_bores(self) -> None:
        """Every set to one bore, as it was gauged."""
        twice = [{"position": position, "serial": "S-0501"} for position in ("CYL-1/set", "CYL-2/set")]
        self.refused(self.technician, f"jobs/{JOB}/bores", {"bores": twice, "reason": "gauged"}, "set-twice")
        bores = [{"position": position, "serial": serial} for position, serial in BORES.items()]
        said = self.did(self.technician, f"jobs/{JOB}/bores", {"bores": bores, "reason": "gauged dry"})
        assert said["bores"] == BORES

    def gauge(self) -> None:
        """Nothing closes over a liner of which no height is on record: each is read and judged in its own bore, dry."""
        register(self.story, OPENED, HEIGHTS, DEPTHS)
        clock = dict.fromkeys(("12", "3", "6", "9"), 130)
        rows = [one for serial in BORES.values() for one in of_set(serial, clock)]
        rows += [one for number in (1, 2, 3, 4) for one in of_bore(number, dict.fromkeys(clock, 50))]
        self.did(self.technician, f"jobs/{JOB}/readings", {"readings": rows})
        for position, serial in BORES.items():
            judged = self.did(self.technician, f"jobs/{JOB}/protrusions", {"position": position, "set": serial})
            assert judged["verdict"] == "pass"

    def one_more(self) -> None:
        """A second cover gasket is fetched in case; it is not needed and goes back in its bag."""
        wish = {"part": "A-205", "amount": 1, "reason": "damaged in fitting"}
        self.refused(self.technician, f"jobs/{JOB}/extras", wish | {"reason": "creased"}, "reason-missing")
        more = self.did(self.technician, f"jobs/{JOB}/extras", wish)
        self.pick(more["pick_list"], [{**row, "tube": "", "part": "A-205"} for row in more["held"]])
        assert self.hand_over(more["pick_list"]) == []

    def fit(self) -> None:
        """Not closed before. Every position of the list; first as the sets lie on the cart, which is not as they were gauged."""
        self.refused(self.technician, f"jobs/{JOB}/closings", {"checker": "edda"}, "job-not-done")
        opened = {}
        for row in self.held:
            if row["part"] in TUBES:
                body = {"place": f"bench {JOB}", "tube": f"{JOB}-{row['part']}", "subject": JOB}
                opened[row["part"]] = self.did(self.technician, f"items/{row['item']}/openings", body)["item"]
        sets = {row["serial"]: row["item"] for row in self.held if row["serial"]}
        density = self.read("parts/G-705")["density_mg_per_ml"]
        right, wrong = [], []
        for row in self.held:
            for position, make, amount in row["positions"]:
                poured = amount * 1000 // density if row["part"] == "G-705" else amount
                one = {"position": position, "make": make, "amount": poured}
                item = opened.get(row["part"], row["item"])
                if position.endswith(("/bead", "/fill")):
                    self.last.append(one | {"item": item})
                    continue
                wrong.append(one | {"item": item})
                right.append(one | {"item": sets[BORES[position]] if position in BORES else item})
        path = f"jobs/{JOB}/fittings"
        self.refused(self.technician, path, {"fittings": wrong, "checker": "edda"}, "wrong-bore")
        self.refused(self.technician, path, {"fittings": right}, "checker-missing")
        self.refused(self.technician, path, {"fittings": right, "checker": "edda"}, "height-undecided")
        self.gauge()
        fitted = self.did(self.technician, path, {"fittings": right, "checker": "edda"})
        assert len(fitted["fitted"]) == len(right)

    def check(self) -> None:
        """Another person looks at every piston; the water jacket holds, by the family's own limits."""
        asked = self.read("engine-families/Alder-4")["document"]["facts"]
        checks = [{"position": position, "items": asked["piston_checks"]} for position in BORES]
        path = f"jobs/{JOB}/piston-checks"
        strange = [checks[0] | {"items": ["valve seats"]}, *checks[1:]]
        self.refused(self.inspector, path, {"checks": strange}, "check-item-unknown")
        seen = self.did(self.inspector, path, {"checks": checks})["pistons"]
        assert [one["missing"] for one in seen] == [[]] * 4
        test = {"pressure": "1.0 bar", "held": "10 min", "drop": "0.05 bar", "temperature": "20 °C"}
        bead = {"fittings": [one for one in self.last if one["position"] == "SUMP/bead"]}
        self.refused(self.technician, f"jobs/{JOB}/fittings", bead, "leak-test-missing")
        path = f"jobs/{JOB}/leak-tests"
        self.refused(self.inspector, path, test | {"pressure": "1.0 L"}, "quantity-wrong-dimension")
        assert self.did(self.inspector, path, test)["good"] is True

    def seal(self) -> None:
        """Every joint by its gate; of the product no sheet is on record, so no times are held against it. Then the fills."""
        tube, part = f"{JOB}-G-701", self.read("parts/G-701")
        left = next(row for row in self.on_bench() if row["part"] == "G-701")["amount"]["amount"]
        weight = part["empty_mg"] + left * part["density_mg_per_ml"] // 1000
        for row in self.read(f"jobs/{JOB}/joints")["joints"]:
            yes = dict.fromkeys(("faces_clean_dry", "test_fit", "dowels_in"), True) | {
                "bolts": row["bolts"], "tubes": [{"tube": tube, "weight": f"{weight} mg"}],
                **({"helper": "ines"} if row["helper_listed"] else {}),
            }  # fmt: skip
            path = f"jobs/{JOB}/joints/{row['joint']}"
            self.refused(self.technician, f"{path}/gates", yes | {"dowels_in": False}, "gate-shut")
            gate = self.did(self.technician, f"{path}/gates", yes)
            assert (gate["times"], gate["closing"]) == ("no sheet", None)
            began = self.now
            weight -= gate["planned_ul"] * part["density_mg_per_ml"] // 1000
            bead = {
                "started_at": began.isoformat(), "ended_at": (began + timedelta(minutes=2)).isoformat(),
                "tubes": [{"tube": tube, "after": f"{weight} mg"}],
            }  # fmt: skip
            laid = self.did(self.technician, f"{path}/beads", bead)
            self.did(self.technician, f"jobs/{JOB}/fittings", {"fittings": laid["fit"], "checker": "edda"})
        fills = [one for one in self.last if one["position"].endswith("/fill")]
        self.did(self.technician, f"jobs/{JOB}/fittings", {"fittings": fills})

    def tidy(self) -> None:
        """The gasket goes back to its shelf, rests of tubes are scrapped, the tools go back to the crib."""
        left = {row["part"]: row for row in self.on_bench()}
        assert sorted(left) == ["A-205", *TUBES]
        back = {"item": left["A-205"]["item"], "amount": 1, "bag_sealed": True}
        self.refused(self.technician, f"jobs/{JOB}/returns", {"returns": [back | {"amount": 2}]}, "not-there")
        said = self.did(self.technician, f"jobs/{JOB}/returns", {"returns": [back]})["returned"]
        assert [(row["part"], row["to"]) for row in said] == [("A-205", "stock")]
        words = {"reason": "rest: the nozzle has cured", "who_pays": "job"}
        for part in TUBES:
            rest = {"item": left[part]["item"], "amount": left[part]["amount"]["amount"]}
            self.refused(self.technician, f"jobs/{JOB}/scraps", rest | words | {"origin": "cart"}, "not-there")
            self.did(self.technician, f"jobs/{JOB}/scraps", rest | words)
        assert self.on_bench() == []
        self.refused(self.storekeeper, f"jobs/{JOB}/tool-returns", {"tools": ["ladder"]}, "not-on-loan")
        tools = self.did(self.storekeeper, f"jobs/{JOB}/tool-returns", {"tools": self.tools})
        assert (sorted(tools["back"]), tools["still_out"]) == (sorted(self.tools), [])

    def close(self) -> None:
        self.refused(self.technician, f"jobs/{JOB}/closings", {"checker": "jonah"}, "same-person")
        self.did(self.technician, f"jobs/{JOB}/closings", {"checker": "edda"})
        assert self.read(f"jobs/{JOB}")["state"] == "closed"
        self.refused(self.technician, f"jobs/{JOB}/holds", {}, "job-ended")


def test_a_whole_engine_from_the_booking_to_the_closed_job(story: Story) -> None:
    job = Rebuild(story)
    job.book_and_find()
    job.deliver()
    job.list_and_hold()
    job.pick(job.list, job.held)
    job.tools = job.hand_over(job.list)
    job.strip()
    job.give_bores()
    job.one_more()
    job.fit()
    job.check()
    job.seal()
    job.tidy()
    job.close()
    contents_are_the_list(job)
    the_story_and_the_books_tell_the_same(job)


def contents_are_the_list(job: Rebuild) -> None:
    """Piece by piece what the list asked for, each set in the bore it was gauged for, and nothing else."""
    rows = job.read(f"engines/{ENGINE}/contents")["contents"]
    density = job.read("parts/G-705")["density_mg_per_ml"]
    assert totals(rows) == LISTED | {"G-705": 4 * (2000 * 1000 // density)}
    assert {row["position"]: row["serial"] for row in rows if row["part"] == "A-101"} == BORES
    assert {(row["job"], row["fitter"], row["reused"]) for row in rows} == {(JOB, "jonah", False)}
    engine = job.read(f"engines/{ENGINE}")
    assert (engine["last_job"], engine["last_job_on"]) == (JOB, "2025-01-20")


def the_story_and_the_books_tell_the_same(job: Rebuild) -> None:
    """What happened to the engine, to one set, and to one lot."""
    rows = job.read(f"engines/{ENGINE}/contents")["contents"]
    story = job.read(f"engines/{ENGINE}/story")
    told = Counter(event["what"] for event in story["events"])
    once = {"booked": 1, "found in engine": 1, "removed": 1, "closed": 1}
    assert told == once | {"finding": 14, "judged": 4, "fitted": len(rows)}
    history = job.read("matched-sets/S-0501/history")
    assert [step["kind"] for step in history["steps"]] == ["receive", "pick", "hand over", "fit"]
    assert history["steps"][0]["said"] == "received from the supplier"
    assert [(one["place"], one["spot"]) for one in history["now"]] == [(ENGINE, "CYL-3/set")]
    lot = job.read("lots", part="A-205")["results"][0]["id"]
    where = job.read(f"lots/{lot}/whereabouts")
    numbers = where["sum"]
    assert (numbers["came"], numbers["in_engines"], numbers["loose"], numbers["difference"]) == (2, 1, 1, 0)
    assert [row["place"] for row in where["engines"]] == [ENGINE]
    assert job.read("refusals", kind="fit", subject=JOB)["results"][-1]["code"] == "wrong-bore"
