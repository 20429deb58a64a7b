"""Entering and changing parts and suppliers. Each is an act: who, when, what it was before."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, fields
from typing import Any

from inventory import locks
from inventory.domain.catalogue import KITS, CheckedPart, PartFacts, check_length, check_part
from inventory.domain.errors import DomainError
from inventory.domain.old_units import MOST_DAYS
from inventory.domain.part_numbers import look_of
from inventory.models import Act, KitRevision, Part, Person, Supplier, SupplierPart
from inventory.models.looks import Look
from inventory.queries.catalogue import no_such_supplier
from inventory.services import things
from inventory.services.run import Body, Done, Stamp, plain, run

#: What may be changed in place. Number, unit and how it is tracked may not: stock and histories were booked by them.
CHANGEABLE = frozenset(field.name for field in fields(PartFacts)) - {"number", "unit", "tracked_by"}


def create_part(*, actor: Person, stamp: Stamp, facts: PartFacts, another_part: bool = False) -> Done:
    """Enter a part.

    another_part   a person says that it is another part than the one whose number differs only in spaces, dashes, dots or case
    An unknown kind is kept as "to be sorted", with a warning; letters that look like digits warn, and so does a number that only looks
    like another one.
    Outcome: {"part", "compare_key", "kind", "kind_typed", "version", "same_key": [numbers], "warnings"}.
    Raises DomainError: those of `check_part`; "number-known" for a number on record, or one with the same key.
    """
    request = {"facts": asdict(facts), "another_part": another_part}

    def work(act: Act) -> Body:
        checked = check_part(facts)
        locks.name("part", checked.compare_key)
        same = list(
            Part.objects.filter(compare_key=checked.compare_key).order_by("number").values_list("number", flat=True)
        )
        if facts.number in same or (same and not another_part):
            raise DomainError(
                "number-known",
                f"{facts.number} is in the catalogue as {', '.join(same)}.",
                ways_out=(
                    "Use the number that is on record.",
                    "If it is another part, say so (another_part); both are then kept and shown together.",
                ),
                part=facts.number,
                known=same,
            )
        Part.objects.create(compare_key=checked.compare_key, **_columns(facts, checked))
        return {
            "part": facts.number,
            "compare_key": checked.compare_key,
            "kind": checked.kind,
            "kind_typed": facts.kind,
            "version": 1,
            "same_key": same,
            "warnings": [*checked.warnings, *_looks_like(facts.number, checked.compare_key)],
        }

    return run("enter part", work, actor=actor, stamp=stamp, request=request, subject=facts.number[:80])


def _looks_like(number: str, key: str) -> list[str]:
    """A warning for each part on record that a tired eye takes for this one."""
    same = Part.objects.alias(look=Look("compare_key")).filter(look=look_of(key)).exclude(compare_key=key)
    known = same.order_by("number").values_list("number", flat=True)
    return [f"{number} looks like {other}, which is in the catalogue: is it that one?" for other in known]


def _columns(facts: PartFacts, checked: CheckedPart) -> dict[str, Any]:
    columns = asdict(facts)
    columns |= {"unit": checked.unit, "base": checked.base.value, "kind": checked.kind}
    columns |= {"life": plain(facts.life), "ring": plain(facts.ring)}
    columns |= {"storage": plain(facts.storage), "label_window": plain(facts.label_window)}
    return columns


def change_part(*, actor: Person, stamp: Stamp, number: str, version: int, changes: Mapping[str, Any]) -> Done:
    """Change fields of a part that was read in `version`.

    changes   field of `PartFacts` -> new value; number, unit and tracking cannot be changed
    Outcome: {"part", "version", "changed": {field: {"from", "to"}}, "warnings"}.
    Raises DomainError "not-found", "version-stale", "part-unusable", "nothing-changed", those of `check_part`.
    """
    request = {"part": number, "version": version, "changes": dict(changes)}

    def work(act: Act) -> Body:
        part = things.parts_by_number([number])[number]
        if part.version != version:
            raise _stale(part.number, version, part.version)
        unknown = sorted(set(changes) - CHANGEABLE)
        if unknown:
            raise DomainError(
                "part-unusable",
                f"{', '.join(unknown)} of {number} cannot be changed: stock and histories were booked by it.",
                ways_out=("Enter the part under a new number, and say what replaces what.",),
                part=number,
                fields=unknown,
            )
        now = {field.name: getattr(part, field.name) for field in fields(PartFacts)}
        facts = PartFacts(**{**now, **changes})
        checked = check_part(facts)
        after = _columns(facts, checked)
        changed = {name: {"from": now[name], "to": after[name]} for name in sorted(changes) if now[name] != after[name]}
        if not changed:
            raise DomainError("nothing-changed", f"{number} is like that already.", part=number)
        _refuse_no_kit(part, checked.kind)
        new = {name: pair["to"] for name, pair in changed.items()}
        if not Part.objects.filter(pk=part.pk, version=version).update(**new, version=version + 1):
            raise _stale(part.number, version, Part.objects.values_list("version", flat=True).get(pk=part.pk))
        return {"part": number, "version": version + 1, "changed": changed, "warnings": checked.warnings}

    return run("change part", work, actor=actor, stamp=stamp, request=request, subject=number[:80])


def _refuse_no_kit(part: Part, kind: str) -> None:
    """What is said to hold other parts stays a kit. DomainError "part-unusable"."""
    if part.kind in KITS and kind not in KITS and KitRevision.objects.filter(kit=part).exists():
        raise DomainError(
            "part-unusable",
            f"{part.number} is said to hold other parts: it stays a kit.",
            ways_out=("Enter the part that it is under a number of its own.",),
            part=part.number,
            field="kind",
        )


def _stale(number: str, given: int, now: int) -> DomainError:
    return DomainError(
        "version-stale",
        f"{number} was changed since: version {given} was read, it is version {now}.",
        ways_out=("Read the part again, and change that.",),
        part=number,
        given=given,
        version=now,
    )


def create_supplier(
    *,
    actor: Person,
    stamp: Stamp,
    code: str,
    name: str,
    facts: Mapping[str, Any] | None = None,
    send_back_days: int | None = None,
) -> Done:
    """Enter a supplier. `facts`: lead times and the like as the parts manager notes them.

    send_back_days  how long an old unit may stay here before it is sent back, unless the terms of its part say otherwise
    Outcome: {"supplier", "name"}. Raises DomainError "supplier-known", "text-too-long", "nothing-given", "part-unusable".
    """
    request = {"code": code, "name": name, "facts": dict(facts or {}), "send_back_days": send_back_days}

    def work(act: Act) -> Body:
        check_length("code", code)
        check_length("name", name)
        if not code.strip() or not name.strip():
            raise DomainError("nothing-given", "A supplier has a code and a name.", supplier=code, name=name)
        if send_back_days is not None and not 0 <= send_back_days <= MOST_DAYS:
            raise DomainError("part-unusable", f"send_back_days {send_back_days} is too much.", field="send_back_days")
        locks.name("supplier", code)
        if Supplier.objects.filter(code=code).exists():
            raise DomainError("supplier-known", f"{code} is on record already.", supplier=code)
        Supplier.objects.create(code=code, name=name, facts=plain(dict(facts or {})), send_back_days=send_back_days)
        return {"supplier": code, "name": name}

    return run("enter supplier", work, actor=actor, stamp=stamp, request=request, subject=code[:80])


def _check_express(part: str, days: int | None, coins: int | None) -> None:
    if (days is None) != (coins is None):
        raise DomainError(
            "part-unusable", f"{part}: express has its days and its price, or neither.", part=part, field="express_days"
        )


def sell_part(
    *,
    actor: Person,
    stamp: Stamp,
    supplier: str,
    part: str,
    number: str = "",
    pack: int = 1,
    least_order: int = 1,
    price_coins: int | None = None,
    lead_days: int | None = None,
    send_back_days: int | None = None,
    express_days: int | None = None,
    express_coins: int | None = None,
) -> Done:
    """Record that a supplier sells a part, or on which new terms.

    pack, least_order in whole units of the part; price in coins for one; lead time in days, and how many days its old unit may stay here.
    express_days, express_coins: how fast at best, and what that costs more; both or none.
    Outcome: {"supplier", "part", "before": the terms until now or null, "terms": the new ones}.
    Raises DomainError "not-found", "part-unusable", "text-too-long".
    """
    terms = {
        "number": number,
        "pack": pack,
        "least_order": least_order,
        "price_coins": price_coins,
        "lead_days": lead_days,
        "send_back_days": send_back_days,
        "express_days": express_days,
        "express_coins": express_coins,
    }

    def work(act: Act) -> Body:
        check_length("number", number)
        for name, least, value in (
            ("pack", 1, pack),
            ("least_order", 1, least_order),
            ("price_coins", 0, price_coins),
            ("lead_days", 0, lead_days),
            ("send_back_days", 0, send_back_days),
            ("express_days", 0, express_days),
            ("express_coins", 0, express_coins),
        ):
            most = MOST_DAYS if name.endswith("_days") else 1_000_000_000
            if value is not None and not least <= value <= most:
                raise DomainError(
                    "part-unusable", f"{part}: {name} {value} is less than {least} or too much.", part=part, field=name
                )
        _check_express(part, express_days, express_coins)
        sold = things.parts_by_number([part])[part]
        seller = Supplier.objects.filter(code=supplier).first()
        if seller is None:
            raise no_such_supplier(supplier)
        locks.name("supplier", supplier)
        row = SupplierPart.objects.filter(supplier=seller, part=sold).first()
        before = {name: getattr(row, name) for name in terms} if row else None
        SupplierPart.objects.update_or_create(supplier=seller, part=sold, defaults=terms)
        return {"supplier": supplier, "part": part, "before": before, "terms": terms}

    request = {"supplier": supplier, "part": part, "terms": terms}
    return run("supplier sells", work, actor=actor, stamp=stamp, request=request, subject=part[:80])
