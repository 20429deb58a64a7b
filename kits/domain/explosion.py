"""From operations and findings to the list: the union by use position, never the sum over operations.

Every line of every operation on the job that fits the engine number and whose condition is true claims its positions. What is
claimed twice is needed once: equal parts join their reasons. Different parts at one position are a conflict that a person
settles, unless they are alternatives of one choice (settled later, in `choices`). The stricter class wins. The key is the
position and the make number: a joint closed for a dry build and again for good is two requirements.

Everything is a pure function of its arguments; the order of operations and of findings does not matter, the same operation
twice is once, and one operation or finding more never removes a position.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from inventory.domain.errors import DomainError, ManyErrors
from kits.domain.engine_numbers import EngineNumber
from kits.domain.families import Family
from kits.domain.findings import Closure, Finding, check_finding, close_findings, codes_in, evaluate
from kits.domain.procedures import CLASSES, Operation, PartsLine
from kits.domain.requirements import (
    Because,
    BuyIn,
    Candidate,
    Conflict,
    Explosion,
    Key,
    Requirement,
    RuledOut,
)


@dataclass(frozen=True, slots=True)
class _Claim:
    operation: Operation
    line: PartsLine
    because: Because


def explode(
    family: Family,
    operations: Iterable[Operation],
    findings: Iterable[Finding],
    engine_number: EngineNumber,
    standing: Iterable[tuple[Finding, frozenset[str]]] = (),
) -> Explosion:
    """The list of a job.

    operations     those on the job; the same one twice is once
    findings       found and booked (a cylinder chosen is a finding); the rules of the family add the rest
    standing       true by the record of the engine at these positions: another part is offered where one is needed, none by itself
    DomainError `operation-other-family`, `operation-two-revisions`, `engine-number-other-family`, `finding-unknown`,
    `finding-place-wrong` (several findings: ManyErrors, numbered in sorted order).
    """
    on_job = _once(family, operations)
    if engine_number.prefix != family.numbering.prefix:
        raise DomainError(
            "engine-number-other-family",
            f"{engine_number.text} is not an engine number of {family.name}, whose numbers begin with {family.numbering.prefix}.",
            engine_number=engine_number.text,
            prefix=family.numbering.prefix,
        )
    recorded = sorted(set(findings))
    _check_findings(family, recorded)
    opened = [(code, operation.code) for operation in on_job for code in operation.opens]
    closure = close_findings(family.map, family.findings, family.rules, recorded, opened)
    claims: dict[Key, list[_Claim]] = {}
    ruled_out: list[RuledOut] = []
    brought: set[str] = set()
    for operation in on_job:
        for line in operation.lines:
            if _claim_line(family, operation, line, closure, engine_number, claims, ruled_out):
                brought.add(operation.code)
    needed = frozenset(claims)
    for finding, positions in standing:
        here = frozenset(key for key in needed if key[0] in positions)
        by_record = closure.with_record(finding)
        for operation in on_job:
            for line in operation.lines:
                _claim_line(family, operation, line, by_record, engine_number, claims, ruled_out, here, closure)
    requirements: dict[Key, Requirement] = {}
    conflicts: list[Conflict] = []
    for key in sorted(claims, key=lambda key: (family.map.order(key[0]), key[1])):
        requirements[key] = _unite(key, claims[key], conflicts)
    buy_ins = _buy_ins(family, closure)
    conflicts.extend(_listed_too(requirements, buy_ins))
    return Explosion(
        family=family,
        engine_number=engine_number,
        revisions=tuple((operation.code, operation.revision) for operation in on_job),
        requirements=requirements,
        conflicts=tuple(conflicts),
        ruled_out=tuple(ruled_out),
        buy_ins=buy_ins,
        empty_operations=tuple((one.code, _empty(one, ruled_out)) for one in on_job if one.code not in brought),
        unserved=_unserved(family, on_job, closure),
        joins=_joins(family, on_job, closure),
        choice_parts=_choice_parts(on_job),
        closure=closure,
    )


def _once(family: Family, operations: Iterable[Operation]) -> tuple[Operation, ...]:
    on_job: dict[str, Operation] = {}
    for operation in operations:
        if operation.family != family.code:
            raise DomainError(
                "operation-other-family",
                f"{operation.code} is an operation of {operation.family}, not of {family.code}.",
                operation=operation.code,
            )
        known = on_job.setdefault(operation.code, operation)
        if known.revision != operation.revision:
            revisions = sorted({known.revision, operation.revision})
            raise DomainError(
                "operation-two-revisions",
                f"{operation.code} stands on the job in revisions {revisions[0]} and {revisions[1]}.",
                operation=operation.code,
                revisions=revisions,
            )
    return tuple(on_job[code] for code in sorted(on_job))


def _check_findings(family: Family, findings: list[Finding]) -> None:
    errors: list[tuple[int, DomainError]] = []
    for number, finding in enumerate(findings, start=1):
        try:
            check_finding(finding, family.findings, family.map)
        except DomainError as error:
            errors.append((number, error))
    if len(errors) == 1:
        raise errors[0][1]
    if errors:
        raise ManyErrors(tuple(errors))


def _claim_line(
    family: Family,
    operation: Operation,
    line: PartsLine,
    closure: Closure,
    engine_number: EngineNumber,
    claims: dict[Key, list[_Claim]],
    ruled_out: list[RuledOut],
    needed: frozenset[Key] | None = None,
    done: Closure | None = None,
) -> bool:
    """Add the claims of one line; what only the engine number forbids is kept apart. True where it claimed something.

    needed, done   only at these keys, and where it did not claim by that closure already
    """
    numbers = line.fits.words() if line.fits is not None else ""
    fits = line.fits is None or line.fits.contains(engine_number)
    claimed = False
    for position in line.positions:
        matched = evaluate(line.condition, position, closure, family.map)
        if matched is None or (needed is not None and (position, line.make) not in needed):
            continue
        if done is not None and evaluate(line.condition, position, done, family.map) is not None:
            continue
        if not fits:
            ruled_out.append(
                RuledOut(
                    position, line.make, line.part, line.choice, line.alternative, numbers, operation.code, line.id
                )
            )
            continue
        chains = tuple(closure.chain(finding) for finding in matched)
        because = Because(operation.code, operation.revision, line.step, line.id, line.because, chains, numbers)
        claims.setdefault((position, line.make), []).append(_Claim(operation, line, because))
        claimed = True
    return claimed


def _unite(key: Key, claims: list[_Claim], conflicts: list[Conflict]) -> Requirement:
    """One requirement out of all claims on one key; what does not agree is added to `conflicts`."""
    position, make = key
    by_part: dict[tuple[str, str, str], list[_Claim]] = {}
    for claim in claims:
        by_part.setdefault((claim.line.choice, claim.line.alternative, claim.line.part), []).append(claim)
    candidates = tuple(_candidate(key, by_part[name], conflicts) for name in sorted(by_part))
    candidates = _fold_plain(key, candidates, conflicts)
    parts = tuple(sorted({candidate.part for candidate in candidates}))
    choices = {candidate.choice for candidate in candidates}
    alternatives = [candidate.alternative for candidate in candidates]
    if len(candidates) > 1 and (len(choices) > 1 or len(set(alternatives)) < len(alternatives)):
        wishes = "; ".join(f"{candidate.part} by {candidate.becauses[0].sentence()}" for candidate in candidates)
        conflicts.append(Conflict("part", position, make, f"different parts are asked for: {wishes}", parts, True))
    return Requirement(position, make, candidates)


def _candidate(key: Key, claims: list[_Claim], conflicts: list[Conflict]) -> Candidate:
    """Claims of one part (in one alternative) joined: reasons united, the strictest class, the largest amount."""
    if len(claims) == 1:  # nearly always: nothing to join
        return _alone(claims[0])
    position, make = key
    lines = [claim.line for claim in claims]
    part = lines[0].part
    line_class = min((line.line_class for line in lines), key=CLASSES.index)
    strictest: dict[str, str] = {}
    for claim in claims:
        known = strictest.setdefault(claim.operation.code, claim.line.line_class)
        strictest[claim.operation.code] = min(known, claim.line.line_class, key=CLASSES.index)
    if len(set(strictest.values())) > 1:  # inside one operation the stricter line is meant to tighten the other
        wishes = ", ".join(f"{operation} says {its}" for operation, its in strictest.items())
        conflicts.append(
            Conflict("class", position, make, f"{part}: {wishes}; {line_class} is the stricter", (part,), False)
        )
    amount = max((line.amount for line in lines), key=lambda amount: (amount.base, amount.amount, amount.typed))
    if len({(line.amount.base, line.amount.amount) for line in lines}) > 1:
        mixed_bases = len({line.amount.base for line in lines}) > 1
        wishes = ", ".join(f"{claim.operation.code} says {claim.line.amount.typed}" for claim in claims)
        conflicts.append(
            Conflict("amount", position, make, f"{part}: {wishes}; the larger is listed", (part,), mixed_bases)
        )
    cautions = {caution for claim in claims for caution in _cautions(claim)}
    return Candidate(
        part=part,
        amount=amount,
        line_class=line_class,
        choice=lines[0].choice,
        alternative=lines[0].alternative,
        original_place=any(line.original_place for line in lines),
        shop_rule=any(line.shop_rule for line in lines),
        tools=tuple(sorted({tool for line in lines for tool in line.tools})),
        notes=tuple(sorted({line.note for line in lines if line.note})),
        cautions=tuple(sorted(cautions)),
        work=tuple(sorted({(claim.operation.code, claim.line.step, claim.line.tray) for claim in claims})),
        becauses=tuple(sorted(claim.because for claim in claims)),
    )


def _alone(claim: _Claim) -> Candidate:
    """What one line alone asks for."""
    line = claim.line
    return Candidate(
        part=line.part,
        amount=line.amount,
        line_class=line.line_class,
        choice=line.choice,
        alternative=line.alternative,
        original_place=line.original_place,
        shop_rule=line.shop_rule,
        tools=tuple(sorted(set(line.tools))),
        notes=(line.note,) if line.note else (),
        cautions=tuple(sorted(set(_cautions(claim)))),
        work=((claim.operation.code, line.step, line.tray),),
        becauses=(claim.because,),
    )


def _cautions(claim: _Claim) -> list[str]:
    """Cautions of the claim's step."""
    return [step.caution for step in claim.operation.steps if step.step == claim.line.step and step.caution]


