"""Tables of jobs: booked by the rules of booking, those of the past closed; and out again in the same columns."""

from datetime import date

import pytest

from api.tables.kinds import KINDS, table
from api.tables.write import csv_lines
from inventory.domain.errors import DomainError, ManyErrors
from inventory.models import ImportFile, Owner, Refusal
from inventory.queries import imports as read
from inventory.queries.audit import audit
from inventory.services.tables import kinds
from kits.models import EngineFamily, Job, MeterReading
from kits.queries.engine_owners import owners_on
from kits.queries.jobs import full_record
from kits.queries.likely import likely_findings
from tests.inventory.services.test_bring_in import answered, booked, codes, kept, read_in

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]
HEAD = "job;engine;procedures;site;strip on;fit on;closed on;owner;hours\n"


def test_every_kind_that_is_handled_has_its_columns():
    assert sorted(kinds()) == sorted(KINDS)


def test_booked_jobs_and_jobs_of_the_past():
    one, two = (Owner.objects.create(name=name) for name in ("Harbour works", "Mill"))
    rows = (
        f"J9;A4-020543;P1+P2;TB;2025-02-03;2025-02-10;;{two.pk};1200\n"
        f"J3;A4-020543;P1;TB;2023-05-02;;2023-05-09;{one.pk};900\n"
    )
    number = read_in("jobs", HEAD + rows)
    assert codes(number) == [[], []]
    # The later of two rows on one engine says that it changed hands: so somebody has to say.
    with pytest.raises(ManyErrors) as caught:
        booked(number)
    assert [(line, error.code) for line, error in caught.value.errors] == [(2, "owner-differs")]
    answered(number, (2, "owner", str(two.pk)))
    assert booked(number)["booked"] == {"jobs": 2, "of_the_past": 1}
    past, now = Job.objects.order_by("number")
    assert [(job.state, job.strip_on, job.fit_on) for job in (past, now)] == [
        ("closed", date(2023, 5, 2), date(2023, 5, 9)),
        ("booked", date(2025, 2, 3), date(2025, 2, 10)),
    ]
    codes_of = [one.procedure_revision.procedure.code for one in now.operations.order_by("pk")]
    assert (codes_of, now.cart.code, now.bench.code) == (["P1", "P2"], "cart J9", "bench J9")
    assert full_record(past)["end"]["reason"] == (
        "of the past, closed on 2023-05-09: t.csv, row 3; nothing of its work is recorded here"
    )
    engine = now.engine
    assert (engine.owner_id, owners_on([engine.pk], date(2024, 1, 1))[engine.pk]) == (two.pk, one)
    meters = MeterReading.objects.order_by("read_on").values_list("read_on", "amount")
    assert [(str(day), seconds // 3600) for day, seconds in meters] == [("2023-05-02", 900), ("2025-01-15", 1200)]
    # nobody recorded what a job of the past found, so it makes no finding less likely
    assert {one["jobs"] for one in likely_findings(EngineFamily.objects.get(code="Alder-4"))} == {0}
    assert audit() == []

    headings, out = table("jobs")
    again = read_in("jobs", b"".join(csv_lines(headings, out)).decode())
    assert [row["known"] for row in read.rows_of(again)] == [True, True]
    assert booked(again)["booked"] == {"jobs": 0, "of_the_past": 0}


def test_a_job_on_record_otherwise_is_asked_about():
    booked(read_in("jobs", HEAD + "J9;A4-020543;P1;TB;2025-02-03;2025-02-10;;;\n"))
    number = read_in(
        "jobs", HEAD + "J9;A4-020543;P1;TB;2025-02-03;2025-02-12;;;\nj 9;A4-020543;P1;TB;2025-02-03;2025-02-10;;;\n"
    )
    assert codes(number) == [["on-record-otherwise"], ["number-known", "row-twice"]]
    answered(number, as_proposed=["on-record-otherwise"])
    assert codes(number)[0] == ["row-left-out"]


def test_hours_that_are_lower_than_in_a_row_of_an_earlier_strip_are_asked_about_and_stand_once_answered():
    rows = "J9;A4-020543;P1;TB;2024-02-03;2024-02-10;;;800\nJ3;A4-020543;P1;TB;2023-05-02;;2023-05-09;;900\n"
    number = read_in("jobs", HEAD + rows)
    with pytest.raises(ManyErrors) as caught:
        booked(number)
    assert [(line, error.code) for line, error in caught.value.errors] == [(2, "reading-asked")]
    answered(number, (2, "hours", "800"))
    assert booked(number)["booked"]["jobs"] == 2
    assert MeterReading.objects.order_by("pk").last().asked.startswith("800 h is lower than 900 h on 2023-05-02")


def test_what_changed_since_it_was_read_refuses_the_whole_table_by_row():
    rows = "J8;A4-020544;P1;TB;2025-02-03;2025-02-10;;;\nJ9;A4-020543;P1;TB;2025-02-03;2025-02-10;;{};\n"
    owner, other = (Owner.objects.create(name=name) for name in ("Harbour works", "Mill"))
    number = read_in("jobs", HEAD + rows.format(owner.pk))
    booked(read_in("jobs", HEAD + f"J7;A4-020543;P1;TB;2025-02-03;2025-02-10;;{other.pk};\n"))
    with pytest.raises(ManyErrors) as caught:
        booked(number)
    assert [(line, error.code) for line, error in caught.value.errors] == [(3, "owner-differs")]
    assert list(Job.objects.values_list("number", flat=True)) == ["J7"]


def test_a_table_that_names_owners_is_not_kept_and_its_refusal_does_not_say_who():
    with pytest.raises(DomainError) as caught:
        kept("jobs", HEAD + "J9;A4-020543;P1;TB;2025-02-03;2025-02-10;;Harbour works;\n")
    assert (caught.value.code, caught.value.values) == ("personal-data", {"row": 2, "column": "owner"})
    assert not ImportFile.objects.exists()
    assert "Harbour" not in str(Refusal.objects.values().get())


def test_a_long_table_of_jobs_is_brought_in_by_several():
    content = (HEAD + "J9;A4-020543;P1;TB;2025-02-03;2025-02-10;;;\n" * 251).encode()
    with pytest.raises(DomainError) as caught:
        kept("jobs", "", content=content)
    assert caught.value.code == "too-many-lines"
