"""Settles the either/or choices of a list: use-up, by finding, by measurement, by a person; one kind over an engine or a bank.

All positions of one choice under one place (the engine, a bank, a position) take the same alternative, whole or not at all: a
gasket never goes with the bolts of the other kind. What cannot be known is left open with its candidates, never guessed.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from inventory.domain.errors import DomainError
from kits.domain.engine_map import ENGINE
from kits.domain.families import USE_UP, Choice, Family
from kits.domain.requirements import Candidate, Conflict, Explosion, Key, Requirement, RuledOut
from kits.domain.settled import BUY_IN, FILL, NONE, OpenChoice, Recorded, Settled, SettledLine


@dataclass(frozen=True, slots=True)
class _Bundle:
    """One choice over one place: for each alternative what it puts at which key, and what the engine number rules out."""

    choice: Choice
    place: str
    keys: tuple[Key, ...]
    offers: Mapping[str, Mapping[Key, Candidate]]
    barred: Mapping[str, RuledOut]

    def fitting(self) -> tuple[str, ...]:
        """Alternatives that the engine number allows whole, in the choice's order."""
        return tuple(one for one in self.choice.alternatives if one in self.offers and one not in self.barred)

    def needs(self, alternative: str) -> dict[str, int]:
        """Amount by part, in base units, that an alternative takes."""
        needs: dict[str, int] = {}
        for candidate in self.offers[alternative].values():
            needs[candidate.part] = needs.get(candidate.part, 0) + candidate.amount.amount
        return needs


@dataclass(frozen=True, slots=True)
class _Decision:
    """alternative: None while open. part: taken in place of the line's own. clash: what stands against it."""

    alternative: str | None
    reason: str = ""
    part: str = ""
    clash: tuple[str, str] | None = None


@dataclass(slots=True)
class _Sheet:
    """The settled list while it is written."""

    lines: dict[Key, SettledLine] = field(default_factory=dict)
    open_choices: list[OpenChoice] = field(default_factory=list)
    conflicts: list[Conflict] = field(default_factory=list)
    decided: list[tuple[str, str, str]] = field(default_factory=list)
    left_out: set[Key] = field(default_factory=set)


def settle(
    explosion: Explosion,
    stock: Mapping[str, int],
    recorded: Iterable[Recorded] = (),
    already: Mapping[str, str] | None = None,
) -> Settled:
    """Make every choice that can be made.

    stock     part → what is free, in the part's base unit; it only decides use-up choices
    recorded  choices of persons and of measurements; they go before every rule but what the engine number rules out
    already   position → part that sits there and stays, for "the same kind on the whole engine (or bank)"
    DomainError `choice-unknown` for a recorded choice that the family does not have.
    """
    said, words = _by_name(explosion, recorded)
    disputed = {(one.position, one.make) for one in explosion.conflicts if one.kind in ("part", "buy-in")}
    sheet = _Sheet()
    rest = dict(stock)
    for requirement in explosion.requirements.values():
        candidate = requirement.candidates[0]
        if requirement.key not in disputed and not candidate.choice:
            sheet.lines[requirement.key] = SettledLine(*requirement.key, candidate.part, candidate, "")
            rest[candidate.part] = rest.get(candidate.part, 0) - candidate.amount.amount
    for conflict in explosion.conflicts:
        key = (conflict.position, conflict.make)
        if conflict.kind in ("part", "buy-in"):
            conflict = _settle_dispute(explosion.requirements[key], conflict, words.get(conflict.position, []), sheet)
        sheet.conflicts.append(conflict)
    for bundle in _bundles(explosion, disputed):
        decision = _decide(bundle, said.get((bundle.choice.code, bundle.place)), rest)
        if decision.clash is None and decision.alternative not in (None, NONE):
            decision = _check_alike(bundle, decision, explosion, already or {})
        _write(bundle, decision, explosion, sheet)
        taken = decision.alternative
        if taken is not None and taken in bundle.offers:
            for part, amount in bundle.needs(taken).items():
                rest[part] = rest.get(part, 0) - amount
    order = {key: rank for rank, key in enumerate(explosion.requirements)}
    return Settled(
        lines=tuple(sheet.lines[key] for key in explosion.requirements if key in sheet.lines),
        open_choices=tuple(sheet.open_choices),
        conflicts=tuple(
            sorted(sheet.conflicts, key=lambda one: (order.get((one.position, one.make), -1), one.kind, one.detail))
        ),
        decided=tuple(sheet.decided),
        left_out=tuple(key for key in explosion.requirements if key in sheet.left_out),
        ruled_out=explosion.ruled_out,
    )


