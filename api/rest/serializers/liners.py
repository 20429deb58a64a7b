"""Heights of liners, layouts of sets, and which sets may replace one. Lengths are whole nanometres, weights whole milligrams."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import ActSerializer, StrictSerializer, TextField, TruthField, WholeField
from api.rest.shapes import shape
from kits.queries.layouts import SetPlace

LENGTH = 40


class ProtrusionInSerializer(ActSerializer):
    """Which liner is judged where, and what lies under it."""

    position = TextField(max_length=80, help_text="use position of a set")
    set = TextField(
        max_length=60,
        required=False,
        allow_blank=True,
        help_text="its serial; empty: the liner that was read by its bore",
    )
    turn_deg = WholeField(required=False, max_value=359, help_text="clockwise seen from the head, from how it was read")
    shim = TextField(max_length=LENGTH, required=False, allow_blank=True, help_text='"0.05 mm"')
    ring = TextField(max_length=LENGTH, required=False, allow_blank=True, help_text="base ring")
    cut = TextField(
        max_length=LENGTH,
        required=False,
        allow_blank=True,
        help_text="a question: were its seat recut so much deeper than it was read",
    )
    ledge_cracked = TruthField(required=False, help_text="left out: as the newest verdict there says it")


class HeightPointSerializer(serializers.Serializer):
    """The height over the block at one clock hour of the bore."""

    hour = serializers.IntegerField()
    height_nm = serializers.IntegerField()
    verdict = serializers.CharField()


class ProtrusionMadeSerializer(serializers.Serializer):
    """The verdict, kept as a result of the job: pass, doubtful or fail."""

    result = serializers.IntegerField()
    position = serializers.CharField()
    set = serializers.CharField(allow_blank=True)
    over_deck = serializers.BooleanField(help_text="gauged over the deck as it stands")
    verdict = serializers.CharField()
    why = serializers.ListField(child=serializers.CharField())
    points = HeightPointSerializer(many=True)
    turn_deg = serializers.IntegerField()
    shim_nm = serializers.IntegerField()
    ring_nm = serializers.IntegerField()
    shim_read_nm = serializers.IntegerField(allow_null=True, help_text="as it was read; null: by its nominal")
    ring_read_nm = serializers.IntegerField(allow_null=True)
    cut_nm = serializers.IntegerField()
    ledge_cracked = serializers.BooleanField(
        help_text="said with it; no layout sets a shim there while it is the newest word"
    )
    notes = serializers.ListField(child=serializers.CharField())
    allowance_nm = serializers.IntegerField()
    factor = serializers.IntegerField()
    rule = serializers.CharField()


class HeightLetBeInSerializer(ActSerializer):
    """The liner that is let be, and why; who sends it signs."""

    position = TextField(max_length=80, help_text="use position of the set that was fitted")
    reason = TextField(max_length=2000, allow_blank=True)


class HeightLetBeMadeSerializer(serializers.Serializer):
    """The word is on record."""

    job = serializers.CharField()
    position = serializers.CharField()
    serial = serializers.CharField(allow_blank=True)
    result = serializers.IntegerField(allow_null=True, help_text="the doubtful verdict; null: none is on record")
    signed_by = serializers.CharField()
    reason = serializers.CharField()


class HourSerializer(serializers.Serializer):
    """The height at one clock hour of the bore."""

    hour = serializers.IntegerField()
    nm = serializers.IntegerField()


class LaidBoreSerializer(serializers.Serializer):
    """A bore of a layout. `stays`: its liner is not renewed; `step_nm`: after the bore before it, rounded, null at a head's first."""

    bore = serializers.IntegerField()
    position = serializers.CharField()
    head = serializers.CharField(allow_blank=True)
    serial = serializers.CharField()
    stays = serializers.BooleanField()
    turn_deg = serializers.IntegerField(help_text="clockwise seen from the head")
    shim_nm = serializers.IntegerField()
    heights = HourSerializer(many=True)
    mean_nm = serializers.IntegerField()
    step_nm = serializers.IntegerField(allow_null=True)
    lies_at = serializers.CharField(allow_blank=True)
    held = serializers.BooleanField(help_text="held for this job already")


class MarkSerializer(serializers.Serializer):
    """What is written on a liner with the paint pen."""

    bore = serializers.IntegerField()
    position = serializers.CharField()
    serial = serializers.CharField()
    line_towards = serializers.CharField()
    turn_deg = serializers.IntegerField()
    text = serializers.CharField()


