"""What may be packed into a closed kit, and until when the box is good. Pure."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from inventory.domain.errors import DomainError, ManyErrors
from inventory.domain.items import Tracked
from inventory.domain.shelf_life import usable_on

#: How deep kits may be packed into each other: a stop of a lot is looked for in a kit, and in a kit in that kit, no deeper.
DEEPEST = 2


@dataclass(frozen=True, slots=True)
class Limb:
    """Loose stock that is to go into every box.

    label        as a person is told; part: its number
    each         whole base units of it that go into one box
    tracked      how its part is told apart; lot_known: its lot is on record
    half, opened a half of a broken set; out of an opened tube
    stopped      it, its lot or something inside it may not be used
    expires_on   None: without a limit
    kits         numbers of the kits that it holds, its own too if it is one; depth: how deep kits are packed in it, 0: it is none
    """

    label: str
    part: str
    each: int
    tracked: Tracked = Tracked.LOT
    lot_known: bool = True
    half: bool = False
    opened: bool = False
    stopped: bool = False
    expires_on: date | None = None
    kits: Collection[str] = ()
    depth: int = 0


def check_limbs(kit: str, contents: Mapping[str, int], limbs: Sequence[Limb], day: date) -> None:
    """Whether these make one box of the kit on a day.

    contents   part number -> whole base units that the kit holds
    ManyErrors names every limb that cannot go in: "not-in-kit", "kit-loop", "not-for-kit", "lot-unknown", "stopped", "expired";
    then DomainError "kit-incomplete" names every part of which there is too little or too much.
    """
    errors = [(number, error) for number, one in enumerate(limbs, 1) if (error := _problem(kit, contents, one, day))]
    if errors:
        raise ManyErrors(tuple(errors))
    given: Counter[str] = Counter()
    for one in limbs:
        given[one.part] += one.each
    wrong = [
        {"part": part, "needs": needs, "given": given[part]} for part, needs in contents.items() if given[part] != needs
    ]
    if wrong:
        said = "; ".join(f"{one['part']}: {one['needs']} go in, {one['given']} were given" for one in wrong)
        raise DomainError("kit-incomplete", f"{kit} is not complete: {said}.", kit=kit, parts=wrong)


def _problem(kit: str, contents: Mapping[str, int], one: Limb, day: date) -> DomainError | None:
    if kit in one.kits or one.part == kit:
        return DomainError("kit-loop", f"{kit} would contain itself, inside {one.label}.", kit=kit, item=one.label)
    if one.part not in contents:
        return DomainError("not-in-kit", f"{one.part} is not in kit {kit}.", part=one.part, kit=kit)
    if (why := _unfit(one)) is not None:
        return DomainError("not-for-kit", f"{one.label} is not packed into a kit: {why}.", item=one.label)
    if one.tracked is Tracked.LOT and not one.lot_known:
        return DomainError(
            "lot-unknown",
            f"The lot of {one.label} is not known: a closed kit says the lots of what is in it.",
            item=one.label,
        )
    if one.stopped:
        return DomainError("stopped", f"{one.label} is stopped: it is not packed until it is freed.", item=one.label)
    if not usable_on(one.expires_on, day):
        return DomainError(
            "expired", f"{one.label} was good until {one.expires_on}.", item=one.label, expires_on=str(one.expires_on)
        )
    return None


def _unfit(one: Limb) -> str | None:
    if one.half:
        return "it is a half of a broken set"
    if one.tracked in (Tracked.SERIAL, Tracked.SET):
        return "it has a serial number, and is looked up where it lies"
    if one.opened:
        return "it is out of an opened tube"
    if one.depth >= DEEPEST:
        return "kits are packed in it so deep that a stop of a lot would not be seen"
    return None


def box_expiry(limbs: Sequence[Limb]) -> tuple[date | None, str]:
    """Until when a box is good, the earliest of its contents, and the rule in words."""
    dated = [(one.expires_on, one.label) for one in limbs if one.expires_on is not None]
    if not dated:
        return None, "its contents have no limit"
    day, label = min(dated)
    return day, f"earliest of its contents: {label}"
