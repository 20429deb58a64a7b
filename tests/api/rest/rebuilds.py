"""A rebuild of the small test engine over HTTP, one step after the other, for the tests of the job resources."""

from __future__ import annotations

import copy
from dataclasses import dataclass, field
from datetime import timedelta
from typing import Any

from django.utils import timezone

from inventory.models import Item
from inventory.services.receive import ReceiveLine
from kits.models import CribTool
from kits.services.families import enter_family, enter_procedure
from tests.api.rest.clients import ShopClient, somebody
from tests.api.rest.described import DescribedClient
from tests.factories.engines import family_document, operation_documents
from tests.factories.stores import PartFactory, PersonFactory, received, sheets_read, shelf, site, stamp

#: number -> (name, kind, tracked by, pieces on the shelf)
PARTS = {
    "SET": ("piston and liner set", "matched set", "set", 2),
    "RING": ("liner ring", "O-ring", "lot", 6),
    "SHIM-5": ("thin shim", "shim", "nothing", 4),
    "SHIM-9": ("thick shim", "shim", "nothing", 4),
    "ROD-BOLT": ("rod bolt", "fastener", "nothing", 8),
    "SHELL-STD": ("shells, standard", "bearing", "lot", 4),
    "SHELL-25": ("shells, 0.25 under", "bearing", "lot", 4),
    "MAIN-SHELL": ("main shells", "bearing", "lot", 3),
    "OLD-GASKET": ("head gasket, old", "gasket", "nothing", 0),
    "NEW-GASKET": ("head gasket", "gasket", "nothing", 2),
    "OLD-BOLT": ("head bolt, old", "fastener", "nothing", 0),
    "NEW-BOLT": ("head bolt", "fastener", "nothing", 20),
    "COVER-RUBBER": ("cover gasket", "gasket", "nothing", 2),
    "WASHER": ("drain washer", "washer", "nothing", 5),
    "SUMP-BOLT": ("sump bolt", "fastener", "nothing", 12),
    "STEM-SEAL": ("stem seal", "stem seal", "lot", 8),
    "LIFTER": ("lifter", "valve train", "nothing", 2),
}
RUBBER = {"RING": "HNBR", "STEM-SEAL": "FKM", "COVER-RUBBER": "HNBR"}
#: An invented product sheet.
SHEET: dict[str, Any] = {
    "edition": "product sheet 7, edition 3, page 2",
    "cures_by": "moisture of the air",
    "density": "1.32 g/mL",
    "open_days": 28,
    "entries": [
        {"temperature": "23 °C", "humidity": "50 %", "window": "10 min", "fill_after": "2 h", "run_after": "12 h"},
        {"temperature": "30 °C", "humidity": "60 %", "window": "5 min", "fill_after": "90 min", "run_after": "8 h"},
    ],
}
PERMITTED = ("parts manager", "storekeeper", "technician", "inspector")


def small_shop() -> None:
    """The small family with its three operations, every part of theirs, a shelf full of them, and a tool crib."""
    shelf("R1", walk_order=1)
    shelf("R2", walk_order=2)
    lines: list[ReceiveLine] = []
    for number, (name, kind, tracked, pieces) in PARTS.items():
        PartFactory(
            number=number, name=name, kind=kind, tracked_by=tracked, weight_mg=100_000, compound=RUBBER.get(number, "")
        )
        if tracked == "set":
            lines += [ReceiveLine(number, 1, serial=f"S-{at}") for at in range(1, pieces + 1)]
        elif pieces:
            lines.append(ReceiveLine(number, pieces, lot=f"{number}/1" if tracked == "lot" else ""))
    received("R1", lines)
    PartFactory(
        number="SEALANT", name="sealant", kind="sealant", unit="XTU", net_ul=80_000, empty_mg=11_500, density_mg_per_ml=1320,
        weight_mg=117_100, hazard_note="Ventilate; gloves; safety data sheet before use.",
    )  # fmt: skip
    PartFactory(number="OIL", name="engine oil", kind="fluid", unit="LTR", base="microlitre", tracked_by="nothing")
    received("R2", [ReceiveLine("SEALANT", 2, lot="SEALANT/1"), ReceiveLine("OIL", 20_000_000)])
    clerk = PersonFactory()
    enter_family(actor=clerk, stamp=stamp(), document=family_document())
    for document in operation_documents().values():
        enter_procedure(actor=clerk, stamp=stamp(), document=copy.deepcopy(document))
    for tool in ("bead gun", "stem sleeve"):
        CribTool.objects.create(site=site(), tool=tool, count=1)


