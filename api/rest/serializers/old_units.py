"""Old units that go back to their supplier, and the deposits that hang on them; money in whole coins."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from api.rest.fields import ActSerializer, DayField, TextField, WholeField
from api.rest.shapes import shape
from inventory.domain.old_units import Grade, Side, What
from inventory.queries.old_units import DepositSums, MoneyAtRisk


def _deposits() -> serializers.ListField:
    return serializers.ListField(
        child=WholeField(), required=False, max_length=100, help_text="ids of deposits that hang on it"
    )


class OldUnitInSerializer(ActSerializer):
    """An old unit is taken in: what lies here already (`item`, `place`), or what was brought (`part`)."""

    to_place = TextField(max_length=80, help_text="a crate of old units, or quarantine")
    to_spot = TextField(required=False, max_length=80)
    item = WholeField(required=False, help_text="id of what lies here already")
    place = TextField(required=False, max_length=80, help_text="where it lies")
    spot = TextField(required=False, max_length=80)
    part = TextField(required=False, max_length=60, help_text="number of the part that was brought")
    serial = TextField(required=False, max_length=60)
    grade = serializers.ChoiceField(choices=[one.value for one in Grade], required=False)
    condition = TextField(required=False, allow_blank=True, max_length=200)
    tag = TextField(required=False, allow_blank=True, max_length=60, help_text="left out: whose it is, is open")
    subject = TextField(required=False, allow_blank=True, max_length=80, help_text="the job")
    supplier = TextField(required=False, allow_blank=True, max_length=40, help_text="where it goes")
    send_back_by = DayField(required=False, allow_null=True, help_text="left out: by the supplier's terms")
    deposits = _deposits()

    def validate(self, data: dict[str, Any]) -> dict[str, Any]:
        """One of the two ways."""
        if ("item" in data) == ("part" in data):
            raise serializers.ValidationError(
                {"item": ["What lies here already, or a part that was brought: one of them."]}
            )
        if ("item" in data) != ("place" in data):
            raise serializers.ValidationError({"place": ["Where it lies goes with what lies there."]})
        return data


class OldUnitMadeSerializer(serializers.Serializer):
    """The old unit is on record."""

    old_unit = serializers.IntegerField()
    item = serializers.IntegerField()
    part = serializers.CharField()
    serial = serializers.CharField(allow_blank=True)
    place = serializers.CharField()
    spot = serializers.CharField()
    grade = serializers.CharField()
    tag = serializers.CharField(allow_blank=True)
    job = serializers.CharField(allow_blank=True)
    supplier = serializers.CharField(allow_blank=True)
    send_back_by = serializers.DateField(allow_null=True)
    deposits = serializers.ListField(child=serializers.IntegerField())


class OldUnitAnswerInSerializer(ActSerializer):
    """Whose an old unit is."""

    tag = TextField(max_length=60)
    subject = TextField(max_length=80, help_text="the job")
    reason = TextField(max_length=2000, help_text="how it is known")
    deposits = _deposits()


class OldUnitAnsweredSerializer(serializers.Serializer):
    """It wears this tag from now on."""

    old_unit = serializers.IntegerField()
    tag = serializers.CharField()
    job = serializers.CharField()
    before = serializers.CharField(allow_blank=True)
    deposits = serializers.ListField(child=serializers.IntegerField())
    reason = serializers.CharField()


class OldUnitReturnInSerializer(ActSerializer):
    """Old units go back to a supplier."""

    supplier = TextField(max_length=40)
    units = serializers.ListField(child=WholeField(), max_length=20_000)
    note = TextField(required=False, allow_blank=True, max_length=2000, help_text="carrier, number of the parcel")


class SpotSerializer(serializers.Serializer):
    """Where it lay."""

    place = serializers.CharField()
    spot = serializers.CharField()


class SentUnitSerializer(serializers.Serializer):
    """One that went."""

    old_unit = serializers.IntegerField()
    tag = serializers.CharField()
    job = serializers.CharField()
    part = serializers.CharField()
    item = serializers.IntegerField()
    late = serializers.BooleanField(help_text="after its limit")

    def get_fields(self) -> dict[str, serializers.Field]:
        """`from` is a word of the language."""
        return {**super().get_fields(), "from": SpotSerializer()}


class OldUnitReturnedSerializer(serializers.Serializer):
    """They are with the supplier."""

    supplier = serializers.CharField()
    note = serializers.CharField(allow_blank=True)
    units = SentUnitSerializer(many=True)


class DepositInSerializer(ActSerializer):
    """A deposit was paid to a supplier, or taken in from the customer of a job."""

    side = serializers.ChoiceField(choices=[one.value for one in Side])
    part = TextField(max_length=60)
    coins = WholeField()
    supplier = TextField(required=False, allow_blank=True, max_length=40)
    subject = TextField(required=False, allow_blank=True, max_length=80, help_text="the job")
    receipt = WholeField(required=False, allow_null=True, help_text="act of the delivery that brought the part")
    unit = WholeField(required=False, allow_null=True, help_text="the old unit that it hangs on")
    due_on = DayField(required=False, allow_null=True, help_text="last day for sending back; left out: by the terms")


class DepositMadeSerializer(serializers.Serializer):
    """The deposit is on record."""

    deposit = serializers.IntegerField()
    entry = serializers.IntegerField()
    side = serializers.CharField()
    supplier = serializers.CharField(allow_blank=True)
    job = serializers.CharField(allow_blank=True)
    part = serializers.CharField()
    coins = serializers.IntegerField()
    due_on = serializers.DateField(allow_null=True)
    old_unit = serializers.IntegerField(allow_null=True)
    outstanding_coins = serializers.IntegerField()


class DepositEntryInSerializer(ActSerializer):
    """What was refunded of a deposit, or is lost."""

    what = serializers.ChoiceField(choices=[What.REFUNDED.value, What.LOST.value])
    coins = WholeField()
    reason = TextField(required=False, allow_blank=True, max_length=2000, help_text="needed where it is lost")


class DepositEntryMadeSerializer(serializers.Serializer):
    """The entry is on record."""

    deposit = serializers.IntegerField()
    entry = serializers.IntegerField()
    what = serializers.CharField()
    coins = serializers.IntegerField()
    outstanding_coins = serializers.IntegerField()
    reason = serializers.CharField(allow_blank=True)


class EntryReversalInSerializer(ActSerializer):
    """An entry was wrong."""

    reason = TextField(max_length=2000)


class EntryReversedSerializer(DepositEntryMadeSerializer):
    """It is taken back by another one."""

    reverses = serializers.IntegerField()


class OutstandingSerializer(serializers.Serializer):
    """What was paid less what was refunded less what is lost, by holder and, with the suppliers, in all."""

    held = shape(DepositSums)(many=True)
    outstanding_coins = serializers.IntegerField(help_text="with all suppliers together")


class AtRiskSerializer(serializers.Serializer):
    """Deposits at suppliers whose old unit is missing or not sent back at its limit, or whose limit comes near."""

    on = serializers.DateField()
    days = serializers.IntegerField(help_text="limits that come within so many days count")
    at_risk = shape(MoneyAtRisk)(many=True)
    at_risk_coins = serializers.IntegerField()
