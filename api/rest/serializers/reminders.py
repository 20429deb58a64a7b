"""What somebody should be reminded of."""

from __future__ import annotations

from rest_framework import serializers

from kits.domain.reminders import Kind


class ReminderSerializer(serializers.Serializer):
    """An open thing that is late."""

    job = serializers.CharField()
    kind = serializers.ChoiceField(choices=[kind.value for kind in Kind])
    what = serializers.CharField()
    late_from = serializers.DateField(help_text="the first day on which it is late")
    days = serializers.IntegerField(help_text="late; 1 on the first day")
    number = serializers.IntegerField(
        allow_null=True, help_text="of the item, hold, loan, outside work or finding that it is about"
    )


class RemindersSerializer(serializers.Serializer):
    """What is late on a day, the oldest first."""

    on = serializers.DateField()
    reminders = ReminderSerializer(many=True)
