"""A stage for each act of a rebuild job."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from inventory.models import Balance, Part, Serial
from inventory.services.open_tube import open_tube
from inventory.services.owners import OwnerIn, add_owner, change_owner
from inventory.services.sheets import enter_sheet
from kits.models import Job
from kits.services.build import (
    DutyIn,
    PistonIn,
    name_checkers,
    record_after_run,
    record_first_run,
    record_leak_test,
    record_piston_checks,
)
from kits.services.crib import stock_crib
from kits.services.dates import move_fit_date, recheck_job
from kits.services.engines import mark_field_modified
from kits.services.extras import ask_for_more
from kits.services.families import enter_family, enter_procedure
from kits.services.finish import cancel_job, close_job, mark_not_needed, tools_back
from kits.services.fit import FitIn, fit, set_bores
from kits.services.fitting_corrections import correct_fitting
from kits.services.heights import let_height_be
from kits.services.hold_kit import hold_kit
from kits.services.jobs import (
    FindingIn,
    add_operations,
    book_job,
    record_approval,
    record_choice,
    record_findings,
    withdraw_finding,
)
from kits.services.lay_bead import TubeUsed, lay_bead
from kits.services.left_over import ReturnIn, return_unused, scrap_for_job
from kits.services.line_reviews import close_review
from kits.services.look_again import LookIn, look_again
from kits.services.marks import clean_marks
from kits.services.open_gate import GateIn, TubeIn, open_gate
from kits.services.origins import enter_origin_word, lose_positions
from kits.services.pick_kit import hand_over, pick
from kits.services.release import lapse, release
from kits.services.revisions import RevisionIn, decide_revisions
from kits.services.strip import FindIn, InspectIn, RemoveIn, find_in_engine, inspect, remove
from kits.services.terms import hand_engine_over
from kits.services.washed_out import count_washed
from tests.factories import workshop
from tests.factories.looks import looked_at
from tests.factories.stores import NOON, PersonFactory, shelf, site, stamp, stock, technician
from tests.faults.scenes import fresh, scene
from tests.faults.scenes_stores import SHEET


def job(*codes: str, cylinders: int = 1) -> Job:
    """A job on an engine of its own, with enough on the shelves for it."""
    workshop.sets(*(fresh("S-") for _ in range(cylinders)))
    workshop.rings(cylinders, lot=fresh("B"))
    return workshop.job(fresh("J"), *(codes or ("SETS", "RINGS")), cylinders=cylinders)


def at_bench(of: Job, part: str) -> int:
    """The item of a part at the job's bench."""
    return Balance.objects.get(place=of.bench_id, part__number=part, amount__gt=0).item_id


def fitted() -> Job:
    """A job whose set and ring are in the engine, tools counted back."""
    it = job()
    workshop.handed_over_for(it.number)
    rows = [FitIn("CYL-1/set", at_bench(it, "SET")), FitIn("CYL-1/ring", at_bench(it, "RING"))]
    fit(actor=PersonFactory(), stamp=stamp(), job=it.number, fittings=rows, checker=workshop.checker(fresh("edda")))
    tools_back(actor=PersonFactory(), stamp=stamp(), job=it.number, tools=list(lent(it)))
    return it


def lent(of: Job) -> list[str]:
    """Tools on loan to the job."""
    return list(of.tool_loans.filter(back__isnull=True).values_list("tool", flat=True))


@scene(correct_fitting)
def a_ring_of_another_lot() -> dict[str, Any]:
    other = fresh("B")
    it = fitted()
    workshop.rings(3, lot=other)
    ring = it.fittings.get(spot__name="CYL-1/ring")
    right = Balance.objects.get(item__lot__code=other, item__part=ring.item.part, place__kind="shelf")
    return {
        "job": it.number, "position": "CYL-1/ring", "item": ring.item_id, "right": right.item_id, "place": right.place.code,
        "reason": "the empty bag says so",
    }  # fmt: skip


@scene(stock_crib)
def two_tools() -> dict[str, Any]:
    return {"site": site().code, "tools": {workshop.TOOL: 50, fresh("puller "): 1}}