class BreakSerializer(serializers.Serializer):
    """A rule that the nearest layout breaks."""

    rule = serializers.CharField()
    bores = serializers.ListField(child=serializers.IntegerField())
    by_nm = serializers.IntegerField()
    text = serializers.CharField()


class NearestSerializer(serializers.Serializer):
    """A bore of the nearest layout."""

    bore = serializers.IntegerField()
    serial = serializers.CharField()
    turn_deg = serializers.IntegerField()
    shim_nm = serializers.IntegerField()


class MissSerializer(serializers.Serializer):
    """How near the nearest layout comes to the limits."""

    total_nm = serializers.IntegerField()
    breaks = BreakSerializer(many=True)
    nearest = NearestSerializer(many=True)
    proved = serializers.BooleanField()


class LeftOutSerializer(serializers.Serializer):
    """A set that was not laid out."""

    serial = serializers.CharField()
    why = serializers.CharField()


class DoubtfulPointSerializer(serializers.Serializer):
    """Where a layout passes only without the gauge's allowance."""

    bore = serializers.IntegerField()
    point = serializers.CharField()


class HeightLimitsSerializer(serializers.Serializer):
    """The family's limits that were used."""

    low_nm = serializers.IntegerField()
    high_nm = serializers.IntegerField()
    within_nm = serializers.IntegerField()
    step_nm = serializers.IntegerField(allow_null=True)
    staircase = serializers.BooleanField()
    turns_deg = serializers.ListField(child=serializers.IntegerField(), allow_null=True, help_text="null: any")
    shims_nm = serializers.ListField(child=serializers.IntegerField())
    rings_nm = serializers.ListField(child=serializers.IntegerField())
    target_nm = serializers.IntegerField()
    weight_spread_mg = serializers.IntegerField(allow_null=True)


class ClampingSerializer(serializers.Serializer):
    """What holds the liners down: the torque is quoted as its maker prints it, with edition and page."""

    bolts = serializers.IntegerField()
    torque = serializers.CharField()

    def get_fields(self) -> dict[str, serializers.Field]:
        """With `from`, which is no name of a field in Python."""
        return super().get_fields() | {"from": serializers.CharField(help_text="book, edition, page")}


class GaugingSerializer(serializers.Serializer):
    """How the family's maker wants liners gauged."""

    how = serializers.CharField(allow_blank=True)
    clamping = ClampingSerializer(allow_null=True)


class ProposalSerializer(serializers.Serializer):
    """The best layout of the sets at hand, or what keeps one from being found."""

    job = serializers.CharField()
    outcome = serializers.CharField(help_text="certain, doubtful, no layout, not enough readings")
    why = serializers.ListField(child=serializers.CharField(), help_text="why it is not certain")
    notes = serializers.ListField(child=serializers.CharField(), help_text="a correction for temperature above 5 µm")
    missing = serializers.ListField(child=serializers.CharField(), help_text="what has to be read first")
    not_considered = LeftOutSerializer(many=True)
    try_next = serializers.ListField(child=serializers.CharField())
    bores = LaidBoreSerializer(many=True)
    ring_nm = serializers.IntegerField(help_text="base ring under every liner, 0: none")
    shims = serializers.IntegerField()
    turned = serializers.IntegerField()
    largest_step_nm = serializers.IntegerField(allow_null=True)
    off_target_nm = serializers.IntegerField(allow_null=True)
    doubtful = DoubtfulPointSerializer(many=True)
    proved = serializers.BooleanField(help_text="false: the search was ended early")
    miss = MissSerializer(allow_null=True)
    marks = MarkSerializer(many=True)
    picture = serializers.ListField(child=serializers.CharField(allow_blank=True), help_text="lines, with the caution")
    gauging = GaugingSerializer()
    limits = HeightLimitsSerializer()
    allowance_nm = serializers.IntegerField()
    factor = serializers.IntegerField()
    rule = serializers.CharField()
    readings = serializers.ListField(child=serializers.IntegerField())


class LaidBoreInSerializer(StrictSerializer):
    """A bore of the layout, as it was shown."""

    position = TextField(max_length=80)
    serial = TextField(max_length=60)
    turn_deg = WholeField(required=False, max_value=359)
    shim_nm = WholeField(required=False)


class LayoutInSerializer(ActSerializer):
    """The layout that is accepted: every bore that gets a set."""

    bores = LaidBoreInSerializer(many=True, max_length=100)
    ring_nm = WholeField(required=False)
    reason = TextField(max_length=2000, required=False, allow_blank=True, help_text="why, where it is doubtful")


