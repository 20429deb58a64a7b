"""Tags and paint marks of what came out of the engine on a job."""

from __future__ import annotations

from collections import Counter
from typing import Any

from kits.domain.tags import Removed, paint_mark, tag_lines
from kits.models import Job
from kits.queries.at_positions import removals_of
from kits.queries.documents import family_of

CAUTION = (
    "Check every mark by eye before a part goes back; what has lost its place goes nowhere without the maker's word."
)


def tags_of(job: Job) -> dict[str, Any]:
    """A tag for each thing that came out to the bench, in order; what came out twice has the newest alone. Two queries at most.

    {"job", "engine", "front", "caution", "tags": [{removal, position, item, part, lines, paint_mark}], "same_text": [{lines,
    removals}]}: tags that would read the same are not printed, for nobody could tell the parts apart by them.
    """
    family = family_of(job.family_revision)
    front = family.map.front
    newest = {(row["item"], row["position"]): row for row in removals_of(job) if row["at_bench"]}
    rows = sorted(newest.values(), key=lambda row: row["removal"])
    made = [(row, _removed(job, row, family.facts.origin(row["position"]))) for row in rows]
    texts = [tag_lines(one, front) for _, one in made]
    times = Counter(texts)
    return {
        "job": job.number,
        "engine": job.engine.number,
        "front": front,
        "caution": CAUTION,
        "tags": [
            {name: row[name] for name in ("removal", "position", "item", "part")}
            | {"lines": list(text), "paint_mark": paint_mark(one)}
            for (row, one), text in zip(made, texts, strict=True)
            if times[text] == 1
        ],
        "same_text": [
            {
                "lines": list(text),
                "removals": [row["removal"] for (row, _), other in zip(made, texts, strict=True) if other == text],
            }
            for text, count in times.items()
            if count > 1
        ],
    }


def _removed(job: Job, row: dict[str, Any], rule: Any) -> Removed:
    return Removed(
        job=job.number,
        position=row["position"],
        part=row["part"],
        serial=row["serial"],
        lot=row["lot"],
        tag=row["tag"],
        clock_deg=row["clock_deg"],
        side=row["side"],
        mark=rule.mark if rule is not None else "",
        amount=row["amount"],
    )
