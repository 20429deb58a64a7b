"""Parts that go only together: "the new gasket only with ten of the new bolts". Judged on a finished list, never on one line."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import astuple, dataclass


@dataclass(frozen=True, slots=True)
class Companion:
    """Where `part` is used at all, at least `pieces` of `needs` are used with it, on one engine."""

    part: str
    needs: str
    pieces: int


@dataclass(frozen=True, slots=True)
class Alone:
    """A part without its companion, and what goes together instead. `there`: pieces of the companion that there are."""

    rule: Companion
    there: int
    pairs: tuple[str, ...]

    @property
    def sentence(self) -> str:
        """For a person."""
        rule = self.rule
        had = f"{self.there} are" if self.there else "none is"
        return f"{rule.part} goes only with {rule.pieces} of {rule.needs}; {had} there"


def alone(rules: Iterable[Companion], amounts: Mapping[str, int]) -> tuple[Alone, ...]:
    """Every part of the list that lacks its companion, by part, with the right pairs of the parts concerned.

    amounts   part → pieces on the list and in what stays in the engine
    """
    known = sorted(set(rules), key=astuple)
    broken = [rule for rule in known if amounts.get(rule.part, 0) > 0 and amounts.get(rule.needs, 0) < rule.pieces]
    concerned = {name for rule in broken for name in (rule.part, rule.needs)}
    pairs = tuple(
        f"{rule.part} with {rule.pieces} of {rule.needs}" for rule in known if {rule.part, rule.needs} & concerned
    )
    return tuple(Alone(rule, amounts.get(rule.needs, 0), pairs) for rule in broken)


def differing(rules: Iterable[Companion], groups: Mapping[str, Mapping[str, int]]) -> tuple[str, ...]:
    """Either/or groups that do not bring what the notices ask for, as questions to who enters the document.

    groups   name of an alternative → part → most pieces that its lines can bring together
    """
    known = sorted(set(rules), key=astuple)
    return tuple(
        f"{name}: {one.sentence}, by the notice of its replacement"
        for name, amounts in sorted(groups.items())
        for one in alone(known, amounts)
    )
