"""Pick lists as they are read and printed: the frozen lines with what is held for them, tray by tray, and the way past the bins."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django.db.models import Q, QuerySet

from inventory.domain.catalogue import LOOKED_AT_TWICE
from inventory.domain.errors import DomainError
from inventory.domain.quantities import shown_amount
from inventory.models import HoldEnd
from kits.domain.sheet import BRINGING
from kits.domain.spans import merged, spans
from kits.models import Handover, Job, JobHold, PickList, ProcedureRevision

#: How a hold can stand.
STATES = ["held", *HoldEnd.How.values]
_JOB = ("job__engine__family", "job__site", "act__actor", "act__outcome")
_HOLD = (
    "wanted", "hold__item__part", "hold__item__lot", "hold__item__serial", "hold__item__tube", "hold__from_spot__place",
    "hold__to_spot__place",
    "hold__end", "pick_list", "second_look__act__actor",
)  # fmt: skip


def pick_lists_of(job: Job) -> QuerySet[PickList]:
    """The pick lists of a job, with who made them."""
    return PickList.objects.filter(job=job).select_related("act__actor")


def pick_list(pick_list_id: int) -> PickList:
    """One pick list with its job, engine, act and outcome; DomainError "not-found"."""
    row = PickList.objects.select_related(*_JOB).filter(pk=pick_list_id).first()
    if row is None:
        raise DomainError("not-found", f"There is no pick list {pick_list_id}.", pick_list=pick_list_id)
    return row


def open_lists() -> QuerySet[PickList]:
    """Pick lists of which something is still to be picked, by site, day of fitting, job and number."""
    waiting = JobHold.objects.filter(hold__end__isnull=True).values("pick_list")
    rows = PickList.objects.filter(pk__in=waiting).select_related(*_JOB)
    return rows.order_by("job__site__code", "job__fit_on", "job__number", "number")


def act_of_list(job: Job, number: int) -> int | None:
    """The act that made a job's pick list of that number; None if there is none."""
    return PickList.objects.filter(job=job, number=number).values_list("act_id", flat=True).first()


def summary(row: PickList) -> dict[str, Any]:
    """A pick list in short, JSON-ready."""
    return {"id": row.pk, "number": row.number, "made_at": row.act.recorded_at, "by": row.act.actor.username}


def holds_of(job: Job) -> QuerySet[JobHold]:
    """Every hold of a job, open or ended."""
    return JobHold.objects.filter(job=job).select_related(*_HOLD)


def hold_record(row: JobHold) -> dict[str, Any]:
    """A hold with what it is, where it lies, which positions it serves and how it stands, JSON-ready."""
    hold, item = row.hold, row.hold.item
    end = getattr(hold, "end", None)
    use_by = item.tube.use_by if item.tube else item.lot.expires_on if item.lot else None
    return {
        "hold": hold.pk,
        "pick_list": row.pick_list_id,
        "part": item.part.number,
        "name": item.part.name,
        "wanted": row.wanted.number,
        "item": item.pk,
        "lot": item.lot_code,
        "serial": item.serial_number,
        "tube": item.tube.number if item.tube else "",
        "use_by": use_by,
        "place": hold.from_spot.place.code,
        "spot": hold.from_spot.name,
        "amount": hold.amount,
        "base": item.base,
        "shown": shown_amount(hold.amount, item.base),
        "positions": [{"position": name, "make": make, "amount": amount} for name, make, amount in row.positions],
        "line": row.line,
        "tray": row.tray,
        "on_approval": row.on_approval,
        "needed_on": hold.day,
        "until": hold.until,
        "state": end.how if end is not None else "held",
        "picked": end.picked if end is not None else 0,
        "why": end.why if end is not None else "",
    }


