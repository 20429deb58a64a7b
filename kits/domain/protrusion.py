"""How far a liner stands proud of its block: heights from readings, temperature, the gauge's allowance, the verdict. Pure.

Everything is a whole number of nanometres or an exact fraction; temperatures are millikelvin, coefficients of expansion parts
per million per kelvin as fractions. Heights are taken without rubber rings, on clean seats. The limits are facts of the engine
family: the maker's manual in force wins over them. What is calculated here certifies nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from inventory.domain.errors import DomainError
from kits.domain.allowance import combined
from kits.domain.limits import Verdict

#: Heights and limits are rounded to 0.0001 mm, half to even, before they are held against each other: a limit in inches lies
#: between two such grains, and a height that is exactly on it must pass.
GRAIN_NM = 100
GRAIN_DIGITS = -2
#: With fewer points round a liner a height is doubtful at best (common practice).
POINTS_LEAST = 4
CIRCLE_DEG = 360
POOR_GAUGE = "The gauge is not good enough for this limit: nothing can pass."


@dataclass(frozen=True, slots=True)
class HeightLimits:
    """What an engine family asks of its liners. Lengths in whole nanometres.

    low_nm, high_nm  of the height over the block at every point; a value on a limit passes. Never below the block: low_nm ≥ 0
    within_nm        highest less lowest point of one liner
    step_nm          between neighbours in one head; None: no such rule (single heads)
    facing_deg       None: the step is the difference of the liners' means. Else it is the difference at the points that face
                     each other: the angle of the point that looks at the next bore, and of the one that looks back
    staircase        the means of one head only ever rise, or only ever fall; equal means are allowed
    turns_deg        turns allowed, clockwise seen from the head; None: any
    shims_nm         shims allowed, at most one under a liner
    rings_nm         base rings: exactly one under every liner, all of one kind; empty: the liner stands without
    target_nm        the height to come near to; None: the middle of the limits
    """

    low_nm: int
    high_nm: int
    within_nm: int
    step_nm: int | None = None
    facing_deg: tuple[int, int] | None = None
    staircase: bool = False
    turns_deg: tuple[int, ...] | None = (0,)
    shims_nm: tuple[int, ...] = ()
    rings_nm: tuple[int, ...] = ()
    target_nm: int | None = None

    def __post_init__(self) -> None:
        """DomainError "heights-unusable" for limits that make no sense."""
        whole("low_nm", self.low_nm, 0)
        whole("high_nm", self.high_nm, self.low_nm)
        whole("within_nm", self.within_nm, 0)
        for name in ("step_nm", "target_nm"):
            if getattr(self, name) is not None:
                whole(name, getattr(self, name), 0)
        if self.step_nm is None and (self.staircase or self.facing_deg is not None):
            raise DomainError(
                "heights-unusable", "A staircase or facing points need a limit of the step.", name="step_nm"
            )
        for name in ("shims_nm", "rings_nm"):
            sizes = getattr(self, name)
            for size in sizes:
                whole(name, size, 1)
            if len(set(sizes)) != len(sizes):
                raise DomainError("heights-unusable", f"{name} names one size twice.", name=name, sizes=list(sizes))
        for name in ("turns_deg", "facing_deg"):
            angles = getattr(self, name)
            for angle in angles or ():
                whole(name, angle, 0)
                if angle >= CIRCLE_DEG:
                    raise DomainError("heights-unusable", f"{name}: {angle}° is no angle below 360°.", name=name)
        if self.turns_deg is not None and len(set(self.turns_deg)) != max(len(self.turns_deg), 1):
            raise DomainError("heights-unusable", "turns_deg is empty or names one turn twice.", name="turns_deg")
        if self.facing_deg is not None and len(self.facing_deg) != 2:
            raise DomainError("heights-unusable", "Two angles face each other.", name="facing_deg")

    @property
    def target(self) -> Fraction:
        """The height to come near to, in nanometres."""
        return Fraction(self.low_nm + self.high_nm, 2) if self.target_nm is None else Fraction(self.target_nm)


def whole(name: str, value: object, least: int | None = None) -> None:
    """DomainError "heights-unusable" unless it is a whole number, not below `least`."""
    if isinstance(value, bool) or not isinstance(value, int) or (least is not None and value < least):
        what = "a whole number" if least is None else f"a whole number from {least} on"
        raise DomainError("heights-unusable", f"{name} is {value!r}: {what} is needed.", name=name, value=repr(value))


def clock_steps(angle_deg: int, points: int) -> int:
    """How many of `points` clock points an angle is. DomainError "heights-unusable" where it falls between two of them."""
    if angle_deg * points % CIRCLE_DEG:
        text = f"{angle_deg}° falls between two of {points} points: read the liner at other points."
        raise DomainError("heights-unusable", text, angle_deg=angle_deg, points=points)
    return angle_deg * points // CIRCLE_DEG


def allowance_nm(gauge_of_height_nm: int, gauge_of_depth_nm: int) -> int:
    """The allowance for two gauges: twice the root of the sum of squares, rounded up to whole nanometres."""
    whole("gauge_of_height_nm", gauge_of_height_nm, 0)
    whole("gauge_of_depth_nm", gauge_of_depth_nm, 0)
    return combined((gauge_of_height_nm, gauge_of_depth_nm))


def grained(height_nm: int | Fraction) -> int:
    """A height rounded to 0.0001 mm, half to even, in nanometres."""
    if isinstance(height_nm, int):
        return round(height_nm, GRAIN_DIGITS)
    return round(height_nm / GRAIN_NM) * GRAIN_NM


def accepted(low_nm: int, high_nm: int) -> tuple[int, int]:
    """The first and last whole nanometre that, all rounded by `grained`, lie within low and high; first > last: none does."""
    if low_nm > high_nm:
        return low_nm, high_nm
    low, high, half = grained(low_nm), grained(high_nm), GRAIN_NM // 2
    # a half goes to the even neighbour, so only an even grain is reached from both halves beside it
    return low - half + low // GRAIN_NM % 2, high + half - high // GRAIN_NM % 2


def good_enough(limits: HeightLimits, gauge_nm: int) -> bool:
    """Whether anything can pass at all with that allowance."""
    return limits.high_nm - limits.low_nm >= 2 * gauge_nm


def verdict(height_nm: int | Fraction, limits: HeightLimits, gauge_nm: int) -> Verdict:
    """Pass within the limits less the allowance, fail beyond the limits plus the allowance, else doubtful.

    Idea as in ISO 14253-1 (from memory). A liner below the block always fails: no allowance makes it right.
    """
    whole("gauge_nm", gauge_nm, 0)
    height = grained(height_nm)
    if height < 0 or height < grained(limits.low_nm - gauge_nm) or height > grained(limits.high_nm + gauge_nm):
        return Verdict.FAIL
    inside = grained(limits.low_nm + gauge_nm) <= height <= grained(limits.high_nm - gauge_nm)
    if inside and good_enough(limits, gauge_nm):
        return Verdict.PASS
    return Verdict.DOUBTFUL


@dataclass(frozen=True, slots=True)
class Judgement:
    """What is said of a whole liner: the worst of its points, and why it is not better. `points`: each point's own verdict."""

    verdict: Verdict
    points: tuple[Verdict, ...]
    why: tuple[str, ...]


