"""What a job was issued and where it went."""

from __future__ import annotations

from rest_framework import serializers


class IssuedItemSerializer(serializers.Serializer):
    """One item on the job, in its base units: all that came is all that went and all that is still here."""

    item = serializers.IntegerField()
    part = serializers.CharField()
    lot = serializers.CharField(allow_blank=True)
    serial = serializers.CharField(allow_blank=True)
    member = serializers.CharField(allow_blank=True, help_text="liner, piston or pin of a broken set")
    base = serializers.CharField()
    issued = serializers.IntegerField(help_text="from a shelf or quarantine, or bought for it in an emergency")
    made_here = serializers.IntegerField(help_text="out of an opened kit or tube, or of a broken set")
    out_of_engine = serializers.IntegerField()
    counted_over = serializers.IntegerField()
    came_otherwise = serializers.IntegerField()
    fitted = serializers.IntegerField(help_text="old parts that went back included")
    returned = serializers.IntegerField()
    scrapped = serializers.IntegerField()
    taken_apart = serializers.IntegerField(help_text="opened, or a set that was broken")
    counted_short = serializers.IntegerField()
    given_back = serializers.IntegerField()
    went_elsewhere = serializers.IntegerField(help_text="outside work, a crate of old units, another job")
    still_here = serializers.IntegerField(help_text="by the movements: all that came less all that went")
    stands_here = serializers.IntegerField(help_text="on its cart and bench by the balances")
    adds_up = serializers.BooleanField(help_text="false: the two differ, the books are to be audited")


class IssuedSerializer(serializers.Serializer):
    """Everything that came to the job's cart and bench."""

    job = serializers.CharField()
    items = IssuedItemSerializer(many=True)
    adds_up = serializers.BooleanField()
