"""What lies on a cart and nobody booked it there."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import ActSerializer, AmountField, TextField, WholeField


class FoundOnCartInSerializer(ActSerializer):
    """It is issued now."""

    item = WholeField()
    place = TextField(max_length=80, help_text="shelf where the books have it")
    spot = TextField(max_length=80, required=False)
    amount = AmountField()
    reason = TextField(max_length=2000, help_text="how it came there")
    extra_reason = TextField(
        max_length=40,
        required=False,
        allow_blank=True,
        help_text="of the list for extras; where it is more than the job's list wants",
    )


class FoundOnCartSerializer(serializers.Serializer):
    """Issued: what the list wanted, and the rest as an extra."""

    item = serializers.IntegerField()
    part = serializers.CharField()
    amount = serializers.IntegerField()
    wanted = serializers.IntegerField()
    extra = serializers.IntegerField()
    pick_list = serializers.IntegerField()
    number = serializers.IntegerField()
    holds = serializers.ListField(child=serializers.IntegerField())
