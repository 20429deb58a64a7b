"""Which parts of a job's list may go in again after they were closed in once."""

from __future__ import annotations

from datetime import date
from typing import Any

from kits.domain.used_again import used_again
from kits.models import Job
from kits.queries.job_list import job_list


def answers_for(job: Job, on: date, position: str = "") -> list[dict[str, Any]]:
    """Every position and make of the list (of one position), JSON-ready: [{position, make, makes, part, class, again, reason}].

    on  the day of the question: where a choice goes by stock, that is judged on it once the day of fitting has passed
    `makes`: how often the joint is made by the procedures, each make with pieces of its own. Choices that are open are left out.
    """
    listed = job_list(job, on, stock=False)
    lines = [*listed.settled.lines, *listed.taken_off.taken]
    makes: dict[str, set[int]] = {}
    for line in lines:
        makes.setdefault(line.position, set()).add(line.make)
    found = {line.key: line for line in lines if not position or line.position == position}
    answers = []
    for key in sorted(found, key=lambda key: (list(makes).index(key[0]), key[1])):
        line = found[key]
        answer = used_again(line.candidate.line_class, listed.parts[line.part].kind)
        answers.append(
            {
                "position": line.position,
                "make": line.make,
                "makes": len(makes[line.position]),
                "part": line.part,
                "class": line.candidate.line_class,
                "again": answer.yes,
                "reason": answer.reason,
            }
        )
    return answers
