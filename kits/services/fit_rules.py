"""What must be right before a part may go in: the first rule that says no.

Private to services: an open transaction is there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from inventory.domain.catalogue import LOOKED_AT_TWICE
from inventory.domain.errors import DomainError, ManyErrors
from inventory.domain.rubber import good_lubricants, may_touch
from inventory.domain.shelf_life import usable_on
from inventory.models import Act, Item, Person
from inventory.queries.days import shop_day
from kits.domain.origins import Back, judge_return, parted, partner_of
from kits.domain.repaired_threads import does_not_go_in
from kits.domain.requirements import Key
from kits.domain.settled import SettledLine
from kits.domain.size_questions import why_not_in
from kits.queries.at_positions import new_at
from kits.queries.by_notice import number_sentence
from kits.queries.job_list import record_of
from kits.queries.results import matched_by
from kits.queries.rubber import is_rubber, lubricant_unknown, rubber_forbids
from kits.services.fit_facts import Facts, FitIn, stands_in_for_damaged
from kits.services.judged_rules import not_as_judged
from kits.services.layout_rules import not_on_its_shim, off_layout
from kits.services.maker_stops import stopped_error
from kits.services.photo_rules import not_looked_at
from kits.services.reuse_rules import may_not_reuse
from kits.services.seal_rules import filled_early, harms_sensors, not_tested, unsealed
from kits.services.verdict_rules import closes_over, forbidden, height_undecided


def check(act: Act, facts: Facts, fittings: Sequence[FitIn], checker: Person | None) -> None:
    """ManyErrors: of each line the first rule that says no."""
    errors: list[tuple[int, DomainError]] = []
    for number, one in enumerate(fittings, 1):
        problem = _problem(act, facts, one, checker, number - 1 in facts.reused)
        if problem is not None:
            errors.append((number, problem))
    refused = {number for number, _ in errors}
    errors.extend(one for one in not_bedded(facts, fittings) if one[0] not in refused)
    if errors:
        raise ManyErrors(tuple(sorted(errors, key=lambda one: one[0])))


def _problem(act: Act, facts: Facts, one: FitIn, checker: Person | None, reused: bool) -> DomainError | None:
    item = facts.items.get(one.item)
    if item is None:
        return DomainError("not-found", f"There is no item {one.item}.", item=one.item)
    if one.amount <= 0:
        return DomainError(
            "amount-not-positive", f"{one.position}: an amount above zero is needed.", position=one.position
        )
    return (
        _stopped_by_maker(facts, one)
        or _half_or_broken(item, one)
        or _blocked(act, facts, item, one, reused)
        or off_layout(facts.layout, item, one.position, one.clock_deg)
        or _wrong_bore(facts, item, one)
        or not_on_its_shim(facts.bare, one.position)
        or forbidden(facts.verdicts, item, one.position)
        or not_as_judged(facts.otherwise, one.position, facts.signed_otherwise)
        or _closes_over(facts, one)
        or not_tested(facts.shut, one.position)
        or not_looked_at(facts.unlooked, one.position)
        or _leaked(facts, item, one, reused)
        or _wrong_origin(facts, item, one, reused)
        or _size_forbids(facts, item, one, reused)
        or _not_listed(facts, item, one, reused)
        or _for_other_engines(facts, item, reused)
        or _wrong_fluid(facts, item, one)
        or _wrong_lubricant(facts, item, one)
        or _too_much(facts, item, one)
        or harms_sensors(facts.seals, item, one.position)
        or unsealed(facts.seals, one.position)
        or filled_early(facts.seals, one.position, act.occurred_at, facts.early_fill)
        or _position_taken(facts, item, one)
        or _unchecked(item, one, checker)
    )


def not_bedded(facts: Facts, fittings: Sequence[FitIn]) -> list[tuple[int, DomainError]]:
    """Old parts that would stand with a new part that they do not belong to, by running in or as halves of one piece: as they go in, or
    as the new part goes in to them."""
    rules = facts.listed.scope.family.facts.origins
    pairs = {(one, partner) for rule in rules for one in rule.positions if (partner := partner_of(rule, one))}
    named = {one.position for one in fittings}
    touched = {place for pair in pairs if named & set(pair) for place in pair}
    if not touched:
        return []
    coming = {one.position: at in facts.reused for at, one in enumerate(fittings)}
    standing = {place: not new for place, new in new_at(facts.job, touched).items()} | coming
    errors = []
    for at, one in enumerate(fittings):
        clash = parted(rules, one.position, at in facts.reused, standing)
        if clash is None:
            continue
        rule, old = clash
        partner = partner_of(rule, old[0])
        why = f"{', '.join(old)} ran in with the old part at {partner}; with a new one there it is renewed too."
        if rule.halves:
            why = f"{old[0]} and {partner} are the two halves of one piece: an old half never goes with a new one."
        ways = ("Fit new ones there.",)
        errors.append(
            (at + 1, DomainError("bedded-to-another", why, ways_out=ways, position=one.position, old=list(old)))
        )
    return errors


def _stopped_by_maker(facts: Facts, one: FitIn) -> DomainError | None:
    stop = facts.maker_stops.get((one.position, one.make))
    return stopped_error(stop, [one.position]) if stop else None


def _for_other_engines(facts: Facts, item: Item, reused: bool) -> DomainError | None:
    """A new one is not fitted where a replacement notice leaves its number to other engines; what came out goes back in."""
    numbers = facts.elsewhere.get(item.part_id)
    if reused or not numbers:
        return None
    return DomainError(
        "not-for-engine",
        number_sentence(facts.job.engine, item.part.number, numbers),
        ways_out=("Return it, and hold what replaces it.",),
        item=item.pk,
        numbers=numbers,
    )


def _label(item: Item) -> str:
    return item.called


def _half_or_broken(item: Item, one: FitIn) -> DomainError | None:
    if item.member:
        return DomainError(
            "half-a-set", f"{_label(item)} is the {item.member} of a set: half a set is never fitted.", item=item.pk
        )
    if item.serial is not None and getattr(item.serial, "broken", None) is not None:
        return DomainError("set-broken", f"Set {item.serial.number} is broken.", item=item.pk)
    match = getattr(item.serial, "match", None) if item.serial is not None else None
    if match is not None and (why := matched_by(match.act_id)):
        return DomainError(
            "match-stale",
            f"{_label(item)} was matched by readings that do not count any more: {'; '.join(why)}.",
            ways_out=("Break it, and match again what is good.", "Fit another set."),
            item=item.pk,
            why=why,
        )
    return None


def _blocked(act: Act, facts: Facts, item: Item, one: FitIn, reused: bool) -> DomainError | None:
    if item.pk in facts.stopped:
        return DomainError(
            "lot-stopped", f"{_label(item)} is stopped: it may not be fitted.", item=item.pk, position=one.position
        )
    use_by = item.tube.use_by if item.tube else item.lot.expires_on if item.lot and not reused else None
    if not usable_on(use_by, shop_day(act.occurred_at)):
        return DomainError(
            "expired",
            f"{_label(item)} was usable through {use_by}.",
            item=item.pk,
            use_by=str(use_by),
            position=one.position,
        )
    return None


def _wrong_bore(facts: Facts, item: Item, one: FitIn) -> DomainError | None:
    serial = item.serial_number
    marked = facts.bores.get(one.position)
    elsewhere = next((position for position, given in facts.bores.items() if serial and given == serial), None)
    if (marked is not None and marked != serial) or (elsewhere is not None and elsewhere != one.position):
        wanted = (
            f"{one.position} is marked for {marked}"
            if marked and marked != serial
            else f"{serial} is marked for {elsewhere}"
        )
        return DomainError(
            "wrong-bore",
            f"{serial or _label(item)} into {one.position}: {wanted}.",
            ways_out=("Check the marks on liner and block.", "Gauge again and record which set goes where."),
            position=one.position,
            item=item.pk,
        )
    return None


def _closes_over(facts: Facts, one: FitIn) -> DomainError | None:
    family = facts.listed.scope.family
    closing = family.facts.liners_closed_by
    return closes_over(facts.failing, family.map, one.position, closing) or height_undecided(
        facts.undecided, family.map, one.position, closing
    )


def _leaked(facts: Facts, item: Item, one: FitIn, reused: bool) -> DomainError | None:
    """Old and new rings of one lot are one item: a new one of a lot that leaked goes in, no old one does."""
    if not reused or item.pk not in facts.leaked:
        return None
    return DomainError(
        "ring-leaked",
        f"{_label(item)} leaked on this job: it is scrap.",
        ways_out=("Scrap it, and fit a new one.",),
        position=one.position,
        item=item.pk,
    )


def _wrong_origin(facts: Facts, item: Item, one: FitIn, reused: bool) -> DomainError | None:
    """Whether an old part goes back where it came from, turned as it stood; what is doubtful is kept in the facts."""
    if not reused:
        return None
    rule = facts.listed.scope.family.facts.origin(one.position)
    bound = item.single or rule is not None or _original_place(facts, one)
    laid = facts.layout.turn_back(one.position, item.serial_number) if facts.layout else None
    if rule is not None and laid is not None:
        rule = replace(rule, turns_deg=(laid,))
    back = Back(one.position, one.tag, one.clock_deg, one.side)
    word = facts.words.get((item.pk, one.position), "")
    try:
        facts.doubts[one] = judge_return(_label(item), facts.outs[item.pk], back, rule, bound=bound, word=word)
    except DomainError as error:
        return error
    return None


def _original_place(facts: Facts, one: FitIn) -> bool:
    requirement = facts.listed.explosion.requirements.get((one.position, one.make))
    return requirement is None or any(candidate.original_place for candidate in requirement.candidates)


def _not_listed(facts: Facts, item: Item, one: FitIn, reused: bool) -> DomainError | None:
    key: Key = (one.position, one.make)
    requirement = facts.listed.explosion.requirements.get(key)
    if requirement is None:
        if reused and (one.position in facts.came_from(item.pk) or (item.pk, one.position) in facts.words):
            return may_not_reuse(facts, item, one)
        if stands_in_for_damaged(facts.job, one.position, item):
            return None
        return DomainError(
            "not-on-list",
            f"Nothing is listed for {one.position}" + (f" make {one.make}." if one.make > 1 else "."),
            ways_out=("Record the finding that asks for it.", "Add the procedure that has a line for it."),
            position=one.position,
        )
    if reused:
        return may_not_reuse(facts, item, one)
    line = _settled(facts, key)
    if line is None:
        return _undecided(facts, key)
    # What was promised when another part was listed there is not allowed any more.
    allowed = {line.part} | {part for wanted, part in facts.issued.get(key, set()) if wanted == line.part}
    if item.part.number not in allowed:
        return DomainError(
            "wrong-part",
            f"{one.position} takes {' or '.join(sorted(allowed))}, not {item.part.number}.",
            position=one.position,
            part=item.part.number,
            allowed=sorted(allowed),
        )
    return None


def _size_forbids(facts: Facts, item: Item, one: FitIn, reused: bool) -> DomainError | None:
    """What the record of the engine's sizes has against the part: the list asks about it, or the insert in the hole takes another."""
    scope, line = facts.listed.scope, _settled(facts, (one.position, one.make))
    if not scope.sizes:
        return None
    why = why_not_in(record_of(scope, facts.listed.explosion), line) if line is not None else ""
    if not why and (reused or line is None):
        why = does_not_go_in(scope.family.sizes, scope.sizes, one.position, item.part.number, scope.family.map)
    if not why:
        return None
    return DomainError(
        "size-forbids",
        f"{one.position}: {why}.",
        ways_out=("Answer what the list asks about it.", "Withdraw the entry of the size if it is wrong."),
        position=one.position,
        part=item.part.number,
    )


