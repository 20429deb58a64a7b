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

#: How the key of a tube begins that is to be brought closed.
_NEW = "new-"


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


@dataclass(frozen=True, slots=True)
class Rest:
    """What a tube that a job has already still gives beyond what it was brought for; `primed`: the nozzles on it by then."""

    key: str
    product: str
    usable_ul: int
    opened: bool
    primed: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Rests:
    """joints: those that the rests close, with their tubes. begun: every tube that is begun or lies ready for any of the job's joints.
    left: what is left of each tube then."""

    joints: Mapping[str, tuple[str, ...]]
    begun: frozenset[str]
    left: tuple[Rest, ...]


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
        tube = _Tube(f"{_NEW}{sum(self.brought.values()) + 1}", product, usable, opened=False)
        self.brought[product] = self.brought.get(product, 0) + 1
        self.tubes.append(tube)
        return tube

    def send_back(self) -> bool:
        """Leave the tubes again that would have to be brought; whether there were any."""
        self.tubes = [tube for tube in self.tubes if not tube.key.startswith(_NEW)]
        brought = bool(self.brought)
        self.brought.clear()
        return brought

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
    rests: Sequence[Rest] = (),
) -> TubePlan:
    """Tubes for the joints in the order of work.

    `closed_nominal_ul`: product -> nominal microlitres of a closed tube of it; how many are on the shelf is allocated
    elsewhere. `day`: the day of the work, against which use-by days are held (that day included). Entries of one joint
    are added up. `rests`: what the job has already, used before any other.

    A nozzle is primed once, and again only when it goes on another tube. A spare that is expected to stay closed serves
    the following joints too. The plan reckons with the expected draw: weigh the tube again before each joint.

    Raises DomainError: `sealant-two-products`, `sealant-tube-unknown` (a new tube is needed and none is known),
    `sealant-size-missing` (a joint that takes nothing).
    """
    for entry in joints:
        if entry.laid_ul <= 0:
            raise DomainError("sealant-size-missing", f"{entry.joint} takes no sealant", joint=entry.joint)
    tubes, left_out = _on_hand(open_tubes, day, rules)
    own = [_Tube(one.key, one.product, one.usable_ul, one.opened, set(one.primed)) for one in rests]
    tray = _Tray([*own, *tubes], closed_nominal_ul, rules)
    planned: list[JointPlan] = []
    for joint in _merged(joints):
        chosen, because = tray.choose(joint)
        keys = tuple(tube.key for tube in chosen)
        planned.append(JointPlan(joint.joint, joint.product, tray.use(joint, chosen), keys, because))
    return TubePlan(tuple(planned), dict(tray.brought), tuple(left_out))


def rests_of(
    product: str,
    opened: Sequence[OpenTube],
    closed: Sequence[str],
    brought_for: Sequence[JointDraw],
    lacking: Sequence[JointDraw],
    nominal_ul: int,
    day: date,
    rules: SealantRules = DEFAULT_RULES,
) -> Rests:
    """Which joints the tubes of one product that a job has close besides those that they were brought for.

    opened, closed  the job's own tubes, the closed ones by their keys; `nominal_ul`: what a closed one holds
    brought_for     the joints that are still to be closed from them, in order of work: they come first
    lacking         the joints that nothing was brought for, in order of work
    The same draws and the same margin as in `plan_tubes`. Where nobody knows what a closed tube holds the rests close nothing.
    """
    usable = usable_ul(nominal_ul, nominal_ul, rules)
    if usable <= rules.prime_ul:
        return Rests({}, frozenset(), ())
    tubes, _ = _on_hand(opened, day, rules)
    tray = _Tray([*tubes, *(_Tube(key, product, usable, opened=False) for key in closed)], {product: nominal_ul}, rules)
    begun: set[str] = set()
    for joint in brought_for:
        chosen, _ = tray.choose(joint)
        tray.use(joint, chosen)
        tray.send_back()
        begun |= {tube.key for tube in chosen if tube in tray.tubes}
    joints: dict[str, tuple[str, ...]] = {}
    before = -1
    while before < len(joints):  # a joint that is closed primes its nozzle, and the next draws less
        before = len(joints)
        for joint in lacking:
            if joint.joint in joints:
                continue
            chosen, _ = tray.choose(joint)
            if not tray.send_back():
                tray.use(joint, chosen)
                joints[joint.joint] = tuple(tube.key for tube in chosen)
    begun |= {key for keys in joints.values() for key in keys}
    left = tuple(
        Rest(tube.key, product, tube.usable_ul, tube.opened, frozenset(tube.primed))
        for tube in tray.tubes
        if tube.usable_ul > 0
    )
    return Rests(joints, frozenset(begun), left)
