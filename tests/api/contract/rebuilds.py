"""One good request for each operation of the rebuild jobs, in the small shop; the job is brought as far as the request needs."""

from __future__ import annotations

import copy
from collections.abc import Callable
from typing import Any

from inventory.models import Person
from inventory.services.receive import ReceiveLine
from tests.api.contract.shops import Good
from tests.api.rest.clients import ShopClient
from tests.api.rest.rebuilds import Rebuild, job_body, rebuild
from tests.factories.engines import family_document, operation_documents
from tests.factories.stores import received

JOB = {"number": "J-1"}
Make = Callable[[Person], Good]


def on_job(body: Any = None, *, far: str = "booked", query: dict[str, Any] | None = None) -> Make:
    """A request on the job J-1, which is booked, held, picked or at the bench."""

    def make(actor: Person) -> Good:
        brought_to(far)
        return Good(JOB, query or {}, body)

    return make


def brought_to(stage: str) -> Rebuild:
    its = rebuild()
    if stage == "bench":
        return its.at_bench()
    its.booked()
    if stage in ("held", "picked"):
        its.held()
    if stage == "picked":
        its.picked()
    return its


def _next_family(actor: Person) -> Good:
    return Good(body={"document": family_document() | {"revision": 2}})


def _next_procedure(actor: Person) -> Good:
    document = copy.deepcopy(operation_documents()["T1"])
    return Good(body={"document": document | {"revision": document["revision"] + 1}})


def _hold(actor: Person) -> Good:
    return Good({"hold": brought_to("held").said["held"]["held"][0]["hold"]}, body={"reason": "wrong part"})


def _unasked(actor: Person) -> Good:
    its = brought_to("held")
    finding = its.technician.read("jobs/J-1").json()["findings"][0]["id"]
    its.did(its.technician, f"jobs/J-1/findings/{finding}/withdrawals", {"reason": "it is good"})
    return Good(JOB, body={"reason": "the liner stays"})


def _lapse(actor: Person) -> Good:
    its = rebuild().booked()
    held = its.did(its.technician, "jobs/J-1/holds", {"until": "2025-02-01", "occurred_at": "2025-01-16T12:00:00Z"})
    return Good({"hold": held["held"][0]["hold"]}, body={"reason": "past its day"})


def _picks(actor: Person) -> Good:
    its = brought_to("held")
    return Good({"pick_list": its.said["held"]["pick_list"]}, body={"scans": its.scans()})


def _pick_list(actor: Person) -> Good:
    return Good({"pick_list": brought_to("held").said["held"]["pick_list"]})


def _handover(actor: Person) -> Good:
    its = brought_to("picked").looked_at()
    body = {"received_by": its.technician.person.username}
    return Good({"pick_list": its.said["held"]["pick_list"]}, body=body)


def _extra_work(its: Rebuild) -> int:
    """A finding beyond the booked scope; its number."""
    body = {"findings": [{"code": "noise"}], "extra_work": True}
    its.did(its.technician, "jobs/J-1/findings", body)
    found = its.technician.read("jobs/J-1").json()["findings"]
    return int(next(one["id"] for one in found if one["code"] == "noise"))


def _approval(actor: Person) -> Good:
    number = _extra_work(brought_to("booked"))
    answer = {"findings": [number], "approved": True, "given_by": "owner", "how": "telephone", "limit_coins": 50_000}
    return Good(JOB, body=answer)


def _withdrawal(actor: Person) -> Good:
    return Good(JOB | {"finding": _extra_work(brought_to("booked"))}, body={"reason": "it was the belt"})


def _to_go_out(its: Rebuild) -> dict[str, Any]:
    """A lifter that came out to the bench, and a machinist who takes it."""
    its.did(its.manager, "places", {"places": [{"code": "GRINDER", "kind": "outside work"}]})
    return {"machinist": "GRINDER", "item": _mixed_up(its), "due_on": "2999-02-01", "needed_by": ["T1/20"]}


def _outside(actor: Person) -> Good:
    return Good(JOB, body=_to_go_out(brought_to("booked")))


