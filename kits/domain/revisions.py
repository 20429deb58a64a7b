"""Newer revisions than those that a job works by: whether it is asked about one, and whether it may go on. Pure."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import datetime

from kits.domain.requirements import Explosion, Key


@dataclass(frozen=True, slots=True)
class Newer:
    """The newest revision of what a job was booked with.

    procedure  its code; empty: the engine family, whose code `code` is
    has        the revision that the job works by; newest, since, by: the newest one, and who entered it when
    stop       the maker's bulletin that forces one of the revisions between; empty where none does
    forced     the newest revision that a bulletin forces, 0 for none
    kept       the newest revision for which a person said that the job keeps what it has, 0 for none; kept_because: why
    """

    procedure: str
    code: str
    has: int
    newest: int
    since: datetime
    by: str
    stop: str = ""
    forced: int = 0
    kept: int = 0
    kept_because: str = ""

    @property
    def stopped(self) -> bool:
        """Whether the job may not go on under it before it takes a revision over."""
        return self.forced > self.has

    @property
    def asks(self) -> bool:
        """Whether a person has to decide: a maker's stop always asks, else until the newest was answered."""
        return self.stopped or self.newest > self.kept

    def sentence(self) -> str:
        """How it stands, in one line."""
        if self.stopped:
            return (
                f"STOP by the maker, {self.stop}: {self.code} revision {self.has} is not worked by any more;"
                f" take revision {self.newest} over."
            )
        if self.asks:
            return f"{self.code} has revision {self.newest}; this job works by revision {self.has}. Take it over, or keep the old one?"
        return f"{self.code}: revision {self.has} is kept, not {self.newest}: {self.kept_because}"


def stopped_keys(explosion: Explosion, newer: Iterable[Newer]) -> dict[Key, Newer]:
    """Keys of the list that a maker's stop forbids to go on with, each with the stop: those that a stopped procedure brings, alone
    or with others; all of them where the family is stopped."""
    stops = [one for one in newer if one.stopped]
    family = next((one for one in stops if not one.procedure), None)
    by_procedure = {one.procedure: one for one in stops if one.procedure}
    found: dict[Key, Newer] = {}
    for key, requirement in explosion.requirements.items():
        works = (work[0] for candidate in requirement.candidates for work in candidate.work)
        stop = family or next((by_procedure[code] for code in works if code in by_procedure), None)
        if stop is not None:
            found[key] = stop
    return found


def parts_at(explosion: Explosion, keys: Collection[Key]) -> set[str]:
    """Every part that may go to one of these keys."""
    return {one.part for key in keys for one in explosion.requirements[key].candidates}
