"""Owners of engines and buyers at the counter, as they are read."""

from __future__ import annotations

from django.db.models import QuerySet

from inventory.domain.errors import DomainError
from inventory.models import Owner


def owners() -> QuerySet[Owner]:
    """All of them."""
    return Owner.objects.all()


def owner(owner_id: int) -> Owner:
    """One owner; DomainError "not-found"."""
    found = Owner.objects.filter(pk=owner_id).first()
    if found is None:
        raise DomainError(
            "not-found",
            f"There is no owner {owner_id}.",
            ways_out=("Enter the owner, or the buyer, and give the number.",),
            owner=owner_id,
        )
    return found
