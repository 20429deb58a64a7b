"""Whether two records are of one number, and may be joined. Pure.

Stock was booked by unit, by how a thing is told apart, and by what it is made of: records that differ in one of these are not one
part, whatever their numbers look like.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from inventory.domain.errors import DomainError
from inventory.domain.items import Tracked
from inventory.domain.part_numbers import look_alike_key


@dataclass(frozen=True, slots=True)
class Record:
    """A part record, as far as a join cares. `poured`: it goes out by the tube, tin or bottle."""

    number: str
    unit: str
    tracked_by: str
    kind: str = ""
    compound: str = ""
    ring: Mapping[str, Any] = field(default_factory=dict)
    pack: int = 1
    poured: bool = False


#: What stock was booked by: a difference cannot be put right by changing a record.
_BOOKED_BY = ("unit", "tracked_by")
#: What a part is: one of the two records is wrong, and can be changed. The last is what "half a pack" is judged by.
_IS = ("kind", "compound", "ring", "pack")


def differences(kept: Record, joined: Record) -> tuple[str, ...]:
    """Names of the facts in which the two differ; a kind or a compound that one of them does not state is no difference."""
    found = []
    for name in (*_BOOKED_BY, *_IS):
        one, other = getattr(kept, name), getattr(joined, name)
        if one != other and (name in ("unit", "tracked_by", "pack") or (one and other)):
            found.append(name)
    return tuple(found)


def check_join(kept: Record, joined: Record, notices: Sequence[int] = ()) -> None:
    """DomainError "records-differ" where the two are not one part, naming each difference with both values.

    notices   lines of replacement notices that still count and name the record that is joined: they are entered for the one that
              is kept first, for a notice is never rewritten
    Records of matched sets and of what is poured are not joined: layouts, open tubes and product sheets go by the record.
    """
    told = f"{joined.number} and {kept.number}"
    if kept.number == joined.number:
        raise _differ(kept, joined, f"{kept.number} is one record.", ["number"])
    if look_alike_key(kept.number) != look_alike_key(joined.number):
        raise _differ(kept, joined, f"{told} are two numbers.", ["number"], "Say by a replacement what replaces what.")
    names = differences(kept, joined)
    if names:
        said = ", ".join(f"{name} {getattr(joined, name)!r} and {getattr(kept, name)!r}" for name in names)
        out = "Change the record that is wrong."
        if set(names) & set(_BOOKED_BY):
            out = "Stock was booked by these: use up the one record, then replace it by the other."
        raise _differ(kept, joined, f"{told} differ: {said}.", list(names), out)
    if Tracked.SET in (kept.tracked_by, joined.tracked_by) or kept.poured or joined.poured:
        raise _differ(
            kept, joined, f"{told}: records of matched sets and of what is poured are not joined.", ["kind"],
            "Use up the one record, then replace it by the other.",
        )  # fmt: skip
    if notices:
        raise DomainError(
            "records-differ",
            f"{len(notices)} replacement notice(s) that count name {joined.number}.",
            ways_out=(f"Withdraw each and enter it for {kept.number}.",),
            kept=kept.number,
            joined=joined.number,
            replacements=list(notices),
        )


def _differ(kept: Record, joined: Record, said: str, names: list[str], out: str = "") -> DomainError:
    return DomainError(
        "records-differ",
        said,
        ways_out=(out,) if out else (),
        kept=kept.number,
        joined=joined.number,
        fields=names,
    )