def job_body(**more: Any) -> dict[str, Any]:
    """What a booking says: one cylinder chosen."""
    return {
        "number": "J-1",
        "engine": "T4-00211",
        "site": "TS",
        "operations": ["T1"],
        "strip_on": "2025-01-15",
        "fit_on": "2025-01-20",
        "findings": [{"code": "chosen", "place": "CYL-1"}],
        "new_engine": True,
    } | more


@dataclass
class Rebuild:
    """The job J-1 and the people of the shop; every step asserts that it was done."""

    manager: ShopClient
    storekeeper: ShopClient
    technician: ShopClient
    inspector: ShopClient
    job: str = "J-1"
    said: dict[str, Any] = field(default_factory=dict)

    def did(self, client: ShopClient, path: str, body: Any, **more: Any) -> Any:
        """A write that is done; its answer."""
        answer = client.send(path, body, **more)
        assert answer.status_code == 201, answer.content
        return answer.json()

    def booked(self, **more: Any) -> Rebuild:
        """Book J-1."""
        self.said["booked"] = self.did(self.manager, "jobs", job_body(**more))
        return self

    def held(self) -> Rebuild:
        """Hold the list."""
        self.said["held"] = self.did(self.technician, f"jobs/{self.job}/holds", {})
        return self

    def scans(self) -> list[dict[str, Any]]:
        """What a storekeeper scans who takes what the list names."""
        return [
            {"hold": one["hold"], "scanned": one["tube"] or one["serial"] or one["lot"] or one["wanted"]}
            for one in self.said["held"]["held"]
        ]

    def picked(self) -> Rebuild:
        """Pick all of it."""
        self.said["picked"] = self.did(
            self.storekeeper, f"pick-lists/{self.said['held']['pick_list']}/picks", {"scans": self.scans()}
        )
        return self

    def looked_at(self) -> Rebuild:
        """The inspector looks at every set and bearing that was picked."""
        path = f"pick-lists/{self.said['held']['pick_list']}"
        listed = self.inspector.read(path).json()["second_looks"]
        looks = [{"hold": one["hold"]} for one in listed if one["state"] == "to be looked at"]
        if looks:
            self.did(self.inspector, f"{path}/second-looks", {"looks": looks})
        return self

    def at_bench(self) -> Rebuild:
        """Book, hold, pick, look again and hand over."""
        self.booked().held().picked().looked_at()
        self.said["handed over"] = self.did(
            self.storekeeper,
            f"pick-lists/{self.said['held']['pick_list']}/handovers",
            {"received_by": self.technician.person.username},
        )
        return self

    def with_joint(self) -> Rebuild:
        """At the bench, with one tube of sealant open there and its product sheet on record."""
        self.at_bench()
        self.did(self.manager, "parts/SEALANT/sheets", SHEET)
        closed = self.item("SEALANT")
        opening = {"place": f"bench {self.job}", "tube": "T-1"}
        self.did(self.technician, f"items/{closed}/openings", opening)
        return self

    def gate_body(self, **more: Any) -> dict[str, Any]:
        """Every question of the sump's gate answered yes, a full tube, a cool bay."""
        return {
            "faces_clean_dry": True,
            "test_fit": True,
            "dowels_in": True,
            "bolts": 12,
            "tubes": [{"tube": "T-1", "weight": "117.1 g"}],
            "temperature": "23 °C",
            "humidity": "50 %",
        } | more

    def gate(self, **more: Any) -> Rebuild:
        """Open the sump's gate."""
        self.said["gate"] = self.did(self.technician, f"jobs/{self.job}/joints/SUMP/gates", self.gate_body(**more))
        return self

    def bead_body(self, **more: Any) -> dict[str, Any]:
        """A bead of 9.0 g, laid since the gate was opened."""
        began = timezone.now()
        return {
            "started_at": began.isoformat(),
            "ended_at": (began + timedelta(microseconds=1)).isoformat(),
            "tubes": [{"tube": "T-1", "after": "108.1 g"}],
        } | more

    def item(self, part: str, identity: str | None = None) -> int:
        """The number of an item of a part."""
        rows = Item.objects.filter(part__number=part)
        return rows.get(identity=identity).pk if identity is not None else rows.get().pk


def rebuild() -> Rebuild:
    """People with their roles, nothing booked yet."""
    people = Rebuild(*[DescribedClient(somebody(role)) for role in PERMITTED])
    sheets_read(people.technician.person)
    return people
