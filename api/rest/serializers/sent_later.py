"""Acts sent later, and clashes."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import ActSerializer, MomentField, StrictSerializer, TextField, TruthField
from api.rest.schema import ProblemSerializer
from api.rest.sent_later import KINDS

#: What a device sends at once; the rest in the next batch.
MOST_ACTS = 200


class SentActInSerializer(StrictSerializer):
    """One act as the device did it."""

    key = serializers.UUIDField(help_text="made by the device, once for this act")
    kind = serializers.ChoiceField(choices=sorted(KINDS))
    of = TextField(
        required=False,
        allow_blank=True,
        max_length=80,
        help_text="what the address names: number of the job, pick list, sheet, note, item or tube, or the serial",
    )
    device = TextField(max_length=80)
    device_at = MomentField(
        help_text="the device's clock when it was done; true since then, if it is not ahead of ours"
    )
    body = serializers.DictField(help_text="what the resource takes that the act is sent to at once")


class SentActsInSerializer(StrictSerializer):
    """A batch, in the order in which each device did them."""

    acts = SentActInSerializer(many=True, min_length=1, max_length=MOST_ACTS)


class TakenSerializer(serializers.Serializer):
    """What became of one act."""

    key = serializers.CharField()
    kind = serializers.CharField()
    outcome = serializers.ChoiceField(
        choices=["done", "refused", "clash", "not taken"],
        help_text="refused and clash: kept, the same when sent again; not taken: send it again",
    )
    replayed = serializers.BooleanField(help_text="it was taken before: this is its answer of then")
    act = serializers.IntegerField(allow_null=True)
    answer = serializers.DictField(allow_null=True, help_text="as the resource answers; null unless done")
    problem = ProblemSerializer(allow_null=True)
    clash = serializers.IntegerField(allow_null=True)


class SentActsSerializer(serializers.Serializer):
    """What became of each, in the order sent."""

    acts = TakenSerializer(many=True)


class StorySerializer(serializers.Serializer):
    """Who said what, when, with which device."""

    act = serializers.IntegerField()
    kind = serializers.CharField()
    of = serializers.CharField(allow_blank=True)
    by = serializers.CharField()
    device = serializers.CharField(allow_blank=True)
    device_at = serializers.DateTimeField(allow_null=True)
    occurred_at = serializers.DateTimeField()
    recorded_at = serializers.DateTimeField()


class SecondStorySerializer(StorySerializer):
    """The one that was refused, as it was sent."""

    key = serializers.UUIDField()
    body = serializers.DictField()


class ClashAnswerSerializer(serializers.Serializer):
    """What a person found to be true."""

    second_is_right = serializers.BooleanField()
    words = serializers.CharField()
    by = serializers.CharField()
    at = serializers.DateTimeField()


class ClashSerializer(serializers.Serializer):
    """Two stories about one thing: the first stands."""

    clash = serializers.IntegerField()
    item = serializers.IntegerField()
    part = serializers.CharField()
    called = serializers.CharField()
    code = serializers.CharField()
    detail = serializers.CharField()
    first = StorySerializer()
    second = SecondStorySerializer()
    answer = ClashAnswerSerializer(allow_null=True)


class ClashAnswerInSerializer(ActSerializer):
    """Which story is true."""

    second_is_right = TruthField()
    words = TextField(max_length=2000, help_text="what was found, and by whom")


class ClashAnsweredSerializer(serializers.Serializer):
    """The answer as kept."""

    clash = serializers.IntegerField()
    second_is_right = serializers.BooleanField()
    words = serializers.CharField()
