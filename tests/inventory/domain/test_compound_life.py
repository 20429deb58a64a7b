"""Life by compound under both rule sets. Sources: four seal suppliers' pages quoting SAE AS5316, two quoting ISO 2230."""

from __future__ import annotations

from datetime import date

import pytest

from inventory.domain.compound_life import COMPOUNDS, RuleSet, life_by_compound
from inventory.domain.errors import DomainError
from inventory.domain.shelf_life import Basis, Expiry, Inspection, LifeKind, LotDates, expiry, extend, parse_cure_code

#: compound -> (AS5316 years or None for unlimited, ISO 2230 initial, ISO 2230 extension), as the suppliers' pages print them
PUBLISHED = {
    "NBR": (15, 7, 3),
    "HNBR": (15, 7, 3),
    "CR": (15, 7, 3),
    "ACM": (15, 7, 3),
    "AEM": (15, 7, 3),
    "EPDM": (None, 10, 5),
    "FKM": (None, 10, 5),
    "FFKM": (None, 10, 5),
    "VMQ": (None, 10, 5),
    "FVMQ": (None, 10, 5),
    "IIR": (None, 7, 3),
    "AU": (5, 5, 2),
    "EU": (5, 5, 2),
    "SBR": (3, 5, 2),
}


@pytest.mark.parametrize("compound", sorted(PUBLISHED))
def test_published_years(compound: str) -> None:
    years, initial, extension = PUBLISHED[compound]
    as5316 = life_by_compound(RuleSet.AS5316, compound)
    iso2230 = life_by_compound(RuleSet.ISO2230, compound)
    assert (as5316.kind, as5316.life_months) == (
        (LifeKind.CURE, None) if years is None else (LifeKind.CURE, 12 * years)
    )
    assert (iso2230.kind, iso2230.life_months, iso2230.extension_years) == (LifeKind.CURE, 12 * initial, extension)


def test_the_two_rule_sets_give_one_ring_two_days() -> None:
    cure = LotDates(cure=parse_cure_code("2Q24", latest=date(2025, 1, 15)))
    # 2Q24 + 15 years from the last day of the quarter: rule on a seal supplier's page quoting AS5316
    first = expiry(life_by_compound(RuleSet.AS5316, "NBR"), cure, Basis.LENIENT)
    assert isinstance(first, Expiry)
    assert first.day == date(2039, 6, 30)
    rule = life_by_compound(RuleSet.ISO2230, "nbr ")
    second = expiry(rule, cure, Basis.STRICT)
    assert isinstance(second, Expiry)
    assert second.day == date(2031, 4, 1)
    assert extend(rule, second, Inspection("an inspector", date(2031, 3, 1), 2)).day == date(2034, 4, 1)


@pytest.mark.parametrize(
    ("rule_set", "compound"),
    [
        (RuleSet.AS5316, "NR"),
        (RuleSet.AS5316, "CSM"),
        (RuleSet.AS5316, "ECO"),
        (RuleSet.ISO2230, "PTFE"),
        (RuleSet.ISO2230, "green"),
        (RuleSet.ISO2230, ""),
    ],
)
def test_what_no_source_states_is_asked_and_never_guessed(rule_set: RuleSet, compound: str) -> None:
    with pytest.raises(DomainError) as refused:
        life_by_compound(rule_set, compound)
    assert refused.value.code == "compound-unknown"


def test_every_row_can_answer_under_at_least_one_rule_set() -> None:
    unanswered = [row.compound for row in COMPOUNDS.values() if row.as5316_years is None and row.group is None]
    assert unanswered == []
    assert len(COMPOUNDS) == 22
