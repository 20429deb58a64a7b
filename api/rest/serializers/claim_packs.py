"""The pack of a claim: everything on record about it, its contents and what is missing."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.serializers.build import BuildSheetSerializer
from api.rest.serializers.jobs import JobDetailSerializer
from api.rest.serializers.owner_claims import ClaimSerializer
from api.rest.shapes import shape
from kits.domain.claim_sheets import ContentsLine, NotThere
from kits.queries.claim_pack import GaugeUsed, LotPaper, PhotoKept, RemovedSince, Signature, TorqueQuoted


class ClaimedOutSerializer(serializers.Serializer):
    """The engine went to the customer after the job."""

    on = serializers.DateField()
    by = serializers.CharField()
    used_in = serializers.CharField(allow_blank=True)
    new_term = serializers.BooleanField()


class ClaimedJobSerializer(JobDetailSerializer):
    """The card of the job whose work is claimed."""

    booked_at = serializers.DateTimeField()
    booked_by = serializers.CharField()
    family_revision = serializers.IntegerField()
    handed_over = ClaimedOutSerializer(allow_null=True)


class ClaimPackSerializer(serializers.Serializer):
    """Everything on record about a claim."""

    made_on = serializers.DateField()
    contents = shape(ContentsLine)(many=True, help_text="the sections of the printed pack")
    missing = shape(NotThere)(many=True, help_text="what is not on record; printed as such in its place")
    claim = ClaimSerializer()
    job = ClaimedJobSerializer()
    build_sheet = BuildSheetSerializer(help_text="of the job whose work is claimed")
    removed_since = shape(RemovedSince)(many=True)
    gauges = shape(GaugeUsed)(many=True)
    lots = shape(LotPaper)(many=True)
    photos = shape(PhotoKept)(many=True)
    torques = shape(TorqueQuoted)(many=True)
    signatures = shape(Signature)(many=True)
