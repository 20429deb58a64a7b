"""What a thing is: lots, serials, matched sets, opened tubes, and the item that joins them into one identity."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from inventory.domain.items import Base, Member, said
from inventory.domain.receiving import WEIGHED
from inventory.models.looks import Look


class Lot(models.Model):
    """One batch of a part. Its expiry and the rule that gave it are stored, because shelf-life standards disagree."""

    part = models.ForeignKey("inventory.Part", models.PROTECT, db_index=False, related_name="lots")
    code = models.CharField(max_length=60)
    compare_key = models.CharField(max_length=60)
    cure_code = models.CharField(max_length=20, blank=True)
    made_on = models.DateField(null=True, blank=True)
    printed_on = models.DateField(null=True, blank=True, help_text="use-by date as printed on the bag")
    expires_on = models.DateField(null=True, blank=True)
    expiry_rule = models.CharField(max_length=200, blank=True)
    extension_years = models.PositiveSmallIntegerField(
        default=0, help_text="what one inspection may add, by the rule that gave the expiry"
    )
    supplier = models.ForeignKey("inventory.Supplier", models.PROTECT, null=True, blank=True, db_index=False)
    received_on = models.DateField(null=True, blank=True)
    kit_revision = models.ForeignKey(
        "inventory.KitRevision",
        models.PROTECT,
        null=True,
        blank=True,
        db_index=False,
        help_text="for a lot of kits: what these boxes hold",
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["part", "code"], name="lot_once_in_part"),
            models.CheckConstraint(name="lot_compare_key_not_empty", condition=~Q(compare_key="")),
        ]
        indexes = [
            models.Index(fields=["compare_key", "part"], name="lot_by_key"),
            models.Index(Look("compare_key"), "part", name="lot_by_look"),
        ]

    def __str__(self) -> str:
        return self.code


class LotDates(models.Model):
    """The dates of a lot were put right or filled in by an act: one row of what stood before, one of what stands from then on."""

    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    lot = models.ForeignKey(Lot, models.PROTECT, related_name="dates")
    before = models.BooleanField()
    cure_code = models.CharField(max_length=20, blank=True)
    made_on = models.DateField(null=True, blank=True)
    printed_on = models.DateField(null=True, blank=True)
    expires_on = models.DateField(null=True, blank=True)
    expiry_rule = models.CharField(max_length=200, blank=True)


class LifeExtension(models.Model):
    """The storage life of a lot was extended after a named inspector had passed a sample. Once is all, unless it was taken back."""

    act = models.OneToOneField("inventory.Act", models.PROTECT, primary_key=True, related_name="+")
    lot = models.ForeignKey(Lot, models.PROTECT, related_name="extensions")
    before = models.DateField()
    before_rule = models.CharField(max_length=200, blank=True, help_text="by which rule the life ran before")
    after = models.DateField()
    sample_pieces = models.PositiveIntegerField()
    found = models.TextField(help_text="what the inspection found")

    class Meta:
        constraints = [
            models.CheckConstraint(name="life_extension_is_longer", condition=Q(after__gt=models.F("before"))),
            models.CheckConstraint(name="life_extension_has_sample", condition=Q(sample_pieces__gte=1)),
        ]


class InnerLot(models.Model):
    """A closed kit's inner bag: the lot printed on it. The kit's own lot is never taken as the content's lot."""

    kit_lot = models.ForeignKey(Lot, models.PROTECT, related_name="inner_lots", db_index=False)
    lot = models.ForeignKey(Lot, models.PROTECT, related_name="inside_kit_lots")
    amount = models.PositiveIntegerField(help_text="pieces of the inner lot in each box")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["kit_lot", "lot"], name="inner_lot_once")]


class KitAssembly(models.Model):
    """Closed boxes that were made up here from loose stock: a lot of kits of their own, whose inner lots are what went in.

    It does not count where its act was taken back.
    """

    act = models.OneToOneField("inventory.Act", models.PROTECT, primary_key=True, related_name="kit_assembly")
    lot = models.OneToOneField(Lot, models.PROTECT, related_name="assembly")
    boxes = models.PositiveIntegerField()

    class Meta:
        constraints = [models.CheckConstraint(name="kit_assembly_has_boxes", condition=Q(boxes__gte=1))]


class Serial(models.Model):
    """A serial number of a part."""

    part = models.ForeignKey("inventory.Part", models.PROTECT, db_index=False, related_name="serials")
    number = models.CharField(max_length=60)
    compare_key = models.CharField(max_length=60, db_index=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["part", "number"], name="serial_once_in_part")]
        indexes = [models.Index(Look("compare_key"), "part", name="serial_by_look")]

    def __str__(self) -> str:
        return self.number


