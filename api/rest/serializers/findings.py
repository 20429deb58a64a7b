"""Findings of the strip, their withdrawal, and the owner's word on extra work."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import ActSerializer, TextField, TruthField, WholeField
from api.rest.serializers.extra_hours import PurseSerializer, WorkedSerializer
from api.rest.serializers.jobs import MOST, FindingInSerializer
from api.rest.serializers.to_return import ToReturnSerializer


class FindingsInSerializer(ActSerializer):
    """What the strip found."""

    findings = FindingInSerializer(many=True, max_length=MOST)
    extra_work = TruthField(
        required=False, help_text="beyond the booked scope: on no list until the owner's word is recorded"
    )


class FindingMadeSerializer(serializers.Serializer):
    """A finding on record."""

    id = serializers.IntegerField()
    code = serializers.CharField()
    place = serializers.CharField()


class FindingsMadeSerializer(serializers.Serializer):
    """The findings were recorded."""

    findings = FindingMadeSerializer(many=True)
    waiting = serializers.BooleanField(help_text="for the owner's word")


class FindingWithdrawnSerializer(serializers.Serializer):
    """The finding no longer counts; what was issued for it is to be returned."""

    withdrawn = serializers.IntegerField()
    code = serializers.CharField()
    place = serializers.CharField()
    to_return = ToReturnSerializer(
        allow_null=True,
        help_text="what the job has and asks for no longer: `held` stays held until released; null: no list can be worked out now",
    )


class ApprovalInSerializer(ActSerializer):
    """The owner's word on extra work."""

    findings = serializers.ListField(child=WholeField(), max_length=MOST, help_text="numbers of findings of the job")
    approved = TruthField()
    given_by = TextField(max_length=200, help_text="role of who gave it; the name stands with the owner")
    how = TextField(max_length=60, help_text="telephone, letter, in person")
    limit_coins = WholeField(required=False, allow_null=True, min_value=0, help_text="up to what sum")
    limit_hours = TextField(
        max_length=40,
        required=False,
        allow_blank=True,
        help_text='up to how many hours of work: "10 h"; empty: not limited',
    )


class ApprovalSerializer(serializers.Serializer):
    """One word of the owner."""

    approval = serializers.IntegerField()
    approved = serializers.BooleanField()
    given_by = serializers.CharField()
    how = serializers.CharField()
    limit_coins = serializers.IntegerField(allow_null=True)
    limit_s = serializers.IntegerField(allow_null=True, help_text="seconds of work; null: not limited")
    findings = serializers.ListField(child=serializers.IntegerField())
    at = serializers.DateTimeField()
    by = serializers.CharField()


class ApprovalsSerializer(serializers.Serializer):
    """Every word of the owner, and what the parts of the extra work come to at catalogue prices."""

    job = serializers.CharField()
    approvals = ApprovalSerializer(many=True)
    limit_coins = serializers.IntegerField(allow_null=True, help_text="of the words that stand; null: no sum was named")
    used_coins = serializers.IntegerField(help_text="parts that stand on the list because of that work")
    left_coins = serializers.IntegerField(allow_null=True, help_text="below zero: no more is held for it")
    unpriced = serializers.ListField(child=serializers.CharField(), help_text="parts of it without a price")
    hours = PurseSerializer(many=True, help_text="of the words that stand")
    worked = WorkedSerializer(many=True, help_text="every entry, those that were reversed too")


class ApprovalMadeSerializer(serializers.Serializer):
    """The word was recorded."""

    approval = serializers.IntegerField()
    approved = serializers.BooleanField()
    findings = serializers.ListField(child=serializers.IntegerField())
    released = serializers.ListField(
        child=serializers.IntegerField(), help_text="of a no: holds that served this work alone and ended"
    )
