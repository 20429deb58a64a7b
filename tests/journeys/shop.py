"""The demo shop for a story: its catalogue in a database of its own, its people at their clients; optionally under other names.

A shop in which every part, family, engine number, procedure, finding, person and supplier is called something else must give
the same answers: no name may matter to the program.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from datetime import datetime
from functools import cache
from typing import Any

from django.contrib.auth.models import Group

from inventory.models import Item, Part, Person
from tests.api.rest.described import DescribedClient
from tests.factories.shop import Rename, home_of, load_catalogue, renamed, same
from tests.factories.stores import PersonFactory, sheets_read
from tests.fixtures.shop_files import FAMILY_FILES, PROCEDURES, document, family_document, procedure_document

#: The families that the stories are about; the others only cost time.
FAMILIES = ("Alder-4", "Hornbeam-V8", "Rowan-6")
JOBS = {job["job"]: job for name in ("jobs", "booked") for job in document(name)["jobs"]}


@cache
def other_names() -> dict[str, str]:
    """Every name of the shop → another one, of another form too."""
    pairs: dict[str, str] = {}
    for number, part in enumerate(document("parts")["parts"]):
        pairs[part["number"]] = f"{7000 + 13 * number}K"
    for number, family in enumerate(FAMILY_FILES):
        its = family_document(family)
        pairs |= {its["code"]: f"Make{number}", its["name"]: f"Make {number}"}
        prefix, new = its["engine_numbers"]["prefix"], f"Q{'WXYZ'[number]}-"
        pairs[prefix] = new
        for found in re.findall(rf"\b{re.escape(prefix)}(\d+)", _everything()):
            pairs[prefix + found] = new + found
        for at, finding in enumerate(its["findings"]):
            pairs.setdefault(finding["code"], f"fault{number}{at:02}")
    pairs |= {code: f"W{number}0" for number, code in enumerate(PROCEDURES, 3)}
    for number, person in enumerate(document("people")["people"]):
        pairs |= {person["login"]: f"user{number}", person["name"]: f"Person Number{number}"}
    for number, supplier in enumerate(document("suppliers")["suppliers"]):
        pairs |= {supplier["code"]: f"SELLER{number}", supplier["name"]: f"Seller Number {number}"}
    return pairs


def _everything() -> str:
    names = ["jobs", "booked", "parts", "replacements", *(f"families/{file}" for file in FAMILY_FILES.values())]
    texts = [document(name) for name in names] + [procedure_document(code) for code in PROCEDURES]
    return json.dumps(texts)


def naming(which: str) -> Rename:
    """The change of names: "as written", or "renamed"."""
    return same if which == "as written" else renamed(other_names())


def fill(change: Rename) -> None:
    """Catalogue and people."""
    load_catalogue(change=change, families=FAMILIES)
    for one in change(document("people")["people"]):
        person = PersonFactory(username=one["login"])
        person.groups.add(Group.objects.get(name=one["group"]))
    sheets_read(*Person.objects.filter(groups__name="technician"))


class Story:
    """The shop in one story, all over HTTP. Names are given as the demo shop writes them; `x` gives them as they are called here."""

    def __init__(self, which: str = "as written") -> None:
        self.x = naming(which)
        #: When what is done happens; None: now. A lot is judged on that day, once the planned one has passed.
        self.at: datetime | None = None

    def client(self, login: str) -> DescribedClient:
        """Somebody's client."""
        return DescribedClient(Person.objects.get(username=self.x(login)))

    def did(self, client: DescribedClient, path: str, body: Any, **more: Any) -> Any:
        """A write that is done; its answer."""
        when = {"occurred_at": self.at.isoformat()} if self.at else {}
        answer = client.send(path, when | body, **more)
        assert answer.status_code == 201, answer.content
        return answer.json()

    def book(self, number: str, at: datetime, strip_on: str, fit_on: str, **more: Any) -> Any:
        """Book a job of the demo shop as its card says."""
        card = JOBS[number]
        findings = [{"code": found["code"], "place": place} for found in card["findings"] for place in found["places"]]
        body = {
            "number": number,
            "engine": card["engine"],
            "site": card["site"],
            "operations": card["operations"],
            "strip_on": strip_on,
            "fit_on": fit_on,
            "findings": findings,
            "new_engine": True,
        }
        return self.did(self.client("maren"), "jobs", self.x(body | more) | {"occurred_at": at.isoformat()})

    def shelve(self, part: str, pieces: int, at: datetime, *, site: str = "TB", **more: Any) -> None:
        """Receive so much of a part onto its shelf; a lot of each part that is traced by lot, with years of life."""
        row = Part.objects.get(number=self.x(part))
        line: dict[str, Any] = {"part": row.number, "amount": pieces * (1_000_000 if row.base == "microlitre" else 1)}
        if row.tracked_by == "lot":
            line["lot"] = f"{row.number}/1"
            line |= (
                {"cure_code": "1Q22"}
                if row.life.get("from") == "cure"
                else {"made_on": at.date().replace(day=1).isoformat()}
            )
        body = {
            "supplier": self.x(document("suppliers")["suppliers"][0]["code"]),
            "place": home_of(row, site, self.x),
            "lines": [line | more],
            "occurred_at": at.isoformat(),
        }
        self.did(self.client("maren"), "receipts", body)

    def shelve_story(self, story: str, at: datetime) -> None:
        """Receive the small shelf of a planted story."""
        for row in document("opening")["stories"][story]["shelf"]:
            for serial in row.get("serials", ()):
                self.shelve(
                    row["part"],
                    1,
                    at,
                    site=row["site"],
                    serial=serial,
                    set_label={"weight_mg": 416_000, "weighed": "with pin"},
                )
            if not row.get("serials"):
                self.shelve(row["part"], row["pieces"], at, site=row["site"])

    def list_of(self, job: str, **query: Any) -> Any:
        """The list of a job."""
        answer = self.client("jonah").read(f"jobs/{job}/list", **query)
        assert answer.status_code == 200, answer.content
        return answer.json()

    def named(self, amounts: dict[str, int]) -> dict[str, int]:
        """The same amounts under the names of this shop."""
        return {self.x(part): amount for part, amount in amounts.items()}

    def look(self, pick_list: int, **more: Any) -> None:
        """The checker looks at the sets and bearings that were picked of a list."""
        edda = self.client("edda")
        listed = edda.read(f"pick-lists/{pick_list}").json()["second_looks"]
        looks = [{"hold": one["hold"]} for one in listed if one["state"] == "to be looked at"]
        if looks:
            self.did(edda, f"pick-lists/{pick_list}/second-looks", {"looks": looks} | more)

    def bring(self, job: str, *, pick: Any = None, **more: Any) -> list[dict[str, Any]]:
        """Hold the job's list, pick what is held (or `pick` of it: part numbers) and hand it over, what lacks named; the held rows."""
        held = self.did(self.client("jonah"), f"jobs/{job}/holds", more)
        rows = [row for row in held["held"] if pick is None or row["part"] in {self.x(part) for part in pick}]
        piet, number = self.client("piet"), held["pick_list"]
        self.did(piet, f"pick-lists/{number}/picks", {"scans": scans(rows)})
        self.look(number)
        lacks = {row[name] for row in held["shorts"] for name in ("part", "wanted")}
        lacks |= {row["part"] for row in held["held"]} | {one["choice"] for one in held["open_choices"]}
        lacks |= {one["position"] for one in held["buy_in"]}
        body = {"received_by": self.x("jonah"), "missing": sorted(lacks)}
        self.did(piet, f"pick-lists/{number}/handovers", body)
        return rows

    def item(self, part: str, identity: str) -> int:
        """The number of an item."""
        return Item.objects.get(part__number=self.x(part), identity=identity).pk


def totals(rows: Any, name: str = "part") -> dict[str, int]:
    """Amount by part of lines, of holds, or of what was picked."""
    amounts: Counter[str] = Counter()
    for row in rows:
        amounts[row[name]] += row["amount"]
    return dict(amounts)


def scans(held: Any) -> list[dict[str, Any]]:
    """What a storekeeper scans who takes what the list names: tube, serial, lot, or part number."""
    return [{"hold": one["hold"], "scanned": one["tube"] or one["serial"] or one["lot"] or one["part"]} for one in held]
