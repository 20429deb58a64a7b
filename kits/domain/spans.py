"""Use positions and reasons as they are written on paper: runs of numbers and sentences that differ in places alone drawn together."""

from __future__ import annotations

import re
from collections.abc import Sequence

_NUMBER = re.compile(r"\d+")
#: Fewer are as short written out.
_FEWEST = 3
_ASKED = re.compile(r"(\S+) step (\d+) \([^)]*\): (.*)", re.DOTALL)
_LAST_PLACES = re.compile(r"\((?:[a-z0-9-]+ of )?[A-Z][A-Z0-9-]*(?:/[a-z0-9-]+)?(?:(?:, | to )[A-Za-z0-9/-]+)*\)")
_PLACE = re.compile(r"\(([A-Z][A-Z0-9-]*(?:/[a-z0-9-]+)?)\)")


def spans(positions: Sequence[str]) -> list[str]:
    """Positions in their order, with three or more neighbours that count up in one number drawn together.

    "BANK/bolt-01", "BANK/bolt-02", "BANK/bolt-03" become "BANK/bolt-01 to bolt-03"; "CYL-1/ring" to "CYL-4/ring" become "ring of
    CYL-1 to CYL-4", and two or more places of each "bolt-1 and bolt-2 of each of ROD-1 to ROD-4". Nothing is left out, nothing is
    sorted, and which number counts up is always to be seen.
    """
    found: list[str] = []
    at = 0
    while at < len(positions):
        each, groups = _same_of_each(positions[at:])
        if len(groups) >= _FEWEST and len(each) > 1:
            found.append(f"{_listed(_runs(each))} of each of {groups[0]} to {groups[-1]}")
            at += len(groups) * len(each)
        else:
            run = _run(positions[at:])
            run = run if run >= _FEWEST else 1
            found += _runs(positions[at : at + run])
            at += run
    return found


def _same_of_each(positions: Sequence[str]) -> tuple[list[str], list[str]]:
    """The places that the first group has, and as many groups, counting up, as have just these places in this order."""
    split = [name.partition("/") for name in positions]
    size = next((at for at, one in enumerate(split) if one[0] != split[0][0]), len(split))
    each, heads = [one[2] for one in split[:size]], [one[0] for one in split[::size]]
    run, counting = 1, _counts_up(heads[:2])
    while all(each) and counting is not None and _counts_up(heads[run - 1 : run + 1]) == counting:
        here = split[run * size : (run + 1) * size]
        if {one[0] for one in here} != {heads[run]} or [one[2] for one in here] != each:
            break
        run += 1
    return each, heads[:run]


def _listed(names: Sequence[str]) -> str:
    return ", ".join(names[:-1]) + " and " + names[-1] if len(names) > 1 else names[0]


def _runs(positions: Sequence[str]) -> list[str]:
    found: list[str] = []
    at = 0
    while at < len(positions):
        run = _run(positions[at:])
        if run >= _FEWEST:
            found.append(_from_to(positions[at], positions[at + run - 1]))
        else:
            found.append(positions[at])
            run = 1
        at += run
    return found


def _run(positions: Sequence[str]) -> int:
    """How many of the first positions count up in one and the same number; 1 if the second does not."""
    run, counting = 1, _counts_up(positions[:2])
    while counting is not None and _counts_up(positions[run - 1 : run + 1]) == counting:
        run += 1
    return run


def _counts_up(pair: Sequence[str]) -> int | None:
    """Which number of a pair of neighbours is one higher in the second, when that is all in which they differ; else None."""
    if len(pair) < 2 or _NUMBER.sub("#", pair[0]) != _NUMBER.sub("#", pair[1]):
        return None
    numbers = list(zip(_NUMBER.findall(pair[0]), _NUMBER.findall(pair[1]), strict=True))
    steps = [(at, int(right) - int(left)) for at, (left, right) in enumerate(numbers) if left != right]
    return steps[0][0] if len(steps) == 1 and steps[0][1] == 1 else None


def _from_to(first: str, last: str) -> str:
    """A run in words: "HEAD/bolt-01 to bolt-10" within one group, "ring of CYL-1 to CYL-4" over several, "CYL-1 to CYL-4"."""
    group, _, name = first.partition("/")
    last_group, _, last_name = last.partition("/")
    if group == last_group:
        return f"{first} to {last_name}"
    return f"{name} of {group} to {last_group}" if name else f"{group} to {last_group}"


def merged(sentences: Sequence[str]) -> list[str]:
    """Sentences in their order; those that differ only in the places in brackets become one, which names all their places.

    "chosen (CYL-2)", "chosen (CYL-3)" become "chosen (CYL-2, CYL-3)".
    """
    groups: dict[str, list[list[str]]] = {}
    for sentence in sentences:
        places = _PLACE.findall(sentence)
        slots = groups.setdefault(_PLACE.sub("(\0)", sentence), [[] for _ in places])
        for slot, place in zip(slots, places, strict=True):
            if place not in slot:
                slot.append(place)
    found = []
    for text, slots in groups.items():
        pieces = text.split("\0")
        places = [", ".join(spans(slot)) for slot in slots]
        found.append("".join(piece + place for piece, place in zip(pieces, [*places, ""], strict=True)))
    return found


def in_brief(reasons: Sequence[str], here: str) -> list[str]:
    """The becauses of a line as a sheet of paper has room for them: the first chain of findings of each, without the explanations.

    reasons  whole sentences, "T1 step 30 (T1-30-1): cylinder chosen: why (CYL-2) → liner lifted (CYL-2): why; more"
    here     the step under which the line stands, "T1/30"; a reason of another step names its own
    """
    asked: dict[str, list[str]] = {}
    for reason in reasons:
        found = _ASKED.fullmatch(reason)
        step, why = (f"{found[1]}/{found[2]}", found[3]) if found else (here, reason)
        links: list[str] = []
        place = ""
        for link in why.partition("; ")[0].split(" → "):
            where = _LAST_PLACES.search(link)
            name = link.partition(": ")[0].removesuffix(where[0] if where else "").strip()
            links.append(name + (f" {where[0]}" if where and where[0] != place else ""))
            place = where[0] if where else place
        asked.setdefault(" → ".join(links), []).append(step)
    told = []
    for chain, named in asked.items():
        others = [step for step in dict.fromkeys(named) if step != here]
        also = "also " if here in named else ""
        told.append(f"{chain} ({also}{', '.join(others)})" if others else chain)
    return told
