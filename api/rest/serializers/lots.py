"""Lots, their stops, and where they are."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import ActSerializer, DayField, TextField, TruthField, WholeField
from api.rest.serializers.common import ShortSerializer
from inventory.domain.shelf_life import Basis


class LotSerializer(serializers.Serializer):
    """A batch of a part."""

    id = serializers.IntegerField()
    part = serializers.CharField()
    code = serializers.CharField()
    cure_code = serializers.CharField(allow_blank=True)
    made_on = serializers.DateField(allow_null=True)
    printed_on = serializers.DateField(allow_null=True, help_text="use-by date as printed on the bag")
    expires_on = serializers.DateField(allow_null=True)
    expiry_rule = serializers.CharField(allow_blank=True, help_text="the rule that gave the day")
    supplier = serializers.CharField(allow_blank=True)
    received_on = serializers.DateField(allow_null=True)
    stopped = serializers.BooleanField()


class StopSerializer(serializers.Serializer):
    """A stop of the lot, lifted or not."""

    id = serializers.IntegerField()
    act = serializers.IntegerField()
    since = serializers.DateTimeField()
    by = serializers.CharField()
    reason = serializers.CharField()
    freed_at = serializers.DateTimeField(allow_null=True)
    free_reason = serializers.CharField(allow_blank=True)


class InnerLotSerializer(serializers.Serializer):
    """A lot inside the closed kits of this lot."""

    part = serializers.CharField()
    lot = serializers.CharField()
    lot_id = serializers.IntegerField()
    amount = serializers.IntegerField()


class ExtensionSerializer(serializers.Serializer):
    """The one extension of the lot's shelf life."""

    act = serializers.IntegerField()
    on = serializers.DateTimeField()
    inspector = serializers.CharField()
    before = serializers.DateField()
    after = serializers.DateField()
    sample_pieces = serializers.IntegerField()
    found = serializers.CharField()


DATES = ("cure_code", "made_on", "printed_on", "expires_on", "expiry_rule")


class DatesSerializer(serializers.Serializer):
    """Dates of a lot, and the expiry that they gave."""

    cure_code = serializers.CharField(allow_blank=True)
    made_on = serializers.DateField(allow_null=True)
    printed_on = serializers.DateField(allow_null=True)
    expires_on = serializers.DateField(allow_null=True)
    expiry_rule = serializers.CharField(allow_blank=True)


class DatesKeptSerializer(DatesSerializer):
    """Dates as an act found them (before) or left them."""

    act = serializers.IntegerField()
    on = serializers.DateTimeField()
    by = serializers.CharField()
    reason = serializers.CharField(allow_blank=True)
    before = serializers.BooleanField()


class SpelledAlikeSerializer(serializers.Serializer):
    """A lot of the part whose code differs in spelling alone and that was kept apart."""

    lot = serializers.CharField()
    lot_id = serializers.IntegerField()


class LotDatesInSerializer(ActSerializer):
    """All that the bags of the lot say; what is left out is not printed there."""

    cure_code = TextField(required=False, allow_blank=True, max_length=20)
    made_on = DayField(required=False, allow_null=True)
    printed_on = DayField(required=False, allow_null=True)
    reason = TextField(max_length=2000)
    basis = serializers.ChoiceField(
        choices=[basis.value for basis in Basis],
        required=False,
        help_text="which day of the cure quarter life is counted from; the shop's setting if left out",
    )


class DatesPutRightSerializer(serializers.Serializer):
    """What stood, what stands, and who came up short."""

    lot = serializers.CharField()
    part = serializers.CharField()
    before = DatesSerializer()
    after = DatesSerializer()
    shorts = ShortSerializer(many=True)


class LotDetailSerializer(LotSerializer):
    """A lot with its stops, the extension of its life, and what its kits hold."""

    extension_years = serializers.IntegerField(
        help_text="what one inspection may add, by the rule that gave the expiry"
    )
    extension = ExtensionSerializer(allow_null=True)
    stops = StopSerializer(many=True)
    inner_lots = InnerLotSerializer(many=True)
    spelled_alike = SpelledAlikeSerializer(many=True)
    dates = DatesKeptSerializer(many=True, help_text="what acts found and left where dates were put right or filled in")


class StopInSerializer(ActSerializer):
    """Why nothing of it may be used."""

    reason = TextField(max_length=2000)


class HeldInsteadSerializer(serializers.Serializer):
    """Other stock that a job holds for what it was promised of the thing that was stopped."""

    job = serializers.CharField()
    part = serializers.CharField()
    from_lot = serializers.CharField(allow_blank=True)
    to_lot = serializers.CharField(allow_blank=True)
    amount = serializers.IntegerField()
    why = serializers.CharField()


class StoppedSerializer(serializers.Serializer):
    """It is stopped; jobs that were promised some of it hold other stock instead, or came up short."""

    stop = serializers.IntegerField()
    part = serializers.CharField()
    lot = serializers.CharField(required=False, help_text="where a lot was stopped")
    item = serializers.IntegerField(required=False, help_text="where one item was stopped")
    identity = serializers.CharField(required=False)
    reason = serializers.CharField()
    shorts = ShortSerializer(many=True)
    instead = HeldInsteadSerializer(many=True)
    where = serializers.DictField(help_text="where all of it is, counted")
    also = serializers.ListField(
        child=serializers.DictField(),
        required=False,
        help_text="stopped with it: the lot of that code under another record of the number (stop, part, lot_id, where)",
    )


class FreeInSerializer(ActSerializer):
    """Which stop is lifted, and why."""

    stop = WholeField()
    reason = TextField(max_length=2000)


class FreedSerializer(serializers.Serializer):
    """It is free again; nothing was planned anew."""

    stop = serializers.IntegerField()
    part = serializers.CharField()
    lot = serializers.CharField(required=False, help_text="code, where a lot was meant")
    item = serializers.IntegerField(required=False, help_text="where a single thing was meant")
    reason = serializers.CharField()
    note = serializers.CharField()


class ExtensionInSerializer(ActSerializer):
    """What the inspector found on a sample of the lot."""

    sample_pieces = WholeField(help_text="how many were looked at")
    passed = TruthField(help_text="the sample is good: no set, no cracks, not hard, not tacky")
    found = TextField(max_length=2000, help_text="what was seen")


class ExtendedSerializer(serializers.Serializer):
    """The lot may be used longer."""

    lot = serializers.CharField()
    part = serializers.CharField()
    before = serializers.DateField()
    expires_on = serializers.DateField()
    expiry_rule = serializers.CharField()
    sample_pieces = serializers.IntegerField()
    found = serializers.CharField()