def _by_name(
    explosion: Explosion, recorded: Iterable[Recorded]
) -> tuple[dict[tuple[str, str], Recorded], dict[str, list[Recorded]]]:
    """The last word of each (choice, place); and of each position in conflict every word, the newest first.

    Neither names a make: a joint that is made again is closed with the same parts.
    """
    family = explosion.family
    said: dict[tuple[str, str], Recorded] = {}
    words: dict[str, list[Recorded]] = {}
    for one in recorded:
        if one.choice and one.choice not in family.choices:
            raise DomainError(
                "choice-unknown", f"{one.choice[:60]!r} is not a choice of {family.name}.", choice=one.choice[:60]
            )
        family.map.outward(one.place)
        if one.alternative.startswith(FILL):
            continue
        if one.choice:
            said[one.choice, one.place] = one
        else:
            words.setdefault(one.place, []).insert(0, one)
    return said, words


def _settle_dispute(requirement: Requirement, conflict: Conflict, words: Sequence[Recorded], sheet: _Sheet) -> Conflict:
    """Different parts (or a part and a buy-in) at one key: only a recorded word settles it, and the conflict stays shown.

    words  what was recorded for the position, the newest first: the newest that names what is asked for at this make counts,
           since two makes may be in conflict over different parts
    """
    if not words:
        return conflict
    for said in words:
        if said.alternative == BUY_IN and conflict.kind == "buy-in":
            sheet.lines.pop(requirement.key, None)
            sheet.left_out.add(requirement.key)
            return replace(conflict, needs_person=False, detail=f"{conflict.detail}; chosen: buy in")
        for candidate in requirement.candidates:
            if candidate.part == said.part and requirement.key not in sheet.left_out:
                sheet.lines[requirement.key] = SettledLine(
                    *requirement.key, candidate.part, candidate, "chosen by a person between parts in conflict"
                )
                return replace(conflict, needs_person=False, detail=f"{conflict.detail}; chosen: {said.part}")
    newest = words[0].part or repr(words[0].alternative)
    return replace(conflict, detail=f"{conflict.detail}; {newest} was chosen, which is none of them")


def _bundles(explosion: Explosion, disputed: set[Key]) -> list[_Bundle]:
    """The choices of the list with their places, in the order of the family's choices, then in map order."""
    family = explosion.family
    keys: dict[tuple[str, str], list[Key]] = {}
    offers: dict[tuple[str, str], dict[str, dict[Key, Candidate]]] = {}
    for requirement in explosion.requirements.values():
        for candidate in requirement.candidates:
            if not candidate.choice or requirement.key in disputed:
                continue
            name = (candidate.choice, place_over(family, family.choices[candidate.choice], requirement.position))
            there = keys.setdefault(name, [])
            if requirement.key not in there:
                there.append(requirement.key)
            offers.setdefault(name, {}).setdefault(candidate.alternative, {})[requirement.key] = candidate
    barred: dict[tuple[str, str], dict[str, RuledOut]] = {}
    for one in explosion.ruled_out:
        if one.choice:
            name = (one.choice, place_over(family, family.choices[one.choice], one.position))
            if (one.position, one.make) not in offers.get(name, {}).get(one.alternative, {}):
                barred.setdefault(name, {}).setdefault(one.alternative, one)
    rank = {code: number for number, code in enumerate(family.choices)}
    return [
        _Bundle(family.choices[name[0]], name[1], tuple(keys[name]), offers[name], barred.get(name, {}))
        for name in sorted(keys, key=lambda name: (rank[name[0]], family.map.order(name[1])))
    ]


