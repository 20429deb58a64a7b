"""Sealed joints: the gate before the nozzle is cut, beads, product sheets, sealant used."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import ActSerializer, AmountField, MomentField, StrictSerializer, TextField, TruthField, WholeField
from inventory.domain.product_sheets import CURES, MOST_ENTRIES

TUBES = 20


class SheetEntryInSerializer(StrictSerializer):
    """A row of a product sheet's table; each value with its unit."""

    temperature = TextField(max_length=40, help_text='"23 °C"')
    humidity = TextField(max_length=40, help_text='relative humidity, "50 %"')
    window = TextField(max_length=40, help_text='close within, "10 min"')
    fill_after = TextField(max_length=40, help_text='fill with oil after, "2 h"')
    run_after = TextField(max_length=40, help_text='run the engine after, "12 h"')


class SheetInSerializer(ActSerializer):
    """The product sheet of a sealant."""

    edition = TextField(max_length=200, help_text="which sheet, its edition and page")
    cures_by = serializers.ChoiceField(choices=CURES)
    entries = SheetEntryInSerializer(
        many=True, required=False, max_length=MOST_ENTRIES, help_text="none where it does not skin"
    )
    density = TextField(required=False, allow_blank=True, max_length=40, help_text='"1.32 g/mL"')
    open_days = WholeField(required=False, allow_null=True, max_value=10_000, help_text="life after opening")
    sensor_safe = TruthField(
        required=False, allow_null=True, help_text="it harms no sensors; left out where the sheet is silent"
    )


class SheetEntrySerializer(serializers.Serializer):
    """A row of the table in base units."""

    temperature_mk = serializers.IntegerField(help_text="millikelvin")
    humidity_permille = serializers.IntegerField(help_text="tenths of a percent")
    window_s = serializers.IntegerField()
    fill_after_s = serializers.IntegerField()
    run_after_s = serializers.IntegerField()


class SheetEnteredSerializer(serializers.Serializer):
    """The sheet as it is kept."""

    part = serializers.CharField()
    revision = serializers.IntegerField()
    edition = serializers.CharField()
    cures_by = serializers.CharField()
    density_mg_per_ml = serializers.IntegerField(allow_null=True)
    open_days = serializers.IntegerField(allow_null=True)
    entries = SheetEntrySerializer(many=True)
    sensor_safe = serializers.BooleanField(allow_null=True, help_text="null: the sheet is silent")
    warnings = serializers.ListField(child=serializers.CharField())


class SheetSignedSerializer(serializers.Serializer):
    """Who signed which revision as read."""

    part = serializers.CharField()
    revision = serializers.IntegerField()
    person = serializers.CharField()


class SheetReaderSerializer(serializers.Serializer):
    """Somebody who signed the sheet as read."""

    person = serializers.CharField()
    at = serializers.DateTimeField()


class SheetSerializer(serializers.Serializer):
    """One revision of a sheet."""

    revision = serializers.IntegerField()
    since = serializers.DateTimeField()
    edition = serializers.CharField()
    cures_by = serializers.CharField()
    density_mg_per_ml = serializers.IntegerField(allow_null=True)
    open_days = serializers.IntegerField(allow_null=True)
    entries = SheetEntrySerializer(many=True)
    sensor_safe = serializers.BooleanField(allow_null=True, help_text="null: the sheet is silent")
    read_by = SheetReaderSerializer(many=True)


class SheetsSerializer(serializers.Serializer):
    """All sheets of a part, the newest first."""

    part = serializers.CharField()
    sheets = SheetSerializer(many=True)


class GateTubeInSerializer(StrictSerializer):
    """An opened tube at the bench, weighed now."""

    tube = TextField(max_length=60)
    weight = AmountField(help_text='text with a unit ("30.0 g"), or a whole number of milligrams')


