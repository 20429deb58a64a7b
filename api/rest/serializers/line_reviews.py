"""Parts lines that the benches doubted often, and what came of it."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import ActSerializer, TextField, WholeField


class DoubtingExtraSerializer(serializers.Serializer):
    """An extra that was asked for because the list is wrong."""

    act = serializers.IntegerField()
    job = serializers.CharField()
    on = serializers.DateField()
    at = serializers.DateTimeField()
    by = serializers.CharField()
    part = serializers.CharField(help_text="that was asked for")
    amount = serializers.IntegerField()
    base = serializers.CharField()
    shown = serializers.CharField()
    positions = serializers.ListField(child=serializers.CharField())
    revision = serializers.IntegerField(help_text="of the procedure, that the job works by")


class LineToReviewSerializer(serializers.Serializer):
    """A parts line that is up for review: doubted three times or more since it was last reviewed."""

    procedure = serializers.CharField()
    name = serializers.CharField(help_text="of the procedure")
    line = serializers.CharField(allow_blank=True, help_text="empty: no line of the procedure asks for the part")
    part = serializers.CharField(help_text="that the line has, or that no line asks for")
    positions = serializers.ListField(child=serializers.CharField())
    asked = serializers.IntegerField(help_text="how often")
    since = serializers.DateTimeField(help_text="when it was first asked for")
    extras = DoubtingExtraSerializer(many=True)


class ClosedReviewSerializer(serializers.Serializer):
    """What came of a review."""

    procedure = serializers.CharField()
    line = serializers.CharField(allow_blank=True)
    part = serializers.CharField(allow_blank=True, help_text="where no line asks for it")
    mended_in = serializers.IntegerField(allow_null=True, help_text="revision; null: the list is right")
    word = serializers.CharField()
    by = serializers.CharField()
    at = serializers.DateTimeField()


class LineReviewsSerializer(serializers.Serializer):
    """The reviews of a procedure's lines: those to do, and what came of the earlier ones, the newest first."""

    to_review = LineToReviewSerializer(many=True)
    closed = ClosedReviewSerializer(many=True)


class ReviewInSerializer(ActSerializer):
    """A person's word on a line that is up for review."""

    line = TextField(max_length=60, required=False, allow_blank=True, help_text="id of the line")
    part = TextField(
        max_length=60, required=False, allow_blank=True, help_text="in place of a line: a part that no line asks for"
    )
    mended_in = WholeField(required=False, allow_null=True, help_text="the revision that mends it; none: it is right")
    word = TextField(max_length=2000, help_text="what was mended, or why the list is right")


class AnsweredSerializer(serializers.Serializer):
    """An extra that the review answers."""

    act = serializers.IntegerField()
    job = serializers.CharField()


class ReviewClosedSerializer(serializers.Serializer):
    """The review is closed; counting begins anew."""

    procedure = serializers.CharField()
    line = serializers.CharField(allow_blank=True)
    part = serializers.CharField(allow_blank=True)
    mended_in = serializers.IntegerField(allow_null=True)
    answered = AnsweredSerializer(many=True)
