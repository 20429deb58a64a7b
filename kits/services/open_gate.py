"""The gate before the nozzle is cut: its answers are recorded, and one bead may be laid in the joint."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass

from inventory.domain.errors import DomainError
from inventory.domain.product_sheets import read_humidity, read_temperature
from inventory.domain.quantities import read_amount
from inventory.domain.shelf_life import usable_on
from inventory.domain.stores import content_ul
from inventory.domain.units import Dimension
from inventory.models import Act, Balance, Item, Part, Person, SealantSheet, SheetReading
from inventory.queries.days import shop_day
from inventory.queries.sheets import sheets_at
from inventory.queries.stock import stopped_items
from inventory.services.run import Body, Done, Stamp, run
from kits.domain.curing import Closing, check_bay
from kits.domain.gates import Answers, No, TubeHere, answered_no, draw_of, late, outside, refuse, tubes_short
from kits.domain.joints import sensor_question, unsuitable
from kits.models import Gate, Job
from kits.queries.heights import heights_open
from kits.queries.job_list import JobList, job_list
from kits.queries.leaks import leak_test_lacking
from kits.queries.materials import rules_of
from kits.queries.sealing import (
    ListedJoint,
    bead_of,
    closing_document,
    closing_of,
    gates_of,
    listed_joints,
    primed,
    times,
    warnings_of,
)
from kits.queries.standing_verdicts import heights_speaking
from kits.queries.startable import missing_for
from kits.services.checking import must_be_checker
from kits.services.maker_stops import refuse_stopped
from kits.services.shared import open_job, touch
from kits.services.substitute_rules import refuse_substitutes
from kits.services.verdict_rules import closes_over, height_undecided


@dataclass(frozen=True, slots=True)
class TubeIn:
    """An opened tube at the bench and what it weighs now: text with a unit ("30.0 g") or whole milligrams."""

    tube: str
    weight: str | int


@dataclass(frozen=True, slots=True)
class GateIn:
    """What is answered. `tubes`: the one to begin with first; temperature and humidity of the bay as typed ("23 °C", "50 %")."""

    faces_clean_dry: bool
    test_fit: bool
    dowels_in: bool
    bolts: int
    tubes: Sequence[TubeIn]
    temperature: str = ""
    humidity: str = ""


def open_gate(
    *,
    actor: Person,
    stamp: Stamp,
    job: str,
    joint: str,
    said: GateIn,
    helper: Person | None = None,
    signed_by: Person | None = None,
    because: str = "",
) -> Done:
    """Answer the questions before the nozzle is cut; all yes: one bead may be laid. Closed tubes at the bench are counted by
    the books.

    signed_by, because   a second person's signature to start in a bay outside the sheet, with its reason

    Outcome: {"gate", "joint", "make", "part", "sheet", "times", "closing", "laid_ul", "planned_ul", "tubes", "fill_after_s",
    "run_after_s", "warnings"}.
    Raises DomainError "gate-shut" that names every no; "stopped-by-maker"; "substitute-not-agreed"; "joint-unknown", "not-on-list", "job-ended", "not-found",
    "same-person", "may-not-check", "not-on-duty", "reason-missing", "bay-unreadable", "tube-content-unknown", those of weights.
    """

    def work(act: Act) -> Body:
        _check_people(actor, helper, signed_by, because)
        row = open_job(job)
        if signed_by is not None:
            must_be_checker(row.site, signed_by, shop_day(act.occurred_at))
        listed = job_list(row, shop_day(act.occurred_at))
        one = _listed(listed, joint)
        _refuse_product(act, listed, one)
        sheet = sheets_at([one.part.pk], act.occurred_at).get(one.part.pk)
        bay = _bay(said)
        closing, waits = closing_of(one, sheet, listed.shop, bay)
        gates = gates_of(row)
        rules = rules_of(listed, one.is_bead)
        first = said.tubes[0].tube if said.tubes else ""
        is_primed = primed(gates, one.joint.nozzle, first)
        draw = draw_of(one.laid_ul, rules, primed=is_primed)
        weighed, noes_of_tubes = _tubes(act, row, one.part, said)
        noes = list(answered_no(one.joint, _answers(said, helper), _missing(listed, one), closing))
        noes += noes_of_tubes + _about_leaks(row, listed, one) + _about_heights(row, listed, one)
        here = [*[tube for _, _, tube in weighed], *_closed(act, row, one.part)] if weighed else []
        if not noes_of_tubes and (short := tubes_short(draw, here, rules)) is not None:
            noes.append(short)
        noes += _about_sheet(one, sheet, bay, closing, helper, signed_by)
        refuse(one.joint, noes)
        make = 1 + sum(1 for gate in gates if gate.joint == joint and (bead := bead_of(gate)) is not None and bead.over)
        warnings = warnings_of(one, sheet) + _unread(sheet, actor)
        gate = Gate.objects.create(
            job=row, act=act, joint=joint, make=make, part=one.part, sheet=sheet, helper=helper, bolts=said.bolts,
            nozzle=one.joint.nozzle, procedures=list(one.procedures), tubes=[_tube(item, weight, tube) for item, weight, tube in weighed],
            positions=[[*key, amount] for key, amount in one.amounts], laid_ul=draw.laid_ul,
            prime_ul=0 if is_primed else rules.prime_ul, drawn_ul=draw.drawn_ul,
            temperature_mk=bay[0] if bay else None, humidity_permille=bay[1] if bay else None, signed_by=signed_by,
            warnings=warnings, fill_after_s=waits[0] if waits else None, run_after_s=waits[1] if waits else None,
            **_clock(closing, helper),
        )  # fmt: skip
        touch(row)
        return {
            "gate": gate.pk, "joint": joint, "make": make, "part": one.part.number,
            "sheet": sheet.revision if sheet else None, "times": times(closing, waits, sheet, bay, one.is_bead),
            "closing": closing_document(closing), "laid_ul": draw.laid_ul, "planned_ul": draw.drawn_ul,
            "tubes": gate.tubes, "fill_after_s": gate.fill_after_s, "run_after_s": gate.run_after_s, "warnings": warnings,
        }  # fmt: skip

    request = {
        "job": job, "joint": joint, "said": asdict(said), "helper": helper.pk if helper else None,
        "signed_by": signed_by.pk if signed_by else None, "because": because,
    }  # fmt: skip
    return run("open joint", work, actor=actor, stamp=stamp, request=request, subject=job, reason=because)


def _check_people(actor: Person, helper: Person | None, signed_by: Person | None, because: str) -> None:
    for person, what in ((helper, "The helper"), (signed_by, "Who signs")):
        if person is not None and person.pk == actor.pk:
            raise DomainError("same-person", f"{what} is another person than who lays the bead.", person=str(actor))
    if signed_by is not None and not because.strip():
        raise DomainError("reason-missing", "A signature for a bay outside the sheet needs its reason.")


def _listed(listed: JobList, joint: str) -> ListedJoint:
    if joint not in listed.scope.family.joints:
        known = ", ".join(listed.scope.family.joints) or "none"
        raise DomainError(
            "joint-unknown",
            f"{joint[:80]!r} is no sealed joint of {listed.scope.family.code}; it has: {known}.",
            joint=joint[:80],
        )
    found = listed_joints(listed).get(joint)
    if found is None:
        raise DomainError("not-on-list", f"The list of this job does not close {joint}.", joint=joint)
    return found


def _answers(said: GateIn, helper: Person | None) -> Answers:
    return Answers(said.faces_clean_dry, said.test_fit, said.dowels_in, said.bolts, helper is not None)


def _bay(said: GateIn) -> tuple[int, int] | None:
    if not said.temperature or not said.humidity:
        return None
    bay = read_temperature(said.temperature), read_humidity(said.humidity)
    check_bay(*bay)
    return bay


def _missing(listed: JobList, one: ListedJoint) -> list[str]:
    """What the joint's steps and those before them lack. The sealant of the joint is left to the question of the tubes."""
    return missing_for(listed, one.steps, frozenset(position for (position, _), _ in one.amounts), one.joint.nozzle)


