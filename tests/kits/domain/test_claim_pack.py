"""The sheets of a claim pack say what the record says, in its place; what it does not say is a gap there."""

from datetime import UTC, date, datetime
from typing import Any

from kits.domain.claim_pack import sections
from kits.domain.claim_sheets import gaps_of

AT = datetime(2025, 3, 1, 12, 30, tzinfo=UTC)
TERM: dict[str, Any] = {
    "begun": True, "within": True, "why": "inside every limit",
    "limits": [{"limit": "months", "within": True, "why": "18 months from 2025-01-31: to 2026-07-31, that day included"}],
}  # fmt: skip
NOT_BEGUN = {"begun": False, "within": None, "why": "no hand-over is on record: the term has not begun", "limits": []}


def thing(**more: Any) -> dict[str, Any]:
    said = {"position": "CYL-2/ring", "item": 7, "part": "R-1", "lot": "B1", "serial": "", "what": "cut", "photo": "p2"}
    return {**said, "by": "hester", "at": AT, "withdrawn": "", "failed_before": []} | more


def claim(**more: Any) -> dict[str, Any]:
    return {
        "claim": 4, "engine": "E-1", "job": "J1", "state": "open", "told_on": date(2025, 3, 1), "told_by": "skipper", "owner": 9,
        "what": "coolant in the oil", "by": "hester", "at": AT, "asked": "", "reason": "", "readings": [], "term": TERM,
        "term_now": NOT_BEGUN, "things": [thing()], "causes": [], "answers": [], "ends": [],
    } | more  # fmt: skip


def fitted(**more: Any) -> dict[str, Any]:
    return {
        "position": "CYL-2/ring", "item": 7, "part": "R-1", "lot": "B1", "serial": "", "lot_unknown": False, "lubricant": "soap",
        "open": [], "fitted_at": AT, "fitter": "jonah", "checker": "edda", "there": True, "reused": False,
    } | more  # fmt: skip


JOB: dict[str, Any] = {
    "number": "J1", "engine": "E-1", "family": "Pair-2", "family_revision": 1, "site": "TB", "booked_at": AT, "booked_by": "maren",
    "strip_on": date(2025, 1, 1), "fit_on": date(2025, 1, 20), "complaint": "knocks", "hours": "900.0", "kilometres": 5,
    "operations": [{"procedure": "P1", "revision": 2, "name": "everything"}], "end": None, "handed_over": None,
    "findings": [{"code": "worn", "place": "CYL-2", "state": "counts", "note": ""}],
}  # fmt: skip
NO_SHEET: dict[str, Any] = {
    "positions": [], "readings": [], "results": [], "heights_let_be": [], "leak_tests": [], "pistons": [], "first_run": None,
    "after_first_run": [],
}  # fmt: skip


def pack(**more: Any) -> dict[str, Any]:
    rest: dict[str, Any] = dict.fromkeys(("removed_since", "gauges", "lots", "photos", "torques", "signatures"), [])
    return rest | {"claim": claim(), "job": JOB, "build_sheet": NO_SHEET} | more


def rows(found: Any, title: str, caption: str = "") -> list[tuple[str | None, ...]]:
    (section,) = [one for one in found if one.title == title]
    tables = [one for one in section.tables if not caption or one.caption == caption]
    return list(tables[0].rows)


def listed(found: Any, title: str) -> list[tuple[str, tuple[str, ...]]]:
    return [(gap.what, gap.rows) for gap in gaps_of(found) if gap.section == title]


def test_every_table_fits_its_heads_and_the_order_is_that_of_the_sheets():
    found = sections(pack())
    assert [one.title for one in found] == [
        "Claim sheet", "Job card", "Positions", "Readings", "Verdicts and corrections", "Gauges", "Lots and certificates",
        "Photographs", "Torques as quoted", "Tests", "Signatures",
    ]  # fmt: skip
    for section in found:
        for table in section.tables:
            assert len(table.heads) == len(table.shares)
            assert {len(row) for row in table.rows} <= {len(table.heads)}


