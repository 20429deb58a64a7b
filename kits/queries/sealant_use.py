"""Sealant planned against used, joint by joint, and whether what was bought is in joints, scrapped or still in tubes."""

from __future__ import annotations

from collections import defaultdict
from fractions import Fraction
from typing import Any

from django.db.models import Sum

from inventory.domain.errors import DomainError
from inventory.domain.places import PlaceKind
from inventory.domain.quantities import decimal_text
from inventory.domain.text import shown
from inventory.models import Balance
from inventory.queries.shop import shop
from kits.domain.sealant_use import ENOUGH, Learned, Use, learned, too_fat
from kits.models import Bead, Procedure

#: Which books' place an amount went to or came from → how it is told.
_TOLD = {
    PlaceKind.SUPPLIER.value: "bought_ul",
    PlaceKind.SCRAP.value: "scrapped_ul",
    PlaceKind.COUNT_DIFFERENCE.value: "counted_in_ul",
    PlaceKind.ENGINE.value: "in_joints_ul",
}
#: What is said as coming in: the books have it as less than nothing at its source.
_IN = ("bought_ul", "counted_in_ul")


def sealant_use(procedure: str = "") -> dict[str, Any]:
    """{"procedure", "book_waste", "own_waste", "joints": by family and joint, "tubes": by part}.

    procedure  beads of the joints that this procedure closes; "" for all; DomainError "not-found". Four queries at most, whatever the number of beads.
    Beads that ran over their time count: their sealant was used. Taken back ones do not.
    """
    if procedure and not Procedure.objects.filter(code=procedure).exists():
        raise DomainError("not-found", f"There is no procedure {shown(procedure)}.", procedure=shown(procedure))
    uses: dict[tuple[str, str], list[Use]] = defaultdict(list)
    rows = Bead.objects.filter(act__corrected_by__isnull=True).order_by("act_id")
    for code, joint, job, procedures, laid, prime, planned, drawn in rows.values_list(
        "gate__job__engine__family__code", "gate__joint", "gate__job__number", "gate__procedures", "gate__laid_ul",
        "gate__prime_ul", "gate__drawn_ul", "drawn_ul",
    ):  # fmt: skip
        if not procedure or procedure in procedures:
            uses[code, joint].append(Use(job, joint, laid, prime, planned, drawn))
    every = [use for group in uses.values() for use in group]
    return {
        "procedure": procedure,
        "book_waste": decimal_text(shop().waste, 3),
        "own_waste": _learned(learned(every)),
        "joints": [_joint(code, joint, uses[code, joint]) for code, joint in sorted(uses)],
        "tubes": _tubes(),
    }


def _joint(family: str, joint: str, uses: list[Use]) -> dict[str, Any]:
    planned, actual = sum(use.planned_ul for use in uses), sum(use.actual_ul for use in uses)
    fat = too_fat(uses)
    return {
        "family": family,
        "joint": joint,
        "beads": len(uses),
        "jobs": len({use.job for use in uses}),
        "planned_ul": planned,
        "used_ul": actual,
        "used_to_planned": decimal_text(Fraction(actual, planned), 3),
        "own_waste": _learned(learned(uses)),
        "too_fat": fat,
        "say": "bead too fat or wrong rule: look at how it is laid, and at its size on the list" if fat else "",
    }


def _learned(found: Learned) -> dict[str, Any]:
    def text(share: Fraction | None) -> str | None:
        return None if share is None else decimal_text(share, 3)

    return {
        "beads": found.count,
        "mean": text(found.mean),
        "lowest": text(found.low),
        "highest": text(found.high),
        "say": f"thin data: fewer than {ENOUGH} beads" if found.thin else "",
    }


def _tubes() -> list[dict[str, Any]]:
    """Bought and counted in, less what is in joints and scrapped, is what is in tubes; microlitres, a closed tube by its label."""
    found: dict[str, dict[str, int]] = {}
    rows = Balance.objects.filter(part__kind="sealant", part__net_ul__isnull=False)
    for part, kind, base, net, amount in rows.values_list(
        "part__number", "place__kind", "item__base", "part__net_ul"
    ).annotate(total=Sum("amount")):
        volume = amount * net if base == "piece" else amount
        told = found.setdefault(part, dict.fromkeys([*_TOLD.values(), "in_tubes_ul", "elsewhere_ul"], 0))
        name = _TOLD.get(kind)
        if name is None:
            gone = kind in (PlaceKind.OWNER.value, PlaceKind.CONVERSION.value, PlaceKind.BEFORE_RECORDS.value)
            name = "elsewhere_ul" if gone else "in_tubes_ul"
        told[name] += -volume if name in _IN else volume
    return [
        {"part": part, **told, "adds_up": _in_tubes(told) == told["in_tubes_ul"]}
        for part, told in sorted(found.items())
    ]


def _in_tubes(told: dict[str, int]) -> int:
    came = told["bought_ul"] + told["counted_in_ul"]
    return came - told["in_joints_ul"] - told["scrapped_ul"] - told["elsewhere_ul"]
