"""Acts that a device sent later and that were refused, kept as they came; two stories about one thing; what a person answered."""

from __future__ import annotations

from django.db import models
from django.db.models import Q


class LateAct(models.Model):
    """One act of a device that was refused when it was sent. It is taken once: sent again, it gets this answer again."""

    act = models.OneToOneField("inventory.Act", models.PROTECT, primary_key=True, related_name="late_act")
    key = models.UUIDField(unique=True, help_text="the act's own number, made by the device")
    kind = models.CharField(max_length=40)
    of = models.CharField(max_length=80, blank=True, help_text="job, pick list or other thing that it was about")
    body = models.JSONField(help_text="as it was sent")
    problem = models.JSONField(help_text="the answer: why not")


class Clash(models.Model):
    """A refused act was about a single thing of which another act, by another device, had told otherwise first: that one stands."""

    late = models.OneToOneField(LateAct, models.PROTECT, primary_key=True, related_name="clash")
    item = models.ForeignKey("inventory.Item", models.PROTECT, related_name="clashes")
    first = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")


class ClashAnswer(models.Model):
    """What a person found to be true, once; what follows from it is done by acts of its own."""

    act = models.OneToOneField("inventory.Act", models.PROTECT, primary_key=True, related_name="+")
    clash = models.OneToOneField(Clash, models.PROTECT, related_name="answer")
    second_is_right = models.BooleanField(help_text="false: the first story is true")
    words = models.TextField()

    class Meta:
        constraints = [models.CheckConstraint(name="clash_answer_has_words", condition=~Q(words=""))]