def full_record(row: PickList) -> dict[str, Any]:
    """A pick list as it is read and printed. Five queries with `pick_list`.

    `trays` and `floor` lay out the lines of this list in order of work; each line carries what is held for it. `candidates`
    go along on approval, each in the tray of its step; `extra` was asked for outside the list; `walk` names the holds in the order of the bins; `missing`
    is what the shelves lacked when it was made. What was held, picked or fitted before this list is not on it again.
    """
    document: dict[str, Any] = row.document
    rows = list(
        JobHold.objects.filter(pick_list=row)
        .select_related(*_HOLD)
        .order_by("line", "hold__item__part__number", "hold_id")
    )
    records = {one.hold_id: hold_record(one) for one in rows}
    listed = [*document.get("lines", []), *document.get("on_approval", [])]
    served = _lines_served(rows, document.get("lines", []))
    by_line: dict[int, list[dict[str, Any]]] = defaultdict(list)
    for one in rows:
        for number in served[one.hold_id]:
            by_line[number].append(records[one.hold_id])
    names = _step_names(document.get("revisions", []))
    lines = {
        line["line"]: {
            **line,
            **_here(line, by_line.get(line["line"], [])),
            "reasons": merged(line["because"]),
            "step_name": names.get((line["procedure"], line["step"]), ""),
            "held": by_line.get(line["line"], []),
        }
        for line in listed
    }
    said = row.act.outcome.body
    laid = _laid_out(document.get("cart", {}), lines)
    return {
        **summary(row),
        "job": row.job.number,
        "engine": row.job.engine.number,
        "family": row.job.engine.family.code,
        "site": row.job.site.code,
        "strip_on": row.job.strip_on,
        "fit_on": row.job.fit_on,
        "extra": document.get("extra"),
        **laid,
        "candidates": [records[one.hold_id] for one in rows if one.on_approval],
        "second_looks": [_look(one, records[one.hold_id]) for one in rows if _asks_for_a_look(one)],
        "loose": by_line.get(0, []),
        "walk": [
            {**records[one.hold_id], "trays": _trays_of(served[one.hold_id], laid)}
            for one in sorted(rows, key=_bin_order)
        ],
        "missing": [
            one | {"shown": shown_amount(one["amount"], one.get("base", "piece"))}
            for one in said.get("shorts", _extra_short(document, said))
        ],
        "open_choices": document.get("open_choices", []),
        "buy_in": document.get("buy_in", []),
        "sizes": document.get("sizes", []),
        "tools": document.get("tools", []),
        "handovers": _handovers(row),
    }


def _handovers(row: PickList) -> list[dict[str, Any]]:
    """Who gave the cart to whom, and what was named as missing; one that was taken back never was."""
    rows = Handover.objects.filter(pick_list=row, act__corrected_by__isnull=True)
    return [
        {
            "at": one.act.recorded_at,
            "by": one.act.actor.username,
            "received_by": one.received_by.username,
            "missing": one.missing,
        }
        for one in rows.select_related("act__actor", "received_by").order_by("pk")
    ]


def _asks_for_a_look(row: JobHold) -> bool:
    end = getattr(row.hold, "end", None)
    return row.hold.item.part.kind in LOOKED_AT_TWICE and (end is None or end.how == HoldEnd.How.PICKED)


def _look(row: JobHold, record: Mapping[str, Any]) -> dict[str, Any]:
    """A line that a second person looks at, and what was seen."""
    look = getattr(row, "second_look", None)
    state = "not picked" if record["state"] == "held" else "to be looked at"
    if look is not None:
        state = "wrong" if look.wrong else "seen"
    return {
        **{name: record[name] for name in ("hold", "part", "lot", "serial", "positions")},
        "state": state,
        "by": look.act.actor.username if look else "",
        "at": look.act.occurred_at if look else None,
        "wrong": look.wrong if look else "",
    }


def _extra_short(document: Mapping[str, Any], said: Mapping[str, Any]) -> list[dict[str, Any]]:
    """What an extra found too little of on the shelves."""
    if not said.get("short"):
        return []
    asked = document["extra"]
    return [{"part": asked["part"], "amount": said["short"], "base": asked["base"], "why": said["why"]}]


