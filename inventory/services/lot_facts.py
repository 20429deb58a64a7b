"""The facts of lots and labels as deliveries bring them: set anew, filled in, refused, put right. Private to services."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from django.db.models import Q

from inventory.domain.errors import DomainError
from inventory.domain.lot_dates import Dates, joined, life, not_later
from inventory.domain.shelf_life import (
    Basis,
    Expiry,
    Inspection,
    LifeKind,
    LifeRule,
    Undated,
    extend,
    usable_on,
)
from inventory.models import Act, Hold, LifeExtension, Lot, LotDates, MatchedSet, Movement, SetLabelling, Short, Tube
from inventory.queries.days import shop_day
from inventory.queries.shop import shop
from inventory.services.holding import all_holds, make_impossible
from inventory.services.stopping import lock_everywhere

#: How the expiry of a lot came to be known that was never received by itself: a bag with dates of its own knows better.
FROM_KIT = "that of the kit it was first seen in"


@dataclass(frozen=True, slots=True)
class Facts:
    """Dates of a lot with the expiry that they give."""

    dates: Dates
    expires_on: date | None
    expiry_rule: str
    extension_years: int


def dates_of(lot: Lot) -> Dates:
    """The dates that bags of the lot said so far."""
    return Dates(lot.cure_code, lot.made_on, lot.printed_on)


def taken_back(of: Q) -> bool:
    """Whether whatever came in of a lot or serial was taken back again: it was never here. Two queries at most.

    of: a condition over movements. What never moved was not taken back.
    """
    rows = Movement.objects.filter(of, act__corrects__isnull=True)
    return not rows.filter(act__corrected_by__isnull=True).exists() and rows.exists()


def bring_dates(act: Act, lot: Lot, given: Dates, rule: LifeRule, basis: Basis) -> list[Short]:
    """Another bag of a standing lot: what it adds is filled in and its holds are judged anew; DomainError "lot-differs".

    The lot comes with its part. The shorts of holds that the dates end.
    """
    known, today = dates_of(lot), shop_day(act.occurred_at)
    name = f"{lot.part.number} lot {lot.code}"
    if joined(name, known, given, today) == known:
        return []
    lock_everywhere({lot.part_id})
    lot.refresh_from_db()
    known = dates_of(lot)
    both = joined(name, known, given, today)
    contents = Expiry(lot.expires_on, lot.expiry_rule) if rule.kind is LifeKind.CONTENTS and lot.expiry_rule else None
    found = life(rule, both, basis, today, contents)
    if not known and isinstance(found, Expiry) and lot.expiry_rule != FROM_KIT:
        found = not_later(found, lot.expires_on, lot.expiry_rule)
    return set_facts(act, lot, facts(both, found, rule), "a delivery brought its dates")


def facts(dates: Dates, found: Expiry | Undated, rule: LifeRule) -> Facts:
    """What is stored of dates and their expiry."""
    if isinstance(found, Undated):
        return Facts(dates, None, found.reason[:200], 0)
    return Facts(dates, found.day, found.rule[:200], rule.extension_years)


def set_facts(act: Act, lot: Lot, new: Facts, why: str, *, extended: bool = True) -> list[Short]:
    """Keep what stood and what stands, and end the holds that the new day makes impossible.

    extended: a life that an inspector had extended stays so
    """
    lock_everywhere({lot.part_id})
    new = _extended(lot, new) if extended else new
    before = Facts(dates_of(lot), lot.expires_on, lot.expiry_rule, lot.extension_years)
    LotDates.objects.bulk_create(
        LotDates(
            act=act, lot=lot, before=was, expires_on=one.expires_on, expiry_rule=one.expiry_rule, **asdict(one.dates)
        )
        for was, one in ((True, before), (False, new))
    )
    values: dict[str, Any] = {
        **asdict(new.dates),
        "expires_on": new.expires_on,
        "expiry_rule": new.expiry_rule,
        "extension_years": new.extension_years,
    }
    for name, value in values.items():
        setattr(lot, name, value)
    lot.save(update_fields=list(values))
    if new.expires_on is None or (before.expires_on is not None and before.expires_on <= new.expires_on):
        return []
    tubes = Tube.objects.filter(lot=lot).filter(Q(use_by__isnull=True) | Q(use_by__gt=new.expires_on))
    tubes.update(use_by=new.expires_on)
    ended = _too_late(lot, new.expires_on, shop_day(act.occurred_at))
    return make_impossible(act, ended, f"lot {lot.code} is good until {new.expires_on}: {why}")


def _too_late(lot: Lot, last: date, on: date) -> list[Hold]:
    """Open holds on the lot that cannot be fitted any more by its last day: on the planned day or, where that has passed unmoved, on the
    day of the act (`on`). An opened tube is planned to its last day."""
    margin = shop().margin_days
    holds = all_holds(Q(item__lot=lot))
    return [
        hold for hold in holds if not usable_on(last, max(hold.day, on), 0 if hold.item.tube_id is not None else margin)
    ]


def _extended(lot: Lot, new: Facts) -> Facts:
    """A life that an inspector had extended, and nobody took back, stays extended by the same years, counted from the day put right."""
    rows = LifeExtension.objects.filter(lot=lot, act__corrected_by__isnull=True).select_related("act__actor")
    row = rows.first()
    if row is None or new.expires_on is None or not new.extension_years:
        return new
    rule = LifeRule(LifeKind.CURE, extension_years=new.extension_years)
    inspection = Inspection(str(row.act.actor), shop_day(row.act.occurred_at), row.sample_pieces)
    longer = extend(rule, Expiry(new.expires_on, new.expiry_rule), inspection)
    return Facts(new.dates, longer.day, longer.rule[:200], new.extension_years)


LABEL = ("weight_mg", "weighed", "bore_nm", "piston_nm", "grade", "liner_mark", "piston_mark", "photo")


def label_of(one: MatchedSet) -> dict[str, Any]:
    """What the label of a set says, by the names of its columns."""
    return {name: getattr(one, name) for name in LABEL}


def bring_label(one: MatchedSet, given: dict[str, Any]) -> None:
    """DomainError "label-differs" where another label than that on record is read on a standing set; the photo may be another."""
    known = label_of(one)
    wrong = [
        name
        for name in LABEL
        if name != "photo" and given[name] not in (None, "") and known[name] not in (None, "", given[name])
    ]
    if wrong:
        raise DomainError(
            "label-differs",
            f"Set {one.serial.number}: the label on record says "
            + ", ".join(f"{name} {known[name]}, this one {given[name]}" for name in wrong)
            + ".",
            ways_out=("Look at the set again.", "Where the record is wrong, put its label right, with a reason."),
            serial=one.serial.number,
            known={name: known[name] for name in wrong},
            given={name: given[name] for name in wrong},
        )


def set_label(act: Act, one: MatchedSet, given: dict[str, Any]) -> None:
    """Keep what the label said and what it says."""
    before = label_of(one)
    SetLabelling.objects.bulk_create(
        SetLabelling(act=act, matched_set=one, before=was, **label) for was, label in ((True, before), (False, given))
    )
    MatchedSet.objects.filter(pk=one.pk).update(**given)
