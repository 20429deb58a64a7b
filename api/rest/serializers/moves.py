"""The stores' own moves: transfers, releases from quarantine, counts, scrap, openings, weighing."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from api.rest.fields import (
    AMOUNT,
    MOST_LINES,
    ActSerializer,
    AmountField,
    DayField,
    StrictSerializer,
    TextField,
    TruthField,
    WholeField,
)
from api.rest.serializers.common import ShortSerializer, WhereSerializer
from api.rest.serializers.kept import LaidSerializer
from api.rest.serializers.receipts import STORAGE_WORD, SetLabelSerializer
from inventory.domain.stores import WhoPays

LOOKED_AT = "counted kinds of which it was looked at how they are stored; each that has a rule is needed"


class CarryLineInSerializer(StrictSerializer):
    """So much of an item from a spot to a spot."""

    item = WholeField()
    amount = AmountField(help_text=AMOUNT)
    from_place = TextField(max_length=80)
    from_spot = TextField(required=False, max_length=80)
    to_place = TextField(max_length=80)
    to_spot = TextField(required=False, max_length=80)


class TransferLineInSerializer(CarryLineInSerializer):
    """A line between shelves, or into quarantine."""

    kept = TruthField(
        required=False, help_text="the kept piece of its lot is among them, and is kept where it is carried to"
    )


class TransferInSerializer(ActSerializer):
    """Shelf and quarantine of one site, any way but out of quarantine."""

    lines = TransferLineInSerializer(many=True, max_length=MOST_LINES)
    storage_word = TextField(required=False, allow_blank=True, max_length=2000, help_text=STORAGE_WORD)
    note = TextField(required=False, allow_blank=True, max_length=2000, help_text="into quarantine: the reason, needed")


class ReleaseLineInSerializer(CarryLineInSerializer):
    """A line out of quarantine; the dates are for a lot that lies there because it had none."""

    cure_code = TextField(required=False, allow_blank=True, max_length=20)
    made_on = DayField(required=False, allow_null=True)
    printed_on = DayField(required=False, allow_null=True)


class ReleaseInSerializer(ActSerializer):
    """Quarantine to shelf, by somebody who did not bring it in."""

    lines = ReleaseLineInSerializer(many=True, max_length=MOST_LINES)
    storage_word = TextField(required=False, allow_blank=True, max_length=2000, help_text=STORAGE_WORD)
    note = TextField(required=False, allow_blank=True, max_length=2000)


class CarriedSerializer(serializers.Serializer):
    """A line that was carried."""

    part = serializers.CharField()
    item = serializers.IntegerField()
    identity = serializers.CharField()
    amount = serializers.IntegerField()
    base = serializers.CharField()
    typed = serializers.CharField()
    to = WhereSerializer()
    expires_on = serializers.DateField(allow_null=True)
    kept = serializers.IntegerField(help_text="so many of them are the kept piece of the lot, and stay it")

    def get_fields(self) -> dict[str, Any]:
        """`from` is a word of the language, so it is added by hand."""
        return {**super().get_fields(), "from": WhereSerializer()}


class TransferSerializer(LaidSerializer):
    """What was carried."""

    note = serializers.CharField(allow_blank=True)
    lines = CarriedSerializer(many=True)


class CountLineInSerializer(StrictSerializer):
    """What was counted at one spot: an item by its number, or a part with its lot or serial."""

    counted = AmountField(help_text=AMOUNT + "; 0 where nothing was there")
    item = WholeField(required=False, allow_null=True)
    part = TextField(required=False, allow_blank=True, max_length=60)
    lot = TextField(required=False, allow_blank=True, max_length=60)
    serial = TextField(required=False, allow_blank=True, max_length=60)
    spot = TextField(required=False, max_length=80)
    stored_wrongly = TextField(
        required=False, allow_blank=True, max_length=200, help_text="what is wrong with how it is stored"
    )
    counted_again = AmountField(
        required=False,
        help_text="what `second` found, on their own; asked for where the first count is far off the books",
    )


class CountInSerializer(ActSerializer):
    """What was counted at a place; only what is named is compared."""

    place = TextField(max_length=80)
    lines = CountLineInSerializer(many=True, max_length=MOST_LINES)
    reason = TextField(required=False, allow_blank=True, max_length=2000, help_text="needed where it differs")
    looked_at = serializers.ListField(
        child=TextField(max_length=40),
        required=False,
        max_length=40,
        help_text=LOOKED_AT,
    )
    quarantine = TextField(
        required=False, allow_blank=True, max_length=80, help_text="where sets and gaskets go that stood wrongly"
    )
    second = TextField(
        required=False, max_length=150, help_text="log-in of who counted again, and may; never who counted first"
    )


class LastMoveSerializer(serializers.Serializer):
    """One of the last movements of a thing at a spot: where a difference is looked for."""

    act = serializers.IntegerField()
    kind = serializers.CharField()
    at = serializers.DateTimeField()
    by = serializers.CharField()
    subject = serializers.CharField(allow_blank=True)
    moved = serializers.IntegerField()
    whence = serializers.CharField()
    whither = serializers.CharField()


class CountedSerializer(serializers.Serializer):
    """A line of the count against the books."""

    part = serializers.CharField()
    item = serializers.IntegerField()
    identity = serializers.CharField()
    place = serializers.CharField()
    spot = serializers.CharField()
    counted_at = serializers.DateTimeField()
    on_books = serializers.IntegerField(help_text="as of the moment of counting")
    counted = serializers.IntegerField()
    difference = serializers.IntegerField()
    reason = serializers.CharField(allow_blank=True)
    base = serializers.CharField()
    typed = serializers.CharField()
    counted_by = serializers.ListField(child=serializers.CharField(), help_text="log-ins, the first count first")
    alone = serializers.BooleanField(
        help_text="one person counted it where two are asked: nobody else of the site may count again"
    )
    said = serializers.CharField()
    last_seen = serializers.CharField(allow_blank=True)
    last_moves = LastMoveSerializer(many=True, help_text="the last three before the difference was booked")
    stored_wrongly = serializers.CharField(allow_blank=True)
    set_aside = serializers.BooleanField(help_text="it went to quarantine for that")


class CountSerializer(LaidSerializer):
    """The count as booked."""

    place = serializers.CharField(allow_blank=True, help_text="empty for a sheet, whose lines name their own")
    reason = serializers.CharField(allow_blank=True)
    lines = CountedSerializer(many=True)
    shorts = ShortSerializer(many=True)


class ScrapInSerializer(ActSerializer):
    """Something is scrapped, with a reason and who pays."""

    item = WholeField()
    amount = AmountField(help_text=AMOUNT)
    place = TextField(max_length=80)
    spot = TextField(required=False, max_length=80)
    reason = TextField(max_length=2000)
    who_pays = serializers.ChoiceField(choices=[who.value for who in WhoPays])
    subject = TextField(required=False, allow_blank=True, max_length=80, help_text="the job it was for")
    photo_ref = TextField(required=False, allow_blank=True, max_length=200, help_text="where the photo is kept")
    no_photo = TextField(
        max_length=200,
        required=False,
        allow_blank=True,
        help_text="why there is no photo; of a set one of them is asked for",
    )
    destroyed = TruthField(required=False, help_text="made unusable")


class ScrappedSerializer(serializers.Serializer):
    """What was scrapped."""

    part = serializers.CharField()
    item = serializers.IntegerField()
    identity = serializers.CharField()
    amount = serializers.IntegerField()
    base = serializers.CharField()
    typed = serializers.CharField()
    place = serializers.CharField()
    spot = serializers.CharField()
    reason = serializers.CharField()
    who_pays = serializers.CharField()
    photo = serializers.CharField(allow_blank=True)
    no_photo = serializers.CharField(allow_blank=True, help_text="why there is none")
    destroyed = serializers.BooleanField()
    shorts = ShortSerializer(many=True)


class ScrapRecordSerializer(serializers.Serializer):
    """Something that was scrapped, as it is looked up later."""

    act = serializers.IntegerField()
    at = serializers.DateTimeField()
    by = serializers.CharField()
    subject = serializers.CharField(allow_blank=True, help_text="the job it was for")
    part = serializers.CharField()
    item = serializers.IntegerField()
    lot = serializers.CharField(allow_blank=True)
    serial = serializers.CharField(allow_blank=True)
    amount = serializers.IntegerField()
    base = serializers.CharField()
    shown = serializers.CharField()
    place = serializers.CharField(help_text="where it lay")
    spot = serializers.CharField()
    reason = serializers.CharField()
    who_pays = serializers.CharField()
    photo = serializers.CharField(allow_blank=True)
    no_photo = serializers.CharField(allow_blank=True, help_text="why there is none")
    destroyed = serializers.BooleanField()


class OpeningInSerializer(ActSerializer):
    """A closed kit, a box of sets, or (with `tube`) a tube is opened where it stands."""

    place = TextField(max_length=80)
    spot = TextField(required=False, max_length=80)
    subject = TextField(required=False, allow_blank=True, max_length=80, help_text="the job it is for")
    tube = TextField(required=False, max_length=60, help_text="the number that the opened tube gets; only for a tube")
    amount = WholeField(required=False, help_text="how many boxes; 1 if left out")
    inner_lots = serializers.DictField(
        child=TextField(max_length=60, allow_blank=True),
        required=False,
        help_text="part number to lot on its inner bag",
    )
    expiries = serializers.DictField(child=DayField(), required=False, help_text="part number to day on its inner bag")
    serials = serializers.DictField(
        child=serializers.ListField(child=TextField(max_length=60), max_length=1000),
        required=False,
        help_text="part number to the serials in the box",
    )
    set_labels = serializers.DictField(child=SetLabelSerializer(), required=False, help_text="serial to its label")
    others = serializers.ListField(
        child=TextField(max_length=60),
        required=False,
        max_length=500,
        help_text="parts whose lot or serials are others than those on record in another spelling; both are kept",
    )
    to_place = TextField(required=False, allow_blank=True, max_length=80)
    to_spot = TextField(required=False, allow_blank=True, max_length=80)
    reason = TextField(required=False, allow_blank=True, max_length=2000, help_text="where a bag says another lot")

    def validate(self, data: dict[str, Any]) -> dict[str, Any]:
        """A tube has no inner bags."""
        if "tube" in data:
            wrong = sorted(set(data) - {"tube", "place", "spot", "subject", "occurred_at", "device", "device_at"})
            if wrong:
                raise serializers.ValidationError({name: ["A tube has no such thing."] for name in wrong})
        return data


class OpenedSerializer(LaidSerializer):
    """What came out. Of a kit: kit, amount, revision, contents. Of a tube: part, tube, lot, content_ul, opened_on, use_by, rule."""

    item = serializers.IntegerField()
    shorts = ShortSerializer(many=True)
    kit = serializers.CharField(required=False)
    amount = serializers.IntegerField(required=False)
    revision = serializers.IntegerField(required=False)
    contents = serializers.ListField(child=serializers.DictField(), required=False)
    part = serializers.CharField(required=False)
    tube = serializers.CharField(required=False)
    lot = serializers.CharField(required=False, allow_blank=True)
    content_ul = serializers.IntegerField(required=False)
    opened_on = serializers.DateField(required=False)
    use_by = serializers.DateField(required=False, allow_null=True)
    rule = serializers.CharField(required=False, allow_blank=True)
    place = serializers.CharField(required=False)
    spot = serializers.CharField(required=False)
    hazard = serializers.CharField(required=False, allow_blank=True)


class WeighingInSerializer(ActSerializer):
    """What an opened tube weighs."""

    weight = AmountField(help_text='text with a unit ("26.2 g"), or a whole number of milligrams')
    place = TextField(required=False, allow_blank=True, max_length=80, help_text="where the books have it nowhere")
    spot = TextField(required=False, max_length=80)
    reason = TextField(required=False, allow_blank=True, max_length=2000)


class WeighedSerializer(serializers.Serializer):
    """What it holds, against the books."""

    tube = serializers.CharField()
    part = serializers.CharField()
    weight_mg = serializers.IntegerField()
    content_ul = serializers.IntegerField()
    on_books_ul = serializers.IntegerField()
    difference_ul = serializers.IntegerField()
    place = serializers.CharField()
    spot = serializers.CharField()
    shorts = ShortSerializer(many=True)
