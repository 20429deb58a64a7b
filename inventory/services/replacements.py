"""Entering what replaces what, and what a kit holds. A line that no longer counts is withdrawn, a changed kit is a new revision."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from fractions import Fraction

from inventory import locks
from inventory.domain.catalogue import KitLine, around, check_kit
from inventory.domain.companions import Companion
from inventory.domain.errors import DomainError
from inventory.domain.supersession import BothWays, Fate, Link, OneToSeveral, OneWay, add_link
from inventory.models import (
    Act,
    KitContent,
    KitRevision,
    Part,
    Person,
    Replacement,
    ReplacementCompanion,
    ReplacementPart,
)
from inventory.queries.catalogue import newest_contents
from inventory.queries.joins import records_of
from inventory.queries.replacements import links_of
from inventory.services import lookup, things
from inventory.services.noticing import engine_number, refuse_other_measure
from inventory.services.run import Body, Done, Stamp, run
from inventory.services.withdrawing import end_holds_of, why_withdrawn

_MOST_RATIO = 1_000_000


@dataclass(frozen=True, slots=True)
class NewPart:
    """A new part of a replacement: one old becomes numerator/denominator of it."""

    part: str
    numerator: int = 1
    denominator: int = 1


@dataclass(frozen=True, slots=True)
class ReplacementIn:
    """One line of a replacement notice.

    way          "one way", "both ways", "one to several"
    fate         of old stock: "use up", "use only below a number" (then engine_below), "withdrawn"
    engine_below, engine_from   the old part only below this engine number, the new only from it
    no_mix_on    "engine", "bank" or "" where old and new may be mixed
    companions   a part of the line, old or new, is used only with so many pieces of another: judged on the finished list
    """

    old: str
    news: Sequence[NewPart]
    way: str = "one way"
    fate: str = "use up"
    engine_below: str = ""
    engine_from: str = ""
    no_mix_on: str = ""
    condition: str = ""
    noted_on: date | None = None
    companions: Sequence[Companion] = ()


def add_replacement(*, actor: Person, stamp: Stamp, line: ReplacementIn) -> Done:
    """Enter a replacement; the whole web of links it joins is checked under one lock.

    Where old stock is withdrawn, nothing of it is used from now on, wherever it lies: open holds on it end "made impossible", each with
    a named short; what is on the shelves goes to quarantine by an act of its own (`withdraw_stock`).
    Outcome: {"replacement": id, "old", "way", "news", "fate", "shorts"}.
    Raises DomainError "not-found", "replacement-self", "replacement-loop" (the circle is printed), "replacement-ratio",
    "replacement-unusable", "engine-number-unreadable" once engine families are on record.
    """

    def work(act: Act) -> Body:
        link = _link(line)
        locks.name("replacements", "all")
        _check_companions(line)
        needed = [one.needs for one in line.companions]
        parts = things.parts_by_number([line.old, *(new.part for new in line.news), *needed])
        refuse_other_measure(parts[line.old], [parts[new.part] for new in line.news])
        add_link(links_of([part.pk for part in parts.values()]), link)
        row = Replacement.objects.create(
            old=parts[line.old],
            way=line.way,
            fate=line.fate,
            engine_below=engine_number(line.engine_below),
            engine_from=engine_number(line.engine_from),
            no_mix_on=line.no_mix_on,
            condition=line.condition,
            noted_on=line.noted_on,
        )
        ReplacementPart.objects.bulk_create(
            [
                ReplacementPart(
                    replacement=row, part=parts[new.part], numerator=new.numerator, denominator=new.denominator
                )
                for new in line.news
            ]
        )
        ReplacementCompanion.objects.bulk_create(
            [
                ReplacementCompanion(replacement=row, part=parts[one.part], needs=parts[one.needs], pieces=one.pieces)
                for one in line.companions
            ]
        )
        return {
            "replacement": row.pk,
            "old": line.old,
            "way": line.way,
            "news": [asdict(new) for new in line.news],
            "fate": line.fate,
            "shorts": _shorts(act, row),
        }

    return run(
        "enter replacement", work, actor=actor, stamp=stamp, request={"line": asdict(line)}, subject=line.old[:80]
    )


def _shorts(act: Act, row: Replacement) -> list[Body]:
    if row.fate != Replacement.Fate.WITHDRAWN:
        return []
    return lookup.said(end_holds_of(act, records_of([row.old_id]), why_withdrawn(row.pk, row.condition)))


def _link(line: ReplacementIn) -> Link:
    """The line as a link of the rules, judged for what its own words contradict."""
    if not line.news:
        raise DomainError("nothing-given", f"{line.old} is replaced by nothing.", old=line.old)
    names = [new.part for new in line.news]
    limbs = tuple((new.part, _ratio(line.old, new)) for new in line.news)
    fates = {fate.value: fate for fate in Fate}
    if line.way not in set(Replacement.Way.values):
        raise _unusable(line, "way", line.way, f"it is one of {', '.join(Replacement.Way.values)}")
    if line.fate not in fates:
        raise _unusable(line, "fate", line.fate, f"it is one of {', '.join(sorted(fates))}")
    if line.no_mix_on not in ("", "engine", "bank"):
        raise _unusable(line, "no_mix_on", line.no_mix_on, 'it is "engine", "bank" or empty')
    if max(len(line.engine_below), len(line.engine_from)) > 40:
        raise _unusable(line, "engine number", "", "at most 40 characters are kept")
    if len(set(names)) != len(names):
        raise _unusable(line, "news", ", ".join(names), "a new part stands in it twice")
    if (line.fate == Fate.USE_BELOW) != bool(line.engine_below):
        raise _unusable(
            line, "engine_below", line.engine_below, "it goes with 'use only below a number', and only with it"
        )
    several = line.way == Replacement.Way.ONE_TO_SEVERAL
    if len(names) > 1 and not several:
        raise _unusable(line, "news", ", ".join(names), "several new parts are 'one to several'")
    old_fits = f"below {line.engine_below}" if line.engine_below else None
    new_fits = f"from {line.engine_from}" if line.engine_from else None
    if line.way == Replacement.Way.BOTH_WAYS:
        if limbs[0][1] != 1:
            raise DomainError("replacement-ratio", "Both ways means one for one.", old=line.old, new=names[0])
        if line.fate != Fate.USE_UP or old_fits or new_fits:
            raise _unusable(line, "way", line.way, "either may be used, so there is no old stock and no engine number")
        return BothWays(line.old, names[0], no_mix_on=line.no_mix_on, condition=line.condition)
    if several:
        return OneToSeveral(line.old, limbs, fates[line.fate], old_fits, new_fits, line.no_mix_on, line.condition)
    return OneWay(line.old, *limbs[0], fates[line.fate], old_fits, new_fits, line.no_mix_on, line.condition)


def _check_companions(line: ReplacementIn) -> None:
    """A companion is named for a part of the line, is another part, is some pieces, and stands once."""
    own = {line.old, *(new.part for new in line.news)}
    seen = set()
    for one in line.companions:
        why = ""
        if one.part not in own:
            why = "it is neither the old nor a new part of the line"
        elif one.needs == one.part:
            why = "it cannot be its own companion"
        elif not 1 <= one.pieces <= _MOST_RATIO:
            why = "a companion is one piece at least"
        elif (one.part, one.needs) in seen:
            why = "the companion stands twice"
        if why:
            raise _unusable(line, "companions", one.part, why)
        seen.add((one.part, one.needs))


def _ratio(old: str, new: NewPart) -> Fraction:
    if not (1 <= new.numerator <= _MOST_RATIO and 1 <= new.denominator <= _MOST_RATIO):
        raise DomainError(
            "replacement-ratio",
            f"One {old} becomes {new.numerator}/{new.denominator} {new.part}: both are whole numbers from 1 up.",
            old=old,
            new=new.part,
            numerator=new.numerator,
            denominator=new.denominator,
        )
    return Fraction(new.numerator, new.denominator)


def _unusable(line: ReplacementIn, name: str, value: str, why: str) -> DomainError:
    return DomainError(
        "replacement-unusable", f"{line.old}: {name} {value!r}: {why}.", old=line.old, field=name, value=value
    )


def withdraw_replacement(*, actor: Person, stamp: Stamp, replacement_id: int, reason: str) -> Done:
    """A line of a replacement notice no longer counts. Outcome: {"replacement", "old", "withdrawn": true, "reason"}.

    Raises DomainError "not-found", "reason-missing", "nothing-changed".
    """

    def work(act: Act) -> Body:
        if not reason.strip():
            raise DomainError("reason-missing", "Why does the replacement no longer count?", replacement=replacement_id)
        locks.name("replacements", "all")
        row = Replacement.objects.select_related("old").filter(pk=replacement_id).first()
        if row is None:
            raise DomainError("not-found", f"There is no replacement {replacement_id}.", replacement=replacement_id)
        if not Replacement.objects.filter(pk=row.pk, withdrawn=False).update(withdrawn=True):
            raise DomainError("nothing-changed", f"Replacement {row.pk} no longer counts already.", replacement=row.pk)
        return {"replacement": row.pk, "old": row.old.number, "withdrawn": True, "reason": reason}

    request = {"replacement": replacement_id, "reason": reason}
    return run("withdraw replacement", work, actor=actor, stamp=stamp, request=request, reason=reason)


def add_kit_revision(*, actor: Person, stamp: Stamp, kit: str, lines: Sequence[KitLine]) -> Done:
    """What a kit holds from now on; boxes received before keep the revision they came with.

    A kit that holds this one, directly or deeper, has a new revision too (`also`): its boxes from before hold the old one.
    Outcome: {"kit", "revision", "contents": [{part, amount}], "also": [{kit, revision}]}.
    Raises DomainError "not-found", "nothing-given", "kit-unusable", "kit-loop", "nothing-changed".
    """
    given = [asdict(line) for line in lines]

    def work(act: Act) -> Body:
        locks.name("kit contents", "all")
        parts = things.parts_by_number([kit, *(line.part for line in lines)])
        contents = newest_contents()
        check_kit(kit, parts[kit].kind, lines, contents)
        wanted = {line.part: line.amount for line in lines}
        if contents.get(kit) == wanted:
            raise DomainError("nothing-changed", f"{kit} holds that already.", kit=kit)
        revision = _enter_contents(parts[kit], wanted)
        outer = things.parts_by_number(order) if (order := around(kit, contents)) else {}
        also = [_enter_contents(outer[number], contents[number]) for number in order]
        return {
            "kit": kit,
            "revision": revision.revision,
            "contents": given,
            "also": [{"kit": one.kit.number, "revision": one.revision} for one in also],
        }

    return run(
        "enter kit contents", work, actor=actor, stamp=stamp, request={"kit": kit, "lines": given}, subject=kit[:80]
    )


def _enter_contents(kit: Part, wanted: Mapping[str, int]) -> KitRevision:
    """The next revision of a kit; each kit inside as it is now."""
    before = KitRevision.objects.filter(kit=kit).order_by("-revision").values_list("revision", flat=True).first()
    revision = KitRevision.objects.create(kit=kit, revision=(before or 0) + 1)
    parts = things.parts_by_number(wanted)
    held = KitRevision.objects.filter(kit__in=parts.values()).order_by("revision")
    inside = {one.kit_id: one for one in held}
    KitContent.objects.bulk_create(
        [
            KitContent(revision=revision, part=part, amount=wanted[number], inside=inside.get(part.pk))
            for number, part in parts.items()
        ]
    )
    return revision
