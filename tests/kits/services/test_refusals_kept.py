"""A rule that says no is kept: who tried what, when, and why not. Two people, a signature, a reason and the order of days are rules."""

from datetime import date, timedelta

import pytest

from inventory.models import Act, Refusal
from kits.models import Job
from kits.services.dates import move_fit_date
from kits.services.engines import mark_field_modified
from kits.services.extras import ask_for_more
from kits.services.finish import cancel_job, close_job, mark_not_needed
from kits.services.fit import fit, set_bores
from kits.services.fit_facts import FitIn
from kits.services.hold_kit import hold_kit
from kits.services.jobs import book_job, record_approval, record_choice, withdraw_finding
from kits.services.lay_bead import TubeUsed, lay_bead
from kits.services.marks import clean_marks
from kits.services.open_gate import GateIn, open_gate
from kits.services.origins import enter_origin_word, lose_positions
from kits.services.pick_kit import hand_over
from kits.services.release import release
from kits.services.washed_out import count_washed
from tests.factories.acts import refused
from tests.factories.rebuilds import book, hold, person, shelve
from tests.factories.stores import NOON

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]

RING = [FitIn("CYL-1/base-ring", 1)]
GATE = GateIn(faces_clean_dry=True, test_fit=True, dowels_in=True, bolts=10, tubes=[])
BEAD = {
    "joint": "sump",
    "started_at": NOON,
    "ended_at": NOON + timedelta(minutes=5),
    "tubes": [TubeUsed("T-1", 30_000)],
}
BOOK = {
    "number": "J2", "engine_number": "A4-020544", "site": "TB", "operations": ["P1"], "strip_on": date(2025, 1, 20),
    "fit_on": date(2025, 1, 10), "new_engine": True,
}  # fmt: skip
#: (code, kind of act, the call, what is asked besides the job); "ME" stands for who does it.
SAID_NO = [
    ("same-person", "close job", close_job, {"checker": "ME"}),
    ("same-person", "fit", fit, {"fittings": RING, "checker": "ME"}),
    ("not-signed", "fit", fit, {"fittings": RING, "early_fill": "the truck is waiting"}),
    ("same-person", "lay bead", lay_bead, {**BEAD, "helper": "ME"}),
    ("same-person", "open joint", open_gate, {"joint": "sump", "said": GATE, "helper": "ME"}),
    ("same-person", "open joint", open_gate, {"joint": "sump", "said": GATE, "signed_by": "ME", "because": "cold"}),
    ("reason-missing", "open joint", open_gate, {"joint": "sump", "said": GATE, "signed_by": "OTHER"}),
    ("reason-missing", "move fit date", move_fit_date, {"fit_on": date(2025, 2, 1), "reason": " "}),
    ("reason-missing", "hold", hold_kit, {"lots": {"A-111": ["A-111/1"]}}),
    ("reason-missing", "extra", ask_for_more, {"part": "A-111", "amount": 1, "reason": "just so"}),
    ("reason-missing", "cancel job", cancel_job, {"reason": ""}),
    ("reason-missing", "mark not needed", mark_not_needed, {"positions": {"CYL-1/base-ring": " "}}),
    ("reason-missing", "set bores", set_bores, {"bores": {"CYL-1/liner": "S-1"}, "reason": ""}),
    ("reason-missing", "record choice", record_choice, {"choice": "c", "place": "ENGINE", "alternative": "a", "reason": ""}),
    ("reason-missing", "withdraw finding", withdraw_finding, {"finding_id": 1, "reason": ""}),
    ("reason-missing", "record approval", record_approval, {"findings": [1], "approved": True, "given_by": "", "how": "call"}),
    ("reason-missing", "clean marks", clean_marks, {"serials": ["S-1"], "reason": ""}),
    ("reason-missing", "lose position", lose_positions, {"items": [1], "reason": ""}),
    ("reason-missing", "enter word of the maker", enter_origin_word, {"item": 1, "position": "CYL-1/base-ring", "word": ""}),
    ("reason-missing", "count washed", count_washed, {"counts": {"plug": 1}, "back": False, "recount": True, "reason": ""}),
]  # fmt: skip


def kept(code, kind, actor):
    """The one refusal that is on record, and nothing of an act."""
    row = Refusal.objects.get()
    assert (row.kind, row.code, row.actor, row.recorded_at) == (kind, code, actor, NOON)
    assert not Act.objects.filter(key=row.key).exists()
    return row


@pytest.mark.parametrize(("code", "kind", "call", "asked"), SAID_NO)
def test_a_refused_act_on_a_job_is_on_record(code, kind, call, asked):
    book()
    people = {"ME": person("me"), "OTHER": person("other")}
    asked = {name: people.get(value, value) if isinstance(value, str) else value for name, value in asked.items()}
    refused(code, call, actor=person("me"), job="J1", **asked)
    assert kept(code, kind, person("me")).subject == "J1"


def test_a_hand_over_to_oneself_is_on_record():
    shelve({"A-111": 1})
    body = hold(book(findings=[("liner-lifted", "CYL-1")]), steps=["P1/10"])
    keeper = person("keeper")
    refused("same-person", hand_over, actor=keeper, pick_list=body["pick_list"], received_by=keeper, missing=[])
    row = kept("same-person", "hand over", keeper)
    assert (row.kind, row.subject, row.values["person"]) == ("hand over", "J1", "keeper")
    refused("reason-missing", release, actor=keeper, hold=body["held"][0]["hold"], reason="")
    assert list(Refusal.objects.order_by("pk").values_list("kind", "code"))[1] == ("release", "reason-missing")


def test_a_job_fitted_before_it_is_stripped_is_on_record_and_not_booked():
    refused("dates-turned", book_job, actor=person("clerk"), **BOOK)
    assert kept("dates-turned", "book job", person("clerk")).subject == "J2"
    assert not Job.objects.exists()


def test_an_engine_changed_in_the_field_without_a_source_is_on_record():
    book()
    refused("reason-missing", mark_field_modified, actor=person("clerk"), engine="A4-020543", modified=True, reason="")
    kept("reason-missing", "mark engine", person("clerk"))