@scene(enter_family)
def a_new_family() -> dict[str, Any]:
    code = fresh("Fam-")
    numbers = {"prefix": code.upper().replace("-", ""), "first": 1, "width": 4}
    return {"document": workshop.family_document() | {"code": code, "engine_numbers": numbers}}


@scene(enter_procedure)
def a_new_procedure() -> dict[str, Any]:
    return {"document": workshop.operations()[2] | {"code": fresh("OP")}}


@scene(add_owner)
def an_owner() -> dict[str, Any]:
    return {"owner": OwnerIn("somebody", telephone="01")}


@scene(change_owner)
def an_owner_who_moved() -> dict[str, Any]:
    made = add_owner(actor=PersonFactory(), stamp=stamp(), owner=OwnerIn("somebody"))
    return {"owner_id": made.body["owner"], "version": 1, "changes": {"address": "elsewhere"}}


@scene(book_job)
def a_new_engine() -> dict[str, Any]:
    number = fresh("9")
    return {
        "number": fresh("J"), "engine_number": f"P2-{number:0>4}", "new_engine": True, "site": site().code,
        "operations": ["SETS", "RINGS"], "strip_on": NOON.date(), "fit_on": workshop.FIT_ON,
        "findings": [FindingIn("chosen", "CYL-1")],
    }  # fmt: skip


@scene(mark_field_modified)
def an_engine_changed_in_the_field() -> dict[str, Any]:
    return {"engine": job().engine.number, "modified": True, "reason": "a sleeve was fitted"}


@scene(record_findings)
def extra_work() -> dict[str, Any]:
    return {"job": job().number, "findings": [FindingIn("chosen", "CYL-2")], "extra_work": True}


@scene(withdraw_finding)
def a_finding() -> dict[str, Any]:
    it = job()
    return {"job": it.number, "finding_id": it.findings.get().pk, "reason": "the other bore"}


@scene(record_approval)
def work_that_waits() -> dict[str, Any]:
    it = job()
    findings = [FindingIn("chosen", "CYL-2")]
    done = record_findings(actor=PersonFactory(), stamp=stamp(), job=it.number, findings=findings, extra_work=True)
    ids = [one["id"] for one in done.body["findings"]]
    return {"job": it.number, "findings": ids, "approved": True, "given_by": "the owner", "how": "telephone"}


@scene(add_operations)
def one_more_operation() -> dict[str, Any]:
    return {"job": job("SETS").number, "operations": ["RINGS", "RISING"]}


def revised(make: Any, document: dict[str, Any], **more: Any) -> None:
    """The next revision of a family or procedure."""
    make(actor=PersonFactory(), stamp=stamp(), document=document | {"revision": 2}, **more)


@scene(decide_revisions)
def a_newer_family_and_procedure_are_taken_over() -> dict[str, Any]:
    code, numbers = fresh("Fam-"), {"first": 1, "width": 4}
    prefix = code.upper().replace("-", "")
    document = workshop.family_document() | {"code": code, "engine_numbers": numbers | {"prefix": prefix}}
    enter_family(actor=PersonFactory(), stamp=stamp(), document=document)
    procedure = workshop.operations()[1] | {"code": fresh("OP"), "family": code}
    enter_procedure(actor=PersonFactory(), stamp=stamp(), document=procedure)
    number = fresh("J")
    book_job(
        actor=PersonFactory(), stamp=stamp(), number=number, engine_number=f"{prefix}0001", new_engine=True,
        site=site().code, operations=[procedure["code"]], strip_on=NOON.date(), fit_on=workshop.FIT_ON,
        findings=[FindingIn("chosen", "CYL-1")],
    )  # fmt: skip
    workshop.rings(1, lot=fresh("B"))
    workshop.held_for(number)
    revised(enter_family, document, makers_stop="bulletin 7")
    revised(enter_procedure, procedure | {"lines": [procedure["lines"][0] | {"part": "N-1"}]})
    both = [RevisionIn(2), RevisionIn(2, procedure["code"])]
    return {"job": number, "revisions": both, "take": True, "reason": "the maker says so"}


@scene(record_choice)
def a_kind_of_cover() -> dict[str, Any]:
    choice = {"choice": "cover", "place": "ENGINE", "alternative": "ribbed", "reason": "it has ribs"}
    return {"job": job("KINDS").number, **choice}


