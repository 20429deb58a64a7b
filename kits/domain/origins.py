"""Where an old part goes back: its own place, turned as it stood, or nowhere once nobody knows its place.

Parts that ran in together stay together: a flat tappet with its lobe of the camshaft, a cap with its side of its own main or rod. Such a
part in another place ruins both (common practice); the maker's manual overrides what is stated here.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from inventory.domain.errors import DomainError
from kits.domain.facts import Origin

CIRCLE = 360
#: Marks of caps and rods → what is doubtful without them, and how they stood.
_SAID = {
    "side": ("number side missing", "its number on the side"),
    "arrow": ("arrow not said", "its arrow towards"),
}


@dataclass(frozen=True, slots=True)
class Out:
    """A part came out. position  empty: nobody knows from where; tag, clock_deg, side  as they were marked, if they were."""

    position: str
    tag: str = ""
    clock_deg: int | None = None
    side: str = ""


@dataclass(frozen=True, slots=True)
class Back:
    """A part goes back into a position, with the tag and the marks that it wears as it goes in."""

    position: str
    tag: str = ""
    clock_deg: int | None = None
    side: str = ""


def partner_of(rule: Origin, position: str) -> str:
    """What the part at a position belongs to: what it ran in with, or the other half of its piece; "" for nothing."""
    group, _, name = position.partition("/")
    if rule.halves is None:
        return rule.bedded_to
    return f"{group}/{rule.halves[1] if name == rule.halves[0] else rule.halves[0]}"


def same_text(one: str, other: str) -> bool:
    """Whether two tags or marks read the same to a person: case and spaces aside."""
    return "".join(one.casefold().split()) == "".join(other.casefold().split())


def tag_clash(tags: Sequence[str], taken: Sequence[str]) -> int | None:
    """Index of the first tag that stands already, among `taken` or earlier in `tags`; empty ones are no tags."""
    for at, tag in enumerate(tags):
        if tag.strip() and any(same_text(tag, other) for other in (*taken, *tags[:at]) if other.strip()):
            return at
    return None


def judge_return(
    label: str, outs: Sequence[Out], back: Back, rule: Origin | None, *, bound: bool, word: str = ""
) -> tuple[str, ...]:
    """What is doubtful about an old part that goes back; nothing: it goes back as it came out.

    outs   removals of the part on this job, in order
    bound  it has to go back where it came from; else only its marks are looked at
    word   what the maker says of the part, as the parts manager entered it for this position; empty: nothing
    Raises DomainError `wrong-place-of-origin`, `position-lost`, `mark-differs`.
    """
    known = [out for out in outs if out.position]
    if back.tag:
        known = [out for out in known if same_text(out.tag, back.tag)]
        if not known:
            raise DomainError(
                "wrong-place-of-origin",
                f"No {label} came out under the tag {back.tag}.",
                position=back.position,
                tag=back.tag,
                came_from=[],
            )
    if not known:
        return _lost(label, back, rule, word) if bound and outs else ()
    here = [out for out in known if out.position == back.position]
    if not here and bound:
        origins = list(dict.fromkeys(out.position for out in known))
        raise DomainError(
            "wrong-place-of-origin",
            f"{label} came out of {', '.join(origins)}; it goes back there, not into {back.position}.",
            position=back.position,
            came_from=origins,
        )
    if not here or rule is None:
        return ()
    alike = len({out.position for out in known}) > 1
    return (
        *(("several came out that look alike, and no tag says which",) if alike else ()),
        *_marks(label, here[-1], back, rule),
    )


def parted(
    origins: Sequence[Origin], position: str, reused: bool, standing: Mapping[str, bool]
) -> tuple[Origin, tuple[str, ...]] | None:
    """(the rule, positions of the old parts) where old and new would stand together that belong together; None: they do not.

    reused    an old part goes into the position; else a new one
    standing  position → whether an old part stands there, or goes in with it; empty positions are left out
    """
    for rule in origins:
        if reused and position in rule.positions and standing.get(partner_of(rule, position)) is False:
            return rule, (position,)
        if not reused:
            old = tuple(
                sorted(one for one in rule.positions if partner_of(rule, one) == position and standing.get(one))
            )
            if old:
                return rule, old
    return None


def _lost(label: str, back: Back, rule: Origin | None, word: str) -> tuple[str, ...]:
    if rule is not None and rule.lost_never:
        raise DomainError(
            "position-lost",
            f"Nobody knows where {label} came from: such a part is never used again.",
            ways_out=("Scrap it and fit a new one.",),
            position=back.position,
        )
    if not word:
        raise DomainError(
            "position-lost",
            f"Nobody knows where {label} came from.",
            ways_out=("The parts manager enters the maker's word on it.", "Fit a new one."),
            position=back.position,
        )
    return (f"position lost; the maker's word: {word}",)


def _marks(label: str, out: Out, back: Back, rule: Origin) -> tuple[str, ...]:
    if rule.mark == "clock":
        if out.clock_deg is None or back.clock_deg is None:
            return ("clock mark missing",)
        turned = (back.clock_deg - out.clock_deg) % CIRCLE
        if turned not in rule.turns_deg:
            allowed = " or ".join(f"{turn}°" for turn in rule.turns_deg)
            raise DomainError(
                "mark-differs",
                f"{label} stood at {out.clock_deg}° and would go back at {back.clock_deg}°; allowed is a turn of {allowed}.",
                ways_out=("Turn it as it stood.",),
                position=back.position,
                came_out_deg=out.clock_deg,
                goes_back_deg=back.clock_deg,
            )
    if rule.mark in _SAID:
        missing, stood = _SAID[rule.mark]
        if not out.side.strip() or not back.side.strip():
            return (missing,)
        if not same_text(out.side, back.side):
            raise DomainError(
                "mark-differs",
                f"{label} came out with {stood} {out.side}, not {back.side}.",
                ways_out=("Turn it as it stood.",),
                position=back.position,
                came_out=out.side,
                goes_back=back.side,
            )
    return ()
