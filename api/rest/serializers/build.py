"""Checks of a built engine, its leak test and first run, the build sheet, and who checks at a site."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import ActSerializer, DayField, StrictSerializer, TextField, TruthField
from api.rest.serializers.jobs import MOST
from api.rest.serializers.readings import ReadingSerializer


class PistonInSerializer(StrictSerializer):
    """One piston, looked at by a second person."""

    position = TextField(max_length=80, help_text="use position of its set")
    items = serializers.ListField(child=TextField(max_length=200), max_length=100, help_text="items that are good")
    note = TextField(max_length=2000, required=False, allow_blank=True)


class PistonChecksInSerializer(ActSerializer):
    """Pistons looked at."""

    checks = PistonInSerializer(many=True, max_length=MOST)


class PistonSeenSerializer(serializers.Serializer):
    """What was seen good of one piston since its set was fitted, and what is missing."""

    position = serializers.CharField()
    seen = serializers.ListField(child=serializers.CharField())
    by = serializers.ListField(child=serializers.CharField())
    missing = serializers.ListField(child=serializers.CharField())


class PistonChecksMadeSerializer(serializers.Serializer):
    """The checks are on record."""

    pistons = PistonSeenSerializer(many=True)


class PhotoLookInSerializer(StrictSerializer):
    """One look of a second person at what was fitted."""

    what = TextField(max_length=200, help_text="as the family's list has it")
    position = TextField(max_length=80)
    photo_ref = TextField(max_length=200, allow_blank=True, help_text="where the photo is kept")
    good = TruthField(required=False, help_text="false: it is wrong, and the note says what is; true if left out")
    note = TextField(max_length=2000, required=False, allow_blank=True)


class PhotoLooksInSerializer(ActSerializer):
    """Looks with a photo."""

    looks = PhotoLookInSerializer(many=True, max_length=MOST)


class PhotoLookOpenSerializer(serializers.Serializer):
    """What is not seen good yet."""

    what = serializers.CharField()
    position = serializers.CharField()


class PhotoLooksMadeSerializer(serializers.Serializer):
    """The looks are on record."""

    job = serializers.CharField()
    open = PhotoLookOpenSerializer(many=True)


class PhotoLookSerializer(PhotoLookOpenSerializer):
    """One look, by whom and when."""

    photo_ref = serializers.CharField()
    good = serializers.BooleanField()
    note = serializers.CharField(allow_blank=True)
    by = serializers.CharField()
    at = serializers.DateTimeField()


class LeakTestInSerializer(ActSerializer):
    """A pressure test of the water jacket."""

    pressure = TextField(max_length=40, help_text='with its unit, as "1.0 bar"')
    held = TextField(max_length=40, help_text='how long, as "10 min"')
    drop = TextField(max_length=40, help_text='by how much it dropped, as "0.02 bar"')
    temperature = TextField(max_length=40, help_text='of the block, as "20 °C"')
    wet = serializers.ListField(
        child=TextField(max_length=80), max_length=100, required=False, help_text="use positions of sets below which it was wet"
    )  # fmt: skip


class LeakRingSerializer(serializers.Serializer):
    """A ring in its groove when it was tested; one that leaked is scrap."""

    position = serializers.CharField()
    groove = serializers.CharField(help_text="the name of the use position")
    part = serializers.CharField()
    lot = serializers.CharField(allow_blank=True)
    item = serializers.IntegerField()
    amount = serializers.IntegerField()
    lubricant = serializers.CharField(allow_blank=True, help_text="what it was fitted with; empty: nobody said")
    leaked = serializers.BooleanField()


class LeakTestMadeSerializer(serializers.Serializer):
    """The test against the family's limits."""

    good = serializers.BooleanField()
    counts = serializers.BooleanField(help_text="false: it was no test by the limits and has to be made again")
    why = serializers.ListField(child=serializers.CharField())
    rings = LeakRingSerializer(many=True)
    limits_from = serializers.CharField()


class RunValueInSerializer(StrictSerializer):
    """One value of the first run."""

    name = TextField(max_length=200)
    value = TextField(max_length=40, help_text='with its unit, as "3.2 bar"')


class FirstRunInSerializer(ActSerializer):
    """The first run."""

    run_on = DayField()
    values = RunValueInSerializer(many=True, max_length=100)
    leaks = TextField(max_length=2000, required=False, allow_blank=True, help_text="where it leaked; empty: nowhere")
    released_by = TextField(max_length=150, required=False, help_text="log-in of who released the engine")
    signed_by = TextField(
        max_length=150,
        required=False,
        help_text="log-in of who signs a start before the sealant has cured by its sheet",
    )
    because = TextField(max_length=2000, required=False, allow_blank=True, help_text="why that was signed")