@scene(hold_kit)
def a_whole_kit() -> dict[str, Any]:
    return {"job": job(cylinders=2).number}


@scene(hold_kit)
def with_a_short() -> dict[str, Any]:
    return {"job": job("SETS", "RINGS", "RISING").number}


@scene(pick)
def a_held_kit() -> dict[str, Any]:
    held = workshop.held_for(job().number)
    return {"pick_list": held.body["pick_list"], "scans": workshop.scans_of(held)}


@scene(release)
def one_hold() -> dict[str, Any]:
    held = workshop.held_for(job("SETS").number)
    return {"hold": held.body["held"][0]["hold"], "reason": "not now"}


@scene(lapse)
def holds_past_their_day() -> dict[str, Any]:
    held = hold_kit(actor=PersonFactory(), stamp=stamp(), job=job().number, until=NOON.date())
    past = stamp(NOON + timedelta(days=2))
    return {"holds": [one["hold"] for one in held.body["held"]], "reason": "a week ago", "stamp": past}


@scene(look_again)
def a_set_seen_and_a_ring_put_back() -> dict[str, Any]:
    held = workshop.held_for(job().number)
    pick(actor=PersonFactory(), stamp=stamp(), pick_list=held.body["pick_list"], scans=workshop.scans_of(held))
    (ring,) = [one["hold"] for one in held.body["held"] if one["part"] == "RING"]
    (seen,) = [one["hold"] for one in held.body["held"] if one["part"] == "SET"]
    looks = [LookIn(seen), LookIn(ring, "cut")]
    checker = workshop.checker(fresh("edda"))
    return {"actor": checker, "pick_list": held.body["pick_list"], "looks": looks}


@scene(hand_over)
def with_a_bin_to_count() -> dict[str, Any]:
    held = workshop.held_for(job().number)
    scans = [one for one in workshop.scans_of(held) if not one.scanned.startswith("B")]
    pick(actor=PersonFactory(), stamp=stamp(), pick_list=held.body["pick_list"], scans=scans)
    looked_at(held.body["pick_list"])
    return {"pick_list": held.body["pick_list"], "received_by": technician(), "missing": ["RING"]}


@scene(hand_over)
def a_picked_cart() -> dict[str, Any]:
    return {"pick_list": workshop.picked_for(job().number), "received_by": technician()}


@scene(find_in_engine)
def a_known_and_an_unknown_part() -> dict[str, Any]:
    finds = [FindIn("CYL-1/set", "SET", serial=fresh("S-")), FindIn("CYL-2/ring", "RING")]
    return {"job": job().number, "finds": finds}


@scene(remove)
def to_bench_and_to_scrap() -> dict[str, Any]:
    given = a_known_and_an_unknown_part()
    find_in_engine(actor=PersonFactory(), stamp=stamp(), **given)
    return {"job": given["job"], "removals": [RemoveIn("CYL-1/set"), RemoveIn("CYL-2/ring", to="scrap")]}


def out_of_its_bore() -> dict[str, Any]:
    """A known set that came out to the bench: the job and its item."""
    given = a_known_and_an_unknown_part()
    item = find_in_engine(actor=PersonFactory(), stamp=stamp(), **given).body["found"][0]["item"]
    remove(actor=PersonFactory(), stamp=stamp(), job=given["job"], removals=[RemoveIn("CYL-1/set")])
    return {"job": given["job"], "item": item}


@scene(lose_positions)
def nobody_knows_where_it_sat() -> dict[str, Any]:
    out = out_of_its_bore()
    return {"job": out["job"], "items": [out["item"]], "reason": "mixed up on the bench"}


@scene(enter_origin_word)
def the_maker_says_it_may_go_there() -> dict[str, Any]:
    out = out_of_its_bore()
    lose_positions(actor=PersonFactory(), stamp=stamp(), job=out["job"], items=[out["item"]], reason="mixed up")
    return {**out, "position": "CYL-1/set", "word": "letter of the maker, 12 January"}


@scene(inspect)
def an_old_set() -> dict[str, Any]:
    given = a_known_and_an_unknown_part()
    found = find_in_engine(actor=PersonFactory(), stamp=stamp(), **given)
    item = found.body["found"][0]["item"]
    return {"job": given["job"], "inspections": [InspectIn("CYL-1/set", "no scores", "scored", False, item)]}


