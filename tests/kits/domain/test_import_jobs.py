"""Rows of tables of jobs. Families and engines are those of the demo shop (invented)."""

from dataclasses import replace
from datetime import date

import pytest

from inventory.domain.import_cells import Cell, gather
from inventory.domain.import_known import Known
from inventory.domain.import_rows import Verdict, judge
from kits.domain.import_jobs import JOBS, KnownJobs, check_job_row
from kits.domain.terms import ARRIVAL, HOURS, Reading
from tests.factories.tables import TODAY, asked, refused

KNOWN = KnownJobs(
    jobs={"J1001": "J1001"},
    families={"A4-": ("Alder-4", 6), "R6-": ("Rowan-6", 4)},
    engines={"A4-020543": 7, "R6-7105": None},
    procedures={"P1": "Alder-4", "P2": "Alder-4", "P4": "Rowan-6"},
    sites=("TB",),
    owners=frozenset({7, 8}),
    readings={"A4-020543": {HOURS: [Reading(date(2024, 1, 1), 3600 * 900, ARRIVAL)]}},
)
PLAIN = {"job": "J1002", "engine": "R6-7105", "procedures": "P4", "strip on": "2025-02-03", "fit on": "2025-02-10"}


def row(answers=None, known=KNOWN, **cells):
    made = {name.replace("_", " "): Cell(text) for name, text in (PLAIN | cells).items()}
    evidence = gather([made], JOBS.reads)
    return judge(JOBS, made, evidence, Known(more=known), today=TODAY, check=check_job_row, answers=answers)


def test_a_booked_job_and_one_of_the_past():
    booked = row(family="Rowan-6", hours="1089.5", owner="8")
    assert booked.verdict is Verdict.ACCEPTED
    said = {name: booked.values[name] for name in ("engine", "operations", "site", "new engine", "closed on", "owner")}
    assert said == {
        "engine": "R6-7105", "operations": ["P4"], "site": "TB", "new engine": False, "closed on": None, "owner": 8,
    }  # fmt: skip
    good = row(engine="a4 020599", procedures="P1+P2; P1", strip_on="2023-05-02", fit_on="", closed_on="2023-05-09")
    assert (good.verdict, good.values["engine"], good.values["fit on"]) == (Verdict.ACCEPTED, "A4-020599", "2023-05-09")
    assert (good.values["operations"], len(good.warnings)) == (["P1", "P2"], 1)


@pytest.mark.parametrize(
    ("cells", "questions"),
    [
        ({"job": "j 1001"}, [("number-known", "job", "J1001")]),
        ({"engine": "R6-71O5"}, [("engine-unclear", "engine", "R6-7105")]),
        ({"engine": "R6-7106"}, [("engine-unclear", "engine", "R6-7105")]),
        ({"family": "Alder-4"}, [("family-differs", "family", "Rowan-6")]),
        ({"fit_on": ""}, [("no-day", "fit on", "2025-02-03")]),
        ({"engine": "A4-020543", "procedures": "P1", "owner": "8"}, [("owner-differs", "owner", "7")]),
        ({"engine": "A4-020543", "procedures": "P1", "hours": "899"}, [("reading-asked", "hours", "")]),
        ({"engine": "A4-020543", "procedures": "P1", "hours": "900"}, []),
        ({"engine": "A4-020543", "procedures": "P1", "owner": "8", "strip_on": "2023-05-02", "fit_on": "2023-05-03", "closed_on": "2023-05-03"}, []),
    ],
)  # fmt: skip
def test_what_a_person_is_asked(cells, questions):
    assert asked(row(**cells)) == questions


def test_what_was_asked_is_answered():
    assert row({"engine": "R6-7106"}, engine="R6-7106").values["new engine"] is True
    assert row({"owner": "8"}, engine="A4-020543", procedures="P1", owner="8").verdict is Verdict.ACCEPTED
    assert row({"fit on": "2025-02-03"}, fit_on="").values["fit on"] == "2025-02-03"
    assert row({"hours": "899"}, engine="A4-020543", procedures="P1", hours="899").verdict is Verdict.ACCEPTED
    assert refused(row({"family": "Alder-4"}, family="Alder-4")) == ["operation-other-family"]


@pytest.mark.parametrize(
    ("cells", "codes"),
    [
        ({"job": ""}, ["cell-missing"]),
        ({"job": "---"}, ["part-number-unreadable"]),
        ({"engine": "Z9-1"}, ["engine-number-unreadable"]),
        ({"procedures": "P9"}, ["not-found"]),
        ({"procedures": "P1"}, ["operation-other-family"]),
        ({"procedures": " + "}, ["nothing-given"]),
        ({"site": "QY"}, ["not-found"]),
        ({"fit_on": "2025-02-02"}, ["dates-turned"]),
        ({"strip_on": "2025-01-10", "fit_on": "2025-01-10", "closed_on": "2025-01-16"}, ["from-the-future"]),
        ({"owner": "9"}, ["not-found"]),
        ({"hours": "1,089"}, ["cell-unreadable"]),
        ({"remark": "cancelled: sold"}, ["import-remark"]),
    ],
)
def test_what_nothing_makes_right(cells, codes):
    assert refused(row(**cells)) == codes


def test_a_shop_of_two_sites_is_told_which():
    assert refused(row(known=replace(KNOWN, sites=("QY", "TB")))) == ["cell-missing"]
