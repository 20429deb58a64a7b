"""People who act. A login is a person; what a person may do hangs on groups."""

from __future__ import annotations

from django.contrib.auth.models import AbstractUser
from django.db import models


class Person(AbstractUser):
    """Somebody who works in the shop."""

    home_site = models.ForeignKey("inventory.Site", models.PROTECT, null=True, blank=True, db_index=False)

    def __str__(self) -> str:
        return self.get_full_name() or self.username
