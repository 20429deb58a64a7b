"""Acts on a part's record: joined to another, photographed, its old stock withdrawn."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import ActSerializer, TextField
from api.rest.serializers.common import ShortSerializer


class JoinInSerializer(ActSerializer):
    """The record in the address is joined to another, which is kept."""

    kept = TextField(max_length=60, help_text="number of the record that counts from now on")
    reason = TextField(max_length=2000)


class SameLotSerializer(serializers.Serializer):
    """A lot that both records have."""

    lot = serializers.CharField()
    joined_cure_code = serializers.CharField(allow_blank=True)
    kept_cure_code = serializers.CharField(allow_blank=True)


class JoinedSerializer(serializers.Serializer):
    """The records are joined."""

    joined = serializers.CharField()
    kept = serializers.CharField()
    replacement = serializers.IntegerField(help_text="the notice both ways; withdrawing it takes the join back")
    reason = serializers.CharField()
    same_lots = SameLotSerializer(many=True, help_text="to be looked at: are they one lot?")
    same_serials = serializers.ListField(child=serializers.CharField())
    shorts = ShortSerializer(many=True, help_text="jobs, where old stock of the kept record is withdrawn")


class StockWithdrawInSerializer(ActSerializer):
    """Everything of the withdrawn number that stands on the shelves goes to quarantine."""

    place = TextField(
        max_length=80, help_text="quarantine; where it belongs to a site, the shelves of that site are meant"
    )
    reason = TextField(required=False, allow_blank=True, max_length=2000, help_text="empty: the notice is the reason")


class WithdrawnLineSerializer(serializers.Serializer):
    """What went to quarantine, and where it stood."""

    item = serializers.IntegerField()
    part = serializers.CharField()
    identity = serializers.CharField()
    amount = serializers.IntegerField()
    base = serializers.CharField()
    place = serializers.CharField()
    spot = serializers.CharField()


class StockWithdrawnSerializer(serializers.Serializer):
    """What went to quarantine, and what is still elsewhere, blocked."""

    part = serializers.CharField()
    place = serializers.CharField()
    replacement = serializers.IntegerField(help_text="the notice that withdraws old stock")
    moved = WithdrawnLineSerializer(many=True)
    shorts = ShortSerializer(many=True)
    elsewhere = serializers.DictField(
        help_text="carts, benches, van, other sites, engines: counted, blocked, not moved"
    )


class PhotoInSerializer(ActSerializer):
    """Where a photo of the part is kept."""

    link = TextField(max_length=500, help_text="an address, or where it hangs; nothing is uploaded")


class PhotoSerializer(serializers.Serializer):
    """The photo is on record; the newest counts."""

    part = serializers.CharField()
    revision = serializers.IntegerField()
    photo = serializers.CharField()
