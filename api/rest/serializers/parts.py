"""The catalogue: parts, replacements, kits' contents."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from api.rest.fields import ActSerializer, DayField, StrictSerializer, TextField, TruthField, WholeField
from api.rest.serializers.common import ShortSerializer, StandingSerializer
from inventory.domain.items import Base, Tracked
from inventory.domain.rubber import Lubricant

_TRACKED = [tracked.value for tracked in Tracked]


def _facts() -> dict[str, Any]:
    """The fields of a part that may be changed, each left out where nothing is said."""
    return {
        "name": TextField(required=False, max_length=200),
        "kind": TextField(required=False, allow_blank=True, max_length=40, help_text="unknown: kept as to be sorted"),
        "shop_number": TextField(required=False, allow_blank=True, max_length=60),
        "life": serializers.DictField(
            required=False,
            help_text='shelf life, {} for none: {"from": "cure" or "making", "years"}, {"closed_months", "open_days"}, '
            '{"printed": true}, {"contents": "earliest"}, or {"by": "compound"} for the years that the shop\'s rule set has for its rubber',
        ),
        "compound": TextField(required=False, allow_blank=True, max_length=20),
        "lubricant": serializers.ChoiceField(
            choices=[*(one.value for one in Lubricant)],
            required=False,
            allow_blank=True,
            help_text="what it is to rubber, for parts that rubber is fitted with",
        ),
        "ring": serializers.DictField(
            required=False, help_text="size, id_mm, section_mm, shape, each as text; {} for none"
        ),
        "label_window": serializers.DictField(
            required=False,
            help_text='of a matched set: what its label may say, {} for anything: {"weight_mg": [410000, 420000], "bore_nm": [low, high], '
            '"piston_nm": [low, high], "grades": ["A"]}; a set whose label says otherwise goes to quarantine whole when it is received',
        ),
        "weight_mg": WholeField(required=False, allow_null=True),
        "packed_ul": WholeField(
            required=False, allow_null=True, help_text="what one takes up in a tray, in its wrapping, in microlitres"
        ),
        "pack": WholeField(required=False),
        "loose_issue": TruthField(required=False, help_text="may leave the shelf in less than a whole pack"),
        "price_coins": WholeField(required=False, allow_null=True),
        "density_mg_per_ml": WholeField(required=False, allow_null=True),
        "net_ul": WholeField(required=False, allow_null=True),
        "empty_mg": WholeField(required=False, allow_null=True),
        "hazard_note": TextField(required=False, allow_blank=True, max_length=4000),
        "storage_note": TextField(required=False, allow_blank=True, max_length=4000),
        "storage": serializers.DictField(
            required=False,
            help_text="what it needs where it lies, {} for nothing: class, low, high (temperatures with their unit), group, "
            "apart_from (a list of groups), in the shop's words",
        ),
    }


class PartChangeSerializer(ActSerializer):
    """Fields of a part to be changed; number, unit and tracking stay as they were entered."""

    def get_fields(self) -> dict[str, Any]:
        """Facts and what every act may say."""
        return {**_facts(), **super().get_fields()}


class PartCreateSerializer(ActSerializer):
    """A new part."""

    number = TextField(max_length=60, help_text="as printed by the maker")
    name = TextField(max_length=200)
    unit = TextField(max_length=40, help_text="UN/CEFACT Rec 20 or 21 code, or a usual name")
    tracked_by = serializers.ChoiceField(choices=_TRACKED, required=False)
    another_part = TruthField(
        required=False, help_text="it is another part than the one whose number differs only in spaces, dashes or case"
    )

    def get_fields(self) -> dict[str, Any]:
        """Own fields win over the optional ones of a change."""
        return {**_facts(), **super().get_fields()}


class PartSerializer(serializers.Serializer):
    """A part of the catalogue."""

    number = serializers.CharField()
    shop_number = serializers.CharField(allow_blank=True)
    compare_key = serializers.CharField()
    name = serializers.CharField()
    kind = serializers.CharField(allow_blank=True, help_text="empty: to be sorted")
    unit = serializers.CharField()
    base = serializers.ChoiceField(choices=[base.value for base in Base])
    tracked_by = serializers.ChoiceField(choices=_TRACKED)
    life = serializers.DictField()
    compound = serializers.CharField(allow_blank=True)
    lubricant = serializers.CharField(allow_blank=True)
    ring = serializers.DictField()
    label_window = serializers.DictField()
    weight_mg = serializers.IntegerField(allow_null=True)
    packed_ul = serializers.IntegerField(allow_null=True)
    pack = serializers.IntegerField()
    loose_issue = serializers.BooleanField()
    price_coins = serializers.IntegerField(allow_null=True)
    density_mg_per_ml = serializers.IntegerField(allow_null=True)
    net_ul = serializers.IntegerField(allow_null=True)
    empty_mg = serializers.IntegerField(allow_null=True)
    hazard_note = serializers.CharField(allow_blank=True)
    storage_note = serializers.CharField(allow_blank=True)
    storage = serializers.DictField()
    storage_rule = serializers.CharField(
        allow_blank=True, help_text="how its kind is stored; its maker's packing first"
    )
    photo = serializers.CharField(allow_blank=True, help_text="where the newest photo of it is kept, to compare")
    size_off = serializers.CharField(
        required=False, allow_blank=True, help_text="where a size was asked for: how far off it is; empty: the same"
    )
    joined_to = serializers.CharField(
        allow_blank=True, help_text="the record that is kept for its number; empty: this one"
    )
    version = serializers.IntegerField()


class JoinSerializer(serializers.Serializer):
    """Two records of one number, and which of them is kept."""

    joined = serializers.CharField()
    kept = serializers.CharField()
    reason = serializers.CharField()
    by = serializers.CharField()
    on = serializers.DateTimeField()
    replacement = serializers.IntegerField(help_text="the notice by which they serve for each other")
    stands = serializers.BooleanField(help_text="false: it was taken back")


class NewPartSerializer(serializers.Serializer):
    """One old part becomes numerator/denominator of this."""

    part = serializers.CharField()
    numerator = serializers.IntegerField()
    denominator = serializers.IntegerField()


class CompanionSerializer(serializers.Serializer):
    """A part of the line that is used only with so many pieces of another."""

    part = serializers.CharField()
    needs = serializers.CharField()
    pieces = serializers.IntegerField()


class ReplacementSerializer(serializers.Serializer):
    """A line of a replacement notice."""

    id = serializers.IntegerField()
    old = serializers.CharField()
    way = serializers.CharField()
    news = NewPartSerializer(many=True)
    fate = serializers.CharField()
    engine_below = serializers.CharField(allow_blank=True)
    engine_from = serializers.CharField(allow_blank=True)
    no_mix_on = serializers.CharField(allow_blank=True)
    condition = serializers.CharField(allow_blank=True)
    noted_on = serializers.DateField(allow_null=True)
    companions = CompanionSerializer(many=True)
    withdrawn = serializers.BooleanField()


class KitContentSerializer(serializers.Serializer):
    """One content of a kit, in whole base units."""

    part = serializers.CharField()
    amount = serializers.IntegerField()


class KitRevisionSerializer(serializers.Serializer):
    """What a kit holds, by revision."""

    revision = serializers.IntegerField()
    contents = KitContentSerializer(many=True)


class InKitSerializer(serializers.Serializer):
    """A kit whose newest revision holds the part."""

    kit = serializers.CharField()
    kit_revision = serializers.IntegerField()
    amount = serializers.IntegerField()


class SoldBySerializer(serializers.Serializer):
    """A supplier's terms for the part."""

    supplier = serializers.CharField()
    number = serializers.CharField(allow_blank=True)
    pack = serializers.IntegerField()
    least_order = serializers.IntegerField()
    price_coins = serializers.IntegerField(allow_null=True)
    lead_days = serializers.IntegerField(allow_null=True)
    send_back_days = serializers.IntegerField(allow_null=True, help_text="how long its old unit may stay here")


