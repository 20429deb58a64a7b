"""What stands on the sheets of a claim pack: claim, job, positions as built and since, readings, verdicts, gauges, lots, photographs,
torques as quoted, tests, signatures. Taken from what the record says; nothing is computed anew, and nothing is invented.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from kits.domain.claim_sheets import Cell, Section, Table, cell, facts, in_words, plain
from kits.domain.owner_claims import OPENED_AGAIN


def sections(pack: Mapping[str, Any]) -> tuple[Section, ...]:
    """Every section but the list of what is missing, in the order of the sheets.

    pack  as `kits.queries.claim_pack` has it, its moments those of the shop
    """
    sheet = pack["build_sheet"]
    return (
        Section("Claim sheet", tuple(_claim(pack["claim"]))),
        Section("Job card", tuple(_job(pack["job"]))),
        Section("Positions", (_positions(sheet["positions"]), _removed(pack["removed_since"], sheet["positions"]))),
        Section("Readings", (_readings(sheet["readings"]),)),
        Section("Verdicts and corrections", tuple(_verdicts(sheet))),
        Section("Gauges", (_gauges(pack["gauges"]),)),
        Section("Lots and certificates", (_lots(pack["lots"]),)),
        Section("Photographs", (_photos(pack["photos"]),)),
        Section("Torques as quoted", (_torques(pack["torques"]),)),
        Section("Tests", tuple(_tests(sheet))),
        Section("Signatures", (_signatures(pack["signatures"]),)),
    )


def _within(term: Mapping[str, Any]) -> Iterator[tuple[Cell, ...]]:
    """Whether the day lay inside the term: in all, and by each limit."""
    word = {True: "yes", False: "no", None: "not decided"}
    yield "in all", word[term["within"]] if term["begun"] else "not begun", term["why"]
    for limit in term["limits"]:
        yield limit["limit"], word[limit["within"]], limit["why"]


def _claim(claim: Mapping[str, Any]) -> Iterator[Table]:
    cause: Mapping[str, Any] = next((one for one in claim["causes"] if one["stands"]), {})
    answer: Mapping[str, Any] = next((one for one in claim["answers"] if one["stands"]), {})
    yield facts(
        "claim",
        {
            "claim": claim["claim"],
            "engine": claim["engine"],
            "job whose work is claimed": claim["job"],
            "how it stands": claim["state"],
            "told on": claim["told_on"],
            "told by": claim["told_by"],
            "number of the owner on that day": claim["owner"],
            "what is wrong": claim["what"],
            "entered": f"{plain(claim['at'])} by {claim['by']}",
            "meters on that day": "; ".join(
                f"{one['meter']} {one['shows']}" for one in claim["readings"] if not one["withdrawn"]
            ),
            "cause": cause.get("cause"),
            "cause found by": cause.get("found_by"),
            "evidence": cause.get("evidence"),
            "oil sample": cause.get("oil_sample"),
            "coolant sample": cause.get("coolant_sample"),
            "answer": f"{answer['answer']}: {answer['reason']}" if answer else None,
        },
    )
    if claim["asked"]:
        yield facts("asked about the meters", {claim["asked"]: claim["reason"]})
    heads, shares = ("limit", "inside", "why"), (3, 3, 12)
    yield Table("inside the term, as it was judged when it was entered", heads, shares, tuple(_within(claim["term"])))
    yield Table("inside the term, by what is on record now", heads, shares, tuple(_within(claim["term_now"])))
    yield Table(
        "positions that it concerns",
        ("position", "part", "lot or serial", "what is wrong", "photograph", "claimed before"),
        (4, 2, 3, 5, 3, 2),
        tuple(
            (
                one["position"],
                one["part"] if one["item"] else None,
                (one["serial"] or one["lot"]) if one["item"] else None,
                cell(one["what"]),
                cell(one["photo"]),
                ", ".join(map(str, one["failed_before"])),
            )
            for one in claim["things"]
            if not one["withdrawn"]
        ),
        needed=True,
    )
    yield from _earlier(claim)


def _earlier(claim: Mapping[str, Any]) -> Iterator[Table]:
    """Entries that others took the place of, things that were withdrawn, and how it ended: each stays to be read."""
    told = [
        *((one["at"], one["by"], f"cause: {one['cause']} ({one['evidence']})") for one in claim["causes"] if not one["stands"]),
        *((one["at"], one["by"], f"answer: {one['answer']}: {one['reason']}") for one in claim["answers"] if not one["stands"]),
        *((one["at"], one["by"], f"{one['position']}: withdrawn: {one['withdrawn']}") for one in claim["things"] if one["withdrawn"]),
        *((one["at"], one["by"], f"{one['what']}{': ' if one['reason'] else ''}{one['reason']}") for one in claim["ends"]),
    ]  # fmt: skip
    if told:
        rows = tuple((plain(at), by, words) for at, by, words in sorted(told, key=lambda row: row[0]))
        yield Table(f"replaced, withdrawn, closed, {OPENED_AGAIN}", ("when", "by", "what"), (4, 3, 11), rows)


def _job(job: Mapping[str, Any]) -> Iterator[Table]:
    end, out = job["end"] or {}, job["handed_over"] or {}
    yield facts(
        "job",
        {
            "job": job["number"],
            "engine": f"{job['engine']}, {job['family']} revision {job['family_revision']}",
            "site": job["site"],
            "booked": f"{plain(job['booked_at'])} by {job['booked_by']}",
            "stripped on": job["strip_on"],
            "planned day of fitting": job["fit_on"],
            "complaint at arrival": job["complaint"],
            "hours at arrival": job["hours"],
            "kilometres at arrival": job["kilometres"],
            "closed": f"{plain(end['at'])} by {end['by']}" if end else None,
            "close checked by": end.get("checker"),
            "handed over on": out.get("on"),
            "handed over by": out.get("by"),
            **({"works in": out["used_in"]} if out.get("used_in") else {}),
        },
    )
    yield Table(
        "operations",
        ("procedure", "revision", "name"),
        (3, 2, 13),
        tuple((one["procedure"], str(one["revision"]), one["name"]) for one in job["operations"]),
    )
    yield Table(
        "findings",
        ("finding", "place", "how it stands", "note"),
        (5, 4, 4, 5),
        tuple((one["code"], one["place"], one["state"], one["note"]) for one in job["findings"]),
    )


def _called(row: Mapping[str, Any]) -> Cell:
    """Lot or serial of what was fitted; a gap where a lot is kept and nobody knows which; nothing where neither is kept."""
    return None if row["lot_unknown"] else row["serial"] or row["lot"]


def _positions(rows: Sequence[Mapping[str, Any]]) -> Table:
    return Table(
        "as built on this job",
        ("position", "part", "lot or serial", "fitted with", "fitted", "by", "checked by", "now"),
        (5, 3, 5, 4, 5, 3, 3, 2),
        tuple(
            (
                row["position"],
                f"{row['part']}{' (used again)' if row['reused'] else ''}",
                _called(row),
                row["lubricant"] or (None if any("fitted with" in word for word in row["open"]) else ""),
                plain(row["fitted_at"]),
                row["fitter"],
                cell(row["checker"]),
                "there" if row["there"] else "out",
            )
            for row in rows
        ),
        needed=True,
    )


def _removed(rows: Sequence[Mapping[str, Any]], built: Sequence[Mapping[str, Any]]) -> Table:
    """What came out since. What does not sit there any more and nobody removed by name is a gap."""
    out = {(row["position"], row["item"]) for row in rows}
    found: list[tuple[Cell, ...]] = [
        (
            row["position"],
            row["part"],
            row["called"],
            plain(row["at"]),
            row["job"],
            row["went_to"],
            cell(row["reason"]),
            row["by"],
        )
        for row in rows
    ]
    found += [
        (row["position"], row["part"], _called(row), None, None, None, None, None)
        for row in built
        if not row["there"] and (row["position"], row["item"]) not in out
    ]
    heads = ("position", "part", "lot or serial", "removed", "on job", "to", "why", "by")
    return Table("removed since", heads, (10, 5, 10, 10, 4, 6, 13, 6), tuple(found))


def _readings(rows: Sequence[Mapping[str, Any]]) -> Table:
    return Table(
        "readings that count",
        ("where", "what", "read", "gauge", "the gauge was", "part at", "by", "when", "mark"),
        (4, 5, 3, 3, 3, 3, 3, 4, 3),
        tuple(
            (
                " ".join(str(word) for word in (row["set"] or row["place"], row["point"]) if word) or str(row["id"]),
                row["what"],
                row["shown"],
                row["gauge"],
                row["gauge_state"],
                None if row["part_mk"] is None else f"{(row['part_mk'] - 273_150) / 1000:.1f} °C",
                row["by"],
                plain(row["at"]),
                "; ".join(row["marks"]),
            )
            for row in rows
        ),
        needed=True,
    )


def _verdicts(sheet: Mapping[str, Any]) -> Iterator[Table]:
    told = ("verdict", "why", "position", "set", "rule")
    yield Table(
        "results of readings",
        ("of", "kind", "verdict", "as computed on the day", "rule", "accepted"),
        (3, 3, 2, 8, 4, 3),
        tuple(
            (
                " ".join(word for word in (row["subject"], row["document"].get("set", "")) if word),
                row["kind"],
                "; ".join([str(row["document"].get("verdict", "")), *row["document"].get("why", ()), *row["why"]]),
                in_words({name: value for name, value in row["document"].items() if name not in told}),
                cell(row["document"].get("rule")),
                "; ".join(f"{one['by']} {plain(one['at'])} {one['reason']}".rstrip() for one in row["accepted"]),
            )
            for row in sheet["results"]
        ),
        needed=True,
    )
    if sheet["heights_let_be"]:
        yield Table(
            "liners let be by a person's word",
            ("position", "set", "height", "by", "why"),
            (4, 3, 3, 3, 6),
            tuple(
                (row["position"], row["serial"], row["height"], row["by"], row["reason"])
                for row in sheet["heights_let_be"]
            ),
        )


def _gauges(rows: Sequence[Mapping[str, Any]]) -> Table:
    return Table(
        "gauges of the readings, as they stood on the day of the last one",
        ("gauge", "name", "last read on", "stood", "calibrated on", "due", "calibrated by", "certificate"),
        (3, 5, 3, 3, 3, 3, 3, 3),
        tuple(
            (
                row["number"],
                row["name"],
                plain(row["read_on"]),
                row["state"],
                cell(row["calibrated_on"]),
                cell(row["next_due"]),
                cell(row["done_by"]),
                cell(row["certificate"]),
            )
            for row in rows
        ),
        needed=True,
    )


def _lots(rows: Sequence[Mapping[str, Any]]) -> Table:
    return Table(
        "what the job fitted, by lot and by serial",
        ("lot or serial", "part", "from", "received on", "cured or made", "use by", "certificates"),
        (5, 3, 3, 3, 3, 3, 8),
        tuple(
            (
                row["serial"] or row["lot"],
                row["part"],
                cell(row["supplier"]),
                cell(row["received_on"]),
                (cell if row["ages"] else plain)(row["cure_code"] or row["made_on"]),
                plain(row["expires_on"]),
                "" if row["serial"] and not row["certificates"] else cell("; ".join(map(_paper, row["certificates"]))),
            )
            for row in rows
        ),
        needed=True,
    )


def _paper(one: Mapping[str, Any]) -> str:
    beside = "" if one["speaks_of_it"] else ", which does not name this lot"
    return f"{one['number']} of {plain(one['dated_on'])}{beside}, file {one['filename']}, SHA-256 {one['sha256']}"


def _photos(rows: Sequence[Mapping[str, Any]]) -> Table:
    return Table(
        "photographs, where they are kept",
        ("of", "kept", "by", "when"),
        (6, 7, 3, 4),
        tuple((row["of"], cell(row["kept"]), row["by"], plain(row["at"])) for row in rows),
        needed=True,
    )


def _torques(rows: Sequence[Mapping[str, Any]]) -> Table:
    return Table(
        "quoted from the family's document, never computed",
        ("part", "name", "positions", "as quoted", "book, edition, page", "as tightened"),
        (3, 4, 5, 4, 4, 3),
        tuple(
            (row["part"], row["name"], ", ".join(row["positions"]), cell(row["quoted"]), cell(row["source"]), None)
            for row in rows
        ),
        needed=True,
    )


def _tests(sheet: Mapping[str, Any]) -> Iterator[Table]:
    yield Table(
        "leak tests of the water jacket",
        ("when", "pressure", "held", "drop", "good", "wet below", "by"),
        (4, 2, 2, 2, 2, 4, 3),
        tuple(
            (
                plain(row["at"]), row["pressure"], row["held"], row["drop"],
                "; ".join([plain(row["good"]), *row["why"]]), ", ".join(row["wet"]), row["by"],
            )
            for row in sheet["leak_tests"]
        ),
        needed=True,
    )  # fmt: skip
    yield Table(
        "pistons seen by a second person",
        ("position", "seen good", "by"),
        (4, 11, 3),
        tuple((row["position"], cell(", ".join(row["seen"])), cell(", ".join(row["by"]))) for row in sheet["pistons"]),
    )
    run = sheet["first_run"]
    yield Table(
        "first run",
        ("what", "on record"),
        (5, 13),
        ()
        if run is None
        else (
            ("run on", plain(run["run_on"])),
            ("good", plain(run["good"])),
            ("leaks", run["leaks"] or "none"),
            *(
                (str(one["name"]), in_words({key: one[key] for key in ("typed", "good", "why")}))
                for one in run["values"]
            ),
            ("limits from", cell(run["limits_from"])),
        ),
        needed=True,
    )
    yield Table(
        "work after the first run",
        ("what", "due on", "done on"),
        (10, 4, 4),
        tuple((row["what"], plain(row["due_on"]), cell(row["done_on"])) for row in sheet["after_first_run"]),
    )


def _signatures(rows: Sequence[Mapping[str, Any]]) -> Table:
    return Table(
        "who signed for what",
        ("what", "who", "when"),
        (9, 5, 4),
        tuple((row["what"], cell(row["who"]), (cell if row["who"] else plain)(row["at"] or row["on"])) for row in rows),
    )
