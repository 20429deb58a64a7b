"""The header of every write, what it answered, and what was refused. None of these rows ever changes."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q


class Act(models.Model):
    """Who did what, true since when, known since when. At once audit row, event and act sent later from a device."""

    key = models.UUIDField(unique=True, help_text="made by the caller: the same key is the same act")
    kind = models.CharField(max_length=40)
    actor = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="acts")
    occurred_at = models.DateTimeField(db_index=True, help_text="true since")
    recorded_at = models.DateTimeField(db_index=True, help_text="known since")
    device = models.CharField(max_length=80, blank=True)
    device_at = models.DateTimeField(null=True, blank=True)
    place = models.ForeignKey("inventory.Place", models.PROTECT, null=True, blank=True)
    subject = models.CharField(
        max_length=80, blank=True, db_index=True, help_text="job number or other name it concerns"
    )
    reason = models.TextField(blank=True)
    request_hash = models.CharField(max_length=64)
    corrects = models.OneToOneField("self", models.PROTECT, null=True, blank=True, related_name="corrected_by")

    #: While it is written: whether it laid anything on a shelf.
    laid_on_shelf = False

    class Meta:
        permissions = [
            ("act_catalogue", "enter and change parts, replacements, kits and suppliers"),
            ("act_order", "order from suppliers, enter what they promise, close what will not come"),
            ("act_receive", "receive deliveries, reject of them, send goods back to suppliers"),
            ("act_import", "bring in tables: keep, read, answer and book them"),
            ("act_certificate", "enter certificates and lay them beside lots"),
            ("act_inspect_lot", "inspect samples of delivered lots"),
            ("act_credit", "enter what suppliers credited, or refused"),
            ("act_invoice", "enter what suppliers charged for what they had delivered"),
            ("act_transfer", "carry stock between shelves and into quarantine, send it to another site"),
            ("act_take_transfer", "sign for what came from another site"),
            ("act_explain_transfer", "say what became of what did not come from another site"),
            ("act_sell", "sell at the counter, take back what was sold"),
            ("act_enter_owner", "enter an owner, or a buyer at the counter"),
            ("act_owner", "change owners, and whose an engine is"),
            ("act_see_owner", "read the personal data of owners"),
            ("act_use_here", "use up stock in the workshop"),
            ("act_mark_demand", "mark months of a part's demand as exceptional"),
            ("act_release_quarantine", "release from quarantine"),
            ("act_count", "count"),
            ("act_recount", "count again, as a second person, what was counted off"),
            ("act_keep", "keep one piece of each lot back"),
            ("act_write_off", "write off stock"),
            ("act_break_set", "record that a matched set is broken"),
            ("act_core_value", "decide what a broken set is worth as a core"),
            ("act_old_unit", "take in old units, tag them, send them back"),
            ("act_deposit", "enter deposits, what was refunded of them, and what is lost"),
            ("act_open", "open kits and tubes"),
            ("act_assemble", "make up closed kits from loose stock"),
            ("act_sign_safety_sheet", "sign safety data sheets as read"),
            ("act_storage", "say what places offer, and keep the log of their temperatures"),
            ("act_stop", "stop lots and items"),
            ("act_free", "free stopped lots and items"),
            ("act_extend_life", "extend the shelf life of a lot"),
            ("act_set_dates", "put the dates of a lot, or the label of a set, right"),
            ("act_send_later", "send acts of a bench device later, each as far as one may do it"),
            ("act_answer_clash", "say which of two stories about one thing is true"),
            ("act_correct", "take an act back"),
        ]
        constraints = [
            models.CheckConstraint(name="act_kind_not_empty", condition=~Q(kind="")),
            models.CheckConstraint(
                name="act_not_from_the_future", condition=Q(occurred_at__lte=models.F("recorded_at"))
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.key}"


class Outcome(models.Model):
    """What the act answered. A repeated request gets this again."""

    act = models.OneToOneField(Act, models.PROTECT, primary_key=True, related_name="outcome")
    body = models.JSONField()


class Refusal(models.Model):
    """A rule said no: who tried what, when, and why not."""

    key = models.UUIDField(db_index=True)
    kind = models.CharField(max_length=40)
    actor = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="refusals")
    recorded_at = models.DateTimeField(db_index=True)
    subject = models.CharField(max_length=80, blank=True)
    code = models.CharField(max_length=60)
    message = models.TextField()
    values = models.JSONField(default=dict)
