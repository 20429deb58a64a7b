"""Sold at the counter and brought back, used up in the workshop; the history of demand."""

from __future__ import annotations

import re
from typing import Any

from drf_spectacular.utils import extend_schema_field
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
from api.rest.shapes import shape
from inventory.domain.text import shown
from inventory.queries.off_job import DemandRow
from inventory.services.off_job import MOST_LINES

_DEMAND = "whether it counts in the history of demand"


class LeavingLineInSerializer(StrictSerializer):
    """So much of an item off a spot of a shelf."""

    item = WholeField()
    amount = AmountField(help_text=AMOUNT)
    place = TextField(max_length=80)
    spot = TextField(required=False, max_length=80)


class WorkshopUseInSerializer(ActSerializer):
    """Used up in the workshop, for no job."""

    lines = LeavingLineInSerializer(many=True, max_length=MOST_LINES)
    reason = TextField(max_length=2000)
    demand = TruthField(help_text=_DEMAND)


class CounterSaleInSerializer(WorkshopUseInSerializer):
    """Sold at the counter."""

    buyer = WholeField(
        help_text="number of the owner who bought it, entered as any owner is; reached if a lot is recalled"
    )


class LeftLineSerializer(serializers.Serializer):
    """A line that left its shelf."""

    line = serializers.IntegerField(help_text="its own number, for bringing it back")
    part = serializers.CharField()
    item = serializers.IntegerField()
    identity = serializers.CharField()
    amount = serializers.IntegerField()
    base = serializers.CharField()
    typed = serializers.CharField()
    place = serializers.CharField()
    spot = serializers.CharField()


class LeftSerializer(serializers.Serializer):
    """What left."""

    what = serializers.CharField()
    buyer = serializers.IntegerField(allow_null=True, help_text="of a sale")
    reason = serializers.CharField()
    demand = serializers.BooleanField()
    lines = LeftLineSerializer(many=True)


class BroughtBackInSerializer(ActSerializer):
    """What was sold comes back, to quarantine."""

    amount = AmountField(help_text=AMOUNT)
    place = TextField(max_length=80, help_text="a quarantine")
    spot = TextField(required=False, max_length=80)
    reason = TextField(max_length=2000)


class BroughtBackSerializer(LeftLineSerializer):
    """Brought back."""

    reason = serializers.CharField()


@extend_schema_field({"type": "string", "pattern": "^[0-9]{4}-(0[1-9]|1[0-2])$", "example": "2025-01"})
class MonthField(serializers.Field):
    """A month as 2025-01."""

    def to_internal_value(self, data: Any) -> Any:
        """Its first day; ValidationError."""
        if not isinstance(data, str) or not re.fullmatch(r"[0-9]{4}-(0[1-9]|1[0-2])", data):
            raise serializers.ValidationError(f"{shown(data)} is not a month as in 2025-01.")
        return DayField().to_internal_value(f"{data}-01")

    def to_representation(self, value: Any) -> Any:
        """As it is."""
        return value


class DemandMarkInSerializer(ActSerializer):
    """A month of a part's demand was exceptional, or was not."""

    part = TextField(max_length=60)
    month = MonthField(help_text="as 2025-01")
    exceptional = TruthField(help_text="false takes the mark back")
    reason = TextField(max_length=2000)


class DemandMarkedSerializer(serializers.Serializer):
    """The word on the month."""

    part = serializers.CharField()
    month = serializers.CharField()
    exceptional = serializers.BooleanField()
    reason = serializers.CharField()


class DemandSerializer(serializers.Serializer):
    """What was used in some days, by part and month; `amount` is what counts."""

    since = serializers.DateField()
    until = serializers.DateField()
    rows = shape(DemandRow)(many=True)