class RunValueSerializer(serializers.Serializer):
    """A value against its limit; `value` in base units, null where nothing was measured."""

    name = serializers.CharField()
    typed = serializers.CharField(allow_blank=True)
    value = serializers.IntegerField(allow_null=True)
    good = serializers.BooleanField()
    why = serializers.CharField(allow_blank=True)


class EarlyJointSerializer(serializers.Serializer):
    """A joint whose sealant had not cured by its sheet when the engine ran."""

    joint = serializers.CharField()
    run_from = serializers.DateTimeField(allow_null=True, help_text="null: outside the sheet")


class FirstRunMadeSerializer(serializers.Serializer):
    """The first run is on record."""

    good = serializers.BooleanField()
    values = RunValueSerializer(many=True)
    early = EarlyJointSerializer(many=True)
    released_by = serializers.CharField(allow_blank=True)


class AfterRunInSerializer(ActSerializer):
    """Work after the first run was done."""

    what = TextField(max_length=200)
    done_on = DayField()
    note = TextField(max_length=2000, required=False, allow_blank=True)


class AfterRunMadeSerializer(serializers.Serializer):
    """It is on record."""

    what = serializers.CharField()
    done_on = serializers.DateField()


class SheetAcceptedSerializer(serializers.Serializer):
    """Who accepted the part, by which result; `stands`: none of its readings was withdrawn."""

    result = serializers.IntegerField()
    by = serializers.CharField()
    at = serializers.DateTimeField()
    reason = serializers.CharField(allow_blank=True)
    stands = serializers.BooleanField()


class SheetInsteadSerializer(serializers.Serializer):
    """The part stands in for a listed one; the rest is of the owner's newest yes to that by then, empty where none is on record."""

    listed = serializers.CharField()
    given_by = serializers.CharField(allow_blank=True)
    how = serializers.CharField(allow_blank=True)
    at = serializers.DateTimeField(allow_null=True)


class SheetPositionSerializer(serializers.Serializer):
    """One thing that was fitted on the job."""

    position = serializers.CharField()
    make = serializers.IntegerField()
    item = serializers.IntegerField()
    part = serializers.CharField()
    name = serializers.CharField()
    lot = serializers.CharField(allow_blank=True)
    lot_unknown = serializers.BooleanField(help_text="traced by lot, and nobody knows which: it counts as any")
    serial = serializers.CharField(allow_blank=True)
    amount = serializers.IntegerField()
    base = serializers.CharField()
    shown = serializers.CharField()
    reused = serializers.BooleanField()
    instead_of = SheetInsteadSerializer(
        allow_null=True, help_text="the listed part that it stands in for, and who agreed"
    )
    lubricant = serializers.CharField(allow_blank=True, help_text="what rubber was fitted with; empty: not said")
    open = serializers.ListField(child=serializers.CharField(), help_text="what nobody can show of the fitting")
    readings = serializers.ListField(child=serializers.IntegerField(), help_text="ids, of `readings` of the sheet")
    marked_for = serializers.CharField(allow_blank=True, help_text="the set that the bore is marked for")
    fitted_at = serializers.DateTimeField()
    fitter = serializers.CharField()
    checker = serializers.CharField(allow_blank=True)
    there = serializers.BooleanField(help_text="it still sits there")
    results = serializers.ListField(child=serializers.IntegerField(), help_text="those of `results` that speak of it")
    accepted = SheetAcceptedSerializer(allow_null=True, help_text="who accepted that this part goes there")


class SheetWordSerializer(serializers.Serializer):
    """A choice that an acceptance settled."""

    choice = serializers.CharField()
    place = serializers.CharField(allow_blank=True)
    alternative = serializers.CharField()


class SheetAcceptanceSerializer(serializers.Serializer):
    """Somebody accepted what the result chose."""

    by = serializers.CharField()
    at = serializers.DateTimeField()
    reason = serializers.CharField(allow_blank=True)
    choices = SheetWordSerializer(many=True)


class SheetResultSerializer(serializers.Serializer):
    """A result that stands, or was accepted; `document` has rule, limits, readings, gauges and corrections."""

    id = serializers.IntegerField()
    kind = serializers.CharField()
    subject = serializers.CharField()
    at = serializers.DateTimeField()
    by = serializers.CharField()
    stale = serializers.BooleanField()
    why = serializers.ListField(child=serializers.CharField(), help_text="why it is stale")
    document = serializers.DictField()
    accepted = SheetAcceptanceSerializer(many=True)