@scene(set_bores)
def which_set_where() -> dict[str, Any]:
    it = job(cylinders=2)
    serial = Serial.objects.filter(part__number="SET").latest("pk").number
    return {"job": it.number, "bores": {"CYL-1/set": serial}, "reason": "gauged"}


@scene(fit)
def set_and_ring() -> dict[str, Any]:
    it = job()
    workshop.handed_over_for(it.number)
    rows = [FitIn("CYL-1/set", at_bench(it, "SET")), FitIn("CYL-1/ring", at_bench(it, "RING"))]
    return {"job": it.number, "fittings": rows, "checker": workshop.checker(fresh("edda"))}


@scene(ask_for_more)
def one_more_ring() -> dict[str, Any]:
    it = job()
    workshop.rings(1, lot=fresh("B"))
    return {"job": it.number, "part": "RING", "amount": 1, "reason": "dropped", "positions": ["CYL-1/ring"]}


@scene(ask_for_more)
def one_that_the_list_lacks() -> dict[str, Any]:
    return one_more_ring() | {"reason": "wrong on list"}


@scene(close_review)
def a_line_called_wrong_three_times() -> dict[str, Any]:
    code = fresh("OP")
    line = workshop.operations()[1]["lines"][0]
    document = workshop.operations()[1] | {"code": code, "lines": [line]}
    enter_procedure(actor=PersonFactory(), stamp=stamp(), document=document)
    it = workshop.job(fresh("J"), code)
    for _ in range(3):
        ask_for_more(actor=PersonFactory(), stamp=stamp(), job=it.number, part="RING", amount=1, reason="wrong on list")
    return {"procedure": code, "line": line["id"], "word": "the list is right"}


@scene(move_fit_date)
def past_the_life_of_a_lot() -> dict[str, Any]:
    it = job()
    workshop.held_for(it.number)
    return {"job": it.number, "fit_on": date(2025, 4, 1), "reason": "the machinist is late"}


@scene(recheck_job)
def nothing_changed() -> dict[str, Any]:
    it = job()
    workshop.held_for(it.number)
    return {"job": it.number}


@scene(return_unused)
def a_sealed_ring() -> dict[str, Any]:
    it = job()
    workshop.handed_over_for(it.number)
    return {"job": it.number, "returns": [ReturnIn(at_bench(it, "RING"), 1, bag_sealed=True)]}


@scene(scrap_for_job)
def a_dropped_ring() -> dict[str, Any]:
    it = job()
    workshop.handed_over_for(it.number)
    return {"job": it.number, "item_id": at_bench(it, "RING"), "amount": 1, "reason": "dropped", "who_pays": "shop"}


@scene(mark_not_needed)
def a_bore() -> dict[str, Any]:
    return {"job": job().number, "positions": {"CYL-1/ring": "the old one stays"}}


@scene(tools_back)
def a_gauge() -> dict[str, Any]:
    stock_crib(actor=PersonFactory(), stamp=stamp(), site=site().code, tools={workshop.TOOL: 50})
    it = job()
    workshop.handed_over_for(it.number)
    return {"job": it.number, "tools": [workshop.TOOL]}


@scene(close_job)
def a_finished_job() -> dict[str, Any]:
    it, checker = fitted(), workshop.checker(fresh("edda"))
    record_piston_checks(actor=checker, stamp=stamp(), job=it.number, checks=[PistonIn("CYL-1/set", ["crown"])])
    let_height_be(actor=checker, stamp=stamp(), job=it.number, position="CYL-1/set", reason="gauge broke")
    return {"job": it.number, "checker": checker}


@scene(let_height_be)
def a_liner_that_nobody_read() -> dict[str, Any]:
    return {"job": fitted().number, "position": "CYL-1/set", "reason": "gauge broke"}


@scene(cancel_job)
def a_held_job() -> dict[str, Any]:
    it = job()
    workshop.held_for(it.number)
    return {"job": it.number, "reason": "the owner sold it", "signed_by": "R. Alder"}


