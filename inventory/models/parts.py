"""The catalogue: parts, what replaces them, what kits hold, who sells them."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

from inventory.domain.items import Base, Tracked
from inventory.domain.product_sheets import CURES
from inventory.domain.rubber import Lubricant
from inventory.models.looks import Look


class Supplier(models.Model):
    """Who sells parts."""

    code = models.CharField(max_length=40, unique=True)
    name = models.CharField(max_length=200)
    facts = models.JSONField(
        default=dict, help_text="lead times, least order, price breaks, as the parts manager notes them"
    )
    send_back_days = models.PositiveIntegerField(
        null=True,
        blank=True,
        help_text="how long an old unit may stay here before it is sent back, unless its part says otherwise",
    )

    def __str__(self) -> str:
        return self.code


class Part(models.Model):
    """What can be bought, held and fitted. Amounts of a part are whole numbers of `base`."""

    number = models.CharField(max_length=60, unique=True, help_text="as printed by the maker")
    shop_number = models.CharField(max_length=60, blank=True)
    compare_key = models.CharField(max_length=60, db_index=True)
    name = models.CharField(max_length=200)
    kind = models.CharField(max_length=40, help_text="empty kind is 'to be sorted': it cannot be issued")
    unit = models.CharField(max_length=3, help_text="UN/CEFACT Recommendation 20 or 21 code")
    base = models.CharField(max_length=12, choices=[(base.value, base.value) for base in Base])
    tracked_by = models.CharField(max_length=8, choices=[(tracked.value, tracked.value) for tracked in Tracked])
    life = models.JSONField(default=dict, help_text="shelf-life rule; {} for none")
    compound = models.CharField(max_length=20, blank=True)
    lubricant = models.CharField(
        max_length=20,
        blank=True,
        choices=[(one.value, one.value) for one in Lubricant],
        help_text="what it is to rubber, for parts that rubber is fitted with",
    )
    ring = models.JSONField(
        default=dict, help_text="size, inside diameter and section in mm as text, shape; {} for none"
    )
    label_window = models.JSONField(
        default=dict, help_text="of a matched set: what its label may say and be believed; {} for anything"
    )
    weight_mg = models.BigIntegerField(null=True, blank=True)
    packed_ul = models.BigIntegerField(null=True, blank=True, help_text="what one takes up in a tray, in its wrapping")
    pack = models.PositiveIntegerField(default=1)
    loose_issue = models.BooleanField(default=True, help_text="may leave the shelf in less than a whole pack")
    price_coins = models.BigIntegerField(null=True, blank=True)
    density_mg_per_ml = models.PositiveIntegerField(null=True, blank=True)
    net_ul = models.BigIntegerField(null=True, blank=True, help_text="content of one closed tube, tin or bottle")
    empty_mg = models.BigIntegerField(null=True, blank=True)
    hazard_note = models.TextField(blank=True)
    storage_note = models.TextField(blank=True)
    storage = models.JSONField(
        default=dict, help_text="class, low, high, group, apart_from of its storage; {} for nothing stated"
    )
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = [
            models.CheckConstraint(name="part_compare_key_not_empty", condition=~Q(compare_key="")),
            models.CheckConstraint(name="part_pack_positive", condition=Q(pack__gte=1)),
            models.CheckConstraint(
                name="part_serials_are_pieces",
                condition=~Q(tracked_by__in=["serial", "set"]) | Q(base="piece"),
            ),
        ]
        indexes = [models.Index(Look("compare_key"), name="part_by_look")]

    def __str__(self) -> str:
        return self.number


class SealantSheet(models.Model):
    """A product sheet of a sealant, by revision, as it was read from the sheet that came with the product; never changed.

    It holds from the moment of its act on. `entries` are the rows of its table in whole millikelvin, tenths of a percent of
    humidity and seconds; [] where the sheet has none, as for a film that does not skin.
    """

    part = models.ForeignKey(Part, models.PROTECT, related_name="sheets", db_index=False)
    revision = models.PositiveIntegerField()
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    edition = models.CharField(max_length=200, help_text="which sheet, its edition and page")
    cures_by = models.CharField(max_length=40, choices=[(one, one) for one in CURES])
    density_mg_per_ml = models.PositiveIntegerField(null=True, blank=True)
    open_days = models.PositiveIntegerField(null=True, blank=True)
    entries = models.JSONField(default=list)
    sensor_safe = models.BooleanField(null=True, help_text="harms no sensors; null: the sheet is silent")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["part", "revision"], name="sheet_revision_once")]


class SheetReading(models.Model):
    """A person signed that they have read a sheet."""

    sheet = models.ForeignKey(SealantSheet, models.PROTECT, related_name="readings", db_index=False)
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, db_index=False, related_name="+")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["sheet", "person"], name="sheet_read_once")]


class SafetySheet(models.Model):
    """Where the safety data sheet of a chemical is, by revision; never changed. It holds from the moment of its act on."""

    part = models.ForeignKey(Part, models.PROTECT, related_name="safety_sheets", db_index=False)
    revision = models.PositiveIntegerField()
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    link = models.CharField(max_length=500, help_text="an address, or where it hangs")
    issued_on = models.DateField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["part", "revision"], name="safety_sheet_revision_once"),
            models.CheckConstraint(name="safety_sheet_is_somewhere", condition=~Q(link="")),
        ]


class SafetySheetReading(models.Model):
    """A person signed that they have read a safety data sheet."""

    sheet = models.ForeignKey(SafetySheet, models.PROTECT, related_name="readings", db_index=False)
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, db_index=False, related_name="+")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["sheet", "person"], name="safety_sheet_read_once")]


class PartPhoto(models.Model):
    """Where a photo of a part is kept, by revision: the newest counts, for a person to compare with what is in the hand."""

    part = models.ForeignKey(Part, models.PROTECT, related_name="photos", db_index=False)
    revision = models.PositiveIntegerField()
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    link = models.CharField(max_length=500, help_text="an address, or where it hangs")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["part", "revision"], name="photo_revision_once"),
            models.CheckConstraint(name="photo_is_somewhere", condition=~Q(link="")),
        ]


class PartAtSite(models.Model):
    """One row for each part at each site: what is locked when stock there gets scarcer."""

    part = models.ForeignKey(Part, models.PROTECT, db_index=False)
    site = models.ForeignKey("inventory.Site", models.PROTECT, db_index=False)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["part", "site"], name="part_once_at_site")]


class SupplierPart(models.Model):
    """What a supplier sells, under which number, in which packs."""

    supplier = models.ForeignKey(Supplier, models.PROTECT, db_index=False)
    part = models.ForeignKey(Part, models.PROTECT, related_name="sold_by")
    number = models.CharField(max_length=60, blank=True)
    pack = models.PositiveIntegerField(default=1)
    least_order = models.PositiveIntegerField(default=1)
    price_coins = models.BigIntegerField(null=True, blank=True)
    lead_days = models.PositiveIntegerField(null=True, blank=True)
    express_days = models.PositiveIntegerField(null=True, blank=True, help_text="sent fast; empty: it is not")
    express_coins = models.BigIntegerField(null=True, blank=True, help_text="what a fast delivery costs more")
    send_back_days = models.PositiveIntegerField(
        null=True, blank=True, help_text="how long the old unit of this part may stay here before it is sent back"
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["supplier", "part"], name="supplier_sells_part_once"),
            models.CheckConstraint(
                name="supplier_part_express_has_price",
                condition=Q(express_days__isnull=True, express_coins__isnull=True)
                | Q(express_days__isnull=False, express_coins__isnull=False, express_coins__gte=0),
            ),
        ]


class Replacement(models.Model):
    """One line of a replacement notice: old number, how it is replaced, on which condition, what becomes of old stock."""

    class Way(models.TextChoices):
        ONE_WAY = "one way"
        BOTH_WAYS = "both ways"
        ONE_TO_SEVERAL = "one to several"

    class Fate(models.TextChoices):
        USE_UP = "use up"
        USE_BELOW = "use only below a number"
        WITHDRAWN = "withdrawn"

    old = models.ForeignKey(Part, models.PROTECT, related_name="replacements")
    way = models.CharField(max_length=16, choices=Way.choices)
    fate = models.CharField(max_length=24, choices=Fate.choices, default=Fate.USE_UP)
    engine_below = models.CharField(max_length=40, blank=True, help_text="old part only in engines below this number")
    engine_from = models.CharField(max_length=40, blank=True, help_text="replacement only in engines from this number")
    no_mix_on = models.CharField(
        max_length=8, blank=True, help_text='"engine" or "bank": not mixed there; empty: may be mixed'
    )
    condition = models.TextField(blank=True)
    noted_on = models.DateField(null=True, blank=True)
    withdrawn = models.BooleanField(default=False, help_text="this line no longer counts")


class ReplacementPart(models.Model):
    """The new parts of a replacement line; all of them or none. One old is `numerator/denominator` new."""

    replacement = models.ForeignKey(Replacement, models.PROTECT, related_name="news")
    part = models.ForeignKey(Part, models.PROTECT, related_name="replaces")
    numerator = models.PositiveIntegerField(default=1)
    denominator = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["replacement", "part"], name="replacement_names_part_once"),
            models.CheckConstraint(
                name="replacement_ratio_positive", condition=Q(numerator__gte=1) & Q(denominator__gte=1)
            ),
        ]


class ReplacementCompanion(models.Model):
    """A part of a replacement line, old or new, that is used only with so many pieces of another."""

    replacement = models.ForeignKey(Replacement, models.PROTECT, related_name="companions", db_index=False)
    part = models.ForeignKey(Part, models.PROTECT, related_name="+")
    needs = models.ForeignKey(Part, models.PROTECT, db_index=False, related_name="+")
    pieces = models.PositiveIntegerField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["replacement", "part", "needs"], name="companion_named_once"),
            models.CheckConstraint(name="companion_pieces_positive", condition=Q(pieces__gte=1)),
            models.CheckConstraint(name="companion_is_another", condition=~Q(part=models.F("needs"))),
        ]


class KitRevision(models.Model):
    """What a kit holds, frozen by revision: a changed kit is a new revision, boxes on the shelf keep the old. A kit that holds a
    changed one is changed with it.
    """

    kit = models.ForeignKey(Part, models.PROTECT, related_name="kit_revisions", db_index=False)
    revision = models.PositiveIntegerField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["kit", "revision"], name="kit_revision_once")]


class KitContent(models.Model):
    """One line of a kit revision, in whole base units of the content."""

    revision = models.ForeignKey(KitRevision, models.PROTECT, related_name="contents", db_index=False)
    part = models.ForeignKey(Part, models.PROTECT, related_name="inside_kits")
    amount = models.PositiveIntegerField()
    inside = models.ForeignKey(
        KitRevision,
        models.PROTECT,
        null=True,
        blank=True,
        db_index=False,
        related_name="packed_in",
        help_text="what it holds itself, if it is a kit; empty: it is none, or was not on record as one",
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["revision", "part"], name="kit_content_once"),
            models.CheckConstraint(name="kit_content_positive", condition=Q(amount__gte=1)),
        ]


class PartJoin(models.Model):
    """Two records of one number: which of them is kept. Nothing is moved and no row of either is changed.

    The two serve for each other by `notice`, a line that says so both ways; the join stands as long as that line counts.
    """

    act = models.OneToOneField("inventory.Act", models.PROTECT, primary_key=True, related_name="+")
    joined = models.ForeignKey(Part, models.PROTECT, related_name="joins")
    kept = models.ForeignKey(Part, models.PROTECT, related_name="joined_here")
    notice = models.OneToOneField(Replacement, models.PROTECT, related_name="join")

    class Meta:
        constraints = [models.CheckConstraint(name="join_of_two_records", condition=~Q(joined=models.F("kept")))]
