"""Sites, places and their named spots."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from inventory.domain.places import BOOKS_ONLY, NO_SPOT, PlaceKind

BOOKS_ONLY_VALUES = sorted(kind.value for kind in BOOKS_ONLY)


class Site(models.Model):
    """One address of the shop."""

    code = models.CharField(max_length=20, unique=True)
    name = models.CharField(max_length=200)

    def __str__(self) -> str:
        return self.code


class Place(models.Model):
    """Where things stand: a shelf, a cart, a bench, an engine, the van; or one of the books' own places."""

    code = models.CharField(max_length=80, unique=True)
    name = models.CharField(max_length=200, blank=True)
    kind = models.CharField(max_length=20, choices=[(kind.value, kind.value) for kind in PlaceKind])
    real = models.BooleanField(help_text="a balance here may never be below zero")
    site = models.ForeignKey(Site, models.PROTECT, null=True, blank=True)
    walk_order = models.PositiveIntegerField(default=0, help_text="order in which the shelves are walked when picking")
    needed_on = models.DateField(
        null=True, blank=True, help_text="of a cart: the day of fitting as planned now, once it was moved"
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="place_real_follows_kind",
                condition=Q(real=False, kind__in=BOOKS_ONLY_VALUES) | (Q(real=True) & ~Q(kind__in=BOOKS_ONLY_VALUES)),
            ),
            models.CheckConstraint(
                name="place_stock_has_site",
                condition=Q(site__isnull=False)
                | ~Q(kind__in=[PlaceKind.SHELF.value, PlaceKind.CART.value, PlaceKind.BENCH.value]),
            ),
        ]

    def __str__(self) -> str:
        return self.code


class Spot(models.Model):
    """A named spot of a place; every place has the spot "-"."""

    place = models.ForeignKey(Place, models.PROTECT, db_index=False, related_name="spots")
    name = models.CharField(max_length=80, default=NO_SPOT)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["place", "name"], name="spot_once_in_place")]

    def __str__(self) -> str:
        return f"{self.place_id}@{self.name}"


class ShopSetting(models.Model):
    """One setting of the shop; what is not set here has the default of `inventory.queries.shop`."""

    name = models.CharField(max_length=40, unique=True)
    value = models.JSONField()
