"""Sealed joints: what was answered before the nozzle was cut, and the bead that was laid then."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import F, Q


class Gate(models.Model):
    """Every question before the nozzle is cut was answered yes: one bead may be laid in this joint. Never changed.

    tubes      [{"tube", "item", "weight_mg", "content_ul"}], the one to begin with first
    positions  [[use position, make on the list, microlitres]]
    """

    job = models.ForeignKey("kits.Job", models.PROTECT, related_name="gates")
    act = models.OneToOneField("inventory.Act", models.PROTECT, related_name="gate")
    joint = models.CharField(max_length=80)
    make = models.PositiveIntegerField(help_text="how many times the joint is made by this")
    part = models.ForeignKey("inventory.Part", models.PROTECT, db_index=False, related_name="+")
    sheet = models.ForeignKey(
        "inventory.SealantSheet", models.PROTECT, null=True, blank=True, db_index=False, related_name="+"
    )
    helper = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, db_index=False, related_name="+"
    )
    bolts = models.PositiveIntegerField()
    nozzle = models.CharField(max_length=80, blank=True)
    procedures = models.JSONField(default=list, help_text="codes of the procedures that close the joint on this job")
    tubes = models.JSONField()
    positions = models.JSONField()
    laid_ul = models.BigIntegerField()
    prime_ul = models.BigIntegerField()
    drawn_ul = models.BigIntegerField(help_text="planned draw: laid, waste and priming")
    temperature_mk = models.BigIntegerField(null=True, blank=True)
    humidity_permille = models.PositiveIntegerField(null=True, blank=True)
    needed_ms = models.BigIntegerField(null=True, blank=True)
    allowed_ms = models.BigIntegerField(null=True, blank=True, help_text="null: no sheet, or outside it")
    fill_after_s = models.PositiveIntegerField(null=True, blank=True)
    run_after_s = models.PositiveIntegerField(null=True, blank=True)
    signed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, db_index=False, related_name="+"
    )
    warnings = models.JSONField(default=list)

    class Meta:
        constraints = [
            models.CheckConstraint(name="gate_lays_something", condition=Q(laid_ul__gt=0)),
            models.CheckConstraint(name="gate_make_from_one", condition=Q(make__gte=1)),
        ]


class Bead(models.Model):
    """A bead was laid and the joint closed, or it ran over its time and was cleaned off. What was used is known by weight.

    tubes  [{"tube", "item", "before_mg", "after_mg", "drawn_ul"}] in the order used
    """

    gate = models.OneToOneField(Gate, models.PROTECT, primary_key=True, related_name="bead")
    act = models.OneToOneField("inventory.Act", models.PROTECT, related_name="bead")
    started_at = models.DateTimeField()
    ended_at = models.DateTimeField()
    helper = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, db_index=False, related_name="+"
    )
    tubes = models.JSONField()
    drawn_ul = models.BigIntegerField()
    over = models.BooleanField(help_text="over its time: cleaned off, to be made again")
    fill_from = models.DateTimeField(null=True, blank=True, help_text="null: no sheet, or outside it")
    run_from = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(name="bead_ends_not_before_start", condition=Q(ended_at__gte=F("started_at"))),
            models.CheckConstraint(name="bead_draws_something", condition=Q(drawn_ul__gt=0)),
        ]
