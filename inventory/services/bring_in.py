"""Bringing tables in: the file is kept, its rows are read and judged, people answer, and what is accepted is booked at once.

A row is judged before the transaction that keeps it, so that reading a long table does not keep others from writing; what it was
judged by may change until it is booked, and is looked at again then. Nothing of a table counts before it is booked, and all of it after.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any, Protocol

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.domain.import_cells import Cell, DayOrder, Evidence, gather
from inventory.domain.import_kinds import Kind, match_headings
from inventory.domain.import_rows import First, Judged, Verdict, beside, judge, key_of
from inventory.domain.text import shown
from inventory.models import Act, ImportAnswer, ImportBooked, ImportFile, ImportRow, Person
from inventory.queries import imports as read
from inventory.queries.days import shop_day
from inventory.services import bring_in_stock
from inventory.services.rows import adapted, insert
from inventory.services.run import Body, Done, Stamp, run
from inventory.services.tables import handling_of

Row = tuple[int, Sequence[Cell]]


class Table(Protocol):
    """A table file that was read: headings, rows as (row number in the file, cells in the order of the headings), and how it was read,
    for a person."""

    @property
    def headings(self) -> Sequence[str]: ...
    @property
    def rows(self) -> Sequence[Row]: ...
    @property
    def read_as(self) -> str: ...


Reader = Callable[[bytes, str], Table]
#: Rows that one act reads: a fraction of a second of writing.
MOST_READ = 10_000
MOST_ANSWERS = 20_000
_WRITTEN = ("file_id", "line", "cells", "key", "verdict", "known", "values", "doubts", "errors", "warnings")


@dataclass(frozen=True, slots=True)
class Answer:
    """What a person says of a row: of one of its columns, or under "" of the row itself."""

    row: int
    column: str
    said: str


def keep_table(
    *,
    actor: Person,
    stamp: Stamp,
    kind: str,
    name: str,
    content: bytes,
    reader: Reader,
    day_order: str = "",
) -> Done:
    """Keep a table file as it came, and what its columns say as a whole. Nothing is booked.

    kind       one of those that `services.tables` handles
    reader     how a file of such a name is read; its refusals are those of the act
    day_order  "day first" or "month first" where a person knows it
    Outcome: {"import", "kind", "name", "sha256", "rows", "read_as", "columns": {heading: column}, "unknown_headings", "same_file_before"}.
    Raises DomainError "not-found" (kind), "heading-missing", "heading-twice", "too-many-columns", "nothing-given", "personal-data", "too-many-lines", those of the reader.
    """
    digest = hashlib.sha256(content).hexdigest()
    request = {"kind": kind, "name": name, "sha256": digest, "day_order": day_order}

    # A long file takes seconds to read: before the transaction, so that others may write; what is wrong with it is said inside.
    looked = _looked_through(content, name, kind, reader, day_order)

    def work(act: Act) -> Body:
        if isinstance(looked, DomainError):
            raise looked
        headings, rows, columns, evidence, read_as, packed = looked
        file = ImportFile.objects.create(
            act=act,
            kind=kind,
            name=name[:200],
            sha256=digest,
            size_bytes=len(content),
            packed=packed,
            read_as=read_as[:200],
            headings=list(headings),
            columns=[columns.get(at, "") for at in range(len(headings))],
            day_order=day_order,
            evidence=evidence,
            rows_in=rows,
        )
        before = ImportFile.objects.filter(sha256=digest, pk__lt=file.pk).order_by("pk").first()
        return {
            "import": act.pk,
            "kind": kind,
            "name": file.name,
            "sha256": digest,
            "rows": rows,
            "read_as": file.read_as,
            "columns": {headings[at]: column for at, column in columns.items()},
            "unknown_headings": [text for at, text in enumerate(headings) if at not in columns and text],
            "same_file_before": before.pk if before else None,
        }

    return run("keep table", work, actor=actor, stamp=stamp, request=request, subject=name[:80])


_Looked = tuple[list[str], int, dict[int, str], Body, str, str]


def _looked_through(content: bytes, name: str, kind: str, reader: Reader, day_order: str) -> _Looked | DomainError:
    """Headings, number of rows, column of each heading, evidence, how it was read, and the file packed; or what is wrong with it."""
    try:
        its = handling_of(kind).kind
        table = reader(content, name)
        columns = dict(match_headings(its, table.headings))
        _refuse_file(its, columns, table.rows)
    except DomainError as error:
        return error
    if not table.rows:
        return DomainError("nothing-given", f"{shown(name)} has no rows under its headings.", file=shown(name))
    order = DayOrder(day_order) if day_order else None
    evidence = gather((_cells(columns, cells) for _, cells in table.rows), its.reads, order)
    return list(table.headings), len(table.rows), columns, evidence.as_plain(), table.read_as, read.pack(content)


def _refuse_file(its: Kind, columns: Mapping[int, str], rows: Sequence[Row]) -> None:
    """DomainError "too-many-lines"; "personal-data": people are told by number, and the message never says what stands there."""
    if its.most and len(rows) > its.most:
        raise DomainError(
            "too-many-lines", f"{len(rows)} rows; at most {its.most} of {its.name} in one table.", lines=len(rows)
        )
    for at in (at for at, name in columns.items() if name in its.numbered):
        for line, cells in rows:
            text = cells[at].text.strip().removesuffix(".0") if at < len(cells) else ""
            if text and not (text.isascii() and text.isdigit()):
                raise DomainError(
                    "personal-data",
                    f"Row {line} says more than a number under {columns[at]}: names stand with the person alone.",
                    ways_out=(
                        "Enter the person, and write the number that was given.",
                        "Leave the cell empty: it is sorted later.",
                    ),
                    row=line,
                    column=columns[at],
                )


def read_table_rows(*, actor: Person, stamp: Stamp, file_id: int, rows: Sequence[Row], most: int = MOST_READ) -> Done:
    """Read and judge the next rows of a kept table, at most `most` of them.

    rows  all rows of the file, as `keep_table` had them
    Outcome: {"import", "read": rows read by now, "rows", "accepted", "questioned", "refused"}, the last three of these rows.
    Raises DomainError "not-found", "import-booked", "nothing-changed" (all were read).
    """
    request = {"import": file_id, "most": most}
    file = ImportFile.objects.filter(pk=file_id).first()
    start = read.read_until(file_id)
    chunk = [row for row in rows if row[0] > start][: max(1, min(most, MOST_READ))]
    judged = _judged(file, chunk, shop_day(stamp.occurred_at)) if file is not None and chunk else []
    verdicts = [row.verdict for row in judged]
    written = [[adapted(getattr(row, name)) for name in _WRITTEN] for row in judged]

    def work(act: Act) -> Body:
        known = _open_file(file_id)
        if not chunk or read.read_until(file_id) != start:
            raise DomainError("nothing-changed", f"The rows of {known.name} were read already.", table=file_id)
        insert(ImportRow._meta.db_table, [f'"{name}"' for name in _WRITTEN], written)  # VALUES is a word of SQL
        return {
            "import": file_id,
            "read": ImportRow.objects.filter(file_id=file_id).count(),
            "rows": known.rows_in,
            **{one.value: verdicts.count(one.value) for one in Verdict},
        }

    return run("read table", work, actor=actor, stamp=stamp, request=request, subject=str(file_id))


def answer_table(
    *, actor: Person, stamp: Stamp, file_id: int, answers: Sequence[Answer] = (), as_proposed: Sequence[str] = ()
) -> Done:
    """Answer questions about rows of a kept table; the rows are judged anew.

    answers      what is said instead of a cell; of a row itself: "leave out", or "it counts" of one that stands twice
    as_proposed  codes of questions; all open ones of these are answered as they propose, where they propose something
    Outcome: {"import", "answered", "accepted", "questioned", "refused"}, the last three of the rows that were answered.
    Raises DomainError "not-found", "import-booked", "nothing-given", "too-many-lines", "import-row-unknown".
    """
    request = {"import": file_id, "answers": [asdict(one) for one in answers], "as_proposed": list(as_proposed)}

    def work(act: Act) -> Body:
        file = _open_file(file_id)
        said = [*answers, *_proposed(file_id, as_proposed)]
        if not said:
            raise DomainError("nothing-given", "No question is answered by that.", codes=list(as_proposed))
        if len(said) > MOST_ANSWERS:
            raise DomainError("too-many-lines", f"{len(said)} answers; at most {MOST_ANSWERS}.", lines=len(said))
        lines = {one.row for one in said}
        rows = {row.line: row for row in ImportRow.objects.filter(file_id=file_id, line__in=sorted(lines))}
        _check_answers(handling_of(file.kind).kind, said, rows)
        newest = {(one.row, one.column): one.said for one in said}
        ImportAnswer.objects.bulk_create(
            ImportAnswer(act=act, file=file, line=line, column=column, said=text[:2000])
            for (line, column), text in newest.items()
        )
        cells = [(line, _kept_cells(rows[line])) for line in sorted(lines)]
        again = _judged_cells(file, cells, shop_day(act.occurred_at))
        for one in again:
            one.pk = rows[one.line].pk
        ImportRow.objects.bulk_update(
            again, ["key", "verdict", "known", "values", "doubts", "errors", "warnings"], batch_size=500
        )
        verdicts = [row.verdict for row in again]
        return {
            "import": file_id,
            "answered": len(newest),
            **{one.value: verdicts.count(one.value) for one in Verdict},
        }

    return run("answer table", work, actor=actor, stamp=stamp, request=request, subject=str(file_id))


def book_table(*, actor: Person, stamp: Stamp, file_id: int, without_questioned: bool = False) -> Done:
    """Book all accepted rows of a table, in one transaction.

    without_questioned  rows that are still questioned are left out, and stay listed with their questions
    Outcome: {"import", "kind", "rows", "accepted", "questioned", "refused", "known", "booked": {what: how many}}.
    Raises DomainError "not-found", "import-booked", "import-unread", "import-open", "import-stale", "spelling-ambiguous" (rows named), "replacement-loop",
    "serial-elsewhere".
    """
    request = {"import": file_id, "without_questioned": without_questioned}
    laid_out = bring_in_stock.stage(file_id, shop_day(stamp.occurred_at))

    def work(act: Act) -> Body:
        file = _open_file(file_id)
        bring_in_stock.staged_anew(file, laid_out, shop_day(act.occurred_at))
        found = read.summary(file)
        if found["read"] < file.rows_in:
            raise DomainError(
                "import-unread",
                f"{found['read']} of {file.rows_in} rows of {file.name} were read.",
                ways_out=(f"Have its rows read first (imports/{file_id}/readings).",),
                table=file_id,
            )
        if found["questioned"] and not without_questioned:
            raise DomainError(
                "import-open",
                f"{found['questioned']} rows of {file.name} are questioned.",
                ways_out=("Answer the questions.", "Book the others without them (without_questioned)."),
                table=file_id,
                questioned=found["questioned"],
            )
        its = handling_of(file.kind)
        stale = read.stale_rows(file, its.kind, its.on_record)
        if stale:
            raise DomainError(
                "import-stale",
                f"What {len(stale)} rows of {file.name} speak of was booked since they were read, the first is row {stale[0]}.",
                ways_out=("Bring the file in again.",),
                table=file_id,
                rows=stale[:100],
            )
        spelled = read.other_spellings(file, its.kind)
        if spelled:
            raise DomainError(
                "spelling-ambiguous",
                f"Lots or serials of {len(spelled)} rows of {file.name} are spelled otherwise elsewhere, or look like others; the first is row"
                f" {spelled[0]}.",
                ways_out=("Answer of these rows how the lot or serial is written: each counts as it is said then.",),
                table=file_id,
                rows=spelled[:100],
            )
        booked = its.book(act, file)
        ImportBooked.objects.create(act=act, file=file)
        counts = {name: found[name] for name in ("rows", "accepted", "questioned", "refused", "known")}
        return {"import": file_id, "kind": file.kind, **counts, "booked": booked}

    return run("book table", work, actor=actor, stamp=stamp, request=request, subject=str(file_id))


def _open_file(file_id: int) -> ImportFile:
    """The file, locked against others who read, answer or book it."""
    locks.name("import", str(file_id))
    file = read.import_file(file_id)
    booked = ImportBooked.objects.filter(file=file).first()
    if booked is not None:
        raise DomainError("import-booked", f"{file.name} was booked already.", table=file_id, act=booked.act_id)
    return file


def _cells(columns: Mapping[int, str], cells: Sequence[Cell]) -> dict[str, Cell]:
    return {column: cells[at] if at < len(cells) else Cell() for at, column in columns.items()}


def _judged(file: ImportFile, rows: Sequence[Row], today: date) -> list[ImportRow]:
    columns = {at: column for at, column in enumerate(file.columns) if column}
    made = _judged_cells(file, [(line, _cells(columns, cells)) for line, cells in rows], today)
    for row, (_, cells) in zip(made, rows, strict=True):
        kept = {name: cell.as_plain() for name, cell in _cells(columns, cells).items() if not cell.empty}
        others = {
            (file.headings[at] if at < len(file.headings) and file.headings[at] else f"column {at + 1}"): cell.text
            for at, cell in enumerate(cells)
            if at not in columns and not cell.empty
        }
        row.cells = kept | ({"": [json.dumps(others), False, "", ""]} if others else {})
    return made


def _kept_cells(row: ImportRow) -> dict[str, Cell]:
    return {name: Cell.from_plain(cell) for name, cell in row.cells.items() if name}


def _judged_cells(file: ImportFile, rows: Sequence[tuple[int, Mapping[str, Cell]]], today: date) -> list[ImportRow]:
    """Rows as they are kept, without their cells."""
    its = handling_of(file.kind)
    kind = its.kind
    evidence = Evidence.from_plain(kind.reads, file.evidence)
    answers = read.answers_of(file.pk, [line for line, _ in rows])
    said = {line: {name: text for name, text in own.items() if name} for line, own in answers.items()}
    typed = [{**cells, **{name: Cell(text) for name, text in said.get(line, {}).items()}} for line, cells in rows]
    known = its.known(typed)
    judged = [
        judge(kind, cells, evidence, known, today=today, check=its.check, answers=said.get(line))
        for line, cells in rows
    ]
    told = read.on_record(its.on_record, judged)
    keys = [_key(kind, one) for one in judged]
    firsts = {
        key: First(row.line, row.values) for key, row in read.first_rows(file.pk, {key for key in keys if key}).items()
    }
    made = []
    for at, ((line, _), one) in enumerate(zip(rows, judged, strict=True)):
        first = firsts.get(keys[at])
        earlier = first if first is not None and first.line < line else None
        after = beside(kind, one, first=earlier, on_record=told.get(at), said=answers.get(line, {}).get("", ""))
        if after.verdict is not Verdict.REFUSED and (first is None or line < first.line):
            firsts[keys[at]] = First(line, one.values)
        made.append(_row(file, line, keys[at], after))
    return made


def _key(kind: Kind, judged: Judged) -> str:
    """What a row is about, in 64 characters: keys of rows are only ever compared."""
    if judged.verdict is Verdict.REFUSED:
        return ""
    return hashlib.sha256(json.dumps(key_of(kind, judged.values)).encode("utf-8", "surrogatepass")).hexdigest()


def _row(file: ImportFile, line: int, key: str, judged: Judged) -> ImportRow:
    return ImportRow(
        file=file,
        line=line,
        key=key,
        verdict=judged.verdict.value,
        known=judged.known,
        values=dict(judged.values) | {"identity": read.item_identity(judged.values)},
        doubts=[asdict(one) for one in judged.doubts],
        errors=[{"code": one.code, "message": one.message} for one in judged.errors],
        warnings=list(judged.warnings),
        cells={},
    )


def _proposed(file_id: int, codes: Sequence[str]) -> list[Answer]:
    if not codes:
        return []
    rows = ImportRow.objects.filter(file_id=file_id, verdict=Verdict.QUESTIONED).order_by("line")
    return [
        Answer(line, doubt["column"], doubt["proposal"])
        for line, doubts in rows.values_list("line", "doubts")
        for doubt in doubts
        if doubt["code"] in codes and doubt["proposal"]
    ]


def _check_answers(kind: Kind, said: Sequence[Answer], rows: Mapping[int, ImportRow]) -> None:
    columns: dict[str, Any] = {"": None, **kind.reads}
    for one in said:
        if one.row not in rows or one.column not in columns:
            raise DomainError(
                "import-row-unknown",
                f"The table has no row {one.row} that was read, or no column {shown(one.column)!r}.",
                row=one.row,
                column=shown(one.column),
            )