def _refuse_product(act: Act, listed: JobList, one: ListedJoint) -> None:
    """What may not be laid there: by a revision that is stopped, or in place of the listed product without the owner's word."""
    keys = [key for key, _ in one.amounts]
    refuse_stopped(listed, keys)
    refuse_substitutes(listed, [(one.part.number, one.part.number, keys)], shop_day(act.occurred_at))


def _tubes(act: Act, job: Job, part: Part, said: GateIn) -> tuple[list[tuple[Item, int, TubeHere]], list[No]]:
    """The opened tubes named, each with its weight in milligrams and its content; and what is wrong with them."""
    wanted = [one.tube for one in said.tubes]
    items = {
        item.tube.number: item
        for item in Item.objects.filter(tube__number__in=wanted).select_related("part", "tube", "lot")
        if item.tube is not None
    }
    at_bench = set(
        Balance.objects.filter(place=job.bench_id, item__in=[item.pk for item in items.values()], amount__gt=0)
        .values_list("item_id", flat=True)
    )  # fmt: skip
    stopped = stopped_items(at_bench)
    good, noes = [], []
    for one in said.tubes:
        item = items.get(one.tube)
        if item is None:
            raise DomainError("not-found", f"There is no opened tube {one.tube}.", tube=one.tube)
        why = _not_good(act, item, part, item.pk in at_bench, item.pk in stopped)
        if why:
            noes.append(No("tube", f"{one.tube} {why}"))
            continue
        weight = read_amount(one.weight, Dimension.MASS).amount if isinstance(one.weight, str) else one.weight
        good.append((item, weight, TubeHere(one.tube, _content(item.part, weight), item.part.net_ul or 0)))
    return good, noes


