"""Acts that a bench device did without a connection and sends later: each by the resource that takes it at once, with its own key.

Each is an act and a transaction of its own. One that is refused stops no other; it is kept with its answer, and gets the same answer when
it is sent again. So a batch may be sent as often as it takes to get through.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from types import MappingProxyType
from typing import Any, cast
from uuid import UUID

from django.utils import timezone
from rest_framework.exceptions import PermissionDenied
from rest_framework.request import Request

from api.rest.errors import handler
from api.rest.permissions import MayAct, may
from api.rest.problems import of_domain, refuse
from api.rest.views.base import View
from api.rest.views.count_sheets import CountSheetEntriesView, CountSheetRecountsView
from api.rest.views.fittings import JobFittingsView
from api.rest.views.items import SetBreaksView
from api.rest.views.left_over import JobReturnsView, JobScrapsView
from api.rest.views.moves import CountsView, OpeningsView, WeighingsView
from api.rest.views.pick_lists import PickListPicksView
from api.rest.views.readings import JobReadingsView
from api.rest.views.strips import JobFindsView, JobRemovalsView
from api.rest.views.transfer_notes import NoteReceiptsView, NotesView
from api.rest.words import KEY_HEADER, REPLAYED_HEADER
from inventory.domain.clashes import is_number
from inventory.queries.clashes import items_of_set, kept, same_as_kept
from inventory.services.late_acts import keep_refused
from inventory.services.run import Stamp

Body = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Way:
    """The resource that takes a kind of act, and what its address names.

    name     the address's name for it, "" where it names nothing
    numbers  what a whole number there is the number of, "" where it is a text: the number of a job, of a tube, a serial
    """

    view: type[View]
    name: str = ""
    numbers: str = ""


KINDS: Mapping[str, Way] = MappingProxyType(
    {
        "fit": Way(JobFittingsView, "number"),
        "remove": Way(JobRemovalsView, "number"),
        "find": Way(JobFindsView, "number"),
        "readings": Way(JobReadingsView, "number"),
        "return": Way(JobReturnsView, "number"),
        "scrap": Way(JobScrapsView, "number"),
        "break set": Way(SetBreaksView, "serial"),
        "open": Way(OpeningsView, "number", "item"),
        "weigh tube": Way(WeighingsView, "number"),
        "pick": Way(PickListPicksView, "pick_list", "pick list"),
        "count": Way(CountsView),
        "enter counts": Way(CountSheetEntriesView, "number", "count sheet"),
        "recount": Way(CountSheetRecountsView, "number", "count sheet"),
        "send to another site": Way(NotesView),
        "take in from another site": Way(NoteReceiptsView, "note", "transfer note"),
    }
)
#: Nothing was decided about these: the device sends them again.
_NOT_TAKEN = frozenset({"database-busy"})


@dataclass(frozen=True, slots=True)
class Sent:
    """One act as the device has it; `of`: number of what its address names (`Way`); `device_at`: its clock when it was done."""

    key: UUID
    kind: str
    device: str
    device_at: datetime
    body: Body
    of: str = ""


class _AsAsked:
    """What a resource looks at in a request that writes."""

    def __init__(self, person: Any, one: Sent, body: Body) -> None:
        self.method, self.user, self.data = "POST", person, body
        self.query_params: dict[str, str] = {}
        self.headers = {KEY_HEADER: str(one.key)}


def take(person: Any, one: Sent) -> Body:
    """Take one act: {"key", "kind", "outcome", "replayed", "act", "answer", "problem", "clash"}.

    outcome  "done"; "refused" and "clash": kept, and never tried again; "not taken": send it again
    """
    before = kept(one.key)
    if before is not None:
        if not same_as_kept(before, person, one.kind, one.of, one.body):
            error = refuse("key-reused", f"The key {one.key} was used for another act.", key=str(one.key))
            return _answer(one, "refused", problem=of_domain(error))
        stored = before.act.outcome.body
        return _refused(one, stored["problem"], stored["clash"], replayed=True)
    try:
        done = _do(person, one)
    except Exception as error:
        response = handler(error, {})
        if response is None:
            raise
        problem = cast(Body, response.data)
    else:
        act = int(done.headers["Location"].rsplit("/", 1)[-1])
        return _answer(one, "done", act=act, answer=done.data, replayed=REPLAYED_HEADER in done.headers)
    if problem["code"] in _NOT_TAKEN:
        return _answer(one, "not taken", problem=problem)
    if problem["code"] == "key-reused":
        return _answer(one, "refused", problem=problem)
    codes = [problem["code"], *(line["code"] for line in problem["lines"])]
    row = keep_refused(
        actor=person,
        stamp=_stamp(one),
        kind=one.kind,
        of=one.of,
        body=one.body,
        problem=problem,
        codes=codes,
        holds=list(_holds(one.body)),
        items=_items(one),
        note=int(one.of) if KINDS[one.kind].numbers == "transfer note" and _is_whole(one.of) else None,
    )
    return _refused(one, row.body["problem"], row.body["clash"], replayed=row.replayed)


def _do(person: Any, one: Sent) -> Any:
    way = KINDS[one.kind]
    act = way.view.acts["POST"]
    if not person.has_perm(may(act)):
        raise PermissionDenied(MayAct.missing(act))
    where: dict[str, Any] = {way.name: one.of} if way.name else {}
    if way.numbers:
        if not _is_whole(one.of):
            raise refuse("not-found", f"There is no {way.numbers} {one.of}.", of=one.of)
        where = {way.name: int(one.of)}
    stamp = _stamp(one)
    told = {"occurred_at": stamp.occurred_at.isoformat(), **one.body}
    told |= {"device": one.device, "device_at": one.device_at.isoformat()}
    post = way.view().post  # type: ignore[attr-defined]  # every resource of KINDS takes a POST
    return post(cast(Request, _AsAsked(person, one, told)), **where)


def _is_whole(text: str) -> bool:
    return text.isascii() and text.isdigit() and len(text) <= 15


def _stamp(one: Sent) -> Stamp:
    """True since the device's clock, where that is not ahead of ours; both are kept."""
    now = timezone.now()
    return Stamp(one.key, min(one.device_at, now), now, device=one.device, device_at=one.device_at)


def _items(one: Sent) -> list[int]:
    """Numbers of the things that the address names: by the number of an item, or by the serial of a set."""
    if KINDS[one.kind].numbers == "item":
        return [int(one.of)] if _is_whole(one.of) else []
    return items_of_set(one.of) if one.kind == "break set" else []


def _holds(body: Body) -> Iterator[Any]:
    scans = body.get("scans")
    for scan in scans if isinstance(scans, list) else ():
        hold = scan.get("hold") if isinstance(scan, Mapping) else None
        if is_number(hold):
            yield hold


def _refused(one: Sent, problem: Body, clash: int | None, *, replayed: bool) -> Body:
    return _answer(one, "refused" if clash is None else "clash", problem=problem, clash=clash, replayed=replayed)


def _answer(
    one: Sent,
    outcome: str,
    *,
    act: int | None = None,
    answer: Any = None,
    problem: Body | None = None,
    clash: int | None = None,
    replayed: bool = False,
) -> Body:
    return {
        "key": str(one.key),
        "kind": one.kind,
        "outcome": outcome,
        "replayed": replayed,
        "act": act,
        "answer": answer,
        "problem": problem,
        "clash": clash,
    }
