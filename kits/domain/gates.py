"""The gate before the nozzle is cut: what must be answered yes before a bead is begun, and how a bead went against the clock.

A bead cannot wait: a tube that runs dry, a bolt that is missing, a cover that does not fit, and the joint is taken apart,
cleaned and made again. Every no is named, not the first.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction

from inventory.domain.errors import DomainError
from inventory.domain.quantities import decimal_text
from kits.domain.curing import Closing
from kits.domain.joints import Joint
from kits.domain.sealant import SealantRules, draw_ul, usable_ul


@dataclass(frozen=True, slots=True)
class Answers:
    """What the person at the joint says: yes or no to each, the bolts counted, whether a helper is named."""

    faces_clean_dry: bool
    test_fit: bool
    dowels_in: bool
    bolts: int
    helper: bool


@dataclass(frozen=True, slots=True)
class TubeHere:
    """A tube at the bench: what it holds by weight (a closed one its nominal content)."""

    name: str
    content_ul: int
    nominal_ul: int


@dataclass(frozen=True, slots=True)
class Draw:
    """What a joint takes: `laid_ul` stays in it, `drawn_ul` leaves the tube with waste and priming, `wanted_ul` with the margin."""

    laid_ul: int
    drawn_ul: int
    wanted_ul: Fraction


@dataclass(frozen=True, slots=True)
class No:
    """One no: the question and why, for a person; `way_out` what can be done, "" for nothing of its own."""

    question: str
    why: str
    way_out: str = ""


def draw_of(laid_ul: int, rules: SealantRules, *, primed: bool) -> Draw:
    """The draw of a joint; primed: the nozzle was cut and primed on this tube for an earlier joint."""
    drawn = draw_ul(laid_ul, rules, nozzles=0 if primed else 1)
    return Draw(laid_ul, drawn, rules.margin * drawn)


def tubes_short(draw: Draw, tubes: Sequence[TubeHere], rules: SealantRules) -> No | None:
    """Never dry in a joint: the first tube holds the draw with its margin, or further ones of the product lie ready.

    Each further tube needs a priming of its own. The first is the one that is begun.
    """
    if not tubes:
        return No("tube", "no tube of the product is named", "Name the tube that is begun.")
    first = usable_ul(tubes[0].content_ul, tubes[0].nominal_ul, rules)
    spare = sum(max(0, usable_ul(tube.content_ul, tube.nominal_ul, rules) - rules.prime_ul) for tube in tubes[1:])
    if first >= draw.wanted_ul or (len(tubes) > 1 and first + spare >= draw.wanted_ul):
        return None
    without = "" if first >= draw.drawn_ul else ", not even without the margin"
    return No(
        "tube",
        f"{tubes[0].name} gives {_ml(first)}, the joint draws {_ml(draw.drawn_ul)} and {_ml(draw.wanted_ul)} are wanted:"
        f" not enough{without}",
        "Put a second tube of the same product on the tray.",
    )


def late(closing: Closing, joint: Joint, *, helper: bool) -> No | None:
    """Closing takes too long for this bay; outside the sheet is told by `outside`."""
    if closing.allowed_s is None or closing.in_time(helper):
        return None
    needed = closing.with_helper_s if helper else closing.needed_s
    way_out = (
        f"Add a helper: {_s(closing.with_helper_s)}."
        if closing.needs_helper and not helper
        else "Wait for a cooler, drier bay, or use a product with a longer window."
    )
    return No(
        "window", f"{joint.name}: closing takes {_s(needed)}, {_s(closing.allowed_s)} are allowed in this bay", way_out
    )


def outside(closing: Closing) -> No | None:
    """The bay is hotter or wetter than every entry of the sheet: no number is given, a start needs a signature."""
    if closing.window_s is not None:
        return None
    return No(
        "sheet", "the bay is outside the sheet: hotter or more humid than its every entry", "A second person signs why."
    )


def answered_no(joint: Joint, answers: Answers, missing: Sequence[str], closing: Closing | None) -> tuple[No, ...]:
    """The questions about parts, faces, fit, bolts and helper that are not answered yes.

    missing  what of the lines of the joint's step, or of a step before it, is not at the bench or fitted, in words
    """
    noes = []
    if missing:
        noes.append(No("parts", f"not at the bench: {', '.join(missing)}", "Bring them, or ask for them, first."))
    for question, said, why in (
        ("faces", answers.faces_clean_dry, "the faces are not clean and dry"),
        ("test fit", answers.test_fit, "the cover was not fitted dry first"),
        ("dowels", answers.dowels_in, "the dowels are not in"),
    ):
        if not said:
            noes.append(No(question, why))
    if answers.bolts != joint.bolts:
        noes.append(No("bolts", f"{answers.bolts} bolts are counted, {joint.bolts} close the joint"))
    if not answers.helper and (joint.helper or (closing is not None and closing.needs_helper)):
        why = "the list asks for a second person" if joint.helper else "alone it is not closed in time"
        noes.append(No("helper", f"no helper is named: {why}", "Name who helps."))
    return tuple(noes)


def refuse(joint: Joint, noes: Sequence[No]) -> None:
    """DomainError "gate-shut" that names every no; nothing said: return."""
    if not noes:
        return
    raise DomainError(
        "gate-shut",
        f"{joint.code}: the nozzle is not cut yet: " + "; ".join(no.why for no in noes) + ".",
        ways_out=tuple(dict.fromkeys(no.way_out for no in noes if no.way_out)),
        joint=joint.code,
        noes=[{"question": no.question, "why": no.why} for no in noes],
    )


def over_time(started_at: datetime, ended_at: datetime, allowed_s: Fraction | None) -> bool:
    """Whether the bead ran over what is allowed of the window (to the microsecond); False where nothing is allowed by a sheet."""
    if allowed_s is None:
        return False
    taken = ended_at - started_at
    return Fraction(taken.days * 86_400 * 10**6 + taken.seconds * 10**6 + taken.microseconds, 10**6) > allowed_s


def shares(laid_ul: int, drawn_ul: Sequence[int]) -> list[int]:
    """How much of what stays in the joint came out of each tube, in the order used: the first gives first.

    Never more than a tube gave, nor more than the joint takes in all.
    """
    left, given = laid_ul, []
    for drawn in drawn_ul:
        given.append(min(left, drawn))
        left -= given[-1]
    return given


def poured(positions: Sequence[tuple[str, int]], given: Sequence[int]) -> list[tuple[str, int, int]]:
    """(position, which tube, microlitres): the shares of the tubes over the positions, both in their order."""
    found, left = [], list(given)
    for name, amount in positions:
        want = amount
        for at in range(len(left)):
            taken = min(want, left[at])
            if taken:
                found.append((name, at, taken))
                left[at] -= taken
                want -= taken
    return found


def _ml(amount_ul: int | Fraction) -> str:
    return f"{decimal_text(Fraction(amount_ul, 1000), 2)} mL"


def _s(seconds: Fraction) -> str:
    text = decimal_text(seconds, 2)
    return f"{text.rstrip('0').rstrip('.')} s"
