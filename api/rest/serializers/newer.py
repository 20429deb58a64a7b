"""What a newer revision would change on the list of a job."""

from __future__ import annotations

from rest_framework import serializers


class OtherFittedSerializer(serializers.Serializer):
    """A part that was fitted already and that the other list does not ask for."""

    position = serializers.CharField()
    make = serializers.IntegerField()
    part = serializers.CharField()
    item = serializers.IntegerField()
    amount = serializers.IntegerField()
    wanted = serializers.ListField(child=serializers.CharField(), help_text="parts that would be listed there")
    why = serializers.CharField()


class RevisionChangesSerializer(serializers.Serializer):
    """What another revision changes on this job's list, by use position."""

    added = serializers.ListField(child=serializers.DictField())
    removed = serializers.ListField(child=serializers.DictField())
    changed = serializers.ListField(child=serializers.DictField(), help_text="position, make, before, after")
    kept = serializers.IntegerField(help_text="positions that stay as they are")
    revisions = serializers.ListField(
        child=serializers.CharField(), help_text="which revision each list used, in words"
    )
    fitted = OtherFittedSerializer(many=True)


class NewerRevisionSerializer(serializers.Serializer):
    """A newer revision than the job works by."""

    procedure = serializers.CharField(allow_blank=True, help_text="empty: it is the engine family's")
    family = serializers.CharField(allow_blank=True, help_text="empty: it is a procedure's")
    has = serializers.IntegerField(help_text="the revision that the job works by")
    revision = serializers.IntegerField(help_text="the newest")
    since = serializers.DateTimeField(help_text="when the newest was entered")
    by = serializers.CharField()
    stop = serializers.CharField(
        allow_blank=True, help_text="the maker's bulletin that stops what the job works by: nothing goes on under it"
    )
    asks = serializers.BooleanField(help_text="a person has to take it over or keep the old one")
    kept_because = serializers.CharField(allow_blank=True, help_text="why the old one is kept")
    said = serializers.CharField(help_text="how it stands, in one line")
    changes = RevisionChangesSerializer(allow_null=True, help_text="null where it cannot be taken over alone")
    unusable = serializers.CharField(allow_blank=True, help_text="why it cannot be taken over alone")
