"""Whether the bead of a procedure is as long as its joint is round: centimetres typed as millimetres lie outside.

A bead goes once round the joint and a little further, round bolt holes. Half to twice the perimeter is the shop's default (common
practice), which the family's document may override joint by joint. The engine maker's manual says how long a bead is.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction

from inventory.domain.errors import DomainError
from inventory.domain.quantities import decimal_text
from kits.domain.joints import Joint
from kits.domain.procedures import PartsLine


def bead_questions(lines: Iterable[PartsLine], joints: Mapping[str, Joint]) -> tuple[str, ...]:
    """What is to be asked about the beads of a procedure, joint by joint; nothing of a joint without a perimeter, or without a bead.

    Where lines stand at one position for other engines or as a choice, the shortest and the longest of them are both looked at.
    """
    at: dict[str, tuple[str, Joint]] = {
        position: (code, joint)
        for code, joint in joints.items()
        if joint.perimeter_nm is not None
        for position in joint.positions
    }
    found: dict[tuple[str, int], dict[str, list[int]]] = {}
    for line in lines:
        for position in line.positions if line.amount.length_nm else ():
            if position in at:
                per = found.setdefault((at[position][0], line.make), {})
                per.setdefault(position, []).append(line.amount.length_nm)
    questions = []
    for (code, _), lengths in found.items():
        for total in sorted({sum(min(one) for one in lengths.values()), sum(max(one) for one in lengths.values())}):
            why = bead_question(joints[code], total)
            questions += [why] if why else []
    return tuple(dict.fromkeys(questions))


def bead_question(joint: Joint, length_nm: int) -> str:
    """What is odd about the length, with what was likely meant where another unit would fit; "" where it is in the band.

    A length on an end of the band is in it, one nanometre beyond is not.
    """
    if joint.perimeter_nm is None or _fits(joint, joint.perimeter_nm, length_nm):
        return ""
    low, high = joint.bead_percent
    meant = ""
    for times, said in ((10, "were centimetres meant"), (Fraction(1, 10), "were millimetres meant")):
        if _fits(joint, joint.perimeter_nm, length_nm * times):
            meant = f"; {said}: {_mm(length_nm * times)}?"
    return (
        f"{joint.code}: a bead of {_mm(length_nm)} on a joint of {_mm(joint.perimeter_nm)} round: "
        f"{low} to {high} % are expected{meant}"
    )


def refuse_odd_beads(questions: tuple[str, ...], because: str) -> None:
    """DomainError "bead-implausible" that names every question, unless somebody says why the lengths are right."""
    if not questions or because.strip():
        return
    raise DomainError(
        "bead-implausible",
        f"Is that length right? {'; '.join(questions)}.",
        ways_out=("Correct the length, with its unit.", "Say why it is right."),
        questions=list(questions),
    )


def _fits(joint: Joint, perimeter_nm: int, length_nm: int | Fraction) -> bool:
    low, high = joint.bead_percent
    return perimeter_nm * low <= length_nm * 100 <= perimeter_nm * high


def _mm(length_nm: int | Fraction) -> str:
    return f"{decimal_text(Fraction(length_nm) / 1_000_000, 1)} mm"