def test_a_claim_with_nothing_decided_names_what_is_open_and_one_that_is_closed_keeps_all_of_it():
    assert [what for what, _ in listed(sections(pack()), "Claim sheet")] == [
        "meters on that day", "cause", "cause found by", "evidence", "oil sample", "coolant sample", "answer",
    ]  # fmt: skip
    old = {
        "cause": "overheated",
        "found_by": "edda",
        "evidence": "colour",
        "oil_sample": "O-1",
        "coolant_sample": "C-1",
    }
    new = old | {"cause": "cracked"}
    told = {"by": "hester", "at": AT}
    answer = {"answer": "part", "reason": "no tow", "stands": True, **told}
    full = claim(
        causes=[{**old, "stands": False, **told}, {**new, "stands": True, **told}],
        answers=[answer],
        ends=[{"what": "closed", "reason": "", **told}],
        things=[thing(), thing(position="CYL-1/ring", withdrawn="it is dry"), thing(item=None, photo="")],
        readings=[{"meter": "hours", "shows": "900 h", "withdrawn": ""}, {"meter": "hours", "shows": "9 h", "withdrawn": "slip"}],
    )  # fmt: skip
    found = sections(pack(claim=full))
    said = dict(rows(found, "Claim sheet", "claim"))
    assert (said["cause"], said["answer"], said["meters on that day"]) == ("cracked", "part: no tow", "hours 900 h")
    assert rows(found, "Claim sheet", "replaced, withdrawn, closed, opened again") == [
        ("2025-03-01 12:30", "hester", "cause: overheated (colour)"),
        ("2025-03-01 12:30", "hester", "CYL-1/ring: withdrawn: it is dry"),
        ("2025-03-01 12:30", "hester", "closed"),
    ]
    assert rows(found, "Claim sheet", "positions that it concerns") == [
        ("CYL-2/ring", "R-1", "B1", "cut", "p2", ""), ("CYL-2/ring", None, None, "cut", None, ""),
    ]  # fmt: skip
    assert rows(found, "Claim sheet", "inside the term, as it was judged when it was entered")[0] == (
        "in all", "yes", "inside every limit",
    )  # fmt: skip
    assert rows(found, "Claim sheet", "inside the term, by what is on record now") == [
        ("in all", "not begun", NOT_BEGUN["why"])
    ]


def test_positions_as_built_with_what_came_out_since():
    gone = fitted(position="CYL-1/set", item=3, part="S-1", lot="", serial="S-9", lubricant="", there=False)
    lost = gone | {"position": "CYL-2/set", "item": 4, "serial": "S-8"}
    dry = fitted(position="CYL-1/ring", lubricant="", open=["not said what it was fitted with"], checker="")
    sheet = NO_SHEET | {"positions": [fitted(), gone, lost, dry, fitted(lot_unknown=True, lot="", reused=True)]}
    removed = {
        "position": "CYL-1/set", "item": 3, "part": "S-1", "called": "S-9", "job": "J9", "went_to": "quarantine", "reason": "", "by": "ines", "at": AT,
    }  # fmt: skip
    found = sections(pack(build_sheet=sheet, removed_since=[removed]))
    at = "2025-03-01 12:30"
    assert rows(found, "Positions", "as built on this job") == [
        ("CYL-2/ring", "R-1", "B1", "soap", at, "jonah", "edda", "there"),
        ("CYL-1/set", "S-1", "S-9", "", at, "jonah", "edda", "out"),
        ("CYL-2/set", "S-1", "S-8", "", at, "jonah", "edda", "out"),
        ("CYL-1/ring", "R-1", "B1", None, at, "jonah", None, "there"),
        ("CYL-2/ring", "R-1 (used again)", None, "soap", at, "jonah", "edda", "there"),
    ]
    assert rows(found, "Positions", "removed since") == [
        ("CYL-1/set", "S-1", "S-9", at, "J9", "quarantine", None, "ines"), ("CYL-2/set", "S-1", "S-8", None, None, None, None, None),
    ]  # fmt: skip


def test_verdicts_say_what_was_computed_then_and_readings_their_gauge():
    document = {"set": "S-9", "verdict": "pass", "why": [], "allowance_nm": 10_000, "rule": "limits narrowed"}
    result = {"subject": "CYL-1/set", "kind": "protrusion", "document": document, "why": ["reading 3 was withdrawn"]}
    taken = {"by": "ines", "at": AT, "reason": "level"}
    reading = {
        "id": 3, "set": "", "place": "", "point": "", "what": "bore", "shown": "130.001 mm", "gauge": "BG-1", "gauge_state": "in date",
        "part_mk": None, "by": "ines", "at": AT, "marks": ["no temperature"],
    }  # fmt: skip
    let_be = {"position": "CYL-1/set", "serial": "S-9", "height": "doubtful", "by": "edda", "reason": "level enough"}
    sheet = NO_SHEET | {"results": [{**result, "accepted": [taken]}], "readings": [reading], "heights_let_be": [let_be]}
    found = sections(pack(build_sheet=sheet))
    assert rows(found, "Verdicts and corrections") == [
        (
            "CYL-1/set S-9", "protrusion", "pass; reading 3 was withdrawn", "allowance 0.01 mm", "limits narrowed",
            "ines 2025-03-01 12:30 level",
        )
    ]  # fmt: skip
    assert rows(found, "Readings") == [
        ("3", "bore", "130.001 mm", "BG-1", "in date", None, "ines", "2025-03-01 12:30", "no temperature")
    ]
    kelvin = sections(
        pack(build_sheet=NO_SHEET | {"readings": [reading | {"set": "S-9", "point": "12", "part_mk": 294_650}]})
    )
    assert rows(kelvin, "Readings")[0][:6] == ("S-9 12", "bore", "130.001 mm", "BG-1", "in date", "21.5 °C")
    assert rows(found, "Verdicts and corrections", "liners let be by a person's word") == [
        ("CYL-1/set", "S-9", "doubtful", "edda", "level enough")
    ]


