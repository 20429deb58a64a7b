"""Parts that go only together: "the new gasket only with ten of the new bolts". Judged on a finished list, never on one line."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import astuple, dataclass

#: What stands in no bank: an engine without banks, or what its banks share.
NO_BANK = ""


@dataclass(frozen=True, slots=True)
class Companion:
    """Where `part` is used at all, at least `pieces` of `needs` are used with it: on the same bank where they stand in banks, or
    `on_engine`, anywhere on the engine."""

    part: str
    needs: str
    pieces: int
    on_engine: bool = False


@dataclass(frozen=True, slots=True)
class Alone:
    """A part without its companion, and what goes together instead. `there`: pieces of the companion that there are for it, on its
    `bank` where it stands in one."""

    rule: Companion
    there: int
    pairs: tuple[str, ...]
    bank: str = NO_BANK

    @property
    def sentence(self) -> str:
        """For a person."""
        rule = self.rule
        had = f"{self.there} are" if self.there else "none is"
        where = f" on {self.bank}" if self.bank else ""
        return f"{rule.part} goes only with {rule.pieces} of {rule.needs}{where}; {had} there"


def alone(rules: Iterable[Companion], amounts: Mapping[str, Mapping[str, int]]) -> tuple[Alone, ...]:
    """Every part of the list that lacks its companion, by part and bank, with the right pairs of the parts concerned.

    amounts   bank (NO_BANK for what stands in none) → part → pieces on the list and in what stays in the engine
    Companions that stand in no bank are shared: each serves one bank.
    """
    known = sorted(set(rules), key=astuple)
    broken = [(rule, bank, there) for rule in known for bank, there in _lacking(rule, amounts)]
    concerned = {name for rule, _, _ in broken for name in (rule.part, rule.needs)}
    pairs = tuple(
        dict.fromkeys(
            f"{rule.part} with {rule.pieces} of {rule.needs}" for rule in known if {rule.part, rule.needs} & concerned
        )
    )
    return tuple(Alone(rule, there, pairs, bank) for rule, bank, there in broken)


def _lacking(rule: Companion, amounts: Mapping[str, Mapping[str, int]]) -> Iterator[tuple[str, int]]:
    """The banks on which the part lacks its companion, each with how many of it there are."""
    has = {bank: parts.get(rule.part, 0) for bank, parts in amounts.items()}
    there = {bank: parts.get(rule.needs, 0) for bank, parts in amounts.items()}
    if rule.on_engine or has.get(NO_BANK, 0) > 0:
        if sum(has.values()) > 0 and sum(there.values()) < rule.pieces:
            yield NO_BANK, sum(there.values())
        return
    shared = there.get(NO_BANK, 0)
    for bank in sorted(bank for bank, pieces in has.items() if pieces > 0):
        lack = max(0, rule.pieces - there[bank])
        if lack > shared:
            yield bank, there[bank] + shared
        shared = max(0, shared - lack)


def differing(rules: Iterable[Companion], groups: Mapping[str, Mapping[str, Mapping[str, int]]]) -> tuple[str, ...]:
    """Either/or groups that do not bring what the notices ask for, as questions to who enters the document.

    groups   name of an alternative → bank → part → most pieces that its lines can bring together
    """
    known = sorted(set(rules), key=astuple)
    return tuple(
        f"{name}: {one.sentence}, by the notice of its replacement"
        for name, amounts in sorted(groups.items())
        for one in alone(known, amounts)
    )
