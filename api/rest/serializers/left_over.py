"""In mid-job and after it: one more, unused back, scrap, positions that get nothing, tools counted back."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import ActSerializer, AmountField, StrictSerializer, TextField, TruthField, WholeField
from api.rest.serializers.common import ShortSerializer
from api.rest.serializers.jobs import MOST
from api.rest.serializers.kept import LaidSerializer
from api.rest.serializers.receipts import STORAGE_WORD
from inventory.domain.stores import WhoPays
from kits.domain.returns import To

_ORIGINS = ["bench", "cart"]
_TO = [to.value for to in To]


class ExtraInSerializer(ActSerializer):
    """One more of a part."""

    part = TextField(max_length=60)
    amount = AmountField()
    reason = TextField(
        max_length=60,
        help_text="found after strip, damaged in fitting, wrong on list, dropped, lost, or due after first run",
    )
    positions = serializers.ListField(child=TextField(max_length=80), required=False, max_length=MOST)


class ExtraHeldSerializer(serializers.Serializer):
    """What was held for an extra."""

    hold = serializers.IntegerField()
    item = serializers.IntegerField()
    lot = serializers.CharField(allow_blank=True)
    serial = serializers.CharField(allow_blank=True)
    place = serializers.CharField()
    amount = serializers.IntegerField()


class ExtraMadeSerializer(serializers.Serializer):
    """The extra is held, as far as the shelves have it, on a pick list of its own."""

    pick_list = serializers.IntegerField()
    number = serializers.IntegerField()
    held = ExtraHeldSerializer(many=True)
    short = serializers.IntegerField(help_text="missing, whole base units")
    why = serializers.CharField(allow_blank=True)
    held_by = serializers.ListField(
        child=serializers.CharField(), help_text="jobs that hold of it what would have served here"
    )


class ReturnInSerializer(StrictSerializer):
    """One thing that comes back unused."""

    item = WholeField()
    amount = AmountField(help_text="of an opened tube in its own unit, such as 12 mL")
    origin = serializers.ChoiceField(choices=_ORIGINS, required=False, help_text="where it lies: bench if left out")
    bag_sealed = TruthField(required=False, help_text="the maker's bag, box or carton is unopened")
    lot_readable = TruthField(required=False, help_text="lot or serial can be read on it")
    opened = TruthField(required=False, help_text="tube or tin opened, kit with contents taken out")
    was_fitted = TruthField(required=False, help_text="it has been in the engine")
    to_place = TextField(max_length=80, required=False, allow_blank=True, help_text="where it was picked, if left out")
    override_to = serializers.ChoiceField(choices=["", *_TO], required=False, help_text="another word than the table's")
    override_reason = TextField(max_length=2000, required=False, allow_blank=True)


class ReturnsInSerializer(ActSerializer):
    """What comes back unused."""

    returns = ReturnInSerializer(many=True, max_length=MOST)
    storage_word = TextField(required=False, allow_blank=True, max_length=2000, help_text=STORAGE_WORD)


class ReturnedSerializer(serializers.Serializer):
    """What was done with it, by the returns table or by another word."""

    item = serializers.IntegerField()
    part = serializers.CharField()
    identity = serializers.CharField()
    amount = serializers.IntegerField()
    base = serializers.CharField()
    typed = serializers.CharField()
    to = serializers.ChoiceField(choices=_TO)
    place = serializers.CharField(allow_blank=True)
    spot = serializers.CharField(allow_blank=True)
    why = serializers.CharField()
    overruled = serializers.BooleanField()

    def get_fields(self) -> dict[str, serializers.Field]:
        """`from` is a word of the language, so it is added by hand."""
        return {**super().get_fields(), "from": serializers.CharField(help_text="place")}


class ReturnsMadeSerializer(LaidSerializer):
    """What came back."""

    job = serializers.CharField()
    returned = ReturnedSerializer(many=True)


class JobScrapInSerializer(ActSerializer):
    """Something of the job is scrapped."""

    item = WholeField()
    amount = AmountField()
    origin = serializers.ChoiceField(choices=_ORIGINS, required=False, help_text="where it lies: bench if left out")
    reason = TextField(max_length=2000)
    who_pays = serializers.ChoiceField(choices=[who.value for who in WhoPays])
    photo_ref = TextField(max_length=200, required=False, allow_blank=True, help_text="where the photo is kept")
    no_photo = TextField(
        max_length=200,
        required=False,
        allow_blank=True,
        help_text="why there is no photo; of a set one of them is asked for",
    )
    destroyed = TruthField(required=False, help_text="made unusable: rings cut, bolts marked")


class JobScrapMadeSerializer(serializers.Serializer):
    """It is scrapped."""

    job = serializers.CharField()
    item = serializers.IntegerField()
    part = serializers.CharField()
    identity = serializers.CharField()
    amount = serializers.IntegerField()
    base = serializers.CharField()
    typed = serializers.CharField()
    reason = serializers.CharField()
    who_pays = serializers.CharField()
    photo = serializers.CharField(allow_blank=True)
    no_photo = serializers.CharField(allow_blank=True, help_text="why there is none")
    destroyed = serializers.BooleanField()
    shorts = ShortSerializer(many=True, help_text="the job, where it lay on the cart")

    def get_fields(self) -> dict[str, serializers.Field]:
        """`from` is a word of the language, so it is added by hand."""
        return {**super().get_fields(), "from": serializers.CharField(help_text="place")}


class PositionNotNeededSerializer(StrictSerializer):
    """A listed position that gets nothing."""

    position = TextField(max_length=80)
    because = TextField(max_length=2000)


class NotNeededInSerializer(ActSerializer):
    """Listed positions that get nothing."""

    positions = PositionNotNeededSerializer(many=True, min_length=1, max_length=MOST)


class NotNeededMadeSerializer(serializers.Serializer):
    """They are off the list."""

    not_needed = serializers.DictField(child=serializers.CharField(), help_text="position: because")


class ToolReturnsInSerializer(ActSerializer):
    """Special tools counted back."""

    tools = serializers.ListField(child=TextField(max_length=80), min_length=1, max_length=500)


class ToolReturnsMadeSerializer(serializers.Serializer):
    """They are in the crib again."""

    back = serializers.ListField(child=serializers.CharField())
    still_out = serializers.ListField(child=serializers.CharField())
