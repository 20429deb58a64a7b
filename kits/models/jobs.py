"""Engines, whose they are, and the jobs done on them."""

from __future__ import annotations

from datetime import date

from django.conf import settings
from django.db import models
from django.db.models import F, Q


class Engine(models.Model):
    """One engine. The place that is this engine holds what is inside it, by use position."""

    number = models.CharField(max_length=40, unique=True)
    family = models.ForeignKey("kits.EngineFamily", models.PROTECT, related_name="engines")
    digits = models.BigIntegerField(help_text="the digits after the prefix, compared as a whole number")
    place = models.OneToOneField("inventory.Place", models.PROTECT, related_name="engine")
    owner = models.ForeignKey(
        "inventory.Owner",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="engines",
        help_text="now: the newest of `EngineOwner` by day",
    )
    field_modified = models.BooleanField(default=False, help_text="changed in the field: number ranges need a person")
    classed = models.BooleanField(
        default=False, help_text="under the rules of a class society: its owner agrees to substitutes"
    )

    def __str__(self) -> str:
        return self.number


class EngineOwner(models.Model):
    """An engine is somebody's from a day on; who that is stands with the owner alone. The newest counts, by day."""

    act = models.ForeignKey("inventory.Act", models.PROTECT, related_name="+")
    engine = models.ForeignKey(Engine, models.PROTECT, related_name="owners")
    owner = models.ForeignKey("inventory.Owner", models.PROTECT, related_name="+")
    since = models.DateField()


class Job(models.Model):
    """A rebuild job: what was booked on which engine, and how far it is."""

    class State(models.TextChoices):
        BOOKED = "booked"
        CLOSED = "closed"
        CANCELLED = "cancelled"

    number = models.CharField(max_length=40, unique=True)
    engine = models.ForeignKey(Engine, models.PROTECT, related_name="jobs")
    site = models.ForeignKey("inventory.Site", models.PROTECT, db_index=False, related_name="jobs")
    family_revision = models.ForeignKey(
        "kits.FamilyRevision", models.PROTECT, db_index=False, related_name="+",
        help_text="booked with it; or the newest that was taken over, each by a row of its own",
    )  # fmt: skip
    cart = models.OneToOneField("inventory.Place", models.PROTECT, related_name="job_of_cart")
    bench = models.OneToOneField("inventory.Place", models.PROTECT, related_name="job_of_bench")
    state = models.CharField(max_length=10, choices=State.choices, default=State.BOOKED)
    strip_on = models.DateField()
    fit_on = models.DateField(help_text="planned day of fitting: lots must be good beyond it")
    complaint = models.TextField(blank=True)
    note = models.TextField(blank=True)
    hours = models.DecimalField(max_digits=10, decimal_places=1, null=True, blank=True, help_text="meter at arrival")
    kilometres = models.PositiveIntegerField(null=True, blank=True, help_text="at arrival")
    booked_by = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    version = models.PositiveIntegerField(default=1)

    class Meta:
        permissions = [
            ("act_procedure", "enter families and procedures"),
            ("act_book", "book jobs"),
            ("act_finding", "record findings"),
            ("act_approve", "record the owner's word on extra work"),
            ("act_choose", "make an either/or or measured choice"),
            ("act_outside", "send work outside"),
            ("act_date", "move the day of fitting"),
            ("act_hold", "hold stock for a job"),
            ("act_release", "give up a hold"),
            ("act_ask_loan", "ask for what is held for another job"),
            ("act_answer_loan", "consent to lend what is held for a job"),
            ("act_lend", "lend what is held for a job to another"),
            ("act_pick", "pick"),
            ("act_hand_over", "hand a cart over"),
            ("act_ask_more", "ask for one more in mid-job"),
            ("act_find", "record parts found in an engine"),
            ("act_remove", "remove parts from an engine"),
            ("act_origin", "enter the maker's word on a part of unknown place"),
            ("act_inspect", "inspect parts to be used again"),
            ("act_fit", "fit parts"),
            ("act_check", "check what another fitted"),
            ("act_return", "return what is left"),
            ("act_overrule_return", "overrule the returns table"),
            ("act_scrap", "scrap on a job"),
            ("act_close", "close jobs"),
            ("act_cancel", "cancel jobs"),
            ("act_test_engine", "record leak tests, first runs and what follows them"),
            ("act_name_checker", "say who checks at a site"),
        ]
        constraints = [models.CheckConstraint(name="job_fitted_after_strip", condition=Q(fit_on__gte=F("strip_on")))]

    def __str__(self) -> str:
        return self.number

    def fit_day(self, on: date) -> date:
        """The earliest day on which it can be fitted, as of a day: the planned one, or that day once the planned one has passed."""
        return max(self.fit_on, on)


