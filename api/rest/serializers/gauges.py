"""The register of gauges: what is asked and answered."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import ActSerializer, DayField, StrictSerializer, TextField, TruthField, WholeField
from kits.domain.gauges import STATES
from kits.queries.gauges import MEASURED
from kits.services.readings import MOST_LINES

_AMOUNT = 40


class GaugeTypedSerializer(serializers.Serializer):
    """Amounts of the register as they were typed."""

    low = serializers.CharField()
    high = serializers.CharField()
    resolution = serializers.CharField()
    uncertainty = serializers.CharField()


class GaugeSerializer(serializers.Serializer):
    """A gauge as it stands today. Amounts are whole numbers of `base`."""

    number = serializers.CharField()
    name = serializers.CharField()
    kind = serializers.CharField()
    measures = serializers.ChoiceField(choices=MEASURED)
    base = serializers.CharField(help_text="the base unit of all amounts here")
    low = serializers.IntegerField()
    high = serializers.IntegerField()
    resolution = serializers.IntegerField()
    uncertainty = serializers.IntegerField(
        help_text="standard uncertainty (1 sigma), as the newest calibration found it"
    )
    typed = GaugeTypedSerializer()
    expansion_ppm = serializers.CharField(allow_blank=True, help_text="per kelvin; empty: unknown")
    site = serializers.CharField()
    state = serializers.ChoiceField(choices=STATES)
    next_due = serializers.DateField(allow_null=True)


class CalibrationSerializer(serializers.Serializer):
    """A calibration on record."""

    id = serializers.IntegerField()
    done_on = serializers.DateField()
    next_due = serializers.DateField()
    passed = serializers.BooleanField()
    master = serializers.CharField()
    done_by = serializers.CharField()
    uncertainty = serializers.IntegerField(allow_null=True)
    uncertainty_typed = serializers.CharField(allow_blank=True)
    result = serializers.CharField(allow_blank=True)
    certificate = serializers.CharField(allow_blank=True)
    entered_by = serializers.CharField()


class StudyReadingSerializer(serializers.Serializer):
    """One reading of a study, as typed."""

    part = serializers.CharField()
    operator = serializers.CharField()
    repeat = serializers.IntegerField()
    value = serializers.CharField()


class StudyResultSerializer(serializers.Serializer):
    """What a repeatability study came to. Squares are exact fractions as text, in squared base units."""

    base = serializers.CharField()
    tolerance = serializers.CharField(allow_blank=True)
    rule = serializers.CharField()
    parts = serializers.IntegerField()
    operators = serializers.IntegerField()
    repeats = serializers.IntegerField()
    mean_squares = serializers.DictField(child=serializers.CharField())
    variances = serializers.DictField(child=serializers.CharField())
    sigmas = serializers.DictField(child=serializers.CharField(), help_text="their roots, in base units")
    below_zero = serializers.ListField(
        child=serializers.CharField(), help_text="estimates that came out below zero and count as zero"
    )
    percent_of_study = serializers.CharField()
    percent_of_tolerance = serializers.CharField(allow_null=True)
    categories = serializers.IntegerField(
        allow_null=True, help_text="kinds of parts that it tells apart; 5 or more are usual; null: no end"
    )
    verdict = serializers.ChoiceField(choices=["good", "marginal", "not good enough"])


class StudySerializer(StudyResultSerializer):
    """The newest study of a gauge with its readings."""

    id = serializers.IntegerField()
    at = serializers.DateTimeField()
    by = serializers.CharField()
    readings = StudyReadingSerializer(many=True)


class GaugeEndSerializer(serializers.Serializer):
    """When and why a gauge was withdrawn."""

    at = serializers.DateTimeField()
    reason = serializers.CharField()


class GaugeDetailSerializer(GaugeSerializer):
    """A gauge with its calibrations, the newest entry first, its newest study, and its end."""

    calibrations = CalibrationSerializer(many=True)
    study = StudySerializer(allow_null=True)
    withdrawn = GaugeEndSerializer(allow_null=True)


class GaugeInSerializer(ActSerializer):
    """A gauge for the register."""

    number = TextField(max_length=40)
    name = TextField(max_length=200)
    kind = TextField(max_length=60, help_text="height gauge, bore gauge, scales, … in the shop's words")
    measures = serializers.ChoiceField(choices=MEASURED)
    low = TextField(max_length=_AMOUNT, help_text='beginning of its range, with unit: "0 mm"')
    high = TextField(max_length=_AMOUNT)
    resolution = TextField(max_length=_AMOUNT)
    uncertainty = TextField(max_length=_AMOUNT, help_text='standard uncertainty (1 sigma): "0.003 mm"')
    expansion_ppm = TextField(
        max_length=10, required=False, allow_blank=True, help_text='thermal expansion per kelvin: "11.5"'
    )
    site = TextField(max_length=20)


class GaugeMadeSerializer(serializers.Serializer):
    """The gauge is on the register; it is not in date before its first calibration."""

    gauge = serializers.CharField()
    state = serializers.CharField()


class CalibrationInSerializer(ActSerializer):
    """A gauge was held against a master."""

    done_on = DayField()
    next_due = DayField(help_text="in date up to and with this day")
    passed = TruthField(required=False, help_text="false: it is not in date until a later one is passed")
    master = TextField(max_length=200, help_text="number or name of the master that was used")
    done_by = TextField(max_length=200, help_text="who or which laboratory did it")
    uncertainty = TextField(
        max_length=_AMOUNT, required=False, allow_blank=True, help_text="1 sigma as found; as before if left out"
    )
    result = TextField(max_length=2000, required=False, allow_blank=True)
    certificate = TextField(max_length=200, required=False, allow_blank=True)


class CalibrationMadeSerializer(serializers.Serializer):
    """The calibration is on record."""

    gauge = serializers.CharField()
    calibration = serializers.IntegerField()
    done_on = serializers.DateField()
    next_due = serializers.DateField()
    passed = serializers.BooleanField()


class GaugeWithdrawnSerializer(serializers.Serializer):
    """The gauge is withdrawn."""

    gauge = serializers.CharField()
    reason = serializers.CharField()


class StudyReadingInSerializer(StrictSerializer):
    """One reading of a study."""

    part = TextField(max_length=60, help_text="which of the parts; its mark, not its number in the catalogue")
    operator = TextField(max_length=60)
    repeat = WholeField(min_value=1, max_value=1000)
    value = TextField(max_length=_AMOUNT, help_text="number and unit")


class StudyInSerializer(ActSerializer):
    """A repeatability study: everybody reads every part equally often."""

    readings = StudyReadingInSerializer(many=True, max_length=4 * MOST_LINES)
    tolerance = TextField(
        max_length=_AMOUNT, required=False, allow_blank=True, help_text="upper less lower limit, with unit"
    )


class StudyMadeSerializer(StudyResultSerializer):
    """What the study came to."""

    gauge = serializers.CharField()
    study = serializers.IntegerField()
