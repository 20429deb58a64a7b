"""Whether an act and its twin wrote the same rows: everything an act wrote, with ids replaced by what they stand for.

The act works on a job at one site, its twin on a job of the same kind at the other: names differ in their first letter and
in the numbers of job and engine, which are taken away here; all else must be equal.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from django.db.models import Q

from inventory.domain.places import PlaceKind
from inventory.models import Act, Balance, Hold, HoldEnd, Movement, PartAtSite, Short
from inventory.services.run import request_hash
from kits.models import Handover, Job, JobChoice, JobHold, PickList, ToolLoan

_SITE = re.compile(r"\b[AB]/")
_ITEM = ("item__part__number", "item__identity")


class Plain:
    """Values of one job without its site, its numbers, and ids."""

    def __init__(self, job: Job) -> None:
        self.job = job
        self.names = {job.number: "JOB", job.engine.number: "ENGINE"}

    def text(self, value: str) -> str:
        """A text without what belongs to one job only."""
        for name, said in self.names.items():
            value = value.replace(name, said)
        return _SITE.sub("", value)

    def value(self, value: Any) -> Any:
        """Any value, also a document."""
        if isinstance(value, str):
            return self.text(value)
        if isinstance(value, dict):
            return {key: self.value(inner) for key, inner in value.items()}
        if isinstance(value, list | tuple):
            return [self.value(inner) for inner in value]
        return value

    def rows(self, rows: Any) -> list[Any]:
        """Rows in an order that does not depend on ids."""
        return sorted((self.value(list(row)) for row in rows), key=repr)

    def body(self, body: dict[str, Any]) -> Any:
        """An answer: holds by their order, items and lists by what they are."""
        holds = {
            key: number
            for number, key in enumerate(Hold.objects.filter(to_spot__place=self.job.cart).order_by("job_hold__line", "item_id").values_list("pk", flat=True))
        }  # fmt: skip
        plain = dict(body)
        if "pick_list" in plain:
            plain["pick_list"] = PickList.objects.get(pk=plain["pick_list"]).number
        for name in ("held", "picked"):
            if name in plain:
                plain[name] = [self._line(line, holds) for line in plain[name]]
        return self.value(plain)

    @staticmethod
    def _line(line: dict[str, Any], holds: dict[int, int]) -> dict[str, Any]:
        said = line | {"hold": holds[line["hold"]]}
        if "item" in said:
            said["item"] = Hold.objects.get(pk=line["hold"]).item.identity
        return said


def written(act: Act, job: Job, asked: dict[str, Any]) -> dict[str, Any]:
    """Everything an act wrote on a job, table by table. `asked`: the request that the act's hash must be of."""
    plain = Plain(job)
    mine = {"act": act}
    near = Q(place__kind=PlaceKind.SHELF.value) | Q(place__in=(job.cart_id, job.bench_id))
    items = {*Movement.objects.filter(**mine).values_list("item_id", flat=True)}
    items |= {*Hold.objects.filter(**mine).values_list("item_id", flat=True)}
    return {
        "act": plain.value(
            [act.kind, act.actor_id, act.occurred_at.isoformat(), act.recorded_at.isoformat(), act.device, act.device_at,
             act.place_id, act.subject, act.reason, act.corrects_id, act.key.version,
             act.request_hash == request_hash(act.kind, act.actor_id, asked)]
        ),
        "outcome": plain.body(act.outcome.body),
        "movements": plain.rows(
            Movement.objects.filter(**mine).values_list(
                *_ITEM, "amount", "from_spot__place__code", "from_spot__name", "to_spot__place__code", "to_spot__name"
            )
        ),
        "holds": plain.rows(
            Hold.objects.filter(**mine).values_list(
                *_ITEM, "amount", "from_spot__place__code", "from_spot__name", "to_spot__place__code", "needed_on", "until"
            )
        ),
        "ends": plain.rows(
            HoldEnd.objects.filter(**mine).values_list(
                "hold__item__part__number", "hold__item__identity", "how", "picked", "why"
            )
        ),
        "job_holds": plain.rows(
            JobHold.objects.filter(hold__act=act).values_list(
                "hold__item__identity", "job__number", "pick_list__number", "wanted__number", "positions", "on_approval",
                "tray", "line",
            )
        ),
        "lists": plain.rows(PickList.objects.filter(**mine).values_list("job__number", "number", "document")),
        "handovers": plain.rows(
            Handover.objects.filter(**mine).values_list("pick_list__number", "received_by__username", "missing")
        ),
        "loans": plain.rows(
            (number, site == job.site_id, tool)
            for number, site, tool in ToolLoan.objects.filter(**mine).values_list("job__number", "site_id", "tool")
        ),
        "choices": JobChoice.objects.filter(**mine).count(),
        "shorts": Short.objects.filter(**mine).count(),
        "balances": plain.rows(
            Balance.objects.filter(near, item__in=items).values_list(
                *_ITEM, "place__code", "spot__name", "spot__place__code", "part__number", "amount", "held", "real",
                "single", "pickable", "in_shop", "last_at",
            )
        ),
        "job": [job.state, job.version],
        "locked": PartAtSite.objects.filter(site=job.site).count(),
    }  # fmt: skip


def difference(one: dict[str, Any], other: dict[str, Any]) -> Sequence[str]:
    """The tables in which the two differ, each with the first rows that do."""
    found = []
    for table, rows in one.items():
        if rows != other[table]:
            found.append(f"{table}: {first_difference(rows, other[table])}")
    return found


def first_difference(one: Any, other: Any) -> str:
    """The innermost first thing in which two values differ."""
    if isinstance(one, dict) and isinstance(other, dict):
        keys = [key for key in one.keys() | other.keys() if one.get(key) != other.get(key)]
        return "; ".join(f"{key}: {first_difference(one.get(key), other.get(key))}" for key in sorted(keys)[:2])
    if isinstance(one, list | tuple) and isinstance(other, list | tuple) and len(one) == len(other):
        return next(first_difference(a, b) for a, b in zip(one, other, strict=True) if a != b)
    return f"{str(one)[:300]} against {str(other)[:300]}"