class MatchedSet(models.Model):
    """The label of a matched piston/liner set. Liner, piston and pin have identity; rings and clips are no part of the match."""

    serial = models.OneToOneField(Serial, models.PROTECT, primary_key=True, related_name="matched_set")
    weight_mg = models.BigIntegerField(null=True, blank=True, help_text="of the piston")
    weighed = models.CharField(max_length=20, blank=True, help_text="with pin or without pin; empty: no weight is said")
    bore_nm = models.BigIntegerField(null=True, blank=True)
    piston_nm = models.BigIntegerField(null=True, blank=True)
    grade = models.CharField(max_length=20, blank=True)
    liner_mark = models.CharField(max_length=60, blank=True)
    piston_mark = models.CharField(max_length=60, blank=True)
    photo = models.CharField(max_length=500, blank=True, help_text="where a photo of the label is kept")

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="set_weight_says_with_what",
                condition=Q(weight_mg__isnull=True, weighed="") | Q(weight_mg__isnull=False, weighed__in=WEIGHED),
            )
        ]


class SetLabelling(models.Model):
    """The label of a matched set was put right by an act: one row of what stood before, one of what stands from then on."""

    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    matched_set = models.ForeignKey(MatchedSet, models.PROTECT, related_name="labellings")
    before = models.BooleanField()
    weight_mg = models.BigIntegerField(null=True, blank=True)
    weighed = models.CharField(max_length=20, blank=True)
    bore_nm = models.BigIntegerField(null=True, blank=True)
    piston_nm = models.BigIntegerField(null=True, blank=True)
    grade = models.CharField(max_length=20, blank=True)
    liner_mark = models.CharField(max_length=60, blank=True)
    piston_mark = models.CharField(max_length=60, blank=True)
    photo = models.CharField(max_length=500, blank=True)


class Tube(models.Model):
    """An opened tube, cartridge, tin or bottle: counted in microlitres, good until the earlier of closed and open life."""

    part = models.ForeignKey("inventory.Part", models.PROTECT, db_index=False)
    lot = models.ForeignKey(Lot, models.PROTECT, null=True, blank=True, db_index=False)
    number = models.CharField(max_length=60, unique=True)
    opened_on = models.DateField()
    use_by = models.DateField(null=True, blank=True)

    def __str__(self) -> str:
        return self.number


class Item(models.Model):
    """What a thing is, one row for each combination. Movements, holds and balances point here."""

    part = models.ForeignKey("inventory.Part", models.PROTECT, db_index=False, related_name="items")
    identity = models.CharField(max_length=300)
    lot = models.ForeignKey(Lot, models.PROTECT, null=True, blank=True, related_name="items")
    serial = models.ForeignKey(Serial, models.PROTECT, null=True, blank=True, related_name="items")
    member = models.CharField(
        max_length=6, blank=True, default=Member.WHOLE.value, choices=[(m.value, m.value) for m in Member]
    )
    tube = models.ForeignKey(Tube, models.PROTECT, null=True, blank=True, related_name="items")
    from_kit = models.ForeignKey("self", models.PROTECT, null=True, blank=True, related_name="contents")
    base = models.CharField(max_length=12, choices=[(base.value, base.value) for base in Base])
    single = models.BooleanField(help_text="a thing with a serial: there is one of it, in one real place")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["part", "identity"], name="item_once"),
            models.CheckConstraint(name="item_identity_not_empty", condition=~Q(identity="")),
            models.CheckConstraint(
                name="item_single_has_serial",
                condition=Q(single=True, serial__isnull=False) | Q(single=False, serial__isnull=True),
            ),
            models.CheckConstraint(name="item_member_has_serial", condition=Q(member="") | Q(serial__isnull=False)),
        ]
        indexes = [
            # Contents of opened kits whose bag could not be read: they could be of any lot of the part.
            models.Index(
                fields=["part"],
                condition=Q(lot__isnull=True, serial__isnull=True),
                name="item_lot_unknown",
            )
        ]

    def __str__(self) -> str:
        return f"{self.part_id}:{self.identity}"

    @property
    def lot_code(self) -> str:
        """Its lot; "" where it has none. The lot comes with it."""
        return self.lot.code if self.lot else ""

    @property
    def serial_number(self) -> str:
        """Its serial number; "" where it has none. The serial comes with it."""
        return self.serial.number if self.serial else ""

    @property
    def called(self) -> str:
        """The item as a person is told: part number, then lot, serial and the like in words. The part comes with it."""
        words = said(self.identity)
        return f"{self.part.number}, {words}" if words else self.part.number
