"""Keeping a piece of a lot back, and ending that. Private to services: the caller has the transaction and the locks."""

from __future__ import annotations

from collections.abc import Iterable

from inventory import locks
from inventory.domain.keeping import PIECES, HowEnded, KeepRules, LotIn, keeps_one
from inventory.models import Act, Balance, KeptEnd, KeptPiece, Movement
from inventory.queries.kept import open_kept
from inventory.services.post import hold_more
from inventory.services.run import Body


def keep_of_arrivals(act: Act, rules: KeepRules) -> list[Body]:
    """Of each lot that came to a shelf by the act and has none yet, one piece is kept there. Nothing is asked where the shop keeps none."""
    if rules.since is None:
        return []
    rows = Movement.objects.filter(act=act, to_spot__place__kind="shelf", item__part__kind__in=rules.kinds)
    return keep(act, rows.values_list("item", "to_spot"), rules)


def keep(act: Act, pairs: Iterable[tuple[int, int]], rules: KeepRules) -> list[Body]:
    """Keep one piece of each lot among these (item, spot) that is to keep one and has none, where one is free; the first spot by id.

    A lot whose piece was released for good keeps none again. [{lot_id, lot, part, item, place, spot, kept}]
    """
    wanted = set(pairs)
    rows = Balance.objects.filter(
        item__in={item for item, _ in wanted}, spot__in={spot for _, spot in wanted}, pickable=True, amount__gt=0
    ).select_related("item__lot", "item__part", "spot__place")
    candidates: dict[int, list[Balance]] = {}
    for row in sorted(rows, key=lambda one: (one.spot_id, one.item_id)):
        lot, part = row.item.lot, row.item.part
        if lot is None or (row.item_id, row.spot_id) not in wanted or row.amount - row.held < PIECES:
            continue
        if keeps_one(LotIn(part.kind, part.base, part.tracked_by, lot.received_on), rules):
            candidates.setdefault(lot.pk, []).append(row)
    for lot_id in sorted(candidates):
        locks.name("kept piece", str(lot_id))
    having = set(KeptPiece.objects.filter(lot__in=candidates, end__isnull=True).values_list("lot", flat=True))
    having |= set(
        KeptEnd.objects.filter(kept__lot__in=candidates, how=HowEnded.RELEASED).values_list("kept__lot", flat=True)
    )
    chosen = [found[0] for lot_id, found in sorted(candidates.items()) if lot_id not in having]
    KeptPiece.objects.bulk_create(
        KeptPiece(act=act, lot=row.item.lot, item_id=row.item_id, spot_id=row.spot_id, amount=PIECES) for row in chosen
    )
    hold_more({(row.item_id, row.spot_id): PIECES for row in chosen}, act.occurred_at)
    return [
        {
            "lot_id": row.item.lot_id,
            "lot": row.item.lot_code,
            "part": row.item.part.number,
            "item": row.item_id,
            "place": row.spot.place.code,
            "spot": row.spot.name,
            "kept": PIECES,
        }
        for row in chosen
    ]


def end_kept(act: Act, kept: Iterable[KeptPiece], how: HowEnded, why: str) -> None:
    """They are kept no longer: what they held is free again."""
    rows = list(kept)
    KeptEnd.objects.bulk_create(KeptEnd(kept=row, act=act, how=how.value, why=why) for row in rows)
    hold_more({(row.item_id, row.spot_id): -row.amount for row in rows}, act.occurred_at)


def missing(act: Act, item_id: int, spot_id: int, why: str) -> bool:
    """The kept piece is not there any more, as a count found: True if there was one."""
    rows = list(open_kept().filter(item=item_id, spot=spot_id))
    end_kept(act, rows, HowEnded.MISSING, why)
    return bool(rows)


def taken_back(act: Act, original: Act) -> None:
    """The delivery by which a piece came is taken back: nothing of it is kept."""
    end_kept(act, open_kept().filter(act=original), HowEnded.TAKEN_BACK, f"act {original.pk} was taken back")