def judge(
    heights_nm: Sequence[int | Fraction], limits: HeightLimits, gauge_nm: int, *, temperature_missing: bool = False
) -> Judgement:
    """What is said of a liner read at points evenly round it.

    temperature_missing  part or gauge of a block that grows much with heat (alloy) has none: doubtful at best
    """
    if not heights_nm:
        raise DomainError("heights-unusable", "A liner without a reading cannot be judged.", name="heights_nm")
    points = tuple(verdict(height, limits, gauge_nm) for height in heights_nm)
    why = []
    worst = max(points, key=list(Verdict).index)
    if not good_enough(limits, gauge_nm):
        why.append(POOR_GAUGE)
    for text in doubts(len(points), temperature_missing):
        why.append(text)
        worst = max(worst, Verdict.DOUBTFUL, key=list(Verdict).index)
    spread = max(heights_nm) - min(heights_nm)
    if spread > limits.within_nm:
        why.append(f"The points differ by {microns(spread)}, at most {microns(limits.within_nm)}.")
        worst = Verdict.FAIL
    return Judgement(worst, points, tuple(why))


def doubts(points: int, temperature_missing: bool) -> tuple[str, ...]:
    """Why nothing better than doubtful can be said, whatever the readings are."""
    found = []
    if points < POINTS_LEAST:
        found.append(f"Read at {points} points only: at least {POINTS_LEAST} are needed.")
    if temperature_missing:
        found.append("A temperature is missing: a warm alloy block gives a false height.")
    return tuple(found)


def top_flange_nm(flange_nm: int, counterbore_nm: int, *, cut_nm: int = 0, shims_nm: Sequence[int] = ()) -> int:
    """Height of a liner that hangs by its flange in a counterbore, which may be recut, with at most one shim under it."""
    for name, value in (("flange_nm", flange_nm), ("counterbore_nm", counterbore_nm), ("cut_nm", cut_nm)):
        whole(name, value, 0)
    if len(shims_nm) > 1:
        raise DomainError("stack-refused", "Two shims in one bore: at most one.", shims_nm=list(shims_nm))
    return flange_nm + sum(shims_nm) - (counterbore_nm + cut_nm)


def ledge_nm(shoulder_to_top_nm: int, depth_nm: int, *, ring_nm: int = 0) -> int:
    """Height of a liner that stands on a ledge in the block, with or without a base ring."""
    for name, value in (("shoulder_to_top_nm", shoulder_to_top_nm), ("depth_nm", depth_nm), ("ring_nm", ring_nm)):
        whole(name, value, 0)
    return shoulder_to_top_nm + ring_nm - depth_nm


def check_shim(shim_nm: int, limits: HeightLimits, *, ledge_cracked: bool = False) -> None:
    """DomainError "stack-refused" for a shim of another size, or under a cracked ledge."""
    if shim_nm and shim_nm not in limits.shims_nm:
        raise DomainError("stack-refused", f"A shim of {microns(shim_nm)} is not allowed here.", shim_nm=shim_nm)
    if shim_nm and ledge_cracked:
        raise DomainError("stack-refused", "No shim goes under a cracked ledge.", shim_nm=shim_nm)


def check_rings(rings_nm: Iterable[int], limits: HeightLimits) -> None:
    """DomainError "stack-refused" where base rings are of several kinds, or of a kind that is not allowed."""
    kinds = sorted(set(rings_nm))
    if len(kinds) > 1:
        raise DomainError("stack-refused", "Base rings of several kinds: all must be alike.", rings_nm=kinds)
    for kind in kinds:
        if kind not in (limits.rings_nm or (0,)):
            raise DomainError("stack-refused", f"A base ring of {microns(kind)} is not allowed here.", rings_nm=kinds)


def microns(length_nm: int | Fraction) -> str:
    """A length for a person, in micrometres with up to four decimals, rounded half to even."""
    tenths_of_nm = round(Fraction(length_nm) * 10)
    sign = "−" if tenths_of_nm < 0 else ""
    whole_um, rest = divmod(abs(tenths_of_nm), 10_000)
    return f"{sign}{whole_um}{f'.{rest:04d}'.rstrip('0').rstrip('.') if rest else ''} µm"
