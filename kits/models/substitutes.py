"""What the owner of an engine says to parts that go in instead of the listed ones."""

from __future__ import annotations

from django.db import models
from django.db.models import Q


class SubstituteWord(models.Model):
    """The owner's word on one part in place of a listed one, on one job: who said it, and how. The newest of a pair counts."""

    job = models.ForeignKey("kits.Job", models.PROTECT, related_name="substitute_words")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    listed = models.ForeignKey("inventory.Part", models.PROTECT, db_index=False, related_name="+")
    instead = models.ForeignKey("inventory.Part", models.PROTECT, db_index=False, related_name="+")
    agreed = models.BooleanField()
    given_by = models.CharField(max_length=200, help_text="role of who answered: the name itself stands with the owner")
    how = models.CharField(max_length=60, help_text="telephone, letter, in person")

    class Meta:
        constraints = [
            models.CheckConstraint(name="substitute_word_says_who_and_how", condition=~Q(given_by="") & ~Q(how="")),
        ]
