"""Which rubber may sit on which side, and what may be smeared on it.

A decision is made by use position: oil side, coolant side, both, or none stated. Two tables are asked and the stricter word
wins; a compound that the guide does not list, or a part without one, may not be fitted where the map states a fluid. Colour is
no evidence and is never asked. The guide is the shop's own data: pass another table to change it. The maker's manual and the
compound's sheet come before both tables. Burned fluoro-rubber (FKM) can leave an acid that burns skin: safety data sheet.

Sources. `GUIDE`: usual trade practice for sealing rubbers, from memory. `RATINGS`: the usual scale of seal handbooks (1 good, 2
fair, 3 doubtful, 4 unsuitable), from memory, its direction confirmed by a seal maker's and a moulder's page that were read.
`NOT_RUBBER`: common practice for seals of other materials, from memory.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import IntEnum, StrEnum

#: 0 degrees Celsius in millikelvin.
_ZERO_C_MK = 273_150


class Word(IntEnum):
    """How well a compound stands a fluid; larger is worse."""

    GOOD = 1
    FAIR = 2
    DOUBTFUL = 3
    NEVER = 4


class Side(StrEnum):
    """The fluid at a use position, as the map of the engine states it."""

    OIL = "oil"
    COOLANT = "coolant"
    BOTH = "both"
    NONE = "-"


class Lubricant(StrEnum):
    """What rubber is fitted with."""

    SOAP = "water-based soap"
    SILICONE = "silicone grease"
    MINERAL_OIL = "mineral oil"
    PETROLEUM_JELLY = "petroleum jelly"
    VEGETABLE_OIL = "vegetable oil"
    DRY = "dry"


@dataclass(frozen=True, slots=True)
class Compound:
    """What the guide says of one compound.

    oil, coolant  the word for that side, None where the guide says nothing (which is a no)
    hottest_mk    temperature limit, None where none is stated
    lubricants    what it may be fitted with; everything else may not touch it
    note          shown beside the decision
    """

    name: str
    oil: Word | None
    coolant: Word | None
    hottest_mk: int | None
    lubricants: frozenset[Lubricant]
    note: str = ""


@dataclass(frozen=True, slots=True)
class Verdict:
    """May it be used? `caution`: allowed, but a person should read the reason first."""

    allowed: bool
    reason: str
    caution: bool = False


def _celsius(degrees: int) -> int:
    return degrees * 1000 + _ZERO_C_MK


_OIL_FINE = frozenset({Lubricant.MINERAL_OIL, Lubricant.SOAP, Lubricant.SILICONE})
_SOAP_OR_SILICONE = frozenset({Lubricant.SOAP, Lubricant.SILICONE})

GUIDE = (
    Compound("NBR", Word.GOOD, Word.FAIR, _celsius(100), _OIL_FINE, "coolant fair only, to about 100 °C"),
    Compound("HNBR", Word.GOOD, Word.GOOD, _celsius(150), _OIL_FINE),
    Compound(
        "FKM",
        Word.GOOD,
        Word.DOUBTFUL,
        _celsius(200),
        _OIL_FINE,
        "hot coolant: special grades only; list such a grade by name",
    ),
    # 130 to 150 °C by its cure: the lower is taken.
    Compound("EPDM", Word.NEVER, Word.GOOD, _celsius(130), _SOAP_OR_SILICONE, "mineral oil swells it"),
    Compound("VMQ", Word.DOUBTFUL, Word.FAIR, _celsius(200), frozenset({Lubricant.SOAP}), "static joints only"),
    Compound(
        "FVMQ", Word.FAIR, None, _celsius(175), frozenset({Lubricant.SOAP}), "weak mechanically: static joints only"
    ),
    Compound("ACM", Word.GOOD, Word.NEVER, _celsius(150), frozenset({Lubricant.MINERAL_OIL}), "water destroys it"),
)

NOT_RUBBER = (
    Compound("PTFE", Word.GOOD, None, None, frozenset({Lubricant.DRY}), "lip and shaft dry"),
    Compound("CORK", Word.GOOD, None, None, frozenset({Lubricant.DRY})),
    Compound("GRAPHITE ROPE", Word.GOOD, None, None, frozenset({Lubricant.MINERAL_OIL})),
)

#: compound -> (engine oil, glycol coolant)
RATINGS: Mapping[str, tuple[Word, Word]] = {
    "ACM": (Word.GOOD, Word.NEVER),
    "AEM": (Word.GOOD, Word.FAIR),
    "EPDM": (Word.NEVER, Word.GOOD),
    "FKM": (Word.GOOD, Word.FAIR),
    "FVMQ": (Word.GOOD, Word.GOOD),
    "HNBR": (Word.GOOD, Word.GOOD),
    "NBR": (Word.GOOD, Word.GOOD),
    "VMQ": (Word.FAIR, Word.GOOD),
}


def table(rows: Iterable[Compound] = (*GUIDE, *NOT_RUBBER)) -> dict[str, Compound]:
    """The guide as a table by compound; a later row of the same name (the shop's own) takes the place of an earlier one."""
    return {row.name.upper(): row for row in rows}


DEFAULT_TABLE: Mapping[str, Compound] = table()


def allowed_at(
    compound: str | None,
    side: Side | str,
    guide: Mapping[str, Compound] = DEFAULT_TABLE,
    *,
    ratings: Mapping[str, tuple[Word, Word]] = RATINGS,
    hottest_mk: int | None = None,
) -> Verdict:
    """May this compound sit on this side (and stand this temperature)?

    compound    letters of ASTM D1418 or the name of the material; None or "" for unknown
    side        "oil", "coolant", "both" or "-" as the map of the engine has it (ValueError otherwise: a defect of the caller)
    hottest_mk  the hottest the position gets, millikelvin; a compound's limit itself passes
    """
    row, side = _row(compound, guide), Side(side)
    too_hot = _too_hot(row, hottest_mk)
    if side is Side.NONE and too_hot is None and (row is not None or hottest_mk is None):
        return Verdict(True, "The map states no fluid at this position: look what it touches.", caution=row is not None)
    if row is None:
        return Verdict(False, f"{_shown(compound)} is not in the rubber guide, so it may not go {_there(side)}.")
    if too_hot is not None:
        return too_hot
    fluids = [fluid for fluid in (Side.OIL, Side.COOLANT) if side in (fluid, Side.BOTH)]
    caution = ""
    for fluid in fluids:
        word = _word(row, fluid, ratings)
        if word is None:
            return Verdict(False, f"The rubber guide does not give {row.name} for the {fluid} side.")
        if word >= Word.DOUBTFUL:
            never = "never goes" if word is Word.NEVER else "does not go"
            return Verdict(False, f"{row.name} {never} on the {fluid} side{_note(row)}.")
        if word is Word.FAIR:
            caution = f"{row.name} is only fair on the {fluid} side{_note(row)}."
    if caution:
        return Verdict(True, caution, caution=True)
    return Verdict(True, f"{row.name} suits {' and '.join(fluids)}.")


def _there(side: Side) -> str:
    return "where it gets hot" if side is Side.NONE else f"on the {side} side"


def _too_hot(row: Compound | None, hottest_mk: int | None) -> Verdict | None:
    if row is None or hottest_mk is None or row.hottest_mk is None or hottest_mk <= row.hottest_mk:
        return None
    return Verdict(False, f"{row.name} stands no more than {(row.hottest_mk - _ZERO_C_MK) // 1000} °C.")


def is_listed(compound: str | None, guide: Mapping[str, Compound] = DEFAULT_TABLE) -> bool:
    """Whether the guide knows the compound at all."""
    return _row(compound, guide) is not None


def may_touch(compound: str | None, lubricant: Lubricant, guide: Mapping[str, Compound] = DEFAULT_TABLE) -> Verdict:
    """May this lubricant be used on this compound? What the guide does not name for it may not."""
    row = _row(compound, guide)
    if row is None:
        return Verdict(False, f"{_shown(compound)} is not in the rubber guide: no lubricant is known to suit it.")
    if lubricant in row.lubricants:
        return Verdict(True, f"{row.name}: {lubricant} is fine.")
    good = " or ".join(sorted(row.lubricants)) or "nothing"
    if row.lubricants == {Lubricant.DRY}:
        return Verdict(False, f"{row.name}: no {lubricant}; it is fitted dry{_note(row)}.")
    return Verdict(
        False, f"{row.name}: no {lubricant}; use {good}." if lubricant is not Lubricant.DRY else _not_dry(row, good)
    )


#: Usual words for what rubber is fitted with, besides those of `Lubricant` itself.
_LUBRICANT_WORDS: Mapping[str, Lubricant] = {
    "soap": Lubricant.SOAP,
    "rubber soap": Lubricant.SOAP,
    "silicone": Lubricant.SILICONE,
    "oil": Lubricant.MINERAL_OIL,
    "engine oil": Lubricant.MINERAL_OIL,
    "mineral grease": Lubricant.MINERAL_OIL,
    "petrolatum": Lubricant.PETROLEUM_JELLY,
    "none": Lubricant.DRY,
    "nothing": Lubricant.DRY,
}


def lubricant_word(text: str) -> Lubricant | None:
    """The lubricant that a word names, None where it names none of the closed list."""
    plain = " ".join(text.split()).casefold()
    return next((one for one in Lubricant if one.value == plain), _LUBRICANT_WORDS.get(plain))


def good_lubricants(compound: str | None, guide: Mapping[str, Compound] = DEFAULT_TABLE) -> tuple[Lubricant, ...]:
    """What a compound may be fitted with, in alphabetical order; empty for a compound that the guide does not list."""
    row = _row(compound, guide)
    return tuple(sorted(row.lubricants)) if row else ()


def _not_dry(row: Compound, good: str) -> str:
    return f"{row.name} is not fitted dry; use {good}."


def _row(compound: str | None, guide: Mapping[str, Compound]) -> Compound | None:
    return guide.get(" ".join((compound or "").split()).upper())


def _shown(compound: str | None) -> str:
    name = " ".join((compound or "").split())[:20]
    return name if name and name != "-" else "A part without a known compound"


def _word(row: Compound, fluid: Side, ratings: Mapping[str, tuple[Word, Word]]) -> Word | None:
    """The stricter of the guide and the ratings; the guide's silence is a no, the ratings' silence leaves the guide alone."""
    guide_word = row.oil if fluid is Side.OIL else row.coolant
    rating = ratings.get(row.name.upper())
    if guide_word is None or rating is None:
        return guide_word
    return max(guide_word, rating[0 if fluid is Side.OIL else 1])


def _note(row: Compound) -> str:
    return f" ({row.note})" if row.note else ""
