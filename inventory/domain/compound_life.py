"""Storage life by rubber compound under two rule sets that disagree; the shop picks one, and it is stored with each lot.

Neither standard's own text was read. `as5316_years`: SAE AS5316 (formerly ARP5316) as quoted on four seal suppliers' pages.
`group`, and its years in `ISO2230_GROUPS`: ISO 2230:2002 as quoted on two seal suppliers' pages and in an extract of its table.
Where the sources differ the shorter life is taken and `note` says so; where none says anything the value is None, which is a
question to a person and never a guess. Both concern loose seals in their bags, not assembled parts and not life in service; the
maker's printed date and the compound's sheet come first.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from inventory.domain.errors import DomainError
from inventory.domain.shelf_life import LifeKind, LifeRule, parse_life_rule
from inventory.domain.text import shown

#: The rule of a part whose life is that of its compound, by whichever rule set the shop works by.
BY_COMPOUND: Mapping[str, Any] = {"by": "compound"}


class RuleSet(StrEnum):
    """Which published rule the years come from."""

    AS5316 = "AS5316"
    ISO2230 = "ISO2230"


#: Years without limit, as AS5316 is quoted for some compounds.
UNLIMITED = -1

#: group -> (initial years, years of the one extension after inspection).
ISO2230_GROUPS = {"A": (5, 2), "B": (7, 3), "C": (10, 5)}


@dataclass(frozen=True, slots=True)
class CompoundLife:
    """One compound (ASTM D1418 letters) under both rule sets; None where no source says anything."""

    compound: str
    as5316_years: int | None
    group: str | None
    note: str = ""


_ROWS = (
    CompoundLife("ACM", 15, "B"),
    CompoundLife("AEM", 15, "B", "group from memory"),
    CompoundLife("AU", 5, "A"),
    CompoundLife("BR", None, "A"),
    CompoundLife("CR", 15, "B"),
    CompoundLife("CSM", None, "B", "one extract says B, memory says C: the shorter is taken"),
    CompoundLife("ECO", None, "B", "one list treats it like NBR"),
    CompoundLife("EPDM", UNLIMITED, "C"),
    CompoundLife("EU", 5, "A"),
    CompoundLife("FEPM", UNLIMITED, "C", "group from memory"),
    CompoundLife("FFKM", UNLIMITED, "C"),
    CompoundLife("FKM", UNLIMITED, "C"),
    CompoundLife("FVMQ", UNLIMITED, "C"),
    CompoundLife("HNBR", 15, "B"),
    CompoundLife("IIR", UNLIMITED, "B", "the two rule sets differ"),
    CompoundLife("IR", None, "A"),
    CompoundLife("NBR", 15, "B"),
    CompoundLife("NR", None, "A", "not in the lists of AS5316 that were read"),
    CompoundLife("PTFE", UNLIMITED, None, "not a rubber"),
    CompoundLife("SBR", 3, "A", "one list says 15: the shorter is taken"),
    CompoundLife("VMQ", UNLIMITED, "C"),
    CompoundLife("XNBR", 15, "B", "from memory"),
)
COMPOUNDS = {row.compound: row for row in _ROWS}


def life_by_compound(rule_set: RuleSet, compound: str) -> LifeRule:
    """The life rule of a compound under a rule set. Error: `compound-unknown` when it, or its life there, is not stated."""
    row = COMPOUNDS.get(compound.strip().upper())
    if row is not None and rule_set is RuleSet.AS5316 and row.as5316_years is not None:
        if row.as5316_years == UNLIMITED:
            # What is not cured (no group) has no cure date; rubber has one, and it is asked all the same.
            return LifeRule(LifeKind.CURE if row.group else LifeKind.NONE, by=rule_set.value)
        return LifeRule(LifeKind.CURE, 12 * row.as5316_years, by=rule_set.value)
    if row is not None and rule_set is RuleSet.ISO2230 and row.group is not None:
        initial, extension = ISO2230_GROUPS[row.group]
        by = f"{rule_set.value} group {row.group}"
        return LifeRule(LifeKind.CURE, 12 * initial, extension_years=extension, by=by)
    raise DomainError(
        "compound-unknown",
        f"{rule_set.value} states no life for {shown(compound.strip(), 20)!r}.",
        ways_out=("Ask the maker for the life and enter it with the part.",),
        compound=shown(compound.strip(), 20),
        rule_set=rule_set.value,
    )


def life_rule(document: Mapping[str, Any] | None, compound: str, rule_set: RuleSet) -> LifeRule:
    """The rule that a part record states: {"by": "compound"} for the shop's rule set, else as `parse_life_rule` reads it.

    Errors: `life-rule-unreadable`; `compound-unknown` where the rule set says nothing of the compound.
    """
    if document == BY_COMPOUND:
        return life_by_compound(rule_set, compound)
    return parse_life_rule(document)


def check_life(document: Mapping[str, Any] | None, compound: str) -> None:
    """A rule that no rule set can answer is refused when it is entered; errors as `life_rule`."""
    if document == BY_COMPOUND and any(_states(rule_set, compound) for rule_set in RuleSet):
        return
    life_rule(document, compound, RuleSet.ISO2230)


def _states(rule_set: RuleSet, compound: str) -> bool:
    try:
        life_by_compound(rule_set, compound)
    except DomainError:
        return False
    return True
