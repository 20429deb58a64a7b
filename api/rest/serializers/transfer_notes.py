"""Transfer notes between sites: what is sent, what the receiver signs for, what became of the rest."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from api.rest.fields import (
    AMOUNT,
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
from api.rest.serializers.receipts import STORAGE_WORD
from inventory.domain.stores import WhoPays
from inventory.domain.transfers import How
from inventory.services.transfer_notes import MOST_LINES


class NoteLineInSerializer(StrictSerializer):
    """So much of an item from a spot of a shelf, or of quarantine."""

    item = WholeField()
    amount = AmountField(help_text=AMOUNT)
    from_place = TextField(max_length=80)
    from_spot = TextField(required=False, max_length=80)
    for_job = TextField(required=False, allow_blank=True, max_length=80, help_text="job of the other site")


class NoteInSerializer(ActSerializer):
    """Load the van; who sends it signs by it."""

    van = TextField(max_length=80)
    to_site = TextField(max_length=20)
    driver = TextField(required=False, max_length=150, help_text="log-in of who drives; the sender if left out")
    expected_on = DayField(required=False, allow_null=True, help_text="by the shop's days on the road if left out")
    remark = TextField(required=False, allow_blank=True, max_length=2000)
    storage_word = TextField(required=False, allow_blank=True, max_length=2000, help_text=STORAGE_WORD)
    lines = NoteLineInSerializer(many=True, max_length=MOST_LINES)


class SentLineSerializer(serializers.Serializer):
    """A line that was sent."""

    line = serializers.IntegerField()
    part = serializers.CharField()
    item = serializers.IntegerField()
    identity = serializers.CharField()
    amount = serializers.IntegerField()
    base = serializers.CharField()
    typed = serializers.CharField()
    for_job = serializers.CharField(allow_blank=True)

    def get_fields(self) -> dict[str, Any]:
        """`from` is a word of the language, so it is added by hand."""
        return {**super().get_fields(), "from": WhereSerializer()}


class NoteSentSerializer(serializers.Serializer):
    """Sent."""

    note = serializers.IntegerField()
    from_site = serializers.CharField()
    to_site = serializers.CharField()
    van = serializers.CharField()
    driver = serializers.CharField()
    expected_on = serializers.DateField(allow_null=True)
    lines = SentLineSerializer(many=True)


class TakeLineInSerializer(StrictSerializer):
    """What came of a line of the note."""

    line = WholeField()
    amount = AmountField(help_text=AMOUNT + "; 0 where nothing came")
    to_place = TextField(required=False, allow_blank=True, max_length=80, help_text="shelf or quarantine of the site")
    to_spot = TextField(required=False, max_length=80)


class OtherLineInSerializer(StrictSerializer):
    """What came and is on no line: by its item, or by part with lot or serial."""

    amount = AmountField(help_text=AMOUNT)
    to_place = TextField(max_length=80)
    to_spot = TextField(required=False, max_length=80)
    item = WholeField(required=False, allow_null=True)
    part = TextField(required=False, allow_blank=True, max_length=60)
    lot = TextField(required=False, allow_blank=True, max_length=60)
    serial = TextField(required=False, allow_blank=True, max_length=60)
    line = WholeField(required=False, allow_null=True, help_text="it came instead of what this line says")


class TakeInSerializer(ActSerializer):
    """The receiver signs, every line once."""

    lines = TakeLineInSerializer(many=True, max_length=MOST_LINES)
    others = OtherLineInSerializer(many=True, required=False, max_length=MOST_LINES)
    quarantine = TextField(
        required=False, allow_blank=True, max_length=80, help_text="where goes what may not lie on a shelf"
    )
    storage_word = TextField(required=False, allow_blank=True, max_length=2000, help_text=STORAGE_WORD)


class TakenLineSerializer(serializers.Serializer):
    """A line of the note against what came."""

    line = serializers.IntegerField()
    part = serializers.CharField()
    sent = serializers.IntegerField()
    came = serializers.IntegerField()
    in_transit = serializers.IntegerField(help_text="unexplained")
    base = serializers.CharField()


class PutSerializer(serializers.Serializer):
    """Something that came and lies somewhere now."""

    line = serializers.IntegerField(allow_null=True)
    part = serializers.CharField()
    item = serializers.IntegerField()
    identity = serializers.CharField()
    amount = serializers.IntegerField()
    base = serializers.CharField()
    over = serializers.BooleanField(help_text="it was not on the note as sent")
    to = WhereSerializer()
    words = serializers.CharField(allow_blank=True)


class TakenInSerializer(LaidSerializer):
    """Signed for, with every difference by name."""

    note = serializers.IntegerField()
    alone = serializers.BooleanField(help_text="sender or driver signed: the site has nobody else who may")
    lines = TakenLineSerializer(many=True)
    put = PutSerializer(many=True)
    differences = serializers.ListField(child=serializers.CharField())
    shorts = ShortSerializer(many=True)


class ExplanationInSerializer(ActSerializer):
    """What became of something in transit."""

    line = WholeField()
    how = serializers.ChoiceField(choices=[how.value for how in How])
    amount = AmountField(help_text=AMOUNT)
    reason = TextField(max_length=2000)
    place = TextField(
        required=False, allow_blank=True, max_length=80, help_text="found later or sent back: where it lies"
    )
    spot = TextField(required=False, max_length=80)
    who_pays = serializers.ChoiceField(choices=[who.value for who in WhoPays], required=False, help_text="if scrapped")
    photo_ref = TextField(required=False, allow_blank=True, max_length=200)
    no_photo = TextField(required=False, allow_blank=True, max_length=200)
    destroyed = TruthField(required=False)
    storage_word = TextField(required=False, allow_blank=True, max_length=2000, help_text=STORAGE_WORD)


class ExplainedSerializer(LaidSerializer):
    """Explained."""

    note = serializers.IntegerField()
    line = serializers.IntegerField()
    how = serializers.CharField()
    part = serializers.CharField()
    item = serializers.IntegerField()
    identity = serializers.CharField()
    amount = serializers.IntegerField()
    base = serializers.CharField()
    in_transit = serializers.IntegerField()
    to = WhereSerializer(allow_null=True)
    words = serializers.CharField(allow_blank=True)
