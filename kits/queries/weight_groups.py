"""Which sets on a shelf make an engine by the weights of their pistons, and what may stand in for one of an engine."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from inventory.domain.errors import DomainError
from inventory.domain.places import PlaceKind
from inventory.models import Item, Movement, Part, Serial, Site
from inventory.queries.catalogue import no_such_site
from inventory.queries.stock import Standing, on_shelves
from kits.domain.bench import NO_LABEL, LabelWeight, OnScales, Weighing, weighed
from kits.domain.families import Family
from kits.domain.standing_verdicts import SET_KIND
from kits.domain.weights import (
    Weighed,
    WeightClass,
    engines_by_class,
    engines_from,
    replacement_window,
    replacements,
    window_said,
)
from kits.models import EngineFamily
from kits.queries.catalogue import no_such_family
from kits.queries.documents import newest_family
from kits.queries.liners import WEIGHT, labels_of
from kits.queries.readings import readings_of
from kits.queries.standing_verdicts import LeftOut, sort_out

#: Kind of a box that holds the sets of one engine.
BOX_KIND = "kit of sets"


def weight_groups(
    code: str, site: str, part: str = "", classes: Sequence[WeightClass] = (), rest_mg: Sequence[int] = ()
) -> dict[str, Any]:
    """The sets that stand free on the shelves of a site, grouped into engines of the family, JSON-ready.

    part     number of the set, where the family takes several
    classes  as the maker prints them, where sets of one class alone go together
    rest_mg  weights of the pistons that stay in an engine: what may join them

    Weights are as the scales said last, else as the label says; both with what the family's limit is stated with. DomainError
    "not-found", "no-limit", "weights-unusable".
    """
    family = family_newest(code)
    spread = family.facts.weight_spread_mg
    if spread is None:
        raise DomainError("no-limit", f"{family.code} states no limit for the weights of its pistons.", what="weights")
    where = Site.objects.filter(code=site).first()
    if where is None:
        raise no_such_site(site)
    its = _part(family.code, part)
    rows, failing = sort_out(family, on_shelves([its.pk], where.pk), "")
    free = [row for row in rows if row.serial_id is not None and row.free > 0 and not row.stopped]
    scales, labels = _scales(family, free), labels_of(its, [row.serial for row in free])
    wanted = f"with {family.facts.weight_with}"
    known = {row.serial: _weight(scales.get(row.serial), labels.get(row.serial, NO_LABEL), wanted) for row in free}
    shelf = [Weighed(serial, weight) for serial, (weight, _) in known.items() if weight is not None]
    pistons = sum(len(numbers) for _, numbers in family.map.banks)
    groups = _groups(shelf, pistons, spread, classes)
    used = {one.serial for _, sets in groups for one in sets}
    rest = [Weighed(f"stays {at}", weight) for at, weight in enumerate(rest_mg, 1)]
    window = replacement_window(rest, spread) if rest else None
    return {
        "family": family.code,
        "site": site,
        "part": its.number,
        "pistons": pistons,
        "spread_mg": spread,
        "weighed_with": family.facts.weight_with,
        "engines": [
            {"class": name, "sets": [{"serial": one.serial, "weight_mg": one.weight_mg} for one in sets]}
            for name, sets in groups
        ],
        "left_over": [
            {"serial": one.serial, "weight_mg": one.weight_mg}
            for one in sorted(shelf, key=lambda one: (one.weight_mg, one.serial))
            if one.serial not in used
        ],
        "not_considered": _left_out(rows, free, failing, known),
        "short_boxes": _short_boxes(free),
        "window": None if window is None else {"low_mg": window.low_mg, "high_mg": window.high_mg},
        "window_said": window_said(rest, spread) if rest else "",
        "fit_the_rest": [one.serial for one in replacements(rest, shelf, spread)] if rest else [],
    }


def family_newest(code: str) -> Family:
    """The family by its code, as its newest revision has it; DomainError "not-found". Two queries."""
    row = EngineFamily.objects.filter(code=code).first()
    family = newest_family(row.pk) if row is not None else None
    if family is None:
        raise no_such_family(code)
    return family


def _part(family: str, number: str) -> Part:
    """The set that the family's procedures ask for; DomainError "not-found" where they ask for none, or for several and none is named."""
    asked = Part.objects.filter(kind=SET_KIND, parts_lines__revision__procedure__family__code=family).distinct()
    parts = {one.number: one for one in asked.order_by("number")}
    if number in parts or (not number and len(parts) == 1):
        return parts[number or next(iter(parts))]
    raise DomainError(
        "not-found",
        f"{family} takes the sets {', '.join(parts) or 'of no part'}: name one of them.",
        part=number[:60],
        known=list(parts),
    )


