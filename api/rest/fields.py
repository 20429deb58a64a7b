"""Fields of request bodies, strict: nothing is guessed, nothing is passed over, every refusal names the value."""

from __future__ import annotations

from base64 import b64decode
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from inventory.domain.quantities import MAX_BASE_AMOUNT, MAX_CHARACTERS
from inventory.domain.text import shown

#: Before this no act of any shop is on record; it also keeps moments inside what both databases can store.
EARLIEST = datetime(1900, 1, 1, tzinfo=UTC)
#: No shop plans behind this year; a day of the last year that there is leaves no room to count on from.
LATEST_YEAR = 2999
#: What a service may say is too many for one request still comes through the parser, so that the service's own limit is what is named.
MOST_LINES = 20_000


class StrictSerializer(serializers.Serializer):
    """Refuses fields that it does not know, by name."""

    def __init__(self, *args: Any, **more: Any) -> None:
        # `many=True` takes lengths of the list, of which the types of the library know nothing
        super().__init__(*args, **more)

    def get_fields(self) -> dict[str, serializers.Field]:
        """The fields; a choice that is none is refused with those that are."""
        fields = super().get_fields()
        for field in fields.values():
            if isinstance(field, serializers.ChoiceField):
                known = ", ".join(str(one) for one in field.choices if one != "")
                field.error_messages["invalid_choice"] = f'"{{input}}" is none of: {known}.'
        return fields

    def to_internal_value(self, data: Any) -> Any:
        """The parsed fields; ValidationError names the unknown ones too."""
        errors: dict[str, Any] = {}
        if isinstance(data, Mapping):
            errors = {shown(name): ["There is no such field."] for name in data if name not in self.fields}
        try:
            value = super().to_internal_value(data)
        except serializers.ValidationError as error:
            if errors and isinstance(error.detail, dict):
                raise serializers.ValidationError({**error.detail, **errors}) from None
            raise
        if errors:
            raise serializers.ValidationError(errors)
        return value


class TextField(serializers.CharField):
    """Text as text: a number or a truth value is not turned into one."""

    def to_internal_value(self, data: Any) -> str:
        """The text; ValidationError."""
        if not isinstance(data, str):
            raise serializers.ValidationError(f"{shown(data)} is not text.")
        return str(super().to_internal_value(data))


class BytesField(TextField):
    """The bytes of a file as base64 of RFC 4648, without line breaks."""

    def __init__(self, **more: Any) -> None:
        super().__init__(trim_whitespace=False, **more)

    def to_internal_value(self, data: Any) -> Any:
        """The bytes; ValidationError."""
        try:
            return b64decode(super().to_internal_value(data), validate=True)
        except ValueError:
            raise serializers.ValidationError("This is no base64.") from None


class WholeField(serializers.IntegerField):
    """A whole number as a number: neither text nor truth value nor 1.0."""

    def __init__(self, **more: Any) -> None:
        more.setdefault("min_value", 0)
        more.setdefault("max_value", MAX_BASE_AMOUNT)
        super().__init__(**more)

    def to_internal_value(self, data: Any) -> int:
        """The number; ValidationError."""
        if isinstance(data, str):
            raise serializers.ValidationError(f'"{shown(data)}" is text, not a whole number.')
        if not isinstance(data, int) or isinstance(data, bool):
            raise serializers.ValidationError(f"{shown(data)} is not a whole number.")
        return data


class TruthField(serializers.BooleanField):
    """true or false, nothing that looks like it."""

    def to_internal_value(self, data: Any) -> bool:
        """The truth value; ValidationError."""
        if not isinstance(data, bool):
            raise serializers.ValidationError(f"{shown(data)} is neither true nor false.")
        return data


#: What may be said where an amount is asked for.
AMOUNT = 'text with a unit ("4 EA", "12 mL"), or a whole number of base units'


@extend_schema_field(
    {
        "oneOf": [
            {"type": "integer", "maximum": MAX_BASE_AMOUNT, "minimum": -MAX_BASE_AMOUNT},
            {"type": "string", "maxLength": MAX_CHARACTERS, "minLength": 1, "example": "12 mL"},
        ]
    }
)
class AmountField(serializers.Field):
    """An amount: text with a unit ("4 EA", "12 mL"), or a whole number of base units. The rules read and judge it."""

    def to_internal_value(self, data: Any) -> str | int:
        """The amount as given; ValidationError when it is neither text nor whole number."""
        if isinstance(data, bool) or not isinstance(data, str | int):
            raise serializers.ValidationError(
                f'{shown(data)} is not an amount: text with a unit, as in "12 mL", or a whole number of base units.'
            )
        return data

    def to_representation(self, value: Any) -> Any:
        """As it is."""
        return value


class DayField(serializers.DateField):
    """A day as 2025-01-15."""

    def __init__(self, **more: Any) -> None:
        super().__init__(input_formats=["%Y-%m-%d"], **more)

    def to_internal_value(self, value: Any) -> Any:
        """The day; ValidationError."""
        if not (isinstance(value, str) and len(value) == 10 and value.isascii()):
            raise serializers.ValidationError(f"{shown(value)} is not a day as in 2025-01-15.")
        found = super().to_internal_value(value)
        if found.year < EARLIEST.year:
            raise serializers.ValidationError(f"{value} lies before {EARLIEST.year}.")
        if found.year > LATEST_YEAR:
            raise serializers.ValidationError(f"{value} lies after {LATEST_YEAR}.")
        return found


class MomentField(serializers.DateTimeField):
    """A moment with its offset from UTC, as 2025-01-15T12:00:00+01:00."""

    def to_internal_value(self, value: Any) -> Any:
        """The moment in UTC; ValidationError."""
        wrong = serializers.ValidationError(
            f"{shown(value)} is not a moment with its offset from UTC, as in 2025-01-15T12:00:00Z."
        )
        if not isinstance(value, str) or "T" not in value.upper():
            raise wrong
        try:
            found = datetime.fromisoformat(value.upper())
            if found.tzinfo is None:
                raise wrong
            moment = found.astimezone(UTC)
        except (ValueError, OverflowError):
            raise wrong from None
        if moment < EARLIEST:
            raise serializers.ValidationError(f"{shown(value)} lies before {EARLIEST.year}.")
        if moment.year > LATEST_YEAR:
            raise serializers.ValidationError(f"{shown(value)} lies after {LATEST_YEAR}.")
        return moment


class ActSerializer(StrictSerializer):
    """What every act may say about itself."""

    occurred_at = MomentField(
        required=False, help_text="when it happened, with its offset from UTC; now if left out; never in the future"
    )
    device = TextField(
        required=False, allow_blank=True, max_length=80, help_text="name of the device that sends it later"
    )
    device_at = MomentField(required=False, help_text="the clock of that device")
