"""People outside the shop: who owns engines, who buys at the counter."""

from __future__ import annotations

from django.db import models


class Owner(models.Model):
    """Who owns engines or what was bought at the counter. Personal data stands here, and with who signed for things given back
    (`GiveBack` of kits); every other row carries the number."""

    name = models.CharField(max_length=200)
    address = models.TextField(blank=True)
    telephone = models.CharField(max_length=60, blank=True)
    email = models.EmailField(blank=True)
    version = models.PositiveIntegerField(default=1)

    def __str__(self) -> str:
        return f"owner {self.pk}"