def place_over(family: Family, choice: Choice, position: str) -> str:
    """Over which place one alternative holds at `position`; a position that stands in no bank goes with the engine."""
    if choice.scope == "position":
        return position
    if choice.scope == "bank":
        return next((place for place in family.map.outward(position) if family.map.scope_of(place) == "bank"), ENGINE)
    return ENGINE


def _decide(bundle: _Bundle, said: Recorded | None, rest: Mapping[str, int]) -> _Decision:
    """Which alternative a bundle takes, or that it stays open."""
    choice, fitting = bundle.choice, bundle.fitting()
    if said is not None:
        return _follow(bundle, said, fitting)
    if not fitting:
        words = "; ".join(_barred_words(one) for one in bundle.barred.values())
        return _Decision(None, clash=("ruled-out", f"no alternative of {choice.code} fits: {words}"))
    if len(fitting) == 1 and choice.rule == "exactly-one":
        others = [_barred_words(bundle.barred[one]) for one in choice.alternatives if one in bundle.barred]
        return _Decision(fitting[0], "the only one that fits" + (f" ({'; '.join(others)})" if others else ""))
    if choice.by == USE_UP:
        return _use_up(bundle, fitting, rest)
    if choice.by == "finding":
        return _Decision(fitting[0], f"the first of {', '.join(choice.alternatives)} whose condition is met")
    return _Decision(None)


def _follow(bundle: _Bundle, said: Recorded, fitting: tuple[str, ...]) -> _Decision:
    choice = bundle.choice
    word = "measured" if choice.by == "measured" else "chosen by a person"
    if said.alternative == NONE:
        if choice.rule == "at-most-one":
            return _Decision(NONE, f"{word}: none")
        return _Decision(None, clash=("not-a-candidate", f"{choice.code} must be exactly one of {', '.join(fitting)}"))
    if said.alternative in bundle.barred:
        return _Decision(None, clash=("ruled-out", _barred_words(bundle.barred[said.alternative])))
    if said.part:
        return _follow_part(bundle, said, fitting, word)
    if said.alternative not in fitting:
        detail = (
            f"{said.alternative!r} was recorded for {choice.code}; the candidates are {', '.join(fitting) or 'none'}"
        )
        return _Decision(None, clash=("not-a-candidate", detail))
    return _Decision(said.alternative, word)


def _follow_part(bundle: _Bundle, said: Recorded, fitting: tuple[str, ...], word: str) -> _Decision:
    """A part that stands in for the line's own one: only where the alternative consists of a single part number."""
    base = said.alternative if said.alternative in fitting else (fitting[0] if fitting else "")
    if not base or len(bundle.needs(base)) != 1:
        detail = f"{said.part} was recorded for {bundle.choice.code}, which is not a matter of one part number"
        return _Decision(None, clash=("not-a-candidate", detail))
    return _Decision(base, f"{word}: {said.part}", said.part)


def _use_up(bundle: _Bundle, fitting: tuple[str, ...], rest: Mapping[str, int]) -> _Decision:
    """The first alternative that stock covers whole; where none is covered the last one, which then is short."""
    misses: list[str] = []
    for alternative in fitting:
        short = [
            f"{part}: {max(rest.get(part, 0), 0)} of {amount}"
            for part, amount in sorted(bundle.needs(alternative).items())
            if rest.get(part, 0) < amount
        ]
        if not short:
            why = f"{alternative} is covered whole by stock"
            return _Decision(alternative, "; ".join([*misses, why]))
        misses.append(f"{alternative} is not ({', '.join(short)})")
    return _Decision(fitting[-1], "; ".join([*misses, f"{fitting[-1]} is taken and is short"]))


def _barred_words(one: RuledOut) -> str:
    return f"{one.part} fits {one.numbers} only"


