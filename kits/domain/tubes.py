"""Which tube for which joint, and how many new ones go on the tray: a tube must never run dry in a joint.

A joint is closed from one tube that holds the margin (1.2 times its draw), or a second tube of the same product lies
ready. Of several open tubes that hold it the oldest is used up first; two products never meet in one joint.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from inventory.domain.errors import DomainError
from kits.domain.sealant import DEFAULT_RULES, SealantRules, draw_ul, usable_ul


@dataclass(frozen=True, slots=True)
class JointDraw:
    """A joint to close: what stays in it, with which product, through which nozzle ("" is a nozzle of its own)."""

    joint: str
    product: str
    laid_ul: int
    nozzle: str = ""


@dataclass(frozen=True, slots=True)
class OpenTube:
    """An opened tube. `content_ul` None: not known (no density); `opened_on` None: treated as past its use-by.

    `use_by` is the last day it may be used (the earlier of shelf life and open life); None: no limit.
    """

    key: str
    product: str
    content_ul: int | None
    nominal_ul: int
    opened_on: date | None
    use_by: date | None = None


@dataclass(frozen=True, slots=True)
class JointPlan:
    """`tubes`: the one to begin with, then those that lie ready; a key `new-1`… is a tube taken closed from the
    shelf."""

    joint: str
    product: str
    draw_ul: int
    tubes: tuple[str, ...]
    because: str


@dataclass(frozen=True, slots=True)
class TubePlan:
    """The joints in order; closed tubes to put on the tray by product; open tubes left alone, each with the reason."""

    joints: tuple[JointPlan, ...]
    new_tubes: Mapping[str, int]
    left_out: tuple[tuple[str, str], ...]


@dataclass(slots=True)
class _Tube:
    key: str
    product: str
    usable_ul: int
    opened: bool
    primed: set[str] = field(default_factory=set)


def _merged(joints: Sequence[JointDraw]) -> list[JointDraw]:
    """One entry a joint: its bead and its dabs come from one tube. Raises `sealant-two-products`."""
    by_joint: dict[str, JointDraw] = {}
    for draw in joints:
        before = by_joint.get(draw.joint)
        if before is not None and before.product != draw.product:
            raise DomainError(
                "sealant-two-products",
                f"{draw.joint} cannot be closed with both {before.product} and {draw.product}",
                joint=draw.joint, products=[before.product, draw.product],
            )  # fmt: skip
        laid = draw.laid_ul + (before.laid_ul if before else 0)
        by_joint[draw.joint] = JointDraw(draw.joint, draw.product, laid, before.nozzle if before else draw.nozzle)
    return list(by_joint.values())


def _on_hand(tubes: Sequence[OpenTube], day: date, rules: SealantRules) -> tuple[list[_Tube], list[tuple[str, str]]]:
    """Open tubes that may be used, the oldest first, and those that may not with the reason."""
    usable: list[tuple[date, str, _Tube]] = []
    left_out: list[tuple[str, str]] = []
    for tube in tubes:
        if tube.opened_on is None:
            left_out.append((tube.key, "the day it was opened is not known: treated as past its use-by"))
        elif tube.use_by is not None and tube.use_by < day:
            left_out.append((tube.key, f"its use-by {tube.use_by.isoformat()} is past"))
        elif tube.content_ul is None:
            left_out.append((tube.key, "its content is not known: weigh it, or take a new tube"))
        else:
            ready = _Tube(tube.key, tube.product, usable_ul(tube.content_ul, tube.nominal_ul, rules), opened=True)
            usable.append((tube.opened_on, tube.key, ready))
    return [tube for _, _, tube in sorted(usable, key=lambda entry: entry[:2])], left_out


class _Tray:
    """The tubes while the plan is made: open ones oldest first, then those brought closed, in the order brought."""

    def __init__(self, tubes: list[_Tube], closed_nominal_ul: Mapping[str, int], rules: SealantRules) -> None:
        self.tubes = tubes
        self.closed = closed_nominal_ul
        self.rules = rules
        self.brought: dict[str, int] = {}

    def draw(self, joint: JointDraw, tube: _Tube) -> int:
        primed = joint.nozzle != "" and joint.nozzle in tube.primed
        return draw_ul(joint.laid_ul, self.rules, nozzles=0 if primed else 1)

    def holds(self, tube: _Tube, draw: int) -> bool:
        return tube.usable_ul >= self.rules.margin * draw

    def bring(self, product: str) -> _Tube:
        nominal = self.closed.get(product, 0)
        usable = usable_ul(nominal, nominal, self.rules)
        if usable <= self.rules.prime_ul:
            raise DomainError("sealant-tube-unknown", f"no closed tube of {product} is known", product=product)
        tube = _Tube(f"new-{sum(self.brought.values()) + 1}", product, usable, opened=False)
        self.brought[product] = self.brought.get(product, 0) + 1
        self.tubes.append(tube)
        return tube

    def choose(self, joint: JointDraw) -> tuple[list[_Tube], str]:
        """The tubes for a joint, the first to begin with, and why."""
        mine = [tube for tube in self.tubes if tube.product == joint.product]
        for tube in mine:
            if tube.opened and self.holds(tube, self.draw(joint, tube)):
                return [tube], "the oldest open tube that holds enough"
        for tube in mine:
            draw = self.draw(joint, tube)
            if tube.opened and tube.usable_ul >= draw:
                return self._with_spares(
                    joint, [tube], draw
                ), "enough, but without the margin: a second tube lies ready"
        closed = [tube for tube in mine if not tube.opened]
        first = closed[0] if closed else self.bring(joint.product)
        draw = self.draw(joint, first)
        if self.holds(first, draw):
            return [first], "no open tube holds enough: a new one"
        return self._with_spares(joint, [first], draw), "more than one tube holds: further ones lie ready"

    def _with_spares(self, joint: JointDraw, chosen: list[_Tube], draw: int) -> list[_Tube]:
        """Further tubes of the product until together they hold the margin; each spare needs a priming of its own."""
        wanted = self.rules.margin * draw
        have = chosen[0].usable_ul
        others = [tube for tube in self.tubes if tube.product == joint.product and tube is not chosen[0]]
        while have < wanted:
            spare = others.pop(0) if others else self.bring(joint.product)
            gain = spare.usable_ul - self.rules.prime_ul
            if gain > 0:
                chosen.append(spare)
                have += gain
        return chosen

    def use(self, joint: JointDraw, chosen: list[_Tube]) -> int:
        """Take the draw out of the tubes in order; returns it. A spare that the draw does not reach stays closed."""
        draw = left = self.draw(joint, chosen[0])
        for tube in chosen:
            if left <= 0:
                break
            if tube is not chosen[0]:
                left += self.rules.prime_ul
                draw += self.rules.prime_ul
            taken = min(left, tube.usable_ul)
            tube.usable_ul -= taken
            left -= taken
            tube.opened = True
            if joint.nozzle:
                tube.primed.add(joint.nozzle)
        return draw


def plan_tubes(
    joints: Sequence[JointDraw],
    open_tubes: Sequence[OpenTube],
    closed_nominal_ul: Mapping[str, int],
    day: date,
    rules: SealantRules = DEFAULT_RULES,
) -> TubePlan:
    """Tubes for the joints in the order of work.

    `closed_nominal_ul`: product -> nominal microlitres of a closed tube of it; how many are on the shelf is allocated
    elsewhere. `day`: the day of the work, against which use-by days are held (that day included). Entries of one joint
    are added up.

    A nozzle is primed once, and again only when it goes on another tube. A spare that is expected to stay closed serves
    the following joints too. The plan reckons with the expected draw: weigh the tube again before each joint.

    Raises DomainError: `sealant-two-products`, `sealant-tube-unknown` (a new tube is needed and none is known),
    `sealant-size-missing` (a joint that takes nothing).
    """
    for entry in joints:
        if entry.laid_ul <= 0:
            raise DomainError("sealant-size-missing", f"{entry.joint} takes no sealant", joint=entry.joint)
    tubes, left_out = _on_hand(open_tubes, day, rules)
    tray = _Tray(tubes, closed_nominal_ul, rules)
    planned: list[JointPlan] = []
    for joint in _merged(joints):
        chosen, because = tray.choose(joint)
        keys = tuple(tube.key for tube in chosen)
        planned.append(JointPlan(joint.joint, joint.product, tray.use(joint, chosen), keys, because))
    return TubePlan(tuple(planned), dict(tray.brought), tuple(left_out))