def _settled(facts: Facts, key: Key) -> SettledLine | None:
    return next((line for line in facts.listed.settled.lines if line.key == key), None)


def _undecided(facts: Facts, key: Key) -> DomainError:
    """A position that is on the map of the list, but takes nothing, or nobody knows yet what."""
    for choice in facts.listed.settled.open_choices:
        if key in choice.keys:
            offered = [part for _, parts in choice.candidates for part in parts]
            return DomainError(
                "choice-open",
                f"{key[0]}: {choice.text}: not chosen yet, of {', '.join(offered)}.",
                ways_out=("Record what was measured, or who decided.",),
                position=key[0],
                choice=choice.choice,
                candidates=offered,
            )
    if key in facts.listed.settled.left_out:
        return DomainError("not-on-list", f"{key[0]} takes nothing: that was chosen.", position=key[0])
    return DomainError("list-not-ready", f"A person has to decide first what {key[0]} takes.", position=key[0])


def _wrong_fluid(facts: Facts, item: Item, one: FitIn) -> DomainError | None:
    why = rubber_forbids(item.part, facts.places[one.position])
    return DomainError("wrong-rubber", why, position=one.position, part=item.part.number) if why else None


def _wrong_lubricant(facts: Facts, item: Item, one: FitIn) -> DomainError | None:
    """Only where something was said: what was not said stays a gap in the record of the fitting."""
    if not one.lubricant:
        return None
    lubricant = facts.lubricants[one.lubricant]
    if lubricant is None:
        return lubricant_unknown(one.lubricant, one.position)
    if not is_rubber(item.part):
        return None
    answer = may_touch(item.part.compound, lubricant)
    good = good_lubricants(item.part.compound)
    if answer.allowed:
        return None
    return DomainError(
        "wrong-lubricant",
        f"{one.position}: {item.part.number}: {answer.reason}",
        ways_out=(f"Fit it with {' or '.join(good)}." if good else "Ask the maker what its rubber stands.",),
        position=one.position,
        part=item.part.number,
        lubricant=lubricant.value,
        allowed=[word.value for word in good],
    )


