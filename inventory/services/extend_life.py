"""Extending the storage life of a lot, once, after a named inspector has passed a sample of it."""

from __future__ import annotations

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.domain.shelf_life import Expiry, Inspection, LifeKind, LifeRule, extend
from inventory.models import Act, LifeExtension, Lot, Person
from inventory.queries.days import shop_day
from inventory.queries.lot_pieces import pieces_on_hand
from inventory.services import lookup
from inventory.services.run import Body, Done, Stamp, run


def extend_life(*, actor: Person, stamp: Stamp, lot_id: int, sample_pieces: int, passed: bool, found: str) -> Done:
    """The inspector looked at a sample of a lot: set, cracks, hardening, tackiness. The life grows by the years of its own rule.

    sample_pieces, passed, found   how many were looked at, whether they are good, and what was seen
    The years are counted from the old expiry. The row says who, and what the days were; the lot's rule says so too.
    Outcome: {"lot", "part", "before", "expires_on", "expiry_rule", "sample_pieces", "found"}.
    Raises DomainError "not-found", "reason-missing", "extension-not-allowed" (no limit, a rule without one, a sample that
    failed), "extension-used", "extension-unsigned" (no sample), "sample-unusable" (more than was on hand, out of kits, at that moment).
    """

    def work(act: Act) -> Body:
        lookup.need_reason(found, "What did the inspection of the sample find?")
        locks.row("inventory_lot", [lot_id])
        lot = Lot.objects.select_related("part").filter(pk=lot_id).first()
        if lot is None:
            raise DomainError("not-found", f"There is no lot {lot_id}.", lot=lot_id)
        before = lot.expires_on
        used = LifeExtension.objects.filter(lot=lot, act__corrected_by__isnull=True).count()
        rule = LifeRule(LifeKind.CURE, extension_years=lot.extension_years)
        inspection = Inspection(str(actor), shop_day(act.occurred_at), sample_pieces, passed)
        longer = extend(rule, Expiry(before, lot.expiry_rule, used), inspection)
        if before is None or longer.day is None:
            raise DomainError("extension-not-allowed", f"Lot {lot.code} has no limit of storage.", lot=lot.code)
        _check_sample(act, lot, sample_pieces)
        LifeExtension.objects.create(
            act=act,
            lot=lot,
            before=before,
            before_rule=lot.expiry_rule,
            after=longer.day,
            sample_pieces=sample_pieces,
            found=found,
        )
        Lot.objects.filter(pk=lot.pk).update(expires_on=longer.day, expiry_rule=longer.rule[:200])
        return {
            "lot": lot.code,
            "part": lot.part.number,
            "before": before,
            "expires_on": longer.day,
            "expiry_rule": longer.rule[:200],
            "sample_pieces": sample_pieces,
            "found": found,
        }

    request = {"lot": lot_id, "sample_pieces": sample_pieces, "passed": passed, "found": found}
    return run("extend life", work, actor=actor, stamp=stamp, request=request, reason=found)


def _check_sample(act: Act, lot: Lot, sample: int) -> None:
    """Nobody looked at more than there was; DomainError "sample-unusable"."""
    there = pieces_on_hand(lot.pk, act.occurred_at)
    if there is not None and sample > there:
        raise DomainError(
            "sample-unusable",
            f"{sample} of lot {lot.code} cannot have been looked at: {there} of it were on hand.",
            ways_out=(
                "Say how many were looked at.",
                "Enter it as of when they were looked at, if some left since.",
                "Count the lot, if more of it lies there.",
            ),
            lot=lot.code, sample=sample, on_hand=there,
        )  # fmt: skip
