"""The kept piece of a lot goes when the last term of an engine with that lot has ended; until then who asks is told the day."""

from __future__ import annotations

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.domain.keeping import HowEnded
from inventory.models import Act, Lot, Person
from inventory.queries import kept as stores
from inventory.queries.days import shop_day
from inventory.queries.kept import open_kept
from inventory.services import lookup
from inventory.services.keeping import end_kept
from inventory.services.run import Body, Done, Stamp, run
from kits.domain.kept import kept_for
from kits.queries.kept import terms_of, until_of

stores.ask_until(until_of)


def release_kept(*, actor: Person, stamp: Stamp, lot_id: int, reason: str) -> Done:
    """Keep the piece of a lot no longer: it is free stock from then on, as far as nothing else is against that.

    Of a lot that was fitted nowhere it may be given up at any time; another is kept when one comes or is asked for.
    Outcome: {"lot_id", "lot", "part", "item", "place", "spot", "kept", "how", "why"}. Raises DomainError "not-found", "reason-missing",
    "not-kept", and "kept" with the day until which it is.
    """

    def work(act: Act) -> Body:
        lot = Lot.objects.filter(pk=lot_id).select_related("part").first()
        if lot is None:
            raise DomainError("not-found", f"There is no lot {lot_id}.", lot=lot_id)
        lookup.need_reason(reason, f"Why is what is kept of lot {lot.code} of {lot.part.number} released?")
        row = open_kept().filter(lot=lot).select_related("spot__place").first()
        if row is not None and row.spot.place.site_id is not None:
            locks.scarcer([(lot.part_id, row.spot.place.site_id)])
        locks.name("kept piece", str(lot.pk))
        row = open_kept().filter(lot=lot).select_related("spot__place").first()
        if row is None:
            raise DomainError("not-kept", f"Nothing of lot {lot.code} of {lot.part.number} is kept.", lot=lot.code)
        terms = terms_of(lot.pk, shop_day(act.occurred_at))
        its = kept_for(terms)
        if not its.may_go:
            raise DomainError(
                "kept",
                f"It is the kept one of lot {lot.code} of {lot.part.number}: {its.why}.",
                ways_out=() if its.until else ("Record when these engines were handed over, where that is missing.",),
                lot=lot.code,
                until=its.until.isoformat() if its.until else None,
                engines=[one.engine for one in terms if not one.over],
            )
        how = HowEnded.RELEASED if terms else HowEnded.GIVEN_UP
        end_kept(act, [row], how, reason)
        return {
            "lot_id": lot.pk,
            "lot": lot.code,
            "part": lot.part.number,
            "item": row.item_id,
            "place": row.spot.place.code,
            "spot": row.spot.name,
            "kept": row.amount,
            "how": how.value,
            "why": its.why,
        }

    return run(
        "release kept piece", work, actor=actor, stamp=stamp, request={"lot": lot_id, "reason": reason}, reason=reason
    )