class UsedAtSerializer(serializers.Serializer):
    """Where a procedure asks for the part."""

    procedure = serializers.CharField()
    number = serializers.IntegerField(help_text="revision of the procedure")
    line = serializers.CharField()
    at = serializers.CharField()


class PartDetailSerializer(PartSerializer):
    """A part with its stock (engines left out), replacements, kits, sellers and use."""

    stock = StandingSerializer(many=True, help_text="of a record that is kept, what stands under the joined ones too")
    same_key = serializers.ListField(child=serializers.CharField(), help_text="other records with the same key")
    joins = JoinSerializer(many=True, help_text="with other records of its number, either way")
    replacements = ReplacementSerializer(many=True, help_text="lines in which it is the old or a new part")
    kit_revisions = KitRevisionSerializer(many=True, help_text="what it holds, if it is a kit; newest first")
    in_kits = InKitSerializer(many=True)
    sold_by = SoldBySerializer(many=True)
    used_at = UsedAtSerializer(many=True)


class NewPartInSerializer(StrictSerializer):
    """A new part of a replacement."""

    part = TextField(max_length=60)
    numerator = WholeField(required=False)
    denominator = WholeField(required=False)


class CompanionInSerializer(StrictSerializer):
    """A part of the line, old or new, that is used only with so many pieces of another."""

    part = TextField(max_length=60)
    needs = TextField(max_length=60)
    pieces = WholeField(min_value=1)


