"""People who act. A login is a person; what a person may do hangs on groups."""

from __future__ import annotations

from django.contrib.auth.models import AbstractUser
from django.db import models


class Person(AbstractUser):
    """Somebody who works in the shop."""

    home_site = models.ForeignKey("inventory.Site", models.PROTECT, null=True, blank=True, db_index=False)

    def __str__(self) -> str:
        return self.get_full_name() or self.username


class FailedLogin(models.Model):
    """Failed log-ins for one name from one address, so that all workers count together. Not of the books: rows come and go."""

    who = models.CharField(max_length=64, primary_key=True, help_text="digest of name and address")
    count = models.PositiveIntegerField()
    since = models.DateTimeField(db_index=True, help_text="the first of them")

    def __str__(self) -> str:
        return f"{self.count} since {self.since}"
