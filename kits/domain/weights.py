"""Piston weights: how many engines one shelf can serve, and what may replace one set of an engine. Pure, exact.

Weights are whole milligrams. Each says what was on the scale: a piston with its pin is never compared with one without. A weight
on a limit passes.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from inventory.domain.errors import DomainError


@dataclass(frozen=True, slots=True)
class Weighed:
    """One set's piston on the scale."""

    serial: str
    weight_mg: int
    with_pin: bool = True
    with_rings: bool = False


@dataclass(frozen=True, slots=True)
class WeightClass:
    """A class as the maker prints it on the set, both ends included."""

    name: str
    low_mg: int
    high_mg: int


@dataclass(frozen=True, slots=True)
class Window:
    """What one more piston may weigh, both ends included."""

    low_mg: int
    high_mg: int

    def holds(self, weight_mg: int) -> bool:
        """Whether that weight is allowed."""
        return self.low_mg <= weight_mg <= self.high_mg


def _whole(name: str, value: object, least: int) -> None:
    if isinstance(value, bool) or not isinstance(value, int) or value < least:
        text = f"{name} is {value!r}: a whole number from {least} on is needed."
        raise DomainError("weights-unusable", text, name=name, value=repr(value))


def checked(shelf: Iterable[Weighed]) -> list[Weighed]:
    """By weight, then serial number. DomainError "weights-unusable" for nonsense, a set named twice, or mixed weighing."""
    sets = sorted(shelf, key=lambda one: (one.weight_mg, one.serial))
    for one in sets:
        _whole(f"the weight of set {one.serial}", one.weight_mg, 1)
        if (one.with_pin, one.with_rings) != (sets[0].with_pin, sets[0].with_rings):
            text = (
                f"Sets {sets[0].serial} and {one.serial} were not weighed alike: pin and rings on both, or on neither."
            )
            raise DomainError("weights-unusable", text, serials=[sets[0].serial, one.serial])
    if len({one.serial for one in sets}) != len(sets):
        raise DomainError("weights-unusable", "One set was weighed twice.", serials=[one.serial for one in sets])
    return sets


def engines_from(shelf: Iterable[Weighed], pistons: int, spread_mg: int) -> tuple[tuple[Weighed, ...], ...]:
    """As many engines as the shelf serves, lightest first: `pistons` sets each, heaviest less lightest at most `spread_mg`.

    If the lightest sets left lie within the spread they are an engine, else the lightest is left over. No choice serves more: an
    engine that uses the lightest set can as well use those next to it, and the rest is left with heavier ones that are no worse.
    """
    _whole("pistons", pistons, 1)
    _whole("spread_mg", spread_mg, 0)
    left, found = checked(shelf), list[tuple[Weighed, ...]]()
    at = 0
    while at + pistons <= len(left):
        if left[at + pistons - 1].weight_mg - left[at].weight_mg <= spread_mg:
            found.append(tuple(left[at : at + pistons]))
            at += pistons
        else:
            at += 1
    return tuple(found)


def engines_by_class(
    shelf: Iterable[Weighed], pistons: int, spread_mg: int, classes: Sequence[WeightClass]
) -> dict[str, tuple[tuple[Weighed, ...], ...]]:
    """The same where the maker asks for sets of one printed class: engines by the name of the class.

    DomainError "weights-unusable" where a class is empty, classes overlap or a set is in none of them.
    """
    ordered = sorted(classes, key=lambda one: one.low_mg)
    for one in ordered:
        if one.low_mg > one.high_mg:
            raise DomainError("weights-unusable", f"The class {one.name} ends before it begins.", classes=[one.name])
    for before, after in pairwise(ordered):
        if before.high_mg >= after.low_mg:
            text = f"The classes {before.name} and {after.name} overlap."
            raise DomainError("weights-unusable", text, classes=[before.name, after.name])
    by_class: dict[str, list[Weighed]] = {one.name: [] for one in ordered}
    for weighed in checked(shelf):
        name = next((one.name for one in ordered if one.low_mg <= weighed.weight_mg <= one.high_mg), None)
        if name is None:
            text = f"Set {weighed.serial} weighs {_grams(weighed.weight_mg)}: in none of the printed classes."
            raise DomainError("weights-unusable", text, serial=weighed.serial, weight_mg=weighed.weight_mg)
        by_class[name].append(weighed)
    return {name: engines_from(those, pistons, spread_mg) for name, those in by_class.items()}


def replacement_window(rest: Iterable[Weighed], spread_mg: int) -> Window | None:
    """What the piston may weigh that joins the rest of an engine; None: the rest is wider than the spread already, nothing fits."""
    _whole("spread_mg", spread_mg, 0)
    left = checked(rest)
    if not left:
        raise DomainError("weights-unusable", "Nothing is left that a piston could join.")
    lightest, heaviest = left[0].weight_mg, left[-1].weight_mg
    return Window(heaviest - spread_mg, lightest + spread_mg) if heaviest - lightest <= spread_mg else None


def window_said(rest: Sequence[Weighed], spread_mg: int) -> str:
    """The window for a person, in grams; why it is empty where it is."""
    window = replacement_window(rest, spread_mg)
    if window is None:
        weights = [one.weight_mg for one in rest]
        apart = max(weights) - min(weights)
        return f"No piston fits: those that are left differ by {_grams(apart)} already, at most {_grams(spread_mg)}."
    return f"from {_grams(window.low_mg)} to {_grams(window.high_mg)}"


def replacements(rest: Sequence[Weighed], spares: Iterable[Weighed], spread_mg: int) -> tuple[Weighed, ...]:
    """The spares that may join the rest, lightest first. Which of them also suits the bore is for the layout to say."""
    window, those = replacement_window(rest, spread_mg), list(spares)
    checked([*rest, *those])
    return tuple(one for one in checked(those) if window is not None and window.holds(one.weight_mg))


def _grams(weight_mg: int) -> str:
    whole, rest = divmod(weight_mg, 1000)
    return f"{whole}{f'.{rest:03d}'.rstrip('0') if rest else ''} g"
