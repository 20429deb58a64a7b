"""Records of one number that were joined, as far as their notices still count."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from django.db.models import Exists, F, OuterRef, Q, QuerySet, Subquery

from inventory.models import Lot, Part, PartJoin, Stop


def standing_joins() -> QuerySet[PartJoin]:
    """Joins that were not taken back."""
    return PartJoin.objects.filter(notice__withdrawn=False)


def with_kept(parts: QuerySet[Part]) -> QuerySet[Part]:
    """Parts, each with `joined_to`: the number of the record that is kept for it, None where it is itself."""
    kept = standing_joins().filter(joined=OuterRef("pk")).values("kept__number")[:1]
    return parts.annotate(joined_to=Subquery(kept))


def kept_for(numbers: Collection[str]) -> dict[str, str]:
    """Number of a joined record → of the one that is kept, for those of these numbers that were joined. One query, none for none."""
    if not numbers:
        return {}
    rows = standing_joins().filter(joined__number__in=numbers)
    return dict(rows.values_list("joined__number", "kept__number"))


def kept_parts(numbers: Collection[str]) -> dict[str, Part]:
    """Parts by these numbers: of two records that were joined, the one that is kept. Three queries at most; unknown ones are left out."""
    found = {part.number: part for part in Part.objects.filter(number__in=numbers)}
    moved = kept_for(found)
    kept = {part.number: part for part in Part.objects.filter(number__in=moved.values())} if moved else {}
    return found | {number: kept[other] for number, other in moved.items()}


def kept_ids(part_ids: Collection[int]) -> dict[int, int]:
    """Part id of a joined record → of the one that is kept, for those of these that were joined. One query."""
    return dict(standing_joins().filter(joined__in=part_ids).values_list("joined", "kept"))


def joins_of(part_id: int) -> list[PartJoin]:
    """Joins of a part with other records, either way, those that were taken back too, in order. One query."""
    rows = PartJoin.objects.filter(Q(joined=part_id) | Q(kept=part_id))
    return list(rows.select_related("joined", "kept", "notice", "act__actor").order_by("pk"))


def records_of(part_ids: Collection[int]) -> set[int]:
    """The parts and all other records of their numbers. Two queries."""
    pairs = standing_joins().values_list("joined_id", "kept_id")
    kept = {*part_ids, *(kept for _, kept in pairs.filter(joined__in=part_ids))}
    return {*kept, *(joined for joined, _ in pairs.filter(kept__in=kept))}


def same_lots(lot: Lot) -> list[Lot]:
    """Lots of that code, however it is spelled, under other records of the part's number. Three queries."""
    others = records_of([lot.part_id]) - {lot.part_id}
    if not others:
        return []
    return list(Lot.objects.filter(part__in=others, compare_key=lot.compare_key).select_related("part").order_by("pk"))


def stopped_in_one(kept_id: int, joined_id: int) -> list[str]:
    """Codes of lots that both records have and that are stopped under one of them only. One query."""
    stopped: dict[int, set[str]] = {kept_id: set(), joined_id: set()}
    known: dict[int, dict[str, str]] = {kept_id: {}, joined_id: {}}
    open_stop = Stop.objects.filter(lot=OuterRef("pk"), freed__isnull=True)
    lots = Lot.objects.filter(part__in=stopped).annotate(is_stopped=Exists(open_stop))
    for part, key, code, is_stopped in lots.values_list("part", "compare_key", "code", "is_stopped"):
        known[part][key] = code
        if is_stopped:
            stopped[part].add(key)
    both = known[kept_id].keys() & known[joined_id].keys()
    return sorted(known[kept_id][key] for key in (stopped[kept_id] ^ stopped[joined_id]) & both)


def shared_by(kept_id: int, joined_id: int) -> tuple[list[tuple[str, str, str]], list[str]]:
    """What both records have: (lot, cure code of the joined one's, of the kept one's), and serial numbers. Two queries."""
    theirs = Lot.objects.filter(part=kept_id, compare_key=OuterRef("compare_key"))
    lots = Lot.objects.filter(part=joined_id, compare_key__in=Lot.objects.filter(part=kept_id).values("compare_key"))
    found = lots.annotate(other=Subquery(theirs.values("cure_code")[:1])).order_by("code")
    serials = Part.objects.filter(pk=joined_id, serials__compare_key__in=_serials(kept_id))
    return (
        list(found.values_list("code", "cure_code", "other")),
        sorted(serials.annotate(serial=F("serials__number")).values_list("serial", flat=True)),
    )


def _serials(part_id: int) -> Iterable[str]:
    return Part.objects.filter(pk=part_id).values_list("serials__compare_key", flat=True)
