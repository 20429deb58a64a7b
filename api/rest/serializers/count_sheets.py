"""Counting in turn: bins that are due, sheets without amounts, what was counted, accuracy."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import AMOUNT, MOST_LINES, ActSerializer, AmountField, StrictSerializer, TextField, WholeField
from api.rest.serializers.moves import LOOKED_AT, CountSerializer, LastMoveSerializer
from inventory.domain.counting import CountClass, Standing

CLASSES = [one.value for one in CountClass]
_COUNTED = f"{AMOUNT}; 0 where nothing was there"


class CountClassSerializer(serializers.Serializer):
    """A part with the class that it is counted in, and what decided that."""

    part = serializers.CharField()
    name = serializers.CharField(allow_blank=True)
    count_class = serializers.ChoiceField(choices=CLASSES)
    every_days = serializers.IntegerField(help_text="a thing of this class is counted at least this often")
    used = serializers.IntegerField(help_text="base units used in the year before the day, less what came back")
    base = serializers.CharField()
    value_coins = serializers.IntegerField(
        help_text="of what was used, at the price of the part's record, else the lowest of a supplier"
    )
    without_price = serializers.BooleanField()
    miscounted = serializers.IntegerField(help_text="counted lines of it in that year that were found wrong")
    ages = serializers.BooleanField(help_text="it has a shelf life")


class DueBinSerializer(serializers.Serializer):
    """A bin to count: what lies of a part at a spot."""

    place = serializers.CharField()
    spot = serializers.CharField()
    part = serializers.CharField()
    name = serializers.CharField(allow_blank=True)
    count_class = serializers.ChoiceField(choices=CLASSES)
    things = serializers.IntegerField(help_text="lots, serials and tubes in it")
    last_counted = serializers.DateTimeField(allow_null=True, help_text="none: something in it was never counted")
    due_on = serializers.DateField(allow_null=True)
    days_over = serializers.IntegerField(allow_null=True)
    asked = serializers.BooleanField(help_text="something was not found there for a job")
    odd = serializers.BooleanField(
        help_text="of packs that are not broken it does not come out even, and was not counted since it moved"
    )


class BinsDueSerializer(serializers.Serializer):
    """The bins of a site that are to be counted on a day, first things first."""

    site = serializers.CharField()
    on = serializers.DateField()
    due = serializers.IntegerField(help_text="how many are due in all")
    on_sheets = serializers.IntegerField(help_text="how many of those due stand on sheets that are not booked yet")
    bins = DueBinSerializer(many=True)


class BinInSerializer(StrictSerializer):
    """What lies of a part at a spot of a shelf."""

    place = TextField(max_length=80)
    part = TextField(max_length=60)
    spot = TextField(required=False, max_length=80)


class CountSheetInSerializer(ActSerializer):
    """A sheet over these bins of a site."""

    site = TextField(max_length=20)
    bins = BinInSerializer(many=True, max_length=MOST_LINES)
    note = TextField(required=False, allow_blank=True, max_length=200)


class OpenedBinSerializer(serializers.Serializer):
    """A bin of a new sheet with its line numbers."""

    bin = serializers.IntegerField()
    place = serializers.CharField()
    spot = serializers.CharField()
    part = serializers.CharField()
    count_class = serializers.ChoiceField(choices=CLASSES)
    lines = serializers.ListField(child=serializers.IntegerField())


class SheetOpenedSerializer(serializers.Serializer):
    """The new sheet."""

    sheet = serializers.IntegerField()
    site = serializers.CharField()
    note = serializers.CharField(allow_blank=True)
    bins = OpenedBinSerializer(many=True)


class CountSheetRecordSerializer(serializers.Serializer):
    """A sheet in short."""

    sheet = serializers.IntegerField()
    site = serializers.CharField()
    opened_at = serializers.DateTimeField()
    opened_by = serializers.CharField()
    note = serializers.CharField(allow_blank=True)
    booked_by = serializers.CharField(allow_blank=True, help_text="empty: it is not booked yet")
    booked_at = serializers.DateTimeField(allow_null=True)
    booked_act = serializers.IntegerField(allow_null=True)
    taken_back = serializers.BooleanField(help_text="the act that booked it was taken back")


class SheetThingSerializer(serializers.Serializer):
    """What a line is about."""

    line = serializers.IntegerField()
    item = serializers.IntegerField()
    lot = serializers.CharField(allow_blank=True)
    serial = serializers.CharField(allow_blank=True)
    tube = serializers.CharField(allow_blank=True, help_text="of an opened tube, which is counted by its content")
    from_kit = serializers.CharField(allow_blank=True)
    base = serializers.CharField()
    found = serializers.BooleanField(help_text="the books did not have it there: it was found while counting")


class BlindLineSerializer(SheetThingSerializer):
    """A line of the sheet: neither what the books say nor what was counted."""

    standing = serializers.ChoiceField(choices=[Standing.OPEN.value, Standing.AGAIN.value, "counted"])
    counted_by = serializers.ListField(child=serializers.CharField())


class BlindBinSerializer(serializers.Serializer):
    """A bin of the sheet."""

    bin = serializers.IntegerField()
    place = serializers.CharField()
    spot = serializers.CharField()
    part = serializers.CharField()
    name = serializers.CharField(allow_blank=True)
    kind = serializers.CharField(allow_blank=True)
    count_class = serializers.ChoiceField(choices=CLASSES)
    stored = serializers.CharField(allow_blank=True, help_text="how its kind is stored: looked at while counting")
    hazard = serializers.CharField(allow_blank=True)
    lines = BlindLineSerializer(many=True)


class BlindSheetSerializer(CountSheetRecordSerializer):
    """The sheet to count by."""

    bins = BlindBinSerializer(many=True)


class SheetLineInSerializer(StrictSerializer):
    """What was counted of a line of the sheet; or, with `bin`, of a thing in that bin that the sheet does not name."""

    counted = AmountField(help_text=_COUNTED)
    line = WholeField(required=False, allow_null=True)
    bin = WholeField(required=False, allow_null=True)
    item = WholeField(required=False, allow_null=True)
    lot = TextField(required=False, allow_blank=True, max_length=60)
    serial = TextField(required=False, allow_blank=True, max_length=60)
    stored_wrongly = TextField(
        required=False, allow_blank=True, max_length=200, help_text="what is wrong with how it is stored"
    )


class SheetCountsInSerializer(ActSerializer):
    """What was counted, at the moment of the act."""

    lines = SheetLineInSerializer(many=True, max_length=MOST_LINES)
    looked_at = serializers.ListField(
        child=TextField(max_length=40), required=False, max_length=40, help_text=LOOKED_AT
    )


class EnteredCountSerializer(serializers.Serializer):
    """A line that was counted; whether the books agree is not told."""

    line = serializers.IntegerField()
    place = serializers.CharField()
    spot = serializers.CharField()
    part = serializers.CharField()
    item = serializers.IntegerField()
    typed = serializers.CharField()
    counted = serializers.IntegerField()
    base = serializers.CharField()
    standing = serializers.ChoiceField(choices=["counted", Standing.AGAIN.value])


class SheetCountsSerializer(serializers.Serializer):
    """What was entered, and what is left to do."""

    sheet = serializers.IntegerField()
    lines = EnteredCountSerializer(many=True)
    to_count = serializers.ListField(child=serializers.IntegerField())
    to_count_again = serializers.ListField(child=serializers.IntegerField())


class DifferenceLineSerializer(SheetThingSerializer):
    """A counted line beside the books as of the moment it was counted."""

    place = serializers.CharField()
    spot = serializers.CharField()
    part = serializers.CharField()
    standing = serializers.ChoiceField(
        choices=[Standing.RIGHT.value, Standing.DIFFERS.value, Standing.SINCE.value],
        help_text="counted since: the thing was counted there otherwise after this, so the line is not booked",
    )
    counted_at = serializers.DateTimeField()
    counted_by = serializers.ListField(child=serializers.CharField())
    on_books = serializers.IntegerField()
    counted = serializers.IntegerField()
    difference = serializers.IntegerField()
    typed = serializers.CharField()
    stored_wrongly = serializers.CharField(allow_blank=True)
    last_moves = LastMoveSerializer(many=True)


class SheetDifferencesSerializer(CountSheetRecordSerializer):
    """The sheet for who books it."""

    to_count = serializers.ListField(child=serializers.IntegerField())
    to_count_again = serializers.ListField(child=serializers.IntegerField())
    lines = DifferenceLineSerializer(many=True)


class LineReasonSerializer(StrictSerializer):
    """Why one line differs."""

    line = WholeField()
    reason = TextField(max_length=2000)


class SheetPostingInSerializer(ActSerializer):
    """The sheet is booked."""

    reason = TextField(
        required=False, allow_blank=True, max_length=2000, help_text="for lines that differ and have none of their own"
    )
    reasons = LineReasonSerializer(many=True, required=False, max_length=MOST_LINES)
    leave_out = serializers.ListField(
        child=WholeField(), required=False, max_length=MOST_LINES, help_text="lines that are not booked"
    )
    quarantine = TextField(
        required=False, allow_blank=True, max_length=80, help_text="where sets and gaskets go that stood wrongly"
    )


class SheetPostedSerializer(CountSerializer):
    """The count as booked, and the lines that were not."""

    sheet = serializers.IntegerField()
    left_out = serializers.ListField(child=serializers.IntegerField())
    not_counted = serializers.ListField(child=serializers.IntegerField())
    counted_since = serializers.ListField(child=serializers.IntegerField())


class AccuracyByClassSerializer(serializers.Serializer):
    """Counted lines of a class, and how many were as the books said."""

    count_class = serializers.ChoiceField(choices=CLASSES)
    lines = serializers.IntegerField()
    right = serializers.IntegerField()
    share = serializers.CharField(allow_null=True, help_text="of lines that were right; none without a line")


class CountAccuracySerializer(serializers.Serializer):
    """How right the books were."""

    since = serializers.DateField()
    until = serializers.DateField()
    lines = serializers.IntegerField()
    right = serializers.IntegerField()
    share = serializers.CharField(allow_null=True)
    classes = AccuracyByClassSerializer(many=True)