def _outside_then(body: dict[str, Any]) -> Make:
    """A request about a piece that is out."""

    def make(actor: Person) -> Good:
        its = brought_to("booked")
        out = its.did(its.manager, "jobs/J-1/outside-work", _to_go_out(its))["outside_work"]
        return Good(JOB | {"outside": out}, body=body)

    return make


def _worked(its: Rebuild) -> dict[str, Any]:
    """An hour on a finding to which the owner agreed."""
    number = _extra_work(its)
    word = {"findings": [number], "approved": True, "given_by": "owner", "how": "telephone", "limit_hours": "2 h"}
    its.did(its.manager, "jobs/J-1/approvals", word)
    return {"finding": number, "person": its.technician.person.username, "day": "2025-01-15", "time": "1 h"}


def _hours(actor: Person) -> Good:
    return Good(JOB, body=_worked(brought_to("booked")))


def _hours_reversed(actor: Person) -> Good:
    its = brought_to("booked")
    entry = its.did(its.technician, "jobs/J-1/extra-hours", _worked(its))["entry"]
    return Good(JOB | {"entry": entry}, body={"reason": "it was another job"})


def _fitting(actor: Person) -> Good:
    its = brought_to("bench")
    item = its.item("WASHER")
    return Good(JOB, body={"fittings": [{"position": "SUMP/washer", "item": item}]})


def _changed_hands(actor: Person) -> Good:
    its = brought_to("booked")
    owner = its.did(its.manager, "owners", {"name": "Another owner"})["owner"]
    return Good({"number": "T4-00211"}, body={"owner": owner, "since": "2025-01-02"})


def _fitting_correction(actor: Person) -> Good:
    its = brought_to("bench")
    ring = next(one for one in its.said["held"]["held"] if one["part"] == "RING")
    position = ring["positions"][0][0]
    its.did(its.technician, "jobs/J-1/fittings", {"fittings": [{"position": position, "item": ring["item"]}]})
    received("R1", [ReceiveLine("RING", 2, lot="RING/2")])
    right = its.item("RING", "lot=RING/2")
    return Good(
        JOB, body={"position": position, "item": ring["item"], "right": right, "place": "R1", "reason": "the bag"}
    )


def _removal(actor: Person) -> Good:
    its = brought_to("booked")
    its.did(its.technician, "jobs/J-1/finds", {"finds": [{"position": "SUMP/washer", "part": "WASHER"}]})
    return Good(JOB, body={"removals": [{"position": "SUMP/washer", "reason": "always new"}]})


def _mixed_up(its: Rebuild) -> int:
    """A lifter that came out to the bench; its item."""
    its.did(its.technician, "jobs/J-1/finds", {"finds": [{"position": "LIFTER-3/lifter", "part": "LIFTER"}]})
    body = {"removals": [{"position": "LIFTER-3/lifter", "tag": "3", "clock_deg": 0}]}
    return int(its.did(its.technician, "jobs/J-1/removals", body)["removed"][0]["item"])


def _gives_back(actor: Person) -> Good:
    item = _mixed_up(brought_to("booked"))
    return Good(JOB, body={"signed_by": "R. Alder", "given": [{"item": item, "amount": 1}]})


def _lost(actor: Person) -> Good:
    return Good(JOB, body={"items": [_mixed_up(brought_to("booked"))], "reason": "the rack fell"})


def _word(actor: Person) -> Good:
    its = brought_to("booked")
    item = _mixed_up(its)
    its.did(its.technician, "jobs/J-1/lost-positions", {"items": [item], "reason": "the rack fell"})
    return Good(JOB, body={"item": item, "position": "LIFTER-4/lifter", "word": "the maker's letter of 3 March"})


def _tools(actor: Person) -> Good:
    its = rebuild().booked(operations=["T3"], findings=[{"code": "sump-off"}]).held().picked()
    path = f"pick-lists/{its.said['held']['pick_list']}/handovers"
    lent = its.did(its.storekeeper, path, {"received_by": its.technician.person.username})["tools"]
    return Good(JOB, body={"tools": [lent[0]]})


def _joint(stage: str) -> Rebuild:
    """The sump's joint with its sheet on record: at the bench with an opened tube, and with its gate open."""
    its = rebuild().with_joint()
    if stage == "gate":
        its.gate()
    return its


