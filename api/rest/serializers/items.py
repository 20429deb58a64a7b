"""Items, matched sets, and the acts on them."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import ActSerializer, TextField, WholeField
from api.rest.serializers.common import ShortSerializer, StandingSerializer
from api.rest.serializers.receipts import SetLabelSerializer
from inventory.domain.items import Base, Member

_MEMBERS = [member.value for member in Member if member.value]


class ItemSerializer(serializers.Serializer):
    """What a thing is."""

    id = serializers.IntegerField()
    part = serializers.CharField()
    identity = serializers.CharField()
    lot = serializers.CharField(allow_blank=True)
    lot_id = serializers.IntegerField(allow_null=True)
    serial = serializers.CharField(allow_blank=True)
    member = serializers.CharField(allow_blank=True, help_text="liner, piston or pin of a broken set; empty if whole")
    tube = serializers.CharField(allow_blank=True)
    from_kit = serializers.IntegerField(allow_null=True, help_text="the item it came out of")
    base = serializers.ChoiceField(choices=[base.value for base in Base])
    expires_on = serializers.DateField(allow_null=True)
    stopped = serializers.BooleanField()


class ItemDetailSerializer(ItemSerializer):
    """An item and where it stands, engines included."""

    stands = StandingSerializer(many=True)


class SetSerializer(serializers.Serializer):
    """A matched piston/liner set; lengths in nm, the weight of the piston in mg."""

    part = serializers.CharField()
    serial = serializers.CharField()
    weight_mg = serializers.IntegerField(allow_null=True)
    weighed = serializers.CharField(allow_blank=True, help_text="with pin or without pin; empty: no weight is said")
    bore_nm = serializers.IntegerField(allow_null=True)
    piston_nm = serializers.IntegerField(allow_null=True)
    grade = serializers.CharField(allow_blank=True)
    liner_mark = serializers.CharField(allow_blank=True)
    piston_mark = serializers.CharField(allow_blank=True)
    photo = serializers.CharField(allow_blank=True, help_text="where a photo of its label is kept")
    broken = serializers.BooleanField()
    damaged = serializers.CharField(allow_blank=True, help_text="member that was damaged; empty: none, or while whole")
    missing = serializers.ListField(child=serializers.CharField(), help_text="members that were not there")
    matched_again = serializers.BooleanField(help_text="made by measurement from what broken sets left")


LABEL = ("weight_mg", "weighed", "bore_nm", "piston_nm", "grade", "liner_mark", "piston_mark", "photo")


class LabelSerializer(serializers.Serializer):
    """What the label of a set says; lengths in nm, the weight of the piston in mg."""

    weight_mg = serializers.IntegerField(allow_null=True)
    weighed = serializers.CharField(allow_blank=True, help_text="with pin or without pin; empty: no weight is said")
    bore_nm = serializers.IntegerField(allow_null=True)
    piston_nm = serializers.IntegerField(allow_null=True)
    grade = serializers.CharField(allow_blank=True)
    liner_mark = serializers.CharField(allow_blank=True)
    piston_mark = serializers.CharField(allow_blank=True)
    photo = serializers.CharField(allow_blank=True)


class LabelKeptSerializer(LabelSerializer):
    """A label as an act found it (before) or left it."""

    act = serializers.IntegerField()
    on = serializers.DateTimeField()
    by = serializers.CharField()
    reason = serializers.CharField(allow_blank=True)
    before = serializers.BooleanField()


class RelabelInSerializer(ActSerializer):
    """All that the label of the set really says."""

    set_label = SetLabelSerializer()
    reason = TextField(max_length=2000)


class RelabelledSerializer(serializers.Serializer):
    """What was on record of the label, and what is now."""

    part = serializers.CharField()
    serial = serializers.CharField()
    before = LabelSerializer()
    after = LabelSerializer()


class SetDetailSerializer(SetSerializer):
    """A set and where it, or what is left of it, stands."""

    stands = StandingSerializer(many=True)
    labels = LabelKeptSerializer(many=True, help_text="what acts found and left where the label was put right")


class BreakInSerializer(ActSerializer):
    """How a set was broken."""

    damaged = serializers.ChoiceField(
        choices=_MEMBERS, required=False, help_text="goes to scrap; left out where none is damaged"
    )
    missing = serializers.ListField(
        child=serializers.ChoiceField(choices=_MEMBERS),
        required=False,
        max_length=3,
        help_text="not there, as where a box held half a set: missing until a count finds them",
    )
    reason = TextField(max_length=2000, help_text="how it broke, or how it came to be found incomplete")
    orphan_place = TextField(max_length=80, help_text="quarantine place for the members that are still good")
    photo_ref = TextField(required=False, allow_blank=True, max_length=200, help_text="where the photo is kept")
    no_photo = TextField(
        required=False,
        allow_blank=True,
        max_length=200,
        help_text="why there is no photo; of damage one of them is asked for",
    )
    subject = TextField(required=False, allow_blank=True, max_length=80, help_text="the job it happened on")


class OrphanSerializer(serializers.Serializer):
    """A member of a broken set: a good one, or one that is missing and can be counted by this item when it is found."""

    item = serializers.IntegerField()
    member = serializers.CharField()
    place = serializers.CharField(allow_blank=True, help_text="empty: it is missing")


class BrokenSerializer(serializers.Serializer):
    """The set is broken and stays so."""

    part = serializers.CharField()
    serial = serializers.CharField()
    place = serializers.CharField()
    spot = serializers.CharField()
    damaged = serializers.CharField(allow_blank=True)
    missing = OrphanSerializer(many=True)
    reason = serializers.CharField()
    photo = serializers.CharField(allow_blank=True)
    no_photo = serializers.CharField(allow_blank=True)
    orphans = OrphanSerializer(many=True)
    shorts = ShortSerializer(many=True)


class CoreValueInSerializer(ActSerializer):
    """What a broken set is worth as a core."""

    value_coins = WholeField(allow_null=True, help_text="null: nothing")
    reason = TextField(max_length=2000)
    subject = TextField(required=False, allow_blank=True, max_length=80, help_text="the job it was broken on")


class CoreValueMadeSerializer(serializers.Serializer):
    """The decision is on record; the newest counts."""

    part = serializers.CharField()
    serial = serializers.CharField()
    value_coins = serializers.IntegerField(allow_null=True)
    before = serializers.IntegerField(allow_null=True)
    decided_before = serializers.BooleanField()
    reason = serializers.CharField()


class MatchInSerializer(ActSerializer):
    """A liner, a piston and its pin that were measured on the job and lie in one quarantine place."""

    part = TextField(max_length=60, help_text="number of the set's part")
    serial = TextField(max_length=60, help_text="the new set's serial")
    liner = WholeField(help_text="id of the item")
    piston = WholeField(help_text="id of the item")
    pin = WholeField(
        required=False, allow_null=True, help_text="id of the item; left out where a single piston brings its own"
    )
    signed_by = TextField(max_length=150, help_text="log-in of the second person, who took none of the readings")


class MatchMemberSerializer(serializers.Serializer):
    """What a member was before."""

    member = serializers.CharField()
    item = serializers.IntegerField()
    part = serializers.CharField()
    serial = serializers.CharField()


class MatchMeasuredSerializer(serializers.Serializer):
    """What the readings say of the new set."""

    weight_mg = serializers.IntegerField(allow_null=True)
    bore_nm = serializers.IntegerField()
    piston_nm = serializers.IntegerField()


class MatchMadeSerializer(serializers.Serializer):
    """The new set lies in quarantine until it is released."""

    item = serializers.IntegerField()
    part = serializers.CharField()
    serial = serializers.CharField()
    place = serializers.CharField()
    spot = serializers.CharField()
    members = MatchMemberSerializer(many=True)
    measured = MatchMeasuredSerializer()
    result = serializers.IntegerField()
    document = serializers.DictField(help_text="rule, limits, clearance and readings")
    signed_by = serializers.CharField()
