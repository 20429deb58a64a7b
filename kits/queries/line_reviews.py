"""Parts lines that the benches doubted so often that somebody reviews them, and what came of earlier reviews."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import Any

from django.db.models import Q, QuerySet

from inventory.models import HoldEnd
from inventory.queries.days import shop_day
from kits.domain.line_doubts import ASKED_OFTEN
from kits.models import JobHold, LineDoubt, LineReview, PartsLine, Procedure

#: (procedure, line, part that no line asks for)
_Subject = tuple[str, str, str]
_ABOUT = ("extra__job", "extra__act__actor", "extra__part", "revision__procedure")


def open_doubts(procedure: Procedure | None = None) -> list[LineDoubt]:
    """Doubts that no review has answered, oldest first. Two queries.

    An extra counts unless it was taken back: its act corrected, or all that it held released by somebody's word, nothing picked.
    """
    rows = LineDoubt.objects.filter(answered__isnull=True, extra__act__corrected_by__isnull=True)
    if procedure is not None:
        rows = rows.filter(revision__procedure=procedure)
    found = list(rows.select_related(*_ABOUT).order_by("extra_id", "pk"))
    gone = taken_back({row.extra.act_id for row in found})
    return [row for row in found if row.extra.act_id not in gone]


def taken_back(acts: set[int]) -> set[int]:
    """Those of these acts of asking whose holds were all released by acts of releasing."""
    released = Q(hold__end__how=HoldEnd.How.RELEASED, hold__end__act__kind="release")
    holds = JobHold.objects.filter(pick_list__act__in=acts)
    standing = set(holds.exclude(released).values_list("pick_list__act", flat=True))
    return set(holds.filter(released).values_list("pick_list__act", flat=True)) - standing


def subject_of(row: LineDoubt) -> _Subject:
    """What a doubt is counted under: one line of a procedure over all its revisions, or a part that none of its lines asks for."""
    return row.revision.procedure.code, row.line, "" if row.line else row.extra.part.number


def to_review(procedure: Procedure | None = None) -> list[dict[str, Any]]:
    """Lines that were doubted `ASKED_OFTEN` times or more since they were last reviewed, JSON-ready. Four queries at most.

    [{procedure, line, part: that the newest revision with the line has there, or that none asks for, positions, asked, since,
    revision: the newest, extras: [{act, job, on, at, by, part, amount, base, positions, revision}]}]
    """
    by_subject: dict[_Subject, list[LineDoubt]] = defaultdict(list)
    for row in open_doubts(procedure):
        by_subject[subject_of(row)].append(row)
    often = {
        subject: rows for subject, rows in by_subject.items() if len({row.extra_id for row in rows}) >= ASKED_OFTEN
    }
    lines = _newest_lines(often)
    return [_review(subject, rows, lines) for subject, rows in sorted(often.items())]


def _newest_lines(subjects: Any) -> dict[tuple[str, str], PartsLine]:
    """Each line as the newest revision that has it."""
    wanted = Q(pk__in=[])
    for code, line, _ in subjects:
        wanted |= Q(revision__procedure__code=code, line=line)
    rows = PartsLine.objects.filter(wanted).select_related("revision__procedure", "part").order_by("revision__revision")
    return {(row.revision.procedure.code, row.line): row for row in rows}


def _review(subject: _Subject, rows: Sequence[LineDoubt], lines: dict[tuple[str, str], PartsLine]) -> dict[str, Any]:
    code, line, part = subject
    known = lines.get((code, line))
    extras = {row.extra_id: _extra(row) for row in rows}
    asked_at = dict.fromkeys(name for row in rows for name in row.extra.positions)
    return {
        "procedure": code,
        "name": rows[0].revision.procedure.name,
        "line": line,
        "part": known.part.number if known else part,
        "positions": known.at.split(", ") if known else list(asked_at),
        "asked": len(extras),
        "since": min(one["at"] for one in extras.values()),
        "extras": list(extras.values()),
    }


def _extra(row: LineDoubt) -> dict[str, Any]:
    extra = row.extra
    return {
        "act": extra.act_id,
        "job": extra.job.number,
        "at": extra.act.occurred_at,
        "on": shop_day(extra.act.occurred_at),
        "by": extra.act.actor.username,
        "part": extra.part.number,
        "amount": extra.amount,
        "base": extra.part.base,
        "positions": extra.positions,
        "revision": row.revision.revision,
    }


def closed_reviews(procedure: Procedure) -> QuerySet[LineReview]:
    """What came of the earlier reviews of a procedure's lines, the newest first."""
    rows = LineReview.objects.filter(procedure=procedure)
    return rows.select_related("act__actor", "part", "mended_in", "procedure").order_by("-pk")


def closed_record(row: LineReview) -> dict[str, Any]:
    """A closed review, JSON-ready."""
    return {
        "procedure": row.procedure.code,
        "line": row.line,
        "part": row.part.number if row.part else "",
        "mended_in": row.mended_in.revision if row.mended_in else None,
        "word": row.word,
        "by": row.act.actor.username,
        "at": row.act.occurred_at,
    }