def _lines_served(rows: Sequence[JobHold], lines: Sequence[Mapping[str, Any]]) -> dict[int, list[int]]:
    """Hold → the lines whose positions it serves (one tube serves several joints); else the line that it was held for, as for a
    candidate, which shares its position with the others."""
    at = {position: line["line"] for line in lines for position in line["positions"]}
    found = {}
    for row in rows:
        names = [name if make == 1 else f"{name} (make {make})" for name, make, _ in row.positions]
        serves = () if row.on_approval or not row.line else names
        found[row.hold_id] = list(dict.fromkeys(at[name] for name in serves if name in at))
        found[row.hold_id] = found[row.hold_id] or [row.line]
    return found


def _here(line: Mapping[str, Any], held: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    """What of a line this list brings: the positions that its holds serve, in order of work, and how much they get. A hold that ended
    otherwise than picked brings nothing, one of which less was picked brings that, to its first positions."""
    shares: dict[str, int] = defaultdict(int)
    bringing = [one for one in held if one["state"] in BRINGING]
    for one in bringing:
        short = one["amount"] - one["picked"] if one["state"] == HoldEnd.How.PICKED else 0
        counted = short and one["base"] == "piece" and one["amount"] == sum(each["amount"] for each in one["positions"])
        left = one["picked"] if counted else None
        for share in one["positions"]:
            amount = share["amount"] if left is None else min(left, share["amount"])
            left = None if left is None else left - amount
            make = share["make"]
            if amount or left is None:
                shares[share["position"] if make == 1 else f"{share['position']} (make {make})"] += amount
    if held and not bringing:
        return {"spans": [], "here": 0, "here_shown": shown_amount(0, line["base"])}
    here = [name for name in line["positions"] if name in shares]
    return {
        "spans": spans(here or line["positions"]),
        "here": (brought := sum(shares[name] for name in here) if here else line["amount"]),
        "here_shown": shown_amount(brought, line["base"]) if here else line["shown"],
    }


def _trays_of(lines: Sequence[int], laid: Mapping[str, list[dict[str, Any]]]) -> list[int]:
    """The trays of the cart into which these lines go; none: on the floor, or on no line."""
    return [tray["tray"] for tray in laid["trays"] if any(one["line"] in lines for one in tray["lines"])]


def _bin_order(row: JobHold) -> tuple[int, str, str, int]:
    place = row.hold.from_spot.place
    return place.walk_order, place.code, row.hold.from_spot.name, row.hold_id


def _step_names(revisions: Sequence[Mapping[str, Any]]) -> dict[tuple[str, int], str]:
    """Name of each step of the revisions that the list was made from."""
    wanted = Q(pk__in=[])
    for one in revisions:
        wanted |= Q(procedure__code=one["procedure"], revision=one["revision"])
    found = ProcedureRevision.objects.filter(wanted).select_related("procedure")
    return {(row.procedure.code, step["step"]): step["name"] for row in found for step in row.document["steps"]}


def _laid_out(cart: Mapping[str, Any], lines: Mapping[int, dict[str, Any]]) -> dict[str, list[dict[str, Any]]]:
    """Trays and floor with only those lines for which something is held on this list."""

    def kept(laid: Iterable[Mapping[str, Any]]) -> list[dict[str, Any]]:
        here = [{**lines[one["line"]], "pieces_here": one["pieces"]} for one in laid if lines[one["line"]]["held"]]
        cautions: dict[tuple[str, int], dict[str, None]] = defaultdict(dict)
        for line in here:
            cautions[line["procedure"], line["step"]] |= dict.fromkeys(line["cautions"])
        # read before the step begins: beside its first line here, each once
        return [{**line, "step_cautions": list(cautions.pop((line["procedure"], line["step"]), {}))} for line in here]

    trays = [{**tray, "lines": kept(tray["lines"])} for tray in cart.get("trays", [])]
    hoist = {one["line"]: one["by_hoist"] for one in cart.get("floor", [])}
    floor = [{**line, "by_hoist": hoist[line["line"]]} for line in kept(cart.get("floor", []))]
    return {"trays": [tray for tray in trays if tray["lines"]], "floor": floor}
