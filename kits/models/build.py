"""What was checked on a built engine, its leak test and first run, what followed, and who checks at a site. Written once."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q


class PistonCheck(models.Model):
    """One piston looked at by a second person after it was fitted: which items were good."""

    job = models.ForeignKey("kits.Job", models.PROTECT, related_name="piston_checks")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    position = models.CharField(max_length=80, help_text="use position of the set")
    items = models.JSONField(help_text="items of the family's list that were seen good")
    note = models.TextField(blank=True)


class HeightLetBe(models.Model):
    """A liner may be closed over with a doubtful height or none on record, by the word of somebody who may say so. It is of this fitting
    alone."""

    job = models.ForeignKey("kits.Job", models.PROTECT, related_name="heights_let_be")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    fitting = models.ForeignKey("kits.Fitting", models.PROTECT, db_index=False, related_name="+")
    result = models.ForeignKey(
        "kits.MeasuredResult", models.PROTECT, null=True, blank=True, db_index=False, related_name="+",
        help_text="the doubtful one that is taken as it is; empty: no height is on record",
    )  # fmt: skip
    reason = models.TextField()

    class Meta:
        permissions = [("act_let_height_be", "let a liner be with a doubtful height, or with none on record")]
        constraints = [models.CheckConstraint(name="height_let_be_says_why", condition=~Q(reason=""))]


class LeakTest(models.Model):
    """A pressure test of the water jacket before the sump goes on."""

    job = models.ForeignKey("kits.Job", models.PROTECT, related_name="leak_tests")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    pressure_pa = models.BigIntegerField()
    held_s = models.BigIntegerField()
    drop_pa = models.BigIntegerField()
    temperature_mk = models.BigIntegerField()
    typed = models.JSONField(help_text="pressure, time, drop and temperature as they were typed")
    wet = models.JSONField(default=list, help_text="use positions below which water was seen")
    good = models.BooleanField()
    why = models.JSONField(default=list, help_text="what speaks against it")

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="leak_test_not_negative",
                condition=Q(pressure_pa__gte=0, held_s__gte=0, drop_pa__gte=0, temperature_mk__gte=0),
            )
        ]


class LeakTestRing(models.Model):
    """A ring of a liner as it stood in its groove when the water jacket was tested."""

    test = models.ForeignKey(LeakTest, models.PROTECT, related_name="rings")
    item = models.ForeignKey("inventory.Item", models.PROTECT, related_name="+")
    position = models.CharField(max_length=80, help_text="use position; the name in it is the groove")
    amount = models.BigIntegerField()
    lubricant = models.CharField(max_length=60, blank=True, help_text="what it was fitted with; empty: nobody said")
    leaked = models.BooleanField(help_text="it was wet below its liner: the ring is scrap")


class FirstRun(models.Model):
    """The first run of the built engine; released by somebody who may check, when every value is good."""

    job = models.ForeignKey("kits.Job", models.PROTECT, related_name="first_runs")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    run_on = models.DateField()
    values = models.JSONField(help_text="name, typed, base units, good, why")
    leaks = models.TextField(blank=True, help_text="where it leaked; empty: nowhere")
    good = models.BooleanField()
    early = models.JSONField(default=list, help_text="joints whose sealant had not cured by its sheet, with the moment")
    signed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, db_index=False, related_name="+"
    )
    because = models.TextField(blank=True, help_text="why it ran early")
    released_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, db_index=False, related_name="+"
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="first_run_released_when_good", condition=Q(released_by__isnull=True) | Q(good=True)
            ),
            models.CheckConstraint(
                name="first_run_early_is_signed", condition=Q(early=[]) | (Q(signed_by__isnull=False) & ~Q(because=""))
            ),
        ]


class AfterRunDone(models.Model):
    """Work that fell due after the first run was done."""

    job = models.ForeignKey("kits.Job", models.PROTECT, related_name="after_run_done")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    what = models.CharField(max_length=200)
    done_on = models.DateField()
    note = models.TextField(blank=True)


class CheckerDuty(models.Model):
    """Who checks at a site, as it was said by one act; the newest act's rows count."""

    site = models.ForeignKey("inventory.Site", models.PROTECT, related_name="checkers")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, db_index=False, related_name="+")
    weekdays = models.JSONField(default=list, help_text="0 is Monday; empty for who stands in")
    stands_in = models.BooleanField(default=False)


class PhotoLook(models.Model):
    """What was fitted was looked at by another person, with a photo; the newest since the fitting counts."""

    job = models.ForeignKey("kits.Job", models.PROTECT, related_name="photo_looks")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    what = models.CharField(max_length=200, help_text="as the family's list has it")
    position = models.CharField(max_length=80)
    photo_ref = models.CharField(max_length=200, help_text="where the photo is kept")
    good = models.BooleanField()
    note = models.TextField(blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(name="photo_look_has_its_photo", condition=~Q(photo_ref="")),
            models.CheckConstraint(name="photo_look_says_what_is_wrong", condition=Q(good=True) | ~Q(note="")),
        ]
