"""What somebody should be reminded of."""

from __future__ import annotations

from rest_framework import serializers

from kits.domain.reminders import Kind


class ReminderSerializer(serializers.Serializer):
    """An open thing that is late."""

    job = serializers.CharField(allow_blank=True, help_text="empty: the shop's own")
    kind = serializers.ChoiceField(choices=[kind.value for kind in Kind])
    what = serializers.CharField()
    late_from = serializers.DateField(help_text="the first day on which it is late")
    days = serializers.IntegerField(help_text="late; 1 on the first day")
    number = serializers.IntegerField(
        allow_null=True, help_text="of the item, hold, loan, outside work or finding that it is about"
    )
    told = serializers.CharField(
        allow_blank=True,
        help_text="log-in of the person whom it concerns by name: who sent the piece out; empty: everybody",
    )


class LateWorkSerializer(serializers.Serializer):
    """Work after the first run whose last day is past."""

    what = serializers.CharField()
    due_on = serializers.DateField()
    days = serializers.IntegerField(help_text="late; 1 on the first day")
    parts = serializers.ListField(child=serializers.CharField(), help_text="what it takes, and whether it is held")


class LetterOwnerSerializer(serializers.Serializer):
    """Whom to reach."""

    id = serializers.IntegerField()
    name = serializers.CharField()
    address = serializers.CharField(allow_blank=True)
    telephone = serializers.CharField(allow_blank=True)
    email = serializers.CharField(allow_blank=True)


class ServiceLetterSerializer(serializers.Serializer):
    """A letter to the owner of an engine that is not back for its work; `due` is `done` and `open` together."""

    job = serializers.CharField()
    engine = serializers.CharField()
    run_on = serializers.DateField()
    due = serializers.IntegerField()
    done = serializers.IntegerField()
    open = serializers.IntegerField()
    lines = LateWorkSerializer(many=True)
    owner = LetterOwnerSerializer(allow_null=True, help_text="null: nobody is on record")
    text = serializers.CharField(help_text="plain text, to be printed")
    caution = serializers.CharField(help_text="it stands in the letter too")


class ServiceLettersSerializer(serializers.Serializer):
    """Letters of a day, the longest first run ago first."""

    on = serializers.DateField()
    letters = ServiceLetterSerializer(many=True)


class RemindersSerializer(serializers.Serializer):
    """What is late on a day, the oldest first."""

    on = serializers.DateField()
    reminders = ReminderSerializer(many=True)
