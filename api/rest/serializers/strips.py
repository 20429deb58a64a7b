"""What the strip finds in an engine, what comes out of it, and what may go back."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import ActSerializer, AmountField, StrictSerializer, TextField, TruthField, WholeField
from api.rest.serializers.jobs import MOST
from api.rest.serializers.receipts import ANOTHER


class FindInSerializer(StrictSerializer):
    """A part found in the engine, as far as it is known; a lot or serial only where it can be read."""

    position = TextField(max_length=80)
    part = TextField(max_length=60)
    amount = AmountField(required=False)
    lot = TextField(max_length=60, required=False, allow_blank=True)
    serial = TextField(max_length=60, required=False, allow_blank=True)
    size = TextField(max_length=60, required=False, allow_blank=True)
    condition = TextField(max_length=200, required=False, allow_blank=True)
    whose = serializers.ChoiceField(choices=["customer", "shop"], required=False)
    why_more = TextField(
        max_length=200, required=False, allow_blank=True,
        help_text="why more pieces are there than the position takes by the parts lines",
    )  # fmt: skip
    another_lot = TruthField(required=False, help_text=ANOTHER)
    another_serial = TruthField(required=False, help_text=ANOTHER)


class FindsInSerializer(ActSerializer):
    """Parts found in the engine."""

    finds = FindInSerializer(many=True, max_length=MOST)


class FindMadeSerializer(serializers.Serializer):
    """A found part on record; without lot and serial it is "found, not known"."""

    position = serializers.CharField()
    item = serializers.IntegerField()
    part = serializers.CharField()
    known = serializers.BooleanField()
    lot = serializers.CharField(allow_blank=True, help_text="as it is on record")
    serial = serializers.CharField(allow_blank=True, help_text="as it is on record")
    why_more = serializers.CharField(allow_blank=True)


class FindsMadeSerializer(serializers.Serializer):
    """The finds were recorded."""

    found = FindMadeSerializer(many=True)


class RemovalInSerializer(StrictSerializer):
    """What comes out of a position; a part whose position nobody kept is named by its item, and its place is lost."""

    position = TextField(max_length=80, required=False, allow_blank=True, default="")
    to = TextField(max_length=80, required=False, help_text="bench, scrap, or the code of a quarantine or crate")
    item = WholeField(required=False, allow_null=True, help_text="only this; everything there if left out")
    amount = WholeField(required=False, allow_null=True, min_value=1, help_text="whole base units; all if left out")
    reason = TextField(max_length=2000, required=False, allow_blank=True)
    tag = TextField(
        max_length=60, required=False, allow_blank=True, help_text="text of its tag, one of a kind on the job"
    )
    clock_deg = WholeField(
        required=False,
        allow_null=True,
        max_value=359,
        help_text="angle at which its mark stood, clockwise from the front",
    )
    side = TextField(max_length=60, required=False, allow_blank=True, help_text="side on which its number stood")
    looked = TextField(
        max_length=20, required=False, allow_blank=True, help_text="of a ring of a liner: whole, rolled or cut"
    )


class RemovalsInSerializer(ActSerializer):
    """What comes out of the engine."""

    removals = RemovalInSerializer(many=True, max_length=MOST)


class RemovedSerializer(serializers.Serializer):
    """A thing that came out, and of which position; empty where nobody kept it."""

    position = serializers.CharField(allow_blank=True)
    item = serializers.IntegerField()
    part = serializers.CharField()
    lot = serializers.CharField(allow_blank=True)
    serial = serializers.CharField(allow_blank=True)
    amount = serializers.IntegerField()
    to = serializers.CharField()
    tag = serializers.CharField(allow_blank=True)
    clock_deg = serializers.IntegerField(allow_null=True)
    side = serializers.CharField(allow_blank=True)
    looked = serializers.CharField(allow_blank=True)
    position_lost = serializers.BooleanField()


class RemovalsMadeSerializer(serializers.Serializer):
    """What came out."""

    removed = RemovedSerializer(many=True)
    findings = serializers.ListField(
        child=serializers.DictField(), help_text="what came out shows that these are true: id, code, place"
    )


class InspectionInSerializer(StrictSerializer):
    """A part that may go back, held against its limit."""

    position = TextField(max_length=80)
    limit = TextField(max_length=200)
    result = TextField(max_length=200)
    good = TruthField()
    item = WholeField(required=False, allow_null=True)
    gauge = TextField(
        max_length=40, required=False, allow_blank=True, help_text="number of the gauge that the result was read with"
    )


class InspectionsInSerializer(ActSerializer):
    """Inspections of old parts."""

    inspections = InspectionInSerializer(many=True, max_length=MOST)


class InspectedSerializer(serializers.Serializer):
    """An inspection on record."""

    position = serializers.CharField()
    good = serializers.BooleanField()
    gauge = serializers.CharField(allow_blank=True)
    gauge_state = serializers.CharField(
        allow_blank=True, help_text="how the gauge stood on the day; empty: none was named"
    )


class InspectionsMadeSerializer(serializers.Serializer):
    """The inspections were recorded."""

    inspected = InspectedSerializer(many=True)


class RemovalSerializer(serializers.Serializer):
    """A removal on record: where the part came from, as far as anybody knows, and how it is marked."""

    removal = serializers.IntegerField()
    position = serializers.CharField(allow_blank=True, help_text="empty: lost")
    item = serializers.IntegerField()
    part = serializers.CharField()
    lot = serializers.CharField(allow_blank=True)
    serial = serializers.CharField(allow_blank=True)
    amount = serializers.IntegerField()
    at_bench = serializers.BooleanField(help_text="it came to the bench and may go back; else it left the job")
    tag = serializers.CharField(allow_blank=True)
    clock_deg = serializers.IntegerField(allow_null=True)
    side = serializers.CharField(allow_blank=True)
    looked = serializers.CharField(allow_blank=True, help_text="of a ring: whole, rolled or cut; empty: not said")
    position_lost = serializers.BooleanField()
    why_lost = serializers.CharField(allow_blank=True)
    reason = serializers.CharField(allow_blank=True)


class RemovalsSerializer(serializers.Serializer):
    """What came out of the engine on a job, in order."""

    removals = RemovalSerializer(many=True)


class FindSerializer(serializers.Serializer):
    """A find on record and what became of it, in base units of the item."""

    find = serializers.IntegerField()
    position = serializers.CharField()
    item = serializers.IntegerField()
    part = serializers.CharField()
    lot = serializers.CharField(allow_blank=True)
    serial = serializers.CharField(allow_blank=True)
    known = serializers.BooleanField(help_text="false: found, not known")
    size = serializers.CharField(allow_blank=True)
    condition = serializers.CharField(allow_blank=True)
    whose = serializers.ChoiceField(choices=["customer", "shop"])
    found = serializers.IntegerField()
    reused = serializers.IntegerField(help_text="went back into the engine and is in it")
    given_back = serializers.IntegerField()
    scrapped = serializers.IntegerField()
    in_engine = serializers.IntegerField(help_text="never came out")
    at_bench = serializers.IntegerField()
    in_quarantine = serializers.IntegerField()
    outside = serializers.IntegerField()
    old_unit = serializers.IntegerField(help_text="lies in a crate of old units")
    elsewhere = serializers.IntegerField(help_text="broken up, sent back, counted short")
    still_here = serializers.IntegerField(help_text="in_engine + at_bench + in_quarantine + outside + old_unit")
    adds_up = serializers.BooleanField(help_text="false: the books have less of it at a place than this says")


class FindsSerializer(serializers.Serializer):
    """What was found in the engine on a job, in order."""

    finds = FindSerializer(many=True)
