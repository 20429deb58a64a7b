"""Newer revisions than those that a job works by, and what people said to them."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import ActSerializer, StrictSerializer, TextField, TruthField, WholeField
from api.rest.serializers.jobs import MOST
from api.rest.serializers.newer import NewerRevisionSerializer, RevisionChangesSerializer
from api.rest.serializers.to_return import ToReturnSerializer


class RevisionWordSerializer(serializers.Serializer):
    """What a person said to a newer revision."""

    procedure = serializers.CharField(allow_blank=True, help_text="empty: the engine family")
    revision = serializers.IntegerField()
    instead_of = serializers.IntegerField(help_text="the revision that the job worked by until then")
    taken = serializers.BooleanField()
    reason = serializers.CharField()
    by = serializers.CharField()
    at = serializers.DateTimeField()


class JobRevisionsSerializer(serializers.Serializer):
    """What a job is asked about, and what was said before."""

    job = serializers.CharField()
    newer = NewerRevisionSerializer(many=True)
    words = RevisionWordSerializer(many=True)


class RevisionInSerializer(StrictSerializer):
    """The newest revision of a procedure on the job, or of its engine family."""

    procedure = TextField(max_length=40, required=False, allow_blank=True, help_text="left out: the engine family")
    revision = WholeField()


class RevisionsInSerializer(ActSerializer):
    """Take newer revisions over, or keep the old ones."""

    revisions = RevisionInSerializer(many=True, max_length=MOST)
    take = TruthField(help_text="false: the job keeps what it has")
    reason = TextField(max_length=2000)


class RevisionDecidedSerializer(serializers.Serializer):
    """One revision that was decided on."""

    procedure = serializers.CharField(allow_blank=True)
    revision = serializers.IntegerField()
    instead_of = serializers.IntegerField()


class RevisionsDecidedSerializer(serializers.Serializer):
    """What was decided, what it changed on the list, and what is to be returned or released for it."""

    taken = serializers.BooleanField()
    revisions = RevisionDecidedSerializer(many=True)
    changes = RevisionChangesSerializer(allow_null=True)
    to_return = ToReturnSerializer(allow_null=True)