def _check_alike(bundle: _Bundle, decision: _Decision, explosion: Explosion, already: Mapping[str, str]) -> _Decision:
    """One kind over the whole place: what stays fitted at the choice's other positions must be of the alternative taken."""
    if bundle.choice.scope == "position" or decision.alternative is None:
        return decision
    family = explosion.family
    renewed = {position for position, _ in explosion.requirements}
    for position, by_alternative in sorted(
        explosion.choice_parts[bundle.choice.code].items(), key=lambda item: family.map.order(item[0])
    ):
        sits = already.get(position)
        if sits is None or position in renewed or place_over(family, bundle.choice, position) != bundle.place:
            continue
        wanted = {decision.part} if decision.part else by_alternative.get(decision.alternative, frozenset())
        if sits not in wanted and (wanted or sits in frozenset().union(*by_alternative.values())):
            parts = "/".join(sorted(wanted)) or decision.alternative
            where = ", ".join(position for position, _ in bundle.keys[:4])
            detail = f"{position} keeps {sits}, {where} would take {parts}: {bundle.choice.text or 'the same kind everywhere'}"
            return _Decision(None, clash=("not-alike", detail))
    return decision


def _write(bundle: _Bundle, decision: _Decision, explosion: Explosion, sheet: _Sheet) -> None:
    """Write the lines of a decision, or the open choice with its conflict."""
    choice = bundle.choice
    if decision.alternative is None:
        offered = bundle.fitting()
        candidates = tuple((one, tuple(sorted(bundle.needs(one)))) for one in offered)
        sheet.open_choices.append(
            OpenChoice(
                choice.code,
                bundle.place,
                choice.rule,
                choice.by,
                bundle.keys,
                candidates,
                choice.text or "to be chosen",
            )
        )
        if decision.clash is not None:
            kind, detail = decision.clash
            parts = tuple(sorted({part for _, names in candidates for part in names}))
            sheet.conflicts.append(Conflict(kind, *bundle.keys[0], detail, parts, True))
        return
    sheet.decided.append((choice.code, bundle.place, decision.alternative))
    offer = bundle.offers.get(decision.alternative, {})
    for key in bundle.keys:
        if key in offer:
            sheet.lines[key] = SettledLine(*key, decision.part or offer[key].part, offer[key], decision.reason)
        elif decision.alternative == NONE or not explosion.choice_parts[choice.code][key[0]].get(decision.alternative):
            sheet.left_out.add(key)
        else:
            others = tuple(sorted({there[key].part for there in bundle.offers.values() if key in there}))
            detail = f"{choice.code} takes {decision.alternative!r}, whose condition is not met at {key[0]}"
            sheet.conflicts.append(Conflict("uncovered", *key, detail, others, True))


def why_not(explosion: Explosion, settled: Settled, part: str) -> str:
    """Why a part in somebody's hand is not on the list, in one sentence; empty where it is on it."""
    if any(line.part == part for line in settled.lines):
        return ""
    if numbers := numbers_of(explosion, part):
        return f"{part} fits {numbers} only; this engine is {explosion.engine_number.text}."
    for choice in settled.open_choices:
        if any(part in parts for _, parts in choice.candidates):
            return f"{part} is a candidate of {choice.choice} at {choice.place}, which is still to be chosen."
    for requirement in explosion.requirements.values():
        if any(candidate.part == part for candidate in requirement.candidates):
            taken = next((line for line in settled.lines if line.key == requirement.key), None)
            if taken is not None:
                return f"{requirement.position} takes {taken.part}, not {part}: {taken.reason}."
            return f"{part} at {requirement.position} waits for a person: parts are in conflict there."
    return f"{part} is not on the list of this job."


def numbers_of(explosion: Explosion, part: str) -> str:
    """The engine numbers, in words, for which the lines want a part; empty where one wants it for this engine, or none names it."""
    if any(one.part == part for requirement in explosion.requirements.values() for one in requirement.candidates):
        return ""
    return next((one.numbers for one in explosion.ruled_out if one.part == part), "")