def _fold_plain(key: Key, candidates: tuple[Candidate, ...], conflicts: list[Conflict]) -> tuple[Candidate, ...]:
    """A part asked for outside the choice, beside the same part as the only thing inside it, is one candidate."""
    if len(candidates) != 2 or candidates[0].choice or not candidates[1].choice:
        return candidates
    plain, chosen = candidates
    if (plain.part, plain.amount.base, plain.amount.amount) != (chosen.part, chosen.amount.base, chosen.amount.amount):
        return candidates
    stricter, other = sorted((plain, chosen), key=lambda candidate: CLASSES.index(candidate.line_class))
    if stricter.line_class != other.line_class:
        detail = f"{plain.part}: {stricter.line_class} and {other.line_class} are asked for; {stricter.line_class} is the stricter"
        conflicts.append(Conflict("class", *key, detail, (plain.part,), False))
    return (
        replace(
            chosen,
            line_class=stricter.line_class,
            original_place=plain.original_place or chosen.original_place,
            shop_rule=plain.shop_rule or chosen.shop_rule,
            tools=tuple(sorted({*plain.tools, *chosen.tools})),
            notes=tuple(sorted({*plain.notes, *chosen.notes})),
            cautions=tuple(sorted({*plain.cautions, *chosen.cautions})),
            work=tuple(sorted({*plain.work, *chosen.work})),
            becauses=tuple(sorted((*plain.becauses, *chosen.becauses))),
        ),
    )