def _gate(actor: Person) -> Good:
    its = _joint("tube")
    return Good(JOB | {"joint": "SUMP"}, body=its.gate_body())


def _bead(actor: Person) -> Good:
    its = _joint("gate")
    return Good(JOB | {"joint": "SUMP"}, body=its.bead_body())


def _closing(actor: Person) -> Good:
    its = rebuild().booked(findings=[])
    left = its.technician.read("jobs/J-1/open-lines").json()
    positions = [{"position": one["position"], "because": "not opened"} for one in left["open"] if one.get("position")]
    if positions:
        its.did(its.technician, "jobs/J-1/not-needed", {"positions": positions})
    return Good(JOB, body={"checker": its.inspector.person.username})


def _back(actor: Person) -> Good:
    item = brought_to("bench").item("WASHER")
    returned = {"item": item, "amount": 1, "bag_sealed": True, "lot_readable": True, "to_place": "R1"}
    return Good(JOB, body={"returns": [returned]})


def _scrap(actor: Person) -> Good:
    item = brought_to("bench").item("WASHER")
    return Good(JOB, body={"item": item, "amount": 1, "reason": "bent", "who_pays": "job"})


def _clean_marks(actor: Person) -> Good:
    its = brought_to("held")
    its.did(
        its.technician, "jobs/J-1/bores", {"bores": [{"position": "CYL-1/set", "serial": "S-2"}], "reason": "gauged"}
    )
    return Good(JOB, body={"serials": ["S-2"], "reason": "another was chosen"})


def on_engine(body: Any = None, *, query: dict[str, Any] | None = None) -> Make:
    """A request on the engine of J-1."""

    def make(actor: Person) -> Good:
        brought_to("booked")
        return Good({"number": "T4-00211"}, query or {}, body)

    return make


def _meter_withdrawn(actor: Person) -> Good:
    its = brought_to("booked")
    read = _METER | {"moment": "claim", "read_on": "2025-01-15", "shows": 1089.5}
    its.did(its.manager, "engines/T4-00211/readings", read)
    made = its.manager.read("engines/T4-00211/readings").json()["readings"][0]
    return Good({"number": "T4-00211", "one": made["id"]}, body={"reason": "another engine"})


def _engine_handover(actor: Person) -> Good:
    closing = _closing(actor)
    answer = ShopClient(actor).send("jobs/J-1/closings", closing.body)
    assert answer.status_code == 201, answer.content
    return Good(JOB, body={"handed_over_on": "2025-01-21"})


def _washed_back(actor: Person) -> Good:
    its = brought_to("booked")
    its.did(its.technician, "jobs/J-1/washed-out", {"counts": [{"name": "core plug", "count": 4}]})
    return Good(JOB, body={"counts": [{"name": "core plug", "count": 3}]})


def _owner(actor: Person) -> int:
    answer = ShopClient(actor).send("owners", {"name": "An owner"})
    return int(answer.json()["owner"])


def _owner_read(actor: Person) -> Good:
    return Good({"owner": _owner(actor)})


def _owner_change(actor: Person) -> Good:
    return Good({"owner": _owner(actor)}, body={"telephone": "0123"}, headers={"If-Match": '"1"'})


def _field_mark(actor: Person) -> Good:
    brought_to("booked")
    return Good({"number": "T4-00211"}, body={"field_modified": True, "reason": "stamped over"})


def _class_mark(actor: Person) -> Good:
    brought_to("booked")
    return Good({"number": "T4-00211"}, body={"classed": True, "reason": "certificate 12"})


def _with_set(actor: Person) -> Rebuild:
    """The set of CYL-1 is in its bore."""
    its = brought_to("bench")
    held = next(row["item"] for row in its.said["held"]["held"] if row["part"] == "SET")
    body = {"fittings": [{"position": "CYL-1/set", "item": held}], "checker": its.inspector.person.username}
    its.did(its.technician, "jobs/J-1/fittings", body)
    return its