class GateInSerializer(ActSerializer):
    """The questions before the nozzle is cut."""

    faces_clean_dry = TruthField()
    test_fit = TruthField(help_text="the cover was fitted dry")
    dowels_in = TruthField()
    bolts = WholeField(max_value=500, help_text="counted")
    tubes = GateTubeInSerializer(many=True, max_length=TUBES, help_text="the one to begin with first")
    temperature = TextField(required=False, allow_blank=True, max_length=40, help_text='of the bay, "23 °C"')
    humidity = TextField(required=False, allow_blank=True, max_length=40, help_text='of the bay, "50 %"')
    helper = TextField(required=False, allow_null=True, max_length=150, help_text="log-in of who helps")
    signed_by = TextField(
        required=False, allow_null=True, max_length=150, help_text="who signs to start in a bay outside the sheet"
    )
    because = TextField(required=False, allow_blank=True, max_length=2000, help_text="why that was signed")


class ClosingSerializer(serializers.Serializer):
    """Closing time against the window; null where the sheet gives no number."""

    window_s = serializers.IntegerField(allow_null=True)
    allowed_ms = serializers.IntegerField(allow_null=True)
    needed_ms = serializers.IntegerField()
    with_helper_ms = serializers.IntegerField()
    in_time = serializers.BooleanField()
    in_time_with_helper = serializers.BooleanField()


class GateTubeSerializer(serializers.Serializer):
    """A tube as it was weighed."""

    tube = serializers.CharField()
    item = serializers.IntegerField()
    weight_mg = serializers.IntegerField()
    content_ul = serializers.IntegerField()


class GateOpenedSerializer(serializers.Serializer):
    """One bead may be laid."""

    gate = serializers.IntegerField()
    joint = serializers.CharField()
    make = serializers.IntegerField()
    part = serializers.CharField()
    sheet = serializers.IntegerField(allow_null=True)
    times = serializers.CharField(help_text="what the times rest on: the sheet, or why there are none")
    closing = ClosingSerializer(allow_null=True)
    laid_ul = serializers.IntegerField()
    planned_ul = serializers.IntegerField()
    tubes = GateTubeSerializer(many=True)
    fill_after_s = serializers.IntegerField(allow_null=True)
    run_after_s = serializers.IntegerField(allow_null=True)
    warnings = serializers.ListField(child=serializers.CharField())


class BeadTubeInSerializer(StrictSerializer):
    """A tube and what it weighs after the bead."""

    tube = TextField(max_length=60)
    after = AmountField(help_text='text with a unit ("12.1 g"), or a whole number of milligrams')
    before = AmountField(required=False, help_text="as weighed at the gate if left out")


class BeadInSerializer(ActSerializer):
    """A bead that was laid."""

    started_at = MomentField(help_text="first stroke")
    ended_at = MomentField(help_text="last bolt of the first pass")
    tubes = BeadTubeInSerializer(many=True, max_length=TUBES, help_text="in the order used")
    helper = TextField(required=False, allow_null=True, max_length=150, help_text="as named at the gate if left out")


class BeadTubeSerializer(serializers.Serializer):
    """What a tube gave."""

    tube = serializers.CharField()
    item = serializers.IntegerField()
    before_mg = serializers.IntegerField()
    after_mg = serializers.IntegerField()
    drawn_ul = serializers.IntegerField()


class ToFitSerializer(serializers.Serializer):
    """What is to be fitted now, as fittings take it."""

    position = serializers.CharField()
    item = serializers.IntegerField()
    amount = serializers.IntegerField()
    make = serializers.IntegerField()


class BeadLaidSerializer(serializers.Serializer):
    """In time and to be fitted, or over its time and to be made again."""

    bead = serializers.IntegerField(help_text="number of its gate")
    joint = serializers.CharField()
    make = serializers.IntegerField()
    taken_ms = serializers.IntegerField()
    allowed_ms = serializers.IntegerField(allow_null=True)
    over = serializers.BooleanField()
    planned_ul = serializers.IntegerField()
    drawn_ul = serializers.IntegerField()
    difference_ul = serializers.IntegerField()
    tubes = BeadTubeSerializer(many=True)
    fill_from = serializers.DateTimeField(allow_null=True)
    run_from = serializers.DateTimeField(allow_null=True)
    fit = ToFitSerializer(many=True)
    say = serializers.CharField()