def test_papers_photos_torques_and_signatures_are_quoted_or_missing():
    paper = {
        "number": "C-7",
        "dated_on": date(2024, 5, 1),
        "filename": "c7.pdf",
        "sha256": "ab12",
        "speaks_of_it": False,
    }
    lot: dict[str, Any] = {
        "part": "R-1", "lot": "B1", "serial": "", "supplier": "Saltby", "received_on": date(2024, 6, 1), "cure_code": "1Q24",
        "made_on": None, "expires_on": date(2034, 1, 1), "ages": True, "certificates": [paper],
    }  # fmt: skip
    bare = lot | {"lot": "B2", "supplier": "", "received_on": None, "cure_code": "", "certificates": []}
    gasket = bare | {"lot": "B3", "expires_on": None, "ages": False}
    a_set = gasket | {"lot": "", "serial": "S-9"}
    gauge = {
        "number": "BG-1", "name": "bore gauge", "read_on": date(2025, 1, 2), "state": "never calibrated", "calibrated_on": None,
        "next_due": None, "done_by": "", "certificate": "",
    }  # fmt: skip
    torque = {"part": "B-1", "name": "bolt", "positions": ["HEAD/bolt-1"], "quoted": "60 N·m", "source": "book, page 4"}
    photo = {"of": "the claim", "kept": "", "by": "hester", "at": AT}
    signed = {"what": "job closed", "who": "edda", "at": None, "on": date(2025, 1, 30)}
    found = sections(
        pack(lots=[lot, bare, gasket, a_set], gauges=[gauge], torques=[torque, torque | {"quoted": "", "source": ""}],
             photos=[photo], signatures=[signed, signed | {"who": "", "on": None}])
    )  # fmt: skip
    assert rows(found, "Lots and certificates") == [
        (
            "B1", "R-1", "Saltby", "2024-06-01", "1Q24", "2034-01-01",
            "C-7 of 2024-05-01, which does not name this lot, file c7.pdf, SHA-256 ab12",
        ),
        ("B2", "R-1", None, None, None, "2034-01-01", None),
        ("B3", "R-1", None, None, "", "", None),
        ("S-9", "R-1", None, None, "", "", ""),
    ]  # fmt: skip
    assert rows(found, "Gauges") == [("BG-1", "bore gauge", "2025-01-02", "never calibrated", None, None, None, None)]
    assert [row[3:] for row in rows(found, "Torques as quoted")] == [
        ("60 N·m", "book, page 4", None),
        (None, None, None),
    ]
    assert rows(found, "Photographs") == [("the claim", None, "hester", "2025-03-01 12:30")]
    assert rows(found, "Signatures") == [("job closed", "edda", "2025-01-30"), ("job closed", None, "")]


def test_tests_of_the_built_engine():
    leak = {
        "at": AT, "pressure": "1 bar", "held": "15 min", "drop": "0.02 bar", "good": False, "why": ["wet"], "wet": ["CYL-2/ring"],
        "by": "ines",
    }  # fmt: skip
    run = {
        "run_on": date(2025, 1, 30), "good": True, "leaks": "", "limits_from": "",
        "values": [{"name": "oil pressure", "typed": "3 bar", "good": True, "why": ""}],
    }  # fmt: skip
    piston = {"position": "CYL-1/set", "seen": ["crown"], "by": []}
    due = {"what": "valve clearance", "due_on": date(2025, 2, 1), "done_on": None}
    sheet = NO_SHEET | {"leak_tests": [leak], "first_run": run, "pistons": [piston], "after_first_run": [due]}
    found = sections(pack(build_sheet=sheet))
    assert rows(found, "Tests") == [
        ("2025-03-01 12:30", "1 bar", "15 min", "0.02 bar", "no; wet", "CYL-2/ring", "ines")
    ]
    assert rows(found, "Tests", "pistons seen by a second person") == [("CYL-1/set", "crown", None)]
    assert rows(found, "Tests", "first run") == [
        ("run on", "2025-01-30"), ("good", "yes"), ("leaks", "none"), ("oil pressure", "typed 3 bar, good yes"), ("limits from", None),
    ]  # fmt: skip
    assert rows(found, "Tests", "work after the first run") == [("valve clearance", "2025-02-01", None)]
    assert [what for what, _ in listed(sections(pack()), "Tests")] == ["leak tests of the water jacket", "first run"]


def test_the_job_card_says_where_the_engine_went():
    end = {"at": AT, "by": "jonah", "checker": ""}
    out = {"on": date(2025, 1, 31), "by": "hester", "used_in": "boat"}
    said = dict(rows(sections(pack(job=JOB | {"end": end, "handed_over": out})), "Job card", "job"))
    assert (said["closed"], said["close checked by"], said["handed over on"], said["works in"]) == (
        "2025-03-01 12:30 by jonah", None, "2025-01-31", "boat",
    )  # fmt: skip
    open_still = dict(rows(sections(pack(job=JOB | {"complaint": ""})), "Job card", "job"))
    assert (open_still["closed"], open_still["handed over on"], open_still["complaint at arrival"]) == (
        None,
        None,
        None,
    )
    assert "works in" not in open_still