def _buy_ins(family: Family, closure: Closure) -> tuple[BuyIn, ...]:
    bought: dict[tuple[str, str], BuyIn] = {}
    for rule in family.buy_ins:
        for position in rule.positions:
            for holder in family.map.outward(position):
                finding = Finding(rule.finding, holder)
                if finding in closure:
                    name = (position, rule.text)
                    bought.setdefault(name, BuyIn(position, rule.amount, rule.text, closure.chain(finding)))
                    break
    return tuple(bought[name] for name in sorted(bought, key=lambda name: (family.map.order(name[0]), name[1])))


def _listed_too(requirements: Mapping[Key, Requirement], buy_ins: tuple[BuyIn, ...]) -> list[Conflict]:
    """Positions with a listed part and a buy-in: one of the two is wrong, and only a person can say which."""
    by_position = {buy_in.position: buy_in for buy_in in buy_ins}
    conflicts = []
    for (position, make), requirement in requirements.items():
        if position in by_position:
            parts = tuple(sorted({candidate.part for candidate in requirement.candidates}))
            bought = by_position[position]
            detail = f"{' or '.join(parts)} is listed, but {' → '.join(bought.chain)} asks to buy in: {bought.text}"
            conflicts.append(Conflict("buy-in", position, make, detail, parts, True))
    return conflicts


