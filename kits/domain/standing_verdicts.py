"""Which verdicts of a clearance, of ring gaps or of a liner's height bind a bore: the newest that speaks of it, of each kind.

What was read of a named set goes with the set, on whatever job: its clearance into every bore, the gaps of its rings where they were
read, and on another job, which has other bores, wherever the set goes. What was read of a place without a set binds whatever goes in there,
until it is judged again. What was judged by other limits than those that count now lets nothing in: only what says no by them still says it. A height is of one set in one bore, so it says nothing of that
set elsewhere; a liner whose height fails is not closed over either.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from kits.domain.as_judged import AsJudged
from kits.domain.judging import CLEARANCE, GAPS
from kits.domain.limits import Verdict

#: The kind of a verdict on the height of a liner over its block; its subject is the use position.
HEIGHT = "protrusion"
SET_KIND = "matched set"
_SET = frozenset({SET_KIND})
#: Kinds of parts that each kind of result speaks of: a set is liner, piston and rings; rings come alone where a set is kept.
BINDS = {CLEARANCE: _SET, GAPS: _SET | {"hard part"}, HEIGHT: _SET}

#: Kinds that say something of the set wherever it goes.
OF_THE_SET = (CLEARANCE, GAPS)


@dataclass(frozen=True, slots=True)
class Said:
    """A result that stands. subject  cylinder, use position or serial; set  serial of the set that was read, empty where none was named;
    put_aside  the label of the set disagrees with what was measured; job  number of another job on which it was judged, empty: this one;
    other_limits  why it is to be judged again: it was judged by other limits than those that count now, empty where it was not; again  why it is
    to be judged again: what it rests on was read anew or cut since, empty where it was not; act  number of the act that judged it;
    accepted  a person took it as it is, doubtful or not; stood: how the liner stood when its height was judged, None: not a height, gauged over
    the deck as it stands, or laid out"""

    id: int
    kind: str
    subject: str
    set: str
    verdict: str
    why: tuple[str, ...]
    put_aside: bool
    job: str = ""
    other_limits: str = ""
    again: str = ""
    act: int = 0
    accepted: bool = False
    stood: AsJudged | None = None

    @property
    def counts(self) -> bool:
        """Whether it decides: judged by the limits that count now, or saying no by others."""
        return not self.other_limits or self.fails or self.put_aside

    @property
    def told(self) -> str:
        """Where it was judged, and why it is to be judged again, after a sentence about it; empty for one of this job."""
        return (f" on job {self.job}" if self.job else "") + (f"; {self.other_limits}" if self.other_limits else "")

    @property
    def fails(self) -> bool:
        """Whether it forbids fitting."""
        return self.verdict == Verdict.FAIL.value

    @property
    def lets_in(self) -> bool:
        """Whether nothing of it speaks against fitting: what was read anew says neither yes nor no until it is judged."""
        return not self.fails and not self.again


def binding(said: Iterable[Said], place: str, serial: str, part_kind: str) -> list[Said]:
    """Of each kind of result the newest that speaks of a part with this serial (empty: none) going into the cylinder."""
    newest: dict[str, Said] = {}
    for one in sorted(said, key=lambda one: one.id):
        if part_kind in BINDS.get(one.kind, ()) and one.counts and _speaks(one, place, serial):
            newest[one.kind] = one
    return list(newest.values())


def set_put_aside(said: Iterable[Said], serial: str) -> Said | None:
    """The newest clearance of a set, where its label disagrees with what was measured."""
    newest = _clearance(said, serial)
    return newest if newest is not None and newest.put_aside else None


def why_in_no_bore(said: Iterable[Said], serial: str) -> str:
    """Why a set is laid out for no bore by the newest clearance of its own; "" where nothing speaks against it."""
    newest = _clearance(said, serial)
    if newest is None or not (newest.put_aside or newest.fails):
        return ""
    why = "it is put aside: its label disagrees with what was measured" if newest.put_aside else "its clearance fails"
    return why + newest.told


def _clearance(said: Iterable[Said], serial: str) -> Said | None:
    rows = [one for one in said if one.kind == CLEARANCE and one.counts and one.set == serial]
    return max(rows, key=lambda one: one.id, default=None)


def heights_against(said: Iterable[Said], standing: Mapping[str, str]) -> dict[str, Said]:
    """Cylinder → the newest verdict on the height of the liner that stands there, where that fails or is to be judged again.

    standing  cylinder → serial of the set that stands there; a cylinder that is not in it has a liner that nobody named
    """
    rows = [one for one in said if one.kind == HEIGHT]
    found = {}
    for place in dict.fromkeys(_place(one) for one in rows):
        for one in binding(rows, place, standing.get(place, ""), SET_KIND):
            if not one.lets_in:
                found[place] = one
    return found


@dataclass(frozen=True, slots=True)
class Liner:
    """A liner that goes in, or went in, on the job. cylinder; serial: of its set, empty where our records do not know it; old: it came out
    of the engine on the job; act: number of the act that first recorded it, None: it goes in now; fitting: id of its row, None likewise"""

    cylinder: str
    serial: str
    old: bool
    act: int | None = None
    fitting: int | None = None


@dataclass(frozen=True, slots=True)
class Undecided:
    """A liner of whose height in its bore no verdict says anything (`doubtful` is None), or the newest says that it is doubtful."""

    liner: Liner
    doubtful: Said | None

    @property
    def said(self) -> str:
        """For a person, after what closes over it."""
        what = f"{self.liner.cylinder} ({self.liner.serial or 'its liner has no serial on record'})"
        if self.doubtful is None:
            return f"{what}: its height in this bore is on no record"
        return f"{what}: its height is doubtful by result {self.doubtful.id}: {'; '.join(self.doubtful.why)}"

    def answered_by(self, act: int) -> bool:
        """Whether a word that was given in this act speaks of it: of a doubt only one that came after it."""
        return self.doubtful is None or act > self.doubtful.act


def undecided_heights(said: Iterable[Said], liners: Iterable[Liner]) -> list[Undecided]:
    """The liners of whose height in their bore no verdict that counts says yes or no.

    A verdict that names its set speaks of that set alone. One that names none is of the liner that stood in the bore: of an old one that
    is back, of one that our records do not know, or of whatever was fitted before it was judged.
    """
    rows = [one for one in said if one.kind == HEIGHT and not one.job and one.counts]
    found = []
    for liner in liners:
        newest = max((one for one in rows if _of_liner(one, liner)), key=lambda one: one.id, default=None)
        if newest is None or (newest.verdict == Verdict.DOUBTFUL.value and not newest.accepted and not newest.again):
            found.append(Undecided(liner, newest))
    return found


def _of_liner(one: Said, liner: Liner) -> bool:
    if _place(one) != liner.cylinder:
        return False
    if one.set or not liner.serial or liner.old:
        return one.set in ("", liner.serial)
    return liner.act is not None and one.act > liner.act


def judged_again_first(said: Iterable[Said], standing: Mapping[str, str]) -> list[Said]:
    """The newest verdicts of each kind on the sets that stand in the engine which are to be judged again, and do not fail as it is."""
    rows = list(said)
    found = {
        one.id: one
        for place, serial in standing.items()
        for one in binding(rows, place, serial, SET_KIND)
        if one.again and not one.fails
    }
    return list(found.values())


def _place(one: Said) -> str:
    return one.subject.partition("/")[0]


def _speaks(one: Said, place: str, serial: str) -> bool:
    if one.job:
        return bool(serial) and one.set == serial and one.kind in OF_THE_SET
    if one.kind == HEIGHT:
        return _place(one) == place and one.set in ("", serial)
    if serial and one.set:
        return one.set == serial and (one.kind == CLEARANCE or one.subject in (place, serial))
    return one.subject in ((place, serial) if serial else (place,))