def _scales(family: Family, rows: Iterable[Standing]) -> dict[str, Weighing]:
    """What each set's piston was weighed by on the newest job that weighed it with what the limit is stated with."""
    serials = Serial.objects.filter(pk__in={row.serial_id for row in rows})
    point = f"with {family.facts.weight_with}"
    newest: dict[str, str] = {}
    found: dict[str, list[OnScales]] = defaultdict(list)
    for row in readings_of(serials=serials, what=WEIGHT):
        if row.computed_with and row.point == point:
            if newest.get(row.set) != row.job:
                newest[row.set], found[row.set] = row.job, []
            found[row.set].append(OnScales(row.id, row.value, row.uncertainty, row.marks))
    return {serial: weighed(mine) for serial, mine in found.items()}


def _weight(read: Weighing | None, label: LabelWeight, wanted: str) -> tuple[int | None, str]:
    """The weight that counts, and why there is none; scales that contradict themselves are no reason to believe the label."""
    if read is not None:
        return read.weight_mg, "; ".join(read.doubts)
    other = label.other_than(wanted)
    if other:
        return None, other
    return label.weight_mg, "" if label.weight_mg is not None else "the weight of its piston is not on record"


def _groups(
    shelf: Sequence[Weighed], pistons: int, spread_mg: int, classes: Sequence[WeightClass]
) -> list[tuple[str, tuple[Weighed, ...]]]:
    if not classes:
        return [("", sets) for sets in engines_from(shelf, pistons, spread_mg)]
    by_class = engines_by_class(shelf, pistons, spread_mg, classes)
    return [(name, sets) for name, engines in by_class.items() for sets in engines]


def _left_out(
    rows: Sequence[Standing],
    free: Sequence[Standing],
    failing: Sequence[LeftOut],
    known: Mapping[str, tuple[int | None, str]],
) -> list[dict[str, str]]:
    there = {row.serial for row in free}
    why = {
        row.serial: "it is stopped" if row.stopped else "it is held for a job"
        for row in rows
        if row.serial not in there
    }
    why |= {one.serial: one.why for one in failing}
    why |= {serial: said for serial, (weight, said) in known.items() if weight is None}
    return [{"serial": serial, "why": said} for serial, said in sorted(why.items()) if serial]


def _short_boxes(free: Sequence[Standing]) -> list[dict[str, Any]]:
    """Opened boxes of which some sets stand free and others do not any more, and what is left of each. Two queries at most.

    A set is the item that its serial always is; which box it came out of is said by the act that opened the box.
    """
    opened = Movement.objects.filter(
        item__in={row.item_id for row in free},
        from_spot__place__kind=PlaceKind.CONVERSION,
        act__corrected_by__isnull=True,
    )
    rows = Movement.objects.filter(act__in=opened.values("act")).select_related(
        "item__part", "item__serial", "from_spot__place"
    )
    boxes: dict[int, Item] = {}
    held: dict[int, list[str]] = defaultdict(list)
    for row in rows.order_by("pk"):
        out = row.from_spot.place.kind == PlaceKind.CONVERSION
        if not out and row.item.part.kind == BOX_KIND:
            boxes[row.act_id] = row.item
        elif out and row.item.part.kind == SET_KIND and row.item.serial is not None:
            held[row.act_id].append(row.item.serial.number)
    there = {row.serial for row in free}
    found = []
    for act, box in sorted(boxes.items()):
        left = [serial for serial in held[act] if serial in there]
        if left and len(left) < len(held[act]):
            found.append({"item": box.pk, "box": box.called, "held": len(held[act]), "left": sorted(left)})
    return found