class LayoutHeldSerializer(serializers.Serializer):
    """What the layout holds for the job."""

    hold = serializers.IntegerField()
    part = serializers.CharField()
    item = serializers.IntegerField()
    lot = serializers.CharField(allow_blank=True)
    serial = serializers.CharField(allow_blank=True)
    place = serializers.CharField()
    amount = serializers.IntegerField()
    positions = serializers.ListField(child=serializers.ListField())


class LayoutReleasedSerializer(serializers.Serializer):
    """A hold that ended: the layout takes another set."""

    hold = serializers.IntegerField()
    serial = serializers.CharField(allow_blank=True)


class LayoutShortSerializer(serializers.Serializer):
    """A shim or a base ring that no shelf has."""

    part = serializers.CharField()
    amount = serializers.IntegerField()
    positions = serializers.ListField(child=serializers.CharField())
    why = serializers.CharField()
    held_by = serializers.ListField(
        child=serializers.CharField(), help_text="jobs that hold of it what would have served here"
    )


class LayoutMadeSerializer(serializers.Serializer):
    """The layout counts: fitting goes by it."""

    layout = serializers.IntegerField()
    outcome = serializers.CharField()
    why = serializers.ListField(child=serializers.CharField())
    bores = LaidBoreSerializer(many=True)
    ring_nm = serializers.IntegerField()
    marks = MarkSerializer(many=True)
    picture = serializers.ListField(child=serializers.CharField(allow_blank=True))
    held = LayoutHeldSerializer(many=True)
    released = LayoutReleasedSerializer(many=True)
    shorts = LayoutShortSerializer(many=True)
    pick_list = serializers.IntegerField(allow_null=True)
    number = serializers.IntegerField(allow_null=True)


class AcceptedLayoutSerializer(serializers.Serializer):
    """A layout that was accepted."""

    id = serializers.IntegerField()
    at = serializers.DateTimeField()
    by = serializers.CharField()
    doubtful = serializers.BooleanField()
    reason = serializers.CharField(allow_blank=True)
    places = shape(SetPlace)(many=True)
    stands = serializers.BooleanField(help_text="fitting goes by it")
    why = serializers.ListField(child=serializers.CharField(), help_text="why it does not hold any more")
    withdrawn = serializers.CharField(allow_blank=True, help_text="why it was taken back")
    readings = serializers.ListField(child=serializers.IntegerField())
    marks = MarkSerializer(many=True)
    picture = serializers.ListField(child=serializers.CharField(allow_blank=True))


class AcceptedLayoutsSerializer(serializers.Serializer):
    """Layouts of a job, the newest first."""

    layouts = AcceptedLayoutSerializer(many=True)


class LayoutWithdrawnSerializer(serializers.Serializer):
    """The layout does not count any more."""

    layout = serializers.IntegerField()
    reason = serializers.CharField()
    still_held = serializers.ListField(child=serializers.CharField())
    still_marked = serializers.ListField(child=serializers.CharField())


class WeightWindowSerializer(serializers.Serializer):
    """What one more piston may weigh, both ends included."""

    low_mg = serializers.IntegerField()
    high_mg = serializers.IntegerField()


class SpareSetSerializer(serializers.Serializer):
    """A set at hand, by the weight of its piston and by the bore."""

    serial = serializers.CharField()
    lies_at = serializers.CharField()
    weight_mg = serializers.IntegerField(allow_null=True)
    weight_fits = serializers.BooleanField()
    layout = serializers.CharField(allow_blank=True, help_text="as of a proposal; empty: not looked at")
    turn_deg = serializers.IntegerField(allow_null=True)
    shim_nm = serializers.IntegerField(allow_null=True)
    why = serializers.ListField(child=serializers.CharField())


class SetReplacementsSerializer(serializers.Serializer):
    """Which sets may replace one of an engine."""

    job = serializers.CharField()
    position = serializers.CharField()
    weighed_with = serializers.CharField(allow_blank=True)
    spread_mg = serializers.IntegerField(allow_null=True)
    rest_mg = serializers.ListField(child=serializers.IntegerField(), help_text="pistons that stay")
    window = WeightWindowSerializer(allow_null=True)
    said = serializers.CharField(allow_blank=True)
    spares = SpareSetSerializer(many=True)
    not_considered = LeftOutSerializer(many=True)
    notes = serializers.ListField(child=serializers.CharField())