class LeakTestSerializer(serializers.Serializer):
    """A leak test of the job."""

    good = serializers.BooleanField()
    why = serializers.ListField(child=serializers.CharField())
    pressure = serializers.CharField()
    held = serializers.CharField()
    drop = serializers.CharField()
    temperature = serializers.CharField()
    wet = serializers.ListField(child=serializers.CharField())
    rings = LeakRingSerializer(many=True)
    by = serializers.CharField()
    at = serializers.DateTimeField()
    caution = serializers.CharField()


class FirstRunSerializer(serializers.Serializer):
    """The first run of the job."""

    run_on = serializers.DateField()
    values = RunValueSerializer(many=True)
    limits_from = serializers.CharField(allow_blank=True, help_text="book, edition and page of the limits")
    leaks = serializers.CharField(allow_blank=True)
    good = serializers.BooleanField()
    released_by = serializers.CharField(allow_blank=True)
    early = EarlyJointSerializer(many=True)
    signed_by = serializers.CharField(allow_blank=True)
    because = serializers.CharField(allow_blank=True)
    by = serializers.CharField()
    caution = serializers.CharField()


class DuePartSerializer(serializers.Serializer):
    """A part that the work takes."""

    part = serializers.CharField()
    amount = serializers.CharField()
    held = serializers.CharField(allow_blank=True, help_text="how much is held for it; empty: nothing")
    held_on = serializers.CharField(allow_blank=True, help_text="the later job of the engine that it is held on")


class DueSerializer(serializers.Serializer):
    """Work after the first run: due, done or open."""

    what = serializers.CharField()
    due_on = serializers.DateField(allow_null=True)
    due_hours = serializers.IntegerField(allow_null=True)
    parts = DuePartSerializer(many=True)
    done_on = serializers.DateField(allow_null=True)
    late = serializers.BooleanField()

    def get_fields(self) -> dict[str, serializers.Field]:
        """`from` is a word of the language, so it is added here."""
        return super().get_fields() | {"from": serializers.CharField(help_text="book, edition, page")}


class SheetHeightSerializer(serializers.Serializer):
    """A liner that was let be, and by whom."""

    position = serializers.CharField()
    serial = serializers.CharField(allow_blank=True)
    height = serializers.CharField(help_text='"not recorded" or "doubtful"')
    result = serializers.IntegerField(allow_null=True)
    by = serializers.CharField()
    at = serializers.DateTimeField()
    reason = serializers.CharField()


class BuildSheetSerializer(serializers.Serializer):
    """The build sheet of a job."""

    job = serializers.CharField()
    engine = serializers.CharField()
    family = serializers.CharField()
    state = serializers.CharField()
    positions = SheetPositionSerializer(many=True)
    readings = ReadingSerializer(many=True, help_text="those that count, each with its gauge")
    results = SheetResultSerializer(many=True)
    heights_let_be = SheetHeightSerializer(many=True)
    pistons = PistonSeenSerializer(many=True)
    photo_checks = PhotoLookSerializer(many=True)
    leak_tests = LeakTestSerializer(many=True)
    first_run = FirstRunSerializer(allow_null=True)
    after_first_run = DueSerializer(many=True)


class DutyInSerializer(StrictSerializer):
    """Somebody who checks at the site."""

    person = TextField(max_length=150, help_text="log-in")
    weekdays = serializers.ListField(child=TextField(max_length=20), max_length=7, required=False)
    stands_in = TruthField(required=False, help_text="on any day, for a named checker who is away")


class CheckersInSerializer(ActSerializer):
    """Who checks at the site from now on; an empty list leaves it to everybody with the right."""

    checkers = DutyInSerializer(many=True, max_length=100)


class DutySerializer(serializers.Serializer):
    """Somebody who checks at the site."""

    person = serializers.CharField()
    weekdays = serializers.ListField(child=serializers.CharField())
    stands_in = serializers.BooleanField()


class CheckersMadeSerializer(serializers.Serializer):
    """It is on record."""

    site = serializers.CharField()
    checkers = DutySerializer(many=True)


class CheckersSerializer(serializers.Serializer):
    """Who checks at the site, and who may on the day asked for."""

    on = serializers.DateField()
    named = DutySerializer(many=True)
    may_check = serializers.ListField(
        child=serializers.CharField(), help_text="empty where nobody is named: all with the right"
    )
    next_day = serializers.DateField(allow_null=True)