class ReplacementInSerializer(ActSerializer):
    """A line of a replacement notice; the old part stands in the address."""

    news = NewPartInSerializer(many=True, min_length=1, max_length=100)
    way = serializers.ChoiceField(choices=["one way", "both ways", "one to several"], required=False)
    fate = serializers.ChoiceField(choices=["use up", "use only below a number", "withdrawn"], required=False)
    engine_below = TextField(required=False, allow_blank=True, max_length=40)
    engine_from = TextField(required=False, allow_blank=True, max_length=40)
    no_mix_on = serializers.ChoiceField(choices=["", "engine", "bank"], required=False)
    condition = TextField(required=False, allow_blank=True, max_length=2000)
    noted_on = DayField(required=False, allow_null=True)
    companions = CompanionInSerializer(many=True, required=False, max_length=20)


class KitLineInSerializer(StrictSerializer):
    """One content of a kit."""

    part = TextField(max_length=60)
    amount = WholeField(help_text="whole base units of the part in one kit")


class KitRevisionInSerializer(ActSerializer):
    """What a kit holds from now on."""

    contents = KitLineInSerializer(many=True, min_length=1, max_length=500)


class PartCreatedSerializer(serializers.Serializer):
    """The part was entered."""

    part = serializers.CharField()
    compare_key = serializers.CharField()
    kind = serializers.CharField(allow_blank=True)
    kind_typed = serializers.CharField(allow_blank=True)
    version = serializers.IntegerField()
    same_key = serializers.ListField(child=serializers.CharField(), help_text="other parts with the same key")
    warnings = serializers.ListField(child=serializers.CharField())


class PartChangedSerializer(serializers.Serializer):
    """The part was changed."""

    part = serializers.CharField()
    version = serializers.IntegerField()
    changed = serializers.DictField(help_text="field: from, to")
    warnings = serializers.ListField(child=serializers.CharField())


class ReplacementAddedSerializer(serializers.Serializer):
    """The replacement was entered."""

    replacement = serializers.IntegerField()
    old = serializers.CharField()
    way = serializers.CharField()
    news = NewPartSerializer(many=True)
    fate = serializers.CharField()
    shorts = ShortSerializer(many=True, help_text="jobs that were promised old stock which is withdrawn")


class ReplacementWithdrawnSerializer(serializers.Serializer):
    """The replacement no longer counts."""

    replacement = serializers.IntegerField()
    old = serializers.CharField()
    withdrawn = serializers.BooleanField()
    reason = serializers.CharField()


class KitAlsoSerializer(serializers.Serializer):
    """A kit that holds the changed one: it has a new revision too."""

    kit = serializers.CharField()
    revision = serializers.IntegerField()


class KitRevisionAddedSerializer(serializers.Serializer):
    """The kit has a new revision."""

    kit = serializers.CharField()
    revision = serializers.IntegerField()
    contents = KitContentSerializer(many=True)
    also = KitAlsoSerializer(many=True, help_text="kits that hold it, inner before outer")
