"""Pieces that go to an outside machinist and come back."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import ActSerializer, AmountField, DayField, TextField, WholeField
from api.rest.serializers.dates import LackingSerializer, ReplacedHoldSerializer, TooOldSerializer


class OutsideWorkInSerializer(ActSerializer):
    """A piece that came out of the engine goes from the bench to an outside machinist."""

    machinist = TextField(max_length=80, help_text="code of a place of the kind outside work")
    item = WholeField()
    amount = AmountField(required=False, help_text="1 if left out")
    due_on = DayField(help_text="due back")
    work = TextField(max_length=200, required=False, allow_blank=True, help_text="what is done to it")
    needed_by = serializers.ListField(
        child=TextField(max_length=60), max_length=100, required=False,
        help_text="procedure/step that needs it; left out: the steps at the positions where it sat",
    )  # fmt: skip


class OutsideWorkSentSerializer(serializers.Serializer):
    """The piece is out. Where that moved the day of fitting, the holds were checked too."""

    outside_work = serializers.IntegerField()
    item = serializers.IntegerField()
    part = serializers.CharField()
    amount = serializers.IntegerField()
    positions = serializers.ListField(child=serializers.CharField())
    to = serializers.CharField()
    due_on = serializers.DateField()
    fit_on = serializers.DateField()
    kept = serializers.IntegerField(required=False)
    replaced = ReplacedHoldSerializer(many=True, required=False)
    shorts = LackingSerializer(many=True, required=False)
    too_old = TooOldSerializer(many=True, required=False)

    def get_fields(self) -> dict[str, serializers.Field]:
        """`from` is a word of the language, so it is named here."""
        return {**super().get_fields(), "from": serializers.CharField()}


class OutsideDueInSerializer(ActSerializer):
    """The machinist named another day."""

    due_on = DayField()
    reason = TextField(max_length=2000)


class OutsideDueSerializer(serializers.Serializer):
    """The day from now on. Where that moved the day of fitting, the holds were checked too."""

    outside_work = serializers.IntegerField()
    due_on = serializers.DateField()
    was_due_on = serializers.DateField()
    fit_on = serializers.DateField()
    kept = serializers.IntegerField(required=False)
    replaced = ReplacedHoldSerializer(many=True, required=False)
    shorts = LackingSerializer(many=True, required=False)
    too_old = TooOldSerializer(many=True, required=False)


class OutsideWorkBackSerializer(serializers.Serializer):
    """The piece lies at the bench again."""

    outside_work = serializers.IntegerField()
    item = serializers.IntegerField()
    amount = serializers.IntegerField()
    to = serializers.CharField()
    back_on = serializers.DateField()
    due_on = serializers.DateField()

    def get_fields(self) -> dict[str, serializers.Field]:
        """As of what was sent."""
        return {**super().get_fields(), "from": serializers.CharField()}


class OutsideLossInSerializer(ActSerializer):
    """The machinist says that it is lost there."""

    said_by = TextField(max_length=200, help_text="who there said so")
    reason = TextField(max_length=2000)
    amount = AmountField(required=False, allow_null=True, help_text="how much of it; left out: all that is out")


class LostShortSerializer(serializers.Serializer):
    """The job is short of it, by name."""

    part = serializers.CharField()
    amount = serializers.IntegerField()
    why = serializers.CharField()


class OutsideLossSerializer(serializers.Serializer):
    """It is counted short, and no longer awaited."""

    outside_work = serializers.IntegerField()
    item = serializers.IntegerField()
    part = serializers.CharField()
    amount = serializers.IntegerField()
    still_out = serializers.IntegerField(help_text="so much of it is at the machinist's still, and due back")
    at = serializers.CharField()
    positions = serializers.ListField(
        child=serializers.CharField(), help_text="at which it sat: open until something is there"
    )
    said_by = serializers.CharField()
    short = LostShortSerializer()