def _photo(actor: Person) -> Good:
    its = rebuild().booked(findings=[{"code": "crank-out", "place": "ENGINE"}]).held().picked().looked_at()
    path = f"pick-lists/{its.said['held']['pick_list']}/handovers"
    its.did(its.storekeeper, path, {"received_by": its.technician.person.username})
    body = {"fittings": [{"position": "MAIN-1/shells", "item": its.item("MAIN-SHELL")}], "checker": actor.username}
    its.did(its.technician, "jobs/J-1/fittings", body)
    look = {"what": "oil hole clear", "position": "MAIN-1/shells", "photo_ref": "photos/1.jpg"}
    return Good(JOB, body={"looks": [look]})


def _piston(actor: Person) -> Good:
    _with_set(actor)
    return Good(JOB, body={"checks": [{"position": "CYL-1/set", "items": ["crown"]}]})


def _let_be(actor: Person) -> Good:
    _with_set(actor)
    return Good(JOB, body={"position": "CYL-1/set", "reason": "the gauge broke"})


_LEAK = {"pressure": "1.0 bar", "held": "10 min", "drop": "0 bar", "temperature": "20 °C"}
_RUN = {"run_on": "2025-01-15", "values": [{"name": "oil pressure", "value": "3 bar"}]}


def _after_run(actor: Person) -> Good:
    its = brought_to("booked")
    its.did(its.technician, "jobs/J-1/first-runs", _RUN)
    return Good(JOB, body={"what": "oil change", "done_on": "2025-01-15"})


def _checkers(actor: Person) -> Good:
    its = brought_to("booked")
    return Good({"code": "TS"}, body={"checkers": [{"person": its.inspector.person.username, "stands_in": True}]})


def _site(actor: Person) -> Good:
    brought_to("booked")
    return Good({"code": "TS"}, {"on": "2025-01-15"})


_CHOICE = {"choice": "cover-kind", "alternative": "rubber", "reason": "what is on the shelf"}
_INSPECTION = {"position": "ROD-1/bolt-1", "limit": "191.5 mm", "result": "190.0 mm", "good": True}
_METER = {"meter": "hours", "photo_ref": "photo 7"}
_EXTRA = {"part": "WASHER", "amount": "1 EA", "reason": "dropped"}