class JobOperation(models.Model):
    """A procedure revision booked on a job. `added_by` names the act: a booked operation, extra work added later, or a newer
    revision that was taken over: then the newest row of a procedure counts, at the place of its first."""

    job = models.ForeignKey(Job, models.PROTECT, related_name="operations", db_index=False)
    procedure_revision = models.ForeignKey("kits.ProcedureRevision", models.PROTECT, related_name="+")
    added_by = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["job", "procedure_revision"], name="operation_once_on_job")]


class JobFinding(models.Model):
    """What the strip (or the booking) found, at one place of the engine. Never changed; withdrawn by a row of its own."""

    job = models.ForeignKey(Job, models.PROTECT, related_name="findings")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    code = models.CharField(max_length=60)
    place = models.CharField(
        max_length=80, help_text="finding place: ENGINE, BANK-LEFT, CYL-2, VALVE-03, MAIN-1 or a use position"
    )
    extra_work = models.BooleanField(help_text="beyond the booked scope: waits for the owner's approval")
    note = models.TextField(blank=True)


class FindingWithdrawal(models.Model):
    """A finding that turned out wrong. The list shrinks; what was issued for it is to be returned."""

    finding = models.OneToOneField(JobFinding, models.PROTECT, primary_key=True, related_name="withdrawal")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    reason = models.TextField()


class Approval(models.Model):
    """The owner's word on extra work: who said it, how, up to what sum and how many hours. The newest answer for a finding counts."""

    job = models.ForeignKey(Job, models.PROTECT, related_name="approvals")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    approved = models.BooleanField()
    given_by = models.CharField(max_length=200, help_text="role of who answered: the name itself stands with the owner")
    how = models.CharField(max_length=60, help_text="telephone, letter, in person")
    limit_coins = models.BigIntegerField(null=True, blank=True)
    limit_s = models.PositiveIntegerField(
        null=True, blank=True, help_text="seconds of work; null: hours are not limited"
    )
    findings = models.ManyToManyField(JobFinding, related_name="approvals", blank=True)


class JobChoice(models.Model):
    """An either/or or measured choice made for a job; the newest for a choice and place counts.

    The choice `BORE` says which set (alternative: its serial) goes into which bore (place: a use position), and is marked for it;
    an empty place says that its mark was cleaned off.
    """

    BORE = "bore"

    job = models.ForeignKey(Job, models.PROTECT, related_name="choices")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    choice = models.CharField(max_length=60)
    place = models.CharField(
        max_length=80, blank=True, help_text="bank or position it is made for; empty: whole engine"
    )
    alternative = models.CharField(max_length=60)
    reason = models.TextField()


class JobDate(models.Model):
    """The planned day of fitting as it was moved: every change is a row, the job carries the newest."""

    job = models.ForeignKey(Job, models.PROTECT, related_name="dates")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    fit_on = models.DateField()
    reason = models.TextField(blank=True)


class JobEnd(models.Model):
    """The job was closed, or cancelled."""

    job = models.OneToOneField(Job, models.PROTECT, primary_key=True, related_name="end")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    cancelled = models.BooleanField(default=False)
    closed_on = models.DateField(
        null=True,
        blank=True,
        help_text="only of a job of the past that a table brought in: nothing of its work is recorded",
    )
    checker = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, db_index=False, related_name="+"
    )
    reason = models.TextField(blank=True)