@scene(record_piston_checks)
def a_piston_looked_at() -> dict[str, Any]:
    it = fitted()
    return {"actor": workshop.checker(fresh("ina")), "job": it.number, "checks": [PistonIn("CYL-1/set", ["crown"])]}


@scene(record_leak_test)
def a_leak_below_a_liner() -> dict[str, Any]:
    Part.objects.filter(number="RING").update(kind="O-ring")
    return {
        "job": fitted().number, "pressure": "1 bar", "held": "10 min", "drop": "0.1 bar", "temperature": "20 °C",
        "wet": ["CYL-1/set"],
    }  # fmt: skip


def lid(gate_open: bool) -> tuple[Job, str]:
    """A job whose lid is to be sealed, an opened tube at its bench, its sheet on record; with its gate open, or not yet."""
    stock(Part.objects.get(number="SEALER"), 1, lot=fresh("B"), place=shelf("R1"))
    enter_sheet(actor=PersonFactory(), stamp=stamp(), part="SEALER", **SHEET)
    it, tube = job("LID"), fresh("tube ")
    workshop.handed_over_for(it.number)
    opened = {"item_id": at_bench(it, "SEALER"), "place": it.bench.code, "tube_number": tube}
    open_tube(actor=PersonFactory(), stamp=stamp(), **opened)
    if gate_open:
        open_gate(actor=PersonFactory(), stamp=stamp(), job=it.number, joint="LID", said=answers(tube))
    return it, tube


def answers(tube: str) -> GateIn:
    """Every question answered yes: a full tube, a cool bay."""
    return GateIn(True, True, True, 2, [TubeIn(tube, 124_000)], "23 °C", "50 %")


@scene(open_gate)
def a_lid_to_be_sealed() -> dict[str, Any]:
    it, tube = lid(gate_open=False)
    return {"job": it.number, "joint": "LID", "said": answers(tube)}


@scene(lay_bead)
def a_lid_whose_gate_is_open() -> dict[str, Any]:
    it, tube = lid(gate_open=True)
    ends = NOON + timedelta(minutes=2)
    return {
        "stamp": stamp(ends), "job": it.number, "joint": "LID", "started_at": NOON, "ended_at": ends,
        "tubes": [TubeUsed(tube, 118_000)],
    }  # fmt: skip


def ran(given: Job | None = None) -> Job:
    """A job whose engine has run and was released."""
    it = given or job()
    run = {"run_on": NOON.date(), "values": {"oil pressure": "3 bar"}, "released_by": workshop.checker(fresh("ina"))}
    record_first_run(actor=PersonFactory(), stamp=stamp(), job=it.number, **run)
    return it


@scene(record_first_run)
def a_first_run_that_is_released() -> dict[str, Any]:
    return {
        "job": job().number, "run_on": NOON.date(), "values": {"oil pressure": "3 bar"},
        "released_by": workshop.checker(fresh("ina")),
    }  # fmt: skip


@scene(record_after_run)
def oil_changed() -> dict[str, Any]:
    return {"job": ran().number, "what": "oil change", "done_on": NOON.date()}


@scene(count_washed)
def plugs_out() -> dict[str, Any]:
    return {"job": job().number, "counts": {"core plug": 4}, "back": False}


@scene(clean_marks)
def a_set_that_was_gauged() -> dict[str, Any]:
    given = which_set_where()
    set_bores(actor=PersonFactory(), stamp=stamp(), **given)
    return {"job": given["job"], "serials": list(given["bores"].values()), "reason": "the old one stays"}


@scene(hand_engine_over)
def the_engine_of_a_closed_job() -> dict[str, Any]:
    given = a_finished_job()
    Job.objects.filter(number=given["job"]).update(strip_on=NOON.date())
    close_job(actor=PersonFactory(), stamp=stamp(), **given)
    ran(Job.objects.get(number=given["job"]))
    return {"job": given["job"], "handed_over_on": NOON.date()}


# Last: from then on the site names who checks.
@scene(name_checkers)
def two_who_check() -> dict[str, Any]:
    named = [DutyIn(workshop.checker(fresh("ina")), ["Tuesday"]), DutyIn(workshop.checker(fresh("uwe")), (), True)]
    return {"site": site().code, "checkers": named}
