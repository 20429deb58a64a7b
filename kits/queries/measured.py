"""What was measured on a job, for its build sheet: results with their readings, corrections and gauges, and who accepted what."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from kits.domain.engine_map import ENGINE, EngineMap
from kits.models import Acceptance, Job, JobChoice
from kits.queries.results import ResultRow, results_of


@dataclass(frozen=True, slots=True)
class Accepted:
    """One acceptance of a result, with the words it wrote. `reason` is empty where none was asked for."""

    act: int
    by: str
    at: datetime
    reason: str
    choices: tuple[dict[str, str], ...]


@dataclass(frozen=True, slots=True)
class Measured:
    """The results of a job, oldest first, and the acceptances of each by its id."""

    results: tuple[ResultRow, ...]
    accepted: dict[int, list[Accepted]]

    def sheet(self) -> list[dict[str, Any]]:
        """Results that stand, and those that were accepted, JSON-ready; the document has rule, readings, gauges and corrections."""
        return [
            {
                "id": row.id,
                "kind": row.kind,
                "subject": row.subject,
                "at": row.at,
                "by": row.by,
                "stale": row.stale,
                "why": list(row.why),
                "document": row.document,
                "accepted": [_said(one) for one in self.accepted.get(row.id, ())],
            }
            for row in self.results
            if not row.stale or row.id in self.accepted
        ]

    def of(self, engine_map: EngineMap, position: str, part: str, serial: str) -> tuple[ResultRow, ...]:
        """Results of `sheet` that speak of what was fitted at a position: of its place, of its set, or by having chosen it."""
        places = {*engine_map.outward(position)} - {ENGINE}
        return tuple(
            row
            for row in self.results
            if (not row.stale or row.id in self.accepted)
            and (row.subject in places or (serial and row.subject == serial) or _chose(row, position, part))
        )

    def accepted_for(self, rows: Sequence[ResultRow], position: str, part: str) -> dict[str, Any] | None:
        """The newest acceptance, of these results, that chose the part for the position; `stands`: no reading behind it was withdrawn or
        taken again, and its limits are stated as they were."""
        found = [(one, row) for row in rows if _chose(row, position, part) for one in self.accepted.get(row.id, ())]
        if not found:
            return None
        newest, row = max(found, key=lambda pair: pair[0].act)
        withdrawn = [why for why in row.why if why.startswith("reading ")]
        return {
            "result": row.id,
            "by": newest.by,
            "at": newest.at,
            "reason": newest.reason,
            "stands": not (withdrawn or row.again or row.other_limits),
        }


def measured_on(job: Job) -> Measured:
    """Results and acceptances of a job. Five queries at most, three where nothing was judged."""
    rows = results_of(job)
    found: dict[int, list[Accepted]] = defaultdict(list)
    taken = Acceptance.objects.filter(result__job=job, act__corrected_by__isnull=True).select_related("act__actor")
    acceptances = list(taken.order_by("act_id")) if rows else []
    words: dict[int, list[dict[str, str]]] = defaultdict(list)
    if acceptances:
        said = JobChoice.objects.filter(act__in=[one.act_id for one in acceptances]).order_by("pk")
        for act, choice, place, alternative in said.values_list("act_id", "choice", "place", "alternative"):
            words[act].append({"choice": choice, "place": place, "alternative": alternative})
    for one in acceptances:
        by, at = one.act.actor.username, one.act.occurred_at
        found[one.result_id].append(Accepted(one.act_id, by, at, one.reason, tuple(words[one.act_id])))
    return Measured(rows, dict(found))


def _chose(row: ResultRow, position: str, part: str) -> bool:
    return any(one["part"] == part and one["position"] in ("", position) for one in row.document.get("chosen", ()))


def _said(one: Accepted) -> dict[str, Any]:
    return {"by": one.by, "at": one.at, "reason": one.reason, "choices": list(one.choices)}
