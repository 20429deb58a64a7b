"""Putting right what a bag or a label was read to say: an act with a reason, what stood before is kept beside what stands."""

from __future__ import annotations

from dataclasses import asdict
from datetime import date

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.domain.lot_dates import Dates, life
from inventory.domain.shelf_life import Basis, Expiry, LifeKind
from inventory.models import Act, Lot, Person
from inventory.queries.catalogue import matched_set
from inventory.queries.days import shop_day
from inventory.queries.shop import shop
from inventory.services import lookup
from inventory.services.lot_facts import dates_of, facts, label_of, set_facts, set_label
from inventory.services.receive_lines import SetLabel
from inventory.services.run import Body, Done, Stamp, run
from inventory.services.stopping import lock_everywhere


def set_lot_dates(
    *,
    actor: Person,
    stamp: Stamp,
    lot_id: int,
    reason: str,
    cure_code: str = "",
    made_on: date | None = None,
    printed_on: date | None = None,
    basis: Basis | None = None,
) -> Done:
    """The dates of a lot as its bags really say them; all of them, what is left out is not printed there.

    The expiry is counted anew by the part's rule, an extension by inspection from the new day. Holds for a day on which the lot is no
    longer good end "made impossible" with named shorts; opened tubes of it are good no longer than it is.
    Outcome: {"lot", "part", "before", "after": {cure_code, made_on, printed_on, expires_on, expiry_rule}, "shorts"}.
    Raises DomainError "not-found", "reason-missing", "undated" (a life that needs a date, and none given), "dates-the-same",
    "cure-date-unreadable", "cure-date-future", "from-the-future".
    """
    given = Dates(cure_code.strip(), made_on, printed_on)

    def work(act: Act) -> Body:
        lookup.need_reason(reason, "How is it known what the bag says?")
        lot = Lot.objects.select_related("part").filter(pk=lot_id).first()
        if lot is None:
            raise DomainError("not-found", f"There is no lot {lot_id}.", lot=lot_id)
        lock_everywhere({lot.part_id})
        locks.row("inventory_lot", [lot_id])
        lot.refresh_from_db()
        if given == dates_of(lot):
            raise DomainError("dates-the-same", f"That is what is on record of lot {lot.code}.", lot=lot.code)
        today = shop_day(act.occurred_at)
        if made_on is not None and made_on > today:
            raise DomainError("from-the-future", f"Made on {made_on}: that has not happened yet.", made_on=str(made_on))
        its = shop()
        rule = its.life_of(lot.part)
        inside = Expiry(lot.expires_on, lot.expiry_rule) if rule.kind is LifeKind.CONTENTS else None
        found = life(rule, given, basis or its.basis, today, inside)
        if not isinstance(found, Expiry):
            raise DomainError(
                "undated",
                f"{lot.part.number} lot {lot.code}: {found.reason}",
                ways_out=("Give the date that its life is counted from.", "Transfer it to quarantine."),
                part=lot.part.number,
                lot=lot.code,
            )
        before = _said(lot)
        shorts = set_facts(act, lot, facts(given, found, rule), reason)
        return {
            "lot": lot.code,
            "part": lot.part.number,
            "before": before,
            "after": _said(lot),
            "shorts": lookup.said(shorts),
        }

    request = {"lot": lot_id, "reason": reason, "basis": basis and basis.value} | {
        "cure_code": cure_code,
        "made_on": made_on,
        "printed_on": printed_on,
    }
    return run("set lot dates", work, actor=actor, stamp=stamp, request=request, reason=reason)


def _said(lot: Lot) -> Body:
    return {**asdict(dates_of(lot)), "expires_on": lot.expires_on, "expiry_rule": lot.expiry_rule}


def relabel_set(*, actor: Person, stamp: Stamp, serial: str, label: SetLabel, reason: str, part: str = "") -> Done:
    """What the label of a matched set really says; all of it.

    Outcome: {"part", "serial", "before", "after": the label}.
    Raises DomainError "not-found", "serial-ambiguous", "reason-missing", "dates-the-same", "weight-unsaid".
    """

    def work(act: Act) -> Body:
        lookup.need_reason(reason, "How is it known what the label says?")
        one = matched_set(serial, part)
        locks.row("inventory_serial", [one.pk])
        one.refresh_from_db()
        before, after = label_of(one), label.kept()
        if before == after:
            raise DomainError("dates-the-same", f"That is what is on record of set {one.serial.number}.", serial=serial)
        set_label(act, one, after)
        return {"part": one.serial.part.number, "serial": one.serial.number, "before": before, "after": after}

    request = {"serial": serial, "part": part, "label": asdict(label), "reason": reason}
    return run("set label", work, actor=actor, stamp=stamp, request=request, reason=reason, subject=serial[:80])
