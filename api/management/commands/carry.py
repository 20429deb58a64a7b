"""`manage.py carry`: stock value carried forward up to the day before yesterday, every night, so that what reads it need not go over
everything that ever happened."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from inventory.queries.days import shop_day
from inventory.services.value_points import carry_forward


class Command(BaseCommand):
    """Exit code 0, also where there was nothing to carry."""

    help = "Carry stock value forward, so that it is read quickly in a shop of any age; what it comes to is unchanged."

    def handle(self, *args: Any, **options: Any) -> None:
        """Moment by moment, each in a transaction of its own: stopped half-way, what was carried stays."""
        today = shop_day(timezone.now())
        carried = 0
        while (upto := carry_forward(actor=None, today=today)) is not None:
            carried += 1
            self.stdout.write(f"carried forward to the end of {shop_day(upto)}")
        self.stdout.write(f"{carried} moments were carried forward")
