"""How things are stored: the rule of each kind, what a part needs, what a place offers, and what does not lie together.

What is said here never replaces the maker's packing, the safety data sheet or local rules: they come first. Classes and groups are the
shop's own words, taken from its safety data sheets. Temperatures are whole millikelvin.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from inventory.domain.errors import DomainError
from inventory.domain.product_sheets import read_temperature
from inventory.domain.quantities import format_amount
from inventory.domain.units import Dimension

#: Rubber by ISO 2230 (from memory).
_RUBBER = "unhung and unstretched, dark, below 25 °C, away from ozone (electric motors, welding) and from heat; the maker's packing comes first"
#: Kind → how it is stored. Rubber by ISO 2230 (from memory), the others common practice.
RULES: Mapping[str, str] = MappingProxyType(
    {
        "O-ring": _RUBBER,
        "seal": _RUBBER,
        "lip seal": _RUBBER,
        "stem seal": _RUBBER,
        "gasket": "flat, in its packing, nothing heavy on it",
        "matched set": "liners upright, in their packing, not stacked on their flanges",
        "sealant": "cool, closed and upright, as its product sheet and its safety data sheet say",
    }
)
#: Kinds that go to quarantine until looked at when they were found stored wrongly: what stood wrongly may be bent.
SET_ASIDE = frozenset({"matched set", "gasket"})
LONGEST_WORD = 40
_KEYS = ("class", "low", "high", "group", "apart_from")


@dataclass(frozen=True, slots=True)
class Needs:
    """What a part needs where it lies: a storage class, a range of temperature (both ends included; None: not stated), its own
    keep-apart group, and the groups that it is kept apart from."""

    store_class: str = ""
    low_mk: int | None = None
    high_mk: int | None = None
    group: str = ""
    apart_from: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Offer:
    """What a place offers: the storage classes it is good for (empty: nobody said), and between which temperatures it stays."""

    classes: frozenset[str] = frozenset()
    low_mk: int | None = None
    high_mk: int | None = None


def word(text: object, what: str) -> str:
    """A class or a group as it is compared. DomainError "storage-unusable"."""
    if not isinstance(text, str) or len(text) > LONGEST_WORD or (text and not text.strip()):
        raise unusable(f"{what}: a short text is needed")
    return " ".join(text.split()).casefold()


def read_range(low: object, high: object) -> tuple[int | None, int | None]:
    """A typed range of temperature; None where an end is not stated. Raises DomainError "storage-unusable"."""
    ends: list[int | None] = []
    for name, value in (("low", low), ("high", high)):
        if value in (None, ""):
            ends.append(None)
            continue
        if not isinstance(value, str):
            raise unusable(f"{name}: a temperature is a text with its unit")
        try:
            ends.append(read_temperature(value))
        except DomainError as error:
            raise unusable(f"{name}: {error.message.rstrip('.')}") from error
    first, last = ends
    if first is not None and last is not None and first > last:
        raise unusable("low is above high")
    return first, last


def read_needs(stated: Mapping[str, Any]) -> Needs:
    """What a part record states: class, low, high, group, apart_from; {}: nothing. Raises DomainError "storage-unusable"."""
    unknown = sorted(set(stated) - set(_KEYS))
    if unknown:
        raise unusable(f"{', '.join(unknown)[:60]}: a part states {', '.join(_KEYS)}")
    apart = stated.get("apart_from", [])
    if not isinstance(apart, list) or len(apart) > LONGEST_WORD:
        raise unusable("apart_from: a list of groups is needed")
    needs = Needs(
        word(stated.get("class", ""), "class"),
        *read_range(stated.get("low"), stated.get("high")),
        word(stated.get("group", ""), "group"),
        frozenset(word(one, "apart_from") for one in apart) - {""},
    )
    if needs.group and needs.group in needs.apart_from:
        raise unusable("a group is not kept apart from itself")
    return needs


def unusable(why: str) -> DomainError:
    """The refusal of what is said of storage."""
    return DomainError("storage-unusable", f"{why}.")


def degrees(value_mk: int | None) -> str:
    """A temperature for people."""
    if value_mk is None:
        return "not stated"
    number, symbol = format_amount(value_mk, Dimension.TEMPERATURE, "CEL", 3).split(" ", 1)
    return f"{number.rstrip('0').rstrip('.') if '.' in number else number} {symbol}"


def kept_apart(one: Needs, other: Needs) -> bool:
    """Whether two things are not to lie beside each other: either side's word is enough."""
    return bool((other.group and other.group in one.apart_from) or (one.group and one.group in other.apart_from))


def asked(needs: Needs, offer: Offer | None, beside: Iterable[tuple[str, Needs]]) -> tuple[str, ...]:
    """What has to be answered before a thing lies at a place; empty: it suits.

    offer   of the place, None: nobody said what it offers. beside  what lies there: what it is called, what it needs
    """
    found: list[str] = []
    its = offer or Offer()
    if needs.store_class and not its.classes:
        found.append(f"it is stored as {needs.store_class}, and nobody said which classes the place is good for")
    elif needs.store_class and needs.store_class not in its.classes:
        found.append(f"it is stored as {needs.store_class}, the place is good for {', '.join(sorted(its.classes))}")
    for wanted, stated, beyond, text in (
        (needs.low_mk, its.low_mk, -1, "not below"),
        (needs.high_mk, its.high_mk, 1, "not above"),
    ):
        if wanted is None:
            continue
        if stated is None:
            found.append(f"it is stored {text} {degrees(wanted)}, and nobody said what the place keeps to")
        elif (stated - wanted) * beyond > 0:
            found.append(f"it is stored {text} {degrees(wanted)}, the place reaches {degrees(stated)}")
    for called, other in beside:
        if kept_apart(needs, other):
            pair = f"{needs.group or 'it'} is kept apart from {other.group or 'what lies there'}"
            found.append(f"{called} lies there: {pair}")
    return tuple(dict.fromkeys(found))


@dataclass(frozen=True, slots=True)
class Checked:
    """A counted thing as the check of its storage sees it. wrong: what was found wrong; empty: nothing."""

    kind: str
    label: str
    wrong: str = ""


def check_looked_at(counted: Iterable[Checked], looked_at: Iterable[str]) -> None:
    """Every kind with a rule that was counted was looked at for how it is stored.

    DomainError "storage-unchecked" with the rules; "storage-unusable" for a thing found wrong of a kind without a rule.
    """
    rows = list(counted)
    for one in rows:
        if one.wrong.strip() and one.kind not in RULES:
            raise unusable(f"{one.label}: no rule of storage is kept for {one.kind or 'what has no kind'}")
    missing = sorted({one.kind for one in rows if one.kind in RULES} - set(looked_at))
    if missing:
        raise DomainError(
            "storage-unchecked",
            f"How is it stored? {'; '.join(f'{kind}: {RULES[kind]}' for kind in missing)}.",
            ways_out=(
                f"Look, and name these kinds under looked_at ({', '.join(missing)}); what is stored wrongly is said at its line"
                " (stored_wrongly).",
            ),
            kinds=missing,
            rules={kind: RULES[kind] for kind in missing},
        )
