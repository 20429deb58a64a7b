"""Deliveries."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from api.rest.fields import (
    MOST_LINES,
    ActSerializer,
    AmountField,
    DayField,
    StrictSerializer,
    TextField,
    TruthField,
    WholeField,
)
from api.rest.serializers.common import ShortSerializer
from api.rest.serializers.kept import LaidSerializer
from inventory.domain.shelf_life import Basis

ANOTHER = "it is another one than what is on record in another spelling; both are kept"
STORAGE_WORD = "why what does not suit its place, or lies beside what it is kept apart from, lies there all the same"


class SetLabelSerializer(StrictSerializer):
    """What the label of a matched set says; lengths in nm, the weight of the piston in mg."""

    weight_mg = WholeField(required=False, allow_null=True)
    weighed = TextField(
        required=False, allow_blank=True, max_length=20, help_text='with a weight: "with pin" or "without pin"'
    )
    bore_nm = WholeField(required=False, allow_null=True)
    piston_nm = WholeField(required=False, allow_null=True)
    grade = TextField(required=False, allow_blank=True, max_length=20)
    liner_mark = TextField(required=False, allow_blank=True, max_length=60)
    piston_mark = TextField(required=False, allow_blank=True, max_length=60)
    photo = TextField(required=False, allow_blank=True, max_length=500, help_text="where a photo of the label is kept")


class ReceiptLineInSerializer(StrictSerializer):
    """One line of a delivery."""

    part = TextField(max_length=60)
    amount = AmountField(help_text='text with a unit ("4 EA", "12 mL"), or a whole number of base units')
    lot = TextField(required=False, allow_blank=True, max_length=60)
    serial = TextField(required=False, allow_blank=True, max_length=60)
    cure_code = TextField(required=False, allow_blank=True, max_length=20, help_text='as printed: "3Q23", "3/94"')
    made_on = DayField(required=False, allow_null=True)
    printed_on = DayField(required=False, allow_null=True, help_text="use-by date as printed on the bag")
    total_coins = WholeField(
        required=False, allow_null=True, help_text="for the whole line; left out while the invoice is not there"
    )
    spot = TextField(required=False, max_length=80)
    another_lot = TruthField(required=False, help_text=ANOTHER)
    another_serial = TruthField(required=False, help_text=ANOTHER)
    set_label = SetLabelSerializer(required=False, allow_null=True)
    inner_lots = serializers.DictField(
        child=TextField(max_length=60), required=False, help_text="of a kit: part number to lot on its inner bag"
    )
    order_line = WholeField(
        required=False, allow_null=True, help_text="the order's line that it answers; left out: the lines of its part"
    )
    rejected = TextField(
        required=False,
        allow_blank=True,
        max_length=2000,
        help_text="why it is rejected as it came: a claim on the supplier",
    )
    photos = serializers.ListField(
        child=TextField(max_length=500),
        required=False,
        max_length=20,
        help_text="of what is rejected: where each is kept",
    )
    certificate = TextField(
        required=False,
        allow_blank=True,
        max_length=60,
        help_text="number of a certificate on record that came with the lot",
    )
    to_be_sorted = TextField(
        required=False,
        allow_blank=True,
        max_length=200,
        help_text="what the bag says, for a number that the catalogue does not know: it is kept without a kind, and not issued",
    )


class ReceiptInSerializer(ActSerializer):
    """A delivery from a supplier."""

    def validate(self, data: dict[str, Any]) -> dict[str, Any]:
        """The word on demand is asked for with an emergency, and of nothing else."""
        if ("demand" in data) != data.get("emergency", False):
            raise serializers.ValidationError(
                {"demand": ["Said of what is bought in an emergency, and of nothing else."]}
            )
        return data

    supplier = TextField(max_length=40)
    place = TextField(max_length=80, help_text="shelf or quarantine it is put into; of an emergency a bench too")
    lines = ReceiptLineInSerializer(many=True, max_length=MOST_LINES)
    order = TextField(required=False, allow_blank=True, max_length=40, help_text="number of the order it answers")
    note = TextField(required=False, allow_blank=True, max_length=120, help_text="delivery note")
    reason = TextField(
        required=False, allow_blank=True, max_length=2000, help_text="why; needed when `place` is a quarantine"
    )
    quarantine = TextField(
        required=False, allow_blank=True, max_length=80, help_text="where lines go that may not go on the shelf"
    )
    storage_word = TextField(required=False, allow_blank=True, max_length=2000, help_text=STORAGE_WORD)
    emergency = TruthField(
        required=False,
        help_text="bought in an emergency: `reason` is needed, `place` may be a bench, where a lot may be unknown",
    )
    demand = TruthField(required=False, help_text="of an emergency: whether it counts in the history of demand")
    basis = serializers.ChoiceField(
        choices=[basis.value for basis in Basis],
        required=False,
        help_text="which day of the cure quarter life is counted from",
    )


class ReceivedLineSerializer(serializers.Serializer):
    """What was received, and where it stands; a line that is partly more than was ordered is two here."""

    line = serializers.IntegerField(help_text="its own number, for rejecting of it")

    part = serializers.CharField()
    item = serializers.IntegerField()
    lot = serializers.CharField(allow_blank=True, help_text="as it is on record")
    serial = serializers.CharField(allow_blank=True, help_text="as it is on record")
    read_as = serializers.CharField(allow_blank=True, help_text="lot or serial as it was read now")
    amount = serializers.IntegerField()
    base = serializers.CharField()
    typed = serializers.CharField()
    place = serializers.CharField()
    spot = serializers.CharField()
    expires_on = serializers.DateField(allow_null=True)
    expiry_rule = serializers.CharField(allow_blank=True)
    quarantined = serializers.CharField(allow_blank=True, help_text="why it is in quarantine; empty if it is not")
    why = serializers.CharField(allow_blank=True, help_text="the same in a word")
    on_order = serializers.BooleanField(help_text="it answers a line of the order")
    reject = serializers.IntegerField(allow_null=True, help_text="the claim, where it was rejected as it came")
    photo_missing = serializers.BooleanField(help_text="rejected without a photo")


class ReceiptSerializer(LaidSerializer):
    """The delivery as booked."""

    receipt = serializers.IntegerField()
    order = serializers.CharField(allow_blank=True)
    lines = ReceivedLineSerializer(many=True)
    shorts = ShortSerializer(many=True, help_text="holds that a lot's dates ended")
