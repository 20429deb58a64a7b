"""Certificates, sample plans and inspections of delivered lots."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import ActSerializer, BytesField, DayField, TextField, WholeField
from api.rest.serializers.lots import StoppedSerializer
from api.rest.shapes import shape
from inventory.domain.certificates import BEGINS, MOST_BYTES
from inventory.queries.certificates import CertifiedLot

_MOST_TEXT = 4 * MOST_BYTES // 3 + 4


class CertificateInSerializer(ActSerializer):
    """A certificate with its file."""

    supplier = TextField(max_length=40)
    number = TextField(max_length=60)
    heat = TextField(required=False, allow_blank=True, max_length=60, help_text="heat or batch of the maker")
    dated_on = DayField()
    printed_lots = serializers.ListField(
        child=TextField(max_length=60), max_length=500, help_text="as they stand on it"
    )
    filename = TextField(max_length=120)
    content_type = serializers.ChoiceField(choices=sorted(BEGINS))
    content = BytesField(max_length=_MOST_TEXT, help_text="the file in base64")
    lots = serializers.ListField(
        child=WholeField(), required=False, max_length=500, help_text="ids of the lots on record that it came with"
    )


class CertificateMadeSerializer(serializers.Serializer):
    """The certificate as kept; lots that it does not speak of are stopped."""

    certificate = serializers.IntegerField()
    number = serializers.CharField()
    supplier = serializers.CharField()
    sha256 = serializers.CharField()
    size_bytes = serializers.IntegerField()
    lots = shape(CertifiedLot)(many=True)
    stops = StoppedSerializer(many=True)


class CertificateLotsInSerializer(ActSerializer):
    """More lots that a certificate is laid beside."""

    lots = serializers.ListField(child=WholeField(), max_length=500)


class CertificateLaidSerializer(serializers.Serializer):
    """The lots it was laid beside; those that it does not speak of are stopped."""

    certificate = serializers.IntegerField()
    number = serializers.CharField()
    lots = shape(CertifiedLot)(many=True)
    stops = StoppedSerializer(many=True)


class SamplePlanInSerializer(ActSerializer):
    """So many pieces of each lot are looked at, so many bad ones accepted; 0 and 0 end it."""

    part = TextField(max_length=60)
    supplier = TextField(
        required=False, allow_blank=True, max_length=40, help_text="for its lots only; left out: for any"
    )
    sample = WholeField()
    accept = WholeField()
    checks = TextField(required=False, allow_blank=True, max_length=2000, help_text="what is looked at, and by what")


class SamplePlanMadeSerializer(serializers.Serializer):
    """The plan as it holds from now on."""

    plan = serializers.IntegerField()
    part = serializers.CharField()
    supplier = serializers.CharField(allow_blank=True)
    sample = serializers.IntegerField()
    accept = serializers.IntegerField()
    checks = serializers.CharField(allow_blank=True)


class LotInspectionInSerializer(ActSerializer):
    """What a sample of one lot of a delivery was like."""

    receipt = WholeField()
    lot_id = WholeField()
    sampled = WholeField()
    bad = WholeField()
    results = serializers.ListField(
        child=TextField(max_length=200), required=False, max_length=500, help_text="what was measured"
    )


class LotInspectedSerializer(serializers.Serializer):
    """Passed, or the lot is stopped."""

    inspection = serializers.IntegerField()
    receipt = serializers.IntegerField()
    part = serializers.CharField()
    lot_id = serializers.IntegerField()
    lot = serializers.CharField()
    needed = serializers.IntegerField()
    sampled = serializers.IntegerField()
    bad = serializers.IntegerField()
    accept = serializers.IntegerField()
    passed = serializers.BooleanField()
    stop = StoppedSerializer(allow_null=True)
