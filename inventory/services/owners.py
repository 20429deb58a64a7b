"""Owners of engines and buyers at the counter: the only personal data that the shop keeps of people outside it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.models import Act, Owner, Person
from inventory.services.run import Body, Done, Stamp, run

#: Longest texts that are kept, by field.
LONGEST: Mapping[str, int] = {"name": 200, "address": 1000, "telephone": 60, "email": 254}


@dataclass(frozen=True, slots=True)
class OwnerIn:
    """Who owns engines, or buys at the counter. Only the name must be there."""

    name: str
    address: str = ""
    telephone: str = ""
    email: str = ""


def add_owner(*, actor: Person, stamp: Stamp, owner: OwnerIn) -> Done:
    """Enter an owner. The outcome and the act carry the owner's number only: {"owner", "version"}.

    Raises DomainError "nothing-given" (no name), "text-too-long".
    """

    def work(act: Act) -> Body:
        _check(asdict(owner))
        row = Owner.objects.create(**asdict(owner))
        return {"owner": row.pk, "version": row.version}

    return run("enter owner", work, actor=actor, stamp=stamp, request=asdict(owner))


def change_owner(*, actor: Person, stamp: Stamp, owner_id: int, version: int, changes: Mapping[str, str]) -> Done:
    """Change fields of an owner that was read in `version`.

    changes   field of `OwnerIn` → new text
    Outcome: {"owner", "version", "changed": names of the fields}: never the texts, which stand with the owner alone.
    Raises DomainError "not-found", "version-stale", "nothing-given", "nothing-changed", "text-too-long".
    """

    def work(act: Act) -> Body:
        unknown = sorted(set(changes) - LONGEST.keys())
        if unknown or not changes:
            raise DomainError("nothing-given", "Say what of the owner is to be changed.", fields=unknown)
        _check(changes)
        locks.row(Owner._meta.db_table, [owner_id])
        row = Owner.objects.filter(pk=owner_id).first()
        if row is None:
            raise DomainError("not-found", f"There is no owner {owner_id}.", owner=owner_id)
        if row.version != version:
            raise DomainError(
                "version-stale",
                f"Owner {owner_id} was changed since: version {version} was read, it is version {row.version}.",
                ways_out=("Read the owner again, and change that.",),
                owner=owner_id,
                given=version,
                version=row.version,
            )
        new = {name: text for name, text in changes.items() if getattr(row, name) != text}
        if not new:
            raise DomainError("nothing-changed", f"Owner {owner_id} is like that already.", owner=owner_id)
        Owner.objects.filter(pk=owner_id, version=version).update(**new, version=version + 1)
        return {"owner": owner_id, "version": version + 1, "changed": sorted(new)}

    request = {"owner": owner_id, "version": version, "changes": dict(changes)}
    return run("change owner", work, actor=actor, stamp=stamp, request=request)


def _check(given: Mapping[str, str]) -> None:
    if not given.get("name", "-").strip():
        raise DomainError("nothing-given", "An owner has a name.", field="name")
    for name, text in given.items():
        if len(text) > LONGEST[name]:
            raise DomainError(
                "text-too-long", f"{name} is longer than {LONGEST[name]} characters.", field=name, longest=LONGEST[name]
            )