def _not_good(act: Act, item: Item, part: Part, here: bool, is_stopped: bool) -> str:
    if item.part_id != part.pk:
        return f"is {item.part.number}: the joint takes {part.number}, one product and no other"
    if not here:
        return "is not at the bench of this job"
    if is_stopped:
        return "is stopped"
    use_by = item.tube.use_by if item.tube else None
    return "" if usable_on(use_by, shop_day(act.occurred_at)) else f"was usable through {use_by}"


def _content(part: Part, weight_mg: int) -> int:
    if part.empty_mg is None or not part.density_mg_per_ml or not part.net_ul:
        raise DomainError(
            "tube-content-unknown",
            f"Empty weight, density and content of {part.number} are needed to weigh a tube.",
            ways_out=("Enter them with the part, from its product sheet, before the nozzle is cut.",),
            part=part.number,
        )
    return content_ul(weight_mg, part.empty_mg, part.density_mg_per_ml, part.net_ul)


def _closed(act: Act, job: Job, part: Part) -> list[TubeHere]:
    """Closed tubes of the product at the bench that may be used."""
    rows = list(
        Balance.objects.filter(place=job.bench_id, part=part, amount__gt=0, item__tube__isnull=True)
        .select_related("item__lot")
        .order_by("item_id")
    )
    stopped = stopped_items([row.item_id for row in rows])
    day, net = shop_day(act.occurred_at), part.net_ul or 0
    return [
        TubeHere("a closed tube", net, net)
        for row in rows
        if row.item_id not in stopped and usable_on(row.item.lot.expires_on if row.item.lot else None, day)
        for _ in range(row.amount)
    ]


def _about_leaks(job: Job, listed: JobList, one: ListedJoint) -> list[No]:
    """Whether the liners above the joint were shown to be tight, where the family has it closed only after that."""
    leak = listed.scope.family.build.leak
    if leak is None or not leak.before.intersection(one.joint.positions):
        return []
    why = leak_test_lacking(job, listed)
    return [No("leak test", why, "Test the water jacket first, and record it.")] if why else []


def _about_heights(job: Job, listed: JobList, one: ListedJoint) -> list[No]:
    """Whether the liners that the joint closes over may be closed over, by what is on record of their heights."""
    family = listed.scope.family
    closing = family.facts.liners_closed_by.intersection(one.joint.positions)
    if not closing:
        return []
    failing, undecided = heights_speaking(job, {}), heights_open(job)
    for position in sorted(closing):
        why = closes_over(failing, family.map, position, closing) or height_undecided(
            undecided, family.map, position, closing
        )
        if why is not None:
            return [No("heights of liners", why.message.rstrip("."), " ".join(why.ways_out))]
    return []


def _about_sheet(
    one: ListedJoint,
    sheet: SealantSheet | None,
    bay: tuple[int, int] | None,
    closing: Closing | None,
    helper: Person | None,
    signed_by: Person | None,
) -> list[No]:
    """Whether the product suits the faces, and whether the bay leaves time enough."""
    harm = sensor_question(one.joint, one.part.number, sheet.sensor_safe if sheet is not None else None)
    noes = [No("sensors", harm, "Enter what its product sheet says, or use a product that is safe.")] if harm else []
    why = unsuitable(one.joint, one.part.number, sheet.cures_by if sheet is not None else None, bead=one.is_bead)
    noes += [No("sealant", why, "Use the product that the engine maker names.")] if why else []
    if sheet is None:
        return noes
    if one.is_bead and sheet.entries and bay is None:
        noes.append(No("bay", "temperature and humidity of the bay are not given", "Read them at the joint."))
    if closing is None:
        return noes
    slow = late(closing, one.joint, helper=helper is not None)
    beyond = outside(closing) if signed_by is None else None
    return noes + [no for no in (slow, beyond) if no is not None]


def _clock(closing: Closing | None, helper: Person | None) -> dict[str, int | None]:
    found = closing_document(closing)
    if found is None:
        return {"needed_ms": None, "allowed_ms": None}
    return {"needed_ms": found["with_helper_ms" if helper else "needed_ms"], "allowed_ms": found["allowed_ms"]}


def _tube(item: Item, weight_mg: int, tube: TubeHere) -> Body:
    return {"tube": tube.name, "item": item.pk, "weight_mg": weight_mg, "content_ul": tube.content_ul}


def _unread(sheet: SealantSheet | None, actor: Person) -> list[str]:
    if sheet is None or SheetReading.objects.filter(sheet=sheet, person=actor).exists():
        return []
    return [f"{actor} has not signed the product sheet as read: {sheet.edition}"]
