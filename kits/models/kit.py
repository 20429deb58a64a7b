"""What was promised, picked, handed over, fitted, reused and left over for a job."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import F, Q


class PickList(models.Model):
    """One printed list of a job, frozen: the lines in order of work with their becauses, as they stood when it was held."""

    job = models.ForeignKey("kits.Job", models.PROTECT, related_name="pick_lists")
    act = models.OneToOneField("inventory.Act", models.PROTECT, related_name="pick_list")
    number = models.PositiveIntegerField(help_text="first list of the job is 1")
    document = models.JSONField()
    last_tray = models.PositiveIntegerField(default=0, help_text="trays are numbered on over the lists of a job")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["job", "number"], name="pick_list_once")]


class JobHold(models.Model):
    """Which use positions of which job a hold serves."""

    hold = models.OneToOneField("inventory.Hold", models.PROTECT, primary_key=True, related_name="job_hold")
    job = models.ForeignKey("kits.Job", models.PROTECT, related_name="holds")
    pick_list = models.ForeignKey(PickList, models.PROTECT, null=True, blank=True, related_name="holds")
    wanted = models.ForeignKey(
        "inventory.Part", models.PROTECT, db_index=False, related_name="+", help_text="part the list asks for"
    )
    positions = models.JSONField(default=list, help_text="[use position, make, amount] for each position it serves")
    on_approval = models.BooleanField(
        default=False, help_text="one of several candidates: released when another is chosen"
    )
    tray = models.PositiveIntegerField(default=0, help_text="of the cart, the first that its line lies in; 0: none")
    line = models.PositiveIntegerField(default=0, help_text="order on the list")


class SecondLook(models.Model):
    """Somebody else than the picker looked at a picked line; a wrong one went back to its bin in the same act."""

    hold = models.OneToOneField(JobHold, models.PROTECT, primary_key=True, related_name="second_look")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    wrong = models.TextField(blank=True, help_text="what is wrong with it; empty: it is what the list asks for")


class Handover(models.Model):
    """The cart went to the bench: signed by both, with the missing lines named."""

    pick_list = models.ForeignKey(PickList, models.PROTECT, related_name="handovers")
    act = models.OneToOneField("inventory.Act", models.PROTECT, related_name="handover")
    received_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, db_index=False, related_name="+")
    missing = models.JSONField(default=list)


class BinToCount(models.Model):
    """The books have at this spot what nobody found there for a job: to be counted. A later count of the thing there clears it."""

    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    pick_list = models.ForeignKey(PickList, models.PROTECT, db_index=False, related_name="+")
    item = models.ForeignKey("inventory.Item", models.PROTECT, db_index=False, related_name="+")
    spot = models.ForeignKey("inventory.Spot", models.PROTECT, db_index=False, related_name="+")
    why = models.TextField()

    class Meta:
        constraints = [models.CheckConstraint(name="bin_to_count_says_why", condition=~Q(why=""))]


class ToolLoan(models.Model):
    """A special tool lent with a cart; counted back by a row of its own."""

    job = models.ForeignKey("kits.Job", models.PROTECT, related_name="tool_loans")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    site = models.ForeignKey("inventory.Site", models.PROTECT, db_index=False, related_name="+")
    tool = models.CharField(max_length=80)


class ToolBack(models.Model):
    """The tool was counted back."""

    loan = models.OneToOneField(ToolLoan, models.PROTECT, primary_key=True, related_name="back")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")


class CribTool(models.Model):
    """How many of a special tool the tool crib of a site has."""

    site = models.ForeignKey("inventory.Site", models.PROTECT, db_index=False, related_name="tools")
    tool = models.CharField(max_length=80)
    count = models.PositiveIntegerField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["site", "tool"], name="crib_tool_once")]


class Extra(models.Model):
    """One more, asked in mid-job, always with a reason from the short list."""

    class Reason(models.TextChoices):
        FOUND = "found after strip"
        DAMAGED = "damaged in fitting"
        WRONG = "wrong on list"
        DROPPED = "dropped"
        LOST = "lost"
        SERVICE = "due after first run"

    job = models.ForeignKey("kits.Job", models.PROTECT, related_name="extras")
    act = models.OneToOneField("inventory.Act", models.PROTECT, related_name="extra")
    part = models.ForeignKey("inventory.Part", models.PROTECT, db_index=False, related_name="+")
    amount = models.BigIntegerField()
    reason = models.CharField(max_length=20, choices=Reason.choices)
    positions = models.JSONField(default=list)

    class Meta:
        constraints = [models.CheckConstraint(name="extra_amount_positive", condition=Q(amount__gt=0))]


class ExtraFinding(models.Model):
    """An extra was found after strip, and its parts line names this finding: it counts as found on the job."""

    extra = models.ForeignKey(Extra, models.PROTECT, related_name="findings", db_index=False)
    code = models.CharField(max_length=60)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["extra", "code"], name="extra_finding_once")]


class Found(models.Model):
    """A part found in the engine at strip: identity as far as known, size, condition, whose it is."""

    job = models.ForeignKey("kits.Job", models.PROTECT, related_name="found")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    item = models.ForeignKey("inventory.Item", models.PROTECT, related_name="found")
    position = models.CharField(max_length=80)
    known = models.BooleanField(help_text='false: "found, not known", never a stock number')
    size = models.CharField(max_length=60, blank=True)
    condition = models.CharField(max_length=200, blank=True)
    whose = models.CharField(max_length=8, choices=[("customer", "customer"), ("shop", "shop")])


class Fitting(models.Model):
    """An item went into a use position: fitted by one, checked by another."""

    job = models.ForeignKey("kits.Job", models.PROTECT, related_name="fittings")
    act = models.ForeignKey("inventory.Act", models.PROTECT, related_name="fittings")
    item = models.ForeignKey("inventory.Item", models.PROTECT, related_name="fittings")
    spot = models.ForeignKey("inventory.Spot", models.PROTECT, related_name="+")
    amount = models.BigIntegerField()
    make = models.PositiveIntegerField(default=1, help_text="how many times the joint was made")
    reused = models.BooleanField(default=False)
    instead_of = models.ForeignKey(
        "inventory.Part", models.PROTECT, null=True, blank=True, related_name="+", db_index=False,
        help_text="the listed part that a new one stands in for; null: it is what was listed",
    )  # fmt: skip
    lubricant = models.CharField(
        max_length=20, blank=True, help_text="what the rubber was fitted with; empty: not said"
    )
    clock_deg = models.PositiveSmallIntegerField(
        null=True,
        blank=True,
        help_text="angle of an old part's mark as it went in; of a new set: how far it was turned, clockwise seen from the head",
    )
    side = models.CharField(max_length=60, blank=True, help_text="side of an old cap's number as it went in")
    doubtful = models.TextField(
        blank=True,
        help_text="what nobody could show about an old part: a missing mark, a lost place; how a liner went in otherwise than judged",
    )
    fitter = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+", db_index=False)
    checker = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+", db_index=False
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="fitting_checker_is_another", condition=Q(checker__isnull=True) | ~Q(checker=F("fitter"))
            ),
            models.CheckConstraint(name="fitting_amount_positive", condition=Q(amount__gt=0)),
        ]

    @property
    def first_recorded(self) -> int:
        """The act that first recorded it, before it was corrected what that was: what was seen since was seen of this thing.
        One query, unless read with `corrects`."""
        corrects = getattr(self, "corrects", None)
        return self.act_id if corrects is None else corrects.since_id


class FittingCorrection(models.Model):
    """What was recorded as fitted was not what went in: `fitting` counts for nothing, `right` and `rest` say what did.

    since  the act by which a fitting there was first recorded
    right  the thing that really went in; rest: what of the recorded one went in all the same, where only some of it was another
    """

    fitting = models.OneToOneField(Fitting, models.PROTECT, primary_key=True, related_name="correction")
    act = models.OneToOneField("inventory.Act", models.PROTECT, related_name="fitting_correction")
    since = models.ForeignKey("inventory.Act", models.PROTECT, related_name="+", db_index=False)
    right = models.OneToOneField(Fitting, models.PROTECT, related_name="corrects")
    rest = models.OneToOneField(Fitting, models.PROTECT, null=True, blank=True, related_name="+")


class Removal(models.Model):
    """An item came out of a use position; the position is kept, so it can go back where it came from."""

    job = models.ForeignKey("kits.Job", models.PROTECT, related_name="removals")
    act = models.ForeignKey("inventory.Act", models.PROTECT, related_name="removals")
    item = models.ForeignKey("inventory.Item", models.PROTECT, related_name="removals")
    spot = models.ForeignKey("inventory.Spot", models.PROTECT, related_name="+", help_text="where our records had it")
    to_bench = models.BooleanField(default=True, help_text="it lies at the bench and may go back; else it left the job")
    reason = models.TextField(blank=True)
    amount = models.BigIntegerField()
    tag = models.CharField(max_length=60, blank=True, help_text="text of the tag tied to it; one of a kind on its job")
    clock_deg = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="angle of its mark as it stood: 0, 90, 180 or 270"
    )
    side = models.CharField(max_length=60, blank=True, help_text="side on which its number stood, for caps")
    looked = models.CharField(max_length=20, blank=True, help_text="of a ring: whole, rolled or cut; empty: not said")


class LostPosition(models.Model):
    """Nobody knows any more where a removed part came from: taken out without its place, or mixed up at the bench."""

    removal = models.ForeignKey(Removal, models.PROTECT, related_name="lost")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    reason = models.TextField()

    class Meta:
        constraints = [models.CheckConstraint(name="lost_position_says_why", condition=~Q(reason=""))]


class OriginWord(models.Model):
    """The maker's word, entered by the parts manager, that a part of unknown place may go into a position."""

    job = models.ForeignKey("kits.Job", models.PROTECT, related_name="origin_words")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    item = models.ForeignKey("inventory.Item", models.PROTECT, db_index=False, related_name="+")
    position = models.CharField(max_length=80)
    word = models.TextField(help_text="who said it, where it is written")

    class Meta:
        constraints = [models.CheckConstraint(name="origin_word_says_what", condition=~Q(word=""))]


class Inspection(models.Model):
    """A part looked at against its limit before it is used again."""

    job = models.ForeignKey("kits.Job", models.PROTECT, related_name="inspections")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    position = models.CharField(max_length=80, help_text="where it goes back")
    item = models.ForeignKey("inventory.Item", models.PROTECT, null=True, blank=True, db_index=False, related_name="+")
    limit = models.CharField(max_length=200)
    result = models.CharField(max_length=200)
    gauge = models.ForeignKey("kits.Gauge", models.PROTECT, null=True, blank=True, db_index=False, related_name="+")
    good = models.BooleanField()


class NotNeeded(models.Model):
    """A listed position that gets nothing, and why."""

    job = models.ForeignKey("kits.Job", models.PROTECT, related_name="not_needed")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    position = models.CharField(max_length=80)
    because = models.TextField()

    class Meta:
        constraints = [models.CheckConstraint(name="not_needed_says_why", condition=~Q(because=""))]
