"""What a broken set is still worth as a core: somebody decides, by name; the newest decision counts."""

from __future__ import annotations

from inventory.domain.errors import DomainError
from inventory.domain.matching import check_core_value
from inventory.domain.quantities import MAX_BASE_AMOUNT
from inventory.models import Act, CoreValue, Person
from inventory.queries.catalogue import matched_set
from inventory.services import lookup
from inventory.services.run import Body, Done, Stamp, run


def decide_core_value(
    *,
    actor: Person,
    stamp: Stamp,
    part: str,
    serial: str,
    value_coins: int | None,
    reason: str,
    subject: str = "",
) -> Done:
    """Decide the core value of a broken set. value_coins: None for none; subject: the job it was broken on.

    Outcome: {"part", "serial", "value_coins", "before": the value until now, "decided_before": whether there was one, "reason"}.
    Raises DomainError "not-found", "serial-ambiguous", "set-whole", "reason-missing", "amount-not-positive", "amount-too-large".
    """
    request = {"part": part, "serial": serial, "value_coins": value_coins, "reason": reason, "subject": subject}

    def work(act: Act) -> Body:
        lookup.need_reason(reason, f"Why is that the core value of set {serial}?")
        check_core_value(value_coins, MAX_BASE_AMOUNT)
        found = matched_set(serial, part)
        if getattr(found.serial, "broken", None) is None:
            raise DomainError("set-whole", f"Set {serial} is whole: its core value is not asked.", serial=serial)
        before = CoreValue.objects.filter(serial=found.serial).order_by("-pk").first()
        CoreValue.objects.create(serial=found.serial, act=act, value_coins=value_coins)
        return {
            "part": found.serial.part.number,
            "serial": found.serial.number,
            "value_coins": value_coins,
            "before": before.value_coins if before else None,
            "decided_before": before is not None,
            "reason": reason,
        }

    return run("decide core value", work, actor=actor, stamp=stamp, request=request, subject=subject, reason=reason)
