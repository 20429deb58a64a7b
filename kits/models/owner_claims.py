"""What owners of engines claim, and every entry that was added to a claim. Nothing of it is ever changed."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from kits.domain.owner_claims import ANSWERS, CLOSED, OPENED_AGAIN, TAKEN_BACK


class OwnerClaim(models.Model):
    """The owner of an engine says that something of a job's work failed. As it was told; what is known later stands in entries."""

    act = models.OneToOneField("inventory.Act", models.PROTECT, related_name="+")
    engine = models.ForeignKey("kits.Engine", models.PROTECT, related_name="claims")
    job = models.ForeignKey("kits.Job", models.PROTECT, related_name="claims")
    told_on = models.DateField()
    told_by = models.CharField(
        max_length=80, help_text="owner, dealer, skipper, …: not a name, which stands with the owner alone"
    )
    what = models.TextField(help_text="what is wrong, in the words of who told it")
    photos = models.JSONField(default=list, help_text="where photographs are kept")
    term = models.JSONField(
        help_text="whether the day lay inside the term, as it was judged when the claim was entered"
    )
    asked = models.TextField(
        blank=True, help_text="what was asked about the meters; entered all the same, with the reason"
    )

    class Meta:
        permissions = [
            ("act_claim", "enter, answer and close claims of owners"),
            ("act_state_cause", "state the cause of a claim"),
        ]
        constraints = [
            models.CheckConstraint(name="claim_says_what_and_who", condition=~Q(what="") & ~Q(told_by="")),
        ]


class ClaimThing(models.Model):
    """A use position that a claim concerns, and what sat there, as far as it is known."""

    claim = models.ForeignKey(OwnerClaim, models.PROTECT, related_name="things")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    position = models.CharField(max_length=80, help_text="use position")
    item = models.ForeignKey(
        "inventory.Item", models.PROTECT, null=True, blank=True, db_index=False, related_name="+",
        help_text="empty: not known which it was",
    )  # fmt: skip
    what = models.TextField(blank=True, help_text="what is wrong with it")
    photo_ref = models.CharField(max_length=200, blank=True, help_text="where its photograph is kept; empty: none")


class ClaimThingWithdrawal(models.Model):
    """The claim does not concern that thing after all. It stays on record."""

    thing = models.OneToOneField(ClaimThing, models.PROTECT, primary_key=True, related_name="withdrawal")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    reason = models.TextField()

    class Meta:
        constraints = [models.CheckConstraint(name="claim_thing_withdrawal_says_why", condition=~Q(reason=""))]


class ClaimCause(models.Model):
    """Why it failed: by whose word, on what evidence. The newest of a claim counts."""

    claim = models.ForeignKey(OwnerClaim, models.PROTECT, related_name="causes")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    instead_of = models.OneToOneField("self", models.PROTECT, null=True, blank=True, related_name="replaced_by")
    cause = models.TextField()
    found_by = models.CharField(max_length=80, help_text="who found it: a log-in, a laboratory")
    evidence = models.TextField(help_text="what it rests on")
    oil_sample = models.CharField(max_length=60, blank=True, help_text="its number; empty: none was taken")
    coolant_sample = models.CharField(max_length=60, blank=True, help_text="its number; empty: none was taken")

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="claim_cause_says_who_and_why", condition=~Q(cause="") & ~Q(found_by="") & ~Q(evidence="")
            ),
        ]


class ClaimAnswer(models.Model):
    """What the owner is told: accepted, refused, in part. The newest of a claim counts."""

    claim = models.ForeignKey(OwnerClaim, models.PROTECT, related_name="answers")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    instead_of = models.OneToOneField("self", models.PROTECT, null=True, blank=True, related_name="replaced_by")
    answer = models.CharField(max_length=10, choices=[(word, word) for word in ANSWERS])
    reason = models.TextField()

    class Meta:
        constraints = [models.CheckConstraint(name="claim_answer_says_why", condition=~Q(reason=""))]


class ClaimEnd(models.Model):
    """The claim was closed or taken back, or opened again. The newest says how it stands."""

    claim = models.ForeignKey(OwnerClaim, models.PROTECT, related_name="ends")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    what = models.CharField(max_length=12, choices=[(word, word) for word in (CLOSED, TAKEN_BACK, OPENED_AGAIN)])
    cause = models.ForeignKey(ClaimCause, models.PROTECT, null=True, blank=True, db_index=False, related_name="+")
    answer = models.ForeignKey(ClaimAnswer, models.PROTECT, null=True, blank=True, db_index=False, related_name="+")
    reason = models.TextField(blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="claim_closed_with_cause_and_answer",
                condition=Q(what=CLOSED, cause__isnull=False, answer__isnull=False)
                | (~Q(what=CLOSED) & Q(cause__isnull=True, answer__isnull=True) & ~Q(reason="")),
            ),
        ]