GOOD_JOBS: dict[str, Make] = {
    "engine_families_create": _next_family,
    "procedures_create": _next_procedure,
    "engines_field_marks_create": _field_mark,
    "engines_class_marks_create": _class_mark,
    "engines_owners_list": lambda actor: Good({"number": _changed_hands(actor).path["number"]}),
    "engines_owners_create": _changed_hands,
    "owners_list": lambda actor: Good(),
    "owners_create": lambda actor: Good(body={"name": "An owner", "telephone": "0123"}),
    "owners_read": _owner_read,
    "owners_change": _owner_change,
    "jobs_list": on_job(query={"state": "booked"}),
    "jobs_create": lambda actor: Good(body=job_body()),
    "jobs_read": on_job(far="held"),
    "jobs_list_read": on_job(),
    "jobs_shorts_read": on_job(far="held"),
    "jobs_cover_read": on_job(),
    "jobs_open_lines_read": on_job(far="bench"),
    "jobs_startable_read": on_job(far="bench"),
    "reminders_read": lambda actor: Good(query={"on": "2025-02-01"}),
    "service_letters_read": lambda actor: Good(query={"on": "2025-02-01"}),
    "jobs_reminders_read": on_job(far="bench", query={"on": "2025-02-01"}),
    "jobs_to_return_read": on_job(far="bench"),
    "jobs_operations_create": on_job({"operations": ["T2"]}),
    "jobs_findings_create": on_job({"findings": [{"code": "noise"}]}),
    "jobs_findings_withdraw": _withdrawal,
    "jobs_approvals_read": on_job(),
    "jobs_approvals_create": _approval,
    "jobs_substitute_words_read": on_job(),
    "jobs_substitute_words_create": on_job(
        {"listed": "OLD-BOLT", "instead": "NEW-BOLT", "agreed": True, "given_by": "owner", "how": "letter"}
    ),
    "jobs_extra_hours_create": _hours,
    "jobs_extra_hours_reversals_create": _hours_reversed,
    "jobs_choices_create": on_job(_CHOICE),
    "jobs_bores_create": on_job(
        {"bores": [{"position": "CYL-1/set", "serial": "S-2"}], "reason": "gauged"}, far="held"
    ),
    "jobs_engine_handovers_create": _engine_handover,
    "engines_readings_read": on_engine(),
    "engines_readings_create": on_engine(_METER | {"moment": "claim", "read_on": "2025-01-15", "shows": 1089.5}),
    "engines_readings_withdraw": _meter_withdrawn,
    "engines_meter_changes_create": on_engine(
        _METER | {"changed_on": "2025-01-15", "old_shows": "1240", "new_begins_at": "0"}
    ),
    "engines_term_read": on_engine(query={"on": "2025-01-15"}),
    "jobs_cleaned_marks_create": _clean_marks,
    "jobs_dates_create": on_job({"fit_on": "2025-01-25", "reason": "the grinder is late"}),
    "jobs_checks_create": on_job({}, far="held"),
    "jobs_outside_work_create": _outside,
    "jobs_outside_work_due_dates_create": _outside_then({"due_on": "2999-03-01", "reason": "the wheel broke"}),
    "jobs_outside_work_returns_create": _outside_then({}),
    "jobs_outside_work_losses_create": _outside_then({"said_by": "the grinder's foreman", "reason": "fell in the pit"}),
    "jobs_holds_list": on_job(far="held"),
    "jobs_holds_create": on_job({}),
    "holds_releases_create": _hold,
    "jobs_releases_create": _unasked,
    "holds_lapses_create": _lapse,
    "jobs_pick_lists_list": on_job(far="held"),
    "pick_lists_read": _pick_list,
    "pick_lists_picks_create": _picks,
    "pick_lists_handovers_create": _handover,
    "jobs_finds_create": on_job({"finds": [{"position": "SUMP/washer", "part": "WASHER"}]}),
    "jobs_finds_list": on_job(far="bench"),
    "jobs_costs_read": on_job(far="bench"),
    "jobs_issued_read": on_job(far="bench"),
    "jobs_used_again_list": on_job(query={"position": "SUMP/washer"}),
    "jobs_gives_back_list": on_job(far="bench"),
    "jobs_gives_back_create": _gives_back,
    "jobs_removals_create": _removal,
    "jobs_tags_read": on_job(far="bench"),
    "jobs_removals_list": on_job(far="bench"),
    "jobs_lost_positions_create": _lost,
    "jobs_origin_words_create": _word,
    "jobs_inspections_create": on_job({"inspections": [_INSPECTION]}),
    "jobs_fittings_create": _fitting,
    "jobs_fitting_corrections_create": _fitting_correction,
    "jobs_joints_list": on_job(far="bench", query={"temperature": "23 °C", "humidity": "50 %"}),
    "jobs_joints_gates_create": _gate,
    "jobs_joints_beads_create": _bead,
    "sealant_use_read": lambda actor: Good(query={"procedure": "T1"}),
    "jobs_extras_create": on_job(_EXTRA, far="bench"),
    "jobs_not_needed_create": on_job({"positions": [{"position": "SUMP/washer", "because": "not opened"}]}),
    "jobs_tool_returns_create": _tools,
    "jobs_returns_create": _back,
    "jobs_scraps_create": _scrap,
    "jobs_hot_washes_create": on_job({"pieces": ["block"]}),
    "jobs_washed_out_read": on_job(),
    "jobs_washed_out_create": on_job({"counts": [{"name": "core plug", "count": 4}]}),
    "jobs_washed_out_returns_create": _washed_back,
    "jobs_photo_checks_create": _photo,
    "jobs_heights_let_be_create": _let_be,
    "jobs_piston_checks_create": _piston,
    "jobs_leak_tests_create": on_job(_LEAK),
    "jobs_first_runs_create": on_job(_RUN),
    "jobs_after_run_work_create": _after_run,
    "jobs_build_sheet_read": on_job(far="bench", query={"on": "2025-01-20", "hours": "5"}),
    "sites_checkers_read": _site,
    "sites_checkers_create": _checkers,
    "jobs_closings_create": _closing,
    "jobs_cancellations_create": on_job({"reason": "the owner sold it"}),
}
