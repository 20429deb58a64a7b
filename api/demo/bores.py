"""Which set goes to which bore, in front of the reader: gauged, one set short of certain, then accepted, with its picture."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from api.demo.catalogue import Say
from api.demo.files import document, once, told_no
from api.demo.rebuild import Rebuild
from kits.queries.liners import bench_of
from kits.queries.proposals import proposal_of
from kits.queries.scope import job_by_number
from kits.services.accept_layout import BoreIn, accept_layout
from kits.services.readings import ReadingIn, record_readings

#: Minutes after the start of the day: the first readings, a layout that is refused, the last set, the layout, the sets at the bench.
READ, REFUSED, LATE, ACCEPTED, BROUGHT = 25, 35, 40, 50, 70
MICRONS_OF_BASE = 92_900


@dataclass
class Bores:
    """The bores of a job; `plan` says which gauges, at what temperature, and which set is found last."""

    job: Rebuild
    say: Say
    plan: Mapping[str, Any]

    def run(self) -> dict[str, Any]:
        """Read, ask, accept; the outcome of the acceptance."""
        number = self.job.number
        story = next(
            row for row in document("opening")["stories"].values() if row.get("job") == number and "bores" in row
        )
        sets = {row["serial"]: row for row in document("opening")["sets"] if row["serial"] in story["sets"]}
        late = self.plan["found_last"]
        places = {bore.number: bore.place for bore in bench_of(self.job.list()).bench.bores}
        rows = [
            one
            for serial, row in sets.items()
            if serial != late
            for one in self._read("liner-height", row["height_um_above_92900"], self.plan["liner_gauge"], set=serial)
        ]
        rows += [
            one
            for row in story["bores"]
            for one in self._read(
                "block-depth", row["depth_um_above_92900"], self.plan["bore_gauge"], place=places[row["bore"]]
            )
        ]
        self._record("liners", READ, rows)
        self.say(
            f"  {len(sets) - 1} sets and {len(story['bores'])} bores read at four points, dry, {len(rows)} readings"
        )
        fitter = self.job.people()[0]
        refused = told_no(
            accept_layout, actor=fitter, stamp=self.job.stamp("doubtful layout", REFUSED), job=number,
            bores=self._as_shown(),
        )  # fmt: skip
        self.say(f"  stopped: {refused}")
        self._record(
            "last liner",
            LATE,
            self._read("liner-height", sets[late]["height_um_above_92900"], self.plan["liner_gauge"], set=late),
        )
        self.say(f"  {late} is found in the cage and read too")
        made = once(
            accept_layout, actor=fitter, stamp=self.job.stamp("layout", ACCEPTED), job=number, bores=self._as_shown()
        )
        for line in made["picture"]:
            self.say(f"  {line}".rstrip())
        return made

    def _read(self, what: str, clock_um: Mapping[str, int], gauge: str, **of: Any) -> list[ReadingIn]:
        warm = self.plan["temperature"]
        return [
            ReadingIn(
                what, f"{(MICRONS_OF_BASE + um) / 1000:.3f} mm", gauge, point=point, part_temperature=warm,
                gauge_temperature=warm, clean=True, without_rubber=True, **of,
            )
            for point, um in clock_um.items()
        ]  # fmt: skip

    def _record(self, what: str, minutes: int, readings: list[ReadingIn]) -> None:
        stamp = self.job.stamp(what, minutes)
        once(record_readings, actor=self.job.people()[0], stamp=stamp, job=self.job.number, readings=readings)

    def _as_shown(self) -> list[BoreIn]:
        """The layout as it is proposed now."""
        return [
            BoreIn(one["position"], one["serial"], one["turn_deg"], one["shim_nm"])
            for one in proposal_of(job_by_number(self.job.number), self.job.day)["bores"]
            if not one["stays"]
        ]