def _empty(operation: Operation, ruled_out: list[RuledOut]) -> str:
    if any(one.operation == operation.code for one in ruled_out):
        return f"{operation.code} brings nothing: the engine number rules out every line whose condition is met."
    return f"{operation.code} brings nothing: no condition of its lines is met by what was chosen and found so far."


def _unserved(family: Family, on_job: tuple[Operation, ...], closure: Closure) -> tuple[Finding, ...]:
    served = {rule.source for rule in family.rules} | {rule.finding for rule in family.buy_ins}
    for operation in on_job:
        for line in operation.lines:
            served |= codes_in(line.condition)
    left = [finding for finding in closure.origins if finding.code not in served]
    return tuple(sorted(left, key=lambda finding: (family.map.order(finding.place), finding.code)))


def could_serve(explosion: Explosion, catalogue: Iterable[Operation]) -> tuple[tuple[str, tuple[Finding, ...]], ...]:
    """Operations of the family that are not on the job and have a line for a finding that nobody on it serves.

    (operation, findings), sorted by operation: what would be left out "because the other one has it".
    """
    on_job = {code for code, _ in explosion.revisions}
    offers: dict[str, tuple[Finding, ...]] = {}
    for operation in catalogue:
        if operation.family != explosion.family.code or operation.code in on_job:
            continue
        asked = frozenset().union(*(codes_in(line.condition) for line in operation.lines))
        served = tuple(finding for finding in explosion.unserved if finding.code in asked)
        if served:
            offers[operation.code] = served
    return tuple(sorted(offers.items()))


def _joins(family: Family, on_job: tuple[Operation, ...], closure: Closure) -> tuple[tuple[str, tuple[str, ...]], ...]:
    present = {operation.code for operation in on_job}
    joins: dict[str, tuple[str, ...]] = {}
    for rule in family.rules:
        places = closure.places(rule.source)
        for code in rule.joins if places else ():
            if code not in present:
                chain = closure.chain(Finding(rule.source, places[0]))
                joins.setdefault(code, (*chain, rule.text) if rule.text else chain)
    return tuple(sorted(joins.items()))


def _choice_parts(on_job: tuple[Operation, ...]) -> dict[str, dict[str, dict[str, frozenset[str]]]]:
    parts: dict[str, dict[str, dict[str, frozenset[str]]]] = {}
    for operation in on_job:
        for line in operation.lines:
            if line.choice:
                for position in line.positions:
                    there = parts.setdefault(line.choice, {}).setdefault(position, {})
                    there[line.alternative] = there.get(line.alternative, frozenset()) | {line.part}
    return parts
