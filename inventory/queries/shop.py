"""The shop's settings: defaults, overruled by what the shop has set."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from fractions import Fraction
from typing import Any

from inventory.domain.compound_life import RuleSet, life_rule
from inventory.domain.cost_pools import Method
from inventory.domain.counting import CountClass, CountRules
from inventory.domain.groove import Limits
from inventory.domain.keeping import KeepRules
from inventory.domain.shelf_life import Basis, LifeRule
from inventory.models import Part, ShopSetting
from inventory.queries.prepared import Prepared


@dataclass(frozen=True, slots=True)
class Shop:
    """Settings that rules take as parameters.

    margin_days     life that must be left on the day of fitting
    shelf_life      "strict" or "lenient": which day of the cure quarter counts
    rubber_rules    "ISO2230" or "AS5316": which published years a part has whose life is that of its compound
    tray_limit_mg   what one person lifts in a tray (12 kg by default; common practice, local rules come first)
    tray_limit_ul   what a tray holds of packed things (24 L by default; common practice: 600 x 400 x 100 mm)
    ring_*          limits of a ring in its groove, as shares; see `inventory.domain.groove.Limits`
    waste           share of a bead that is lost; prime_ul: lost once for each nozzle; dead_share: of a tube's content that never
                    comes out; tube_margin: what a tube must hold of a draw before it may begin it
    bead_nm_per_s   speed of a bead; placing_s, bolt_s, bolt_with_helper_s: placing a cover, the first pass over one bolt;
                    closing_fraction: of a product sheet's window that closing may take
    temperature_hours  longest time between two readings of a place's log that is no gap
    valuation       "moving average" or "first in first out": what stock costs that is not told apart piece by piece
    loan_minutes    how long the technician who is asked to lend may take to answer
    count_*         counting in turn, as `inventory.domain.counting.CountRules` has it: shares of a year's use value, miscounted lines that make a
                    nuisance, days between two counts of each class, share that a count may be off; count_bins: bins of one day
    keep_from       first day of receipt ("2024-01-01") from which lots of `keep_kinds` keep one sealed piece back; "": none does
    travel_days     days on the road from site to site, {"TB": {"QY": 1}}; it holds both ways, what is not there nobody said
    idle_day_coins  what a bench that stands idle costs in a day; 0: nobody said
    gate_minutes    how long the answers before a nozzle is cut hold good
    """

    name: str = "The shop"
    margin_days: int = 14
    shelf_life: str = "strict"
    rubber_rules: str = "ISO2230"
    tray_limit_mg: int = 12_000_000
    tray_limit_ul: int = 24_000_000
    waste: Fraction = Fraction(15, 100)
    prime_ul: int = 1500
    dead_share: Fraction = Fraction(6, 100)
    tube_margin: Fraction = Fraction(6, 5)
    bead_nm_per_s: int = 20_000_000
    placing_s: int = 45
    bolt_s: int = 7
    bolt_with_helper_s: int = 4
    closing_fraction: Fraction = Fraction(1, 2)
    gate_minutes: int = 60
    loan_minutes: int = 120
    idle_day_coins: int = 0
    temperature_hours: int = 24
    valuation: str = Method.AVERAGE.value
    count_high_share: Fraction = Fraction(80, 100)
    count_middle_share: Fraction = Fraction(95, 100)
    count_miscounts: int = 2
    count_high_days: int = 90
    count_middle_days: int = 180
    count_low_days: int = 365
    count_nuisance_days: int = 90
    count_tolerance: Fraction = Fraction(5, 100)
    count_bins: int = 25
    keep_from: str = ""
    keep_kinds: tuple[str, ...] = ("O-ring", "seal", "lip seal", "stem seal")
    travel_days: Mapping[str, Mapping[str, int]] = field(default_factory=dict)
    ring_most_stretch: Fraction = Fraction(5, 100)
    ring_least_squeeze: Fraction = Fraction(8, 100)
    ring_most_squeeze: Fraction = Fraction(30, 100)
    ring_most_fill: Fraction = Fraction(85, 100)

    @property
    def basis(self) -> Basis:
        """From which day of the cure quarter life is counted."""
        return Basis(self.shelf_life)

    def life_of(self, part: Part) -> LifeRule:
        """The rule of a part's life, by the shop's rule set where it is that of its compound; errors as `life_rule`."""
        return life_rule(part.life or None, part.compound, RuleSet(self.rubber_rules))

    @property
    def ring_limits(self) -> Limits:
        """The limits that a ring in a groove is judged by."""
        return Limits(self.ring_most_stretch, self.ring_least_squeeze, self.ring_most_squeeze, self.ring_most_fill)

    @property
    def keeping(self) -> KeepRules:
        """Which lots keep a sealed piece back."""
        since = date.fromisoformat(self.keep_from) if self.keep_from else None
        return KeepRules(since, frozenset(self.keep_kinds))

    @property
    def count_rules(self) -> CountRules:
        """How things are counted in turn."""
        days = {
            CountClass.HIGH: self.count_high_days,
            CountClass.MIDDLE: self.count_middle_days,
            CountClass.LOW: self.count_low_days,
            CountClass.NUISANCE: self.count_nuisance_days,
        }
        return CountRules(
            self.count_high_share, self.count_middle_share, self.count_miscounts, days, self.count_tolerance
        )


_SETTINGS = Prepared(lambda: ShopSetting.objects.all())


def shop() -> Shop:
    """The shop's settings now. One query."""
    defaults = Shop()
    values: dict[str, Any] = {}
    for row in _SETTINGS():
        default = getattr(defaults, row.name, None)
        if default is not None:
            values[row.name] = Fraction(str(row.value)) if isinstance(default, Fraction) else row.value
    return replace(defaults, **values)


def demo_loaded() -> bool:
    """Whether the demo shop was loaded to its end."""
    return ShopSetting.objects.filter(name="demo_loaded", value=True).exists()