class GateBeadSerializer(serializers.Serializer):
    """The bead of a gate."""

    started_at = serializers.DateTimeField()
    ended_at = serializers.DateTimeField()
    drawn_ul = serializers.IntegerField()
    over = serializers.BooleanField()
    fill_from = serializers.DateTimeField(allow_null=True)
    run_from = serializers.DateTimeField(allow_null=True)


class GateSerializer(serializers.Serializer):
    """A gate of the joint, with its bead once it is laid."""

    gate = serializers.IntegerField()
    make = serializers.IntegerField()
    opened_at = serializers.DateTimeField()
    part = serializers.CharField()
    helper = serializers.CharField(allow_null=True)
    planned_ul = serializers.IntegerField()
    bead = GateBeadSerializer(allow_null=True)


class JointSerializer(serializers.Serializer):
    """A joint that the job's list closes."""

    joint = serializers.CharField()
    name = serializers.CharField()
    part = serializers.CharField()
    laid_ul = serializers.IntegerField(help_text="stays in the joint")
    drawn_ul = serializers.IntegerField(help_text="leaves the tube, with waste and priming")
    wanted_ul = serializers.IntegerField(help_text="a tube holds this much usable, or a second one lies ready")
    bolts = serializers.IntegerField()
    faces = serializers.CharField(allow_blank=True)
    helper_listed = serializers.BooleanField()
    sheet = serializers.IntegerField(allow_null=True)
    times = serializers.CharField()
    closing = ClosingSerializer(allow_null=True)
    fill_after_s = serializers.IntegerField(allow_null=True)
    run_after_s = serializers.IntegerField(allow_null=True)
    unsuitable = serializers.CharField(allow_blank=True, help_text="why the product does not belong there")
    warnings = serializers.ListField(child=serializers.CharField())
    gates = GateSerializer(many=True)
    sealed = serializers.BooleanField(help_text="a bead is laid in time and not fitted yet")


class JointsSerializer(serializers.Serializer):
    """The sealed joints of a job."""

    job = serializers.CharField()
    joints = JointSerializer(many=True)


class OwnWasteSerializer(serializers.Serializer):
    """A waste factor learned from records, as decimal text."""

    beads = serializers.IntegerField()
    mean = serializers.CharField(allow_null=True)
    lowest = serializers.CharField(allow_null=True)
    highest = serializers.CharField(allow_null=True)
    say = serializers.CharField(allow_blank=True)


class JointUseSerializer(serializers.Serializer):
    """A joint of a family: planned against used."""

    family = serializers.CharField()
    joint = serializers.CharField()
    beads = serializers.IntegerField()
    jobs = serializers.IntegerField()
    planned_ul = serializers.IntegerField()
    used_ul = serializers.IntegerField()
    used_to_planned = serializers.CharField()
    own_waste = OwnWasteSerializer()
    too_fat = serializers.BooleanField()
    say = serializers.CharField(allow_blank=True)


class TubesSerializer(serializers.Serializer):
    """Where all of a sealant is, in microlitres: bought and counted in, less joints and scrap, is in tubes."""

    part = serializers.CharField()
    bought_ul = serializers.IntegerField()
    counted_in_ul = serializers.IntegerField()
    in_joints_ul = serializers.IntegerField()
    scrapped_ul = serializers.IntegerField()
    in_tubes_ul = serializers.IntegerField()
    elsewhere_ul = serializers.IntegerField()
    adds_up = serializers.BooleanField()


class SealantUseSerializer(serializers.Serializer):
    """Sealant planned against used."""

    procedure = serializers.CharField(allow_blank=True)
    book_waste = serializers.CharField()
    own_waste = OwnWasteSerializer()
    joints = JointUseSerializer(many=True)
    tubes = TubesSerializer(many=True)
