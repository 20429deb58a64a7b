"""What is left of a matched set that was broken: by damage, or because half of it was not in its box. Pure."""

from __future__ import annotations

from collections.abc import Sequence

from inventory.domain.errors import DomainError
from inventory.domain.items import Member

MEMBERS = (Member.LINER, Member.PISTON, Member.PIN)


def good_members(damaged: str, missing: Sequence[str]) -> tuple[Member, ...]:
    """The members that are still good, in the order of `MEMBERS`.

    damaged  "liner", "piston" or "pin"; "": none is
    missing  those that are not there
    DomainError "member-unknown" for a word that is no member or is said twice, "nothing-given" where nothing is damaged or missing,
    "not-there" where all of it is missing: then it is no broken set.
    """
    said = [*([damaged] if damaged else []), *missing]
    for word in said:
        if word not in MEMBERS:
            raise DomainError(
                "member-unknown",
                f"A matched set is liner, piston and pin; {word!r} is none of them.",
                ways_out=("A broken ring is replaced by a ring set; the matched set stays whole.",),
                member=word,
            )
    if len(set(said)) < len(said):
        raise DomainError("member-unknown", "One member was named twice.", members=said)
    if not said:
        raise DomainError("nothing-given", "Which member of the set is damaged, and which is missing?")
    if set(missing) == set(MEMBERS):
        raise DomainError(
            "not-there",
            "Nothing of the set is there: it is missing, not broken.",
            ways_out=("Count the set, as none: it is found again by another count.",),
            missing=list(missing),
        )
    return tuple(member for member in MEMBERS if member not in said)


def how_broken(damaged: str, missing: Sequence[str]) -> str:
    """In words: "liner damaged; piston and pin missing"."""
    said = [f"{damaged} damaged"] if damaged else []
    if missing:
        said.append(f"{' and '.join(missing)} missing")
    return "; ".join(said)


def ask_for_photo(what: str, photo_ref: str, no_photo: str) -> None:
    """A photo, or the reason why there is none, and not both. DomainError "photo-asked" with the question."""
    if bool(photo_ref.strip()) == bool(no_photo.strip()):
        raise DomainError(
            "photo-asked",
            f"Where is the photo of {what} kept?" if not photo_ref.strip() else f"Is there a photo of {what}, or none?",
            ways_out=("Say where the photo is kept.", "Say why there is no photo of it."),
            photo_ref=photo_ref,
            no_photo=no_photo,
        )