def _too_much(facts: Facts, item: Item, one: FitIn) -> DomainError | None:
    """A piece goes where pieces are listed, no more of them than the position takes; a tube is opened before it is used."""
    line = _settled(facts, (one.position, one.make))
    if line is None or item.base != "piece":
        return None
    if line.candidate.amount.base != "piece":
        return DomainError(
            "tube-not-opened",
            f"{_label(item)} is closed by our records: {one.position} takes what is in it.",
            ways_out=("Open it under a number of its own.",),
            position=one.position,
            item=item.pk,
        )
    most = line.candidate.amount.amount
    if one.amount > most:
        return DomainError(
            "more-than-listed",
            f"{one.position} takes {most}, not {one.amount}, of {item.part.number}.",
            position=one.position,
            listed=most,
            asked=one.amount,
        )
    return None


def _position_taken(facts: Facts, item: Item, one: FitIn) -> DomainError | None:
    """Pieces that are in already, or come in by an earlier line of this act, and leave no room for these."""
    if item.base != "piece":
        return None
    line = _settled(facts, (one.position, one.make))
    most = line.candidate.amount.amount if line is not None else one.amount
    solid = [row for row in facts.there.get(one.position, []) if row.item.base == "piece"]
    other = next((row for row in solid if row.item.part_id != item.part_id), None)
    coming = facts.coming.get(one.position, 0)
    if other is None and sum(row.amount for row in solid) + coming + one.amount <= most:
        facts.coming[one.position] = coming + one.amount
        return None
    if not solid:
        return DomainError(
            "position-taken", f"{one.position} is fitted twice in this act.", position=one.position, item=item.pk
        )
    first = other or solid[0]
    return DomainError(
        "position-taken",
        f"{one.position} holds {_label(first.item)}.",
        ways_out=("Remove it first.",),
        position=one.position,
        item=first.item_id,
    )


def _unchecked(item: Item, one: FitIn, checker: Person | None) -> DomainError | None:
    if item.part.kind in LOOKED_AT_TWICE and checker is None:
        return DomainError(
            "checker-missing",
            f"{one.position}: a second person checks {item.part.name.lower()}.",
            position=one.position,
        )
    return None
