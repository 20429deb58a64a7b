"""Jobs: booking them, and everything that is on record about one."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from api.rest.fields import ActSerializer, DayField, StrictSerializer, TextField, TruthField, WholeField
from api.rest.serializers.engines import NumberRangeSerializer
from api.rest.serializers.newer import NewerRevisionSerializer
from api.rest.serializers.storage import StorageNoteSerializer
from api.rest.serializers.to_return import ToReleaseSerializer
from inventory.domain.text import shown
from kits.queries.jobs import STATES

#: Findings, positions and the like of one request; an engine has a few hundred places.
MOST = 2_000


class FindingInSerializer(StrictSerializer):
    """A finding at a place of the engine."""

    code = TextField(max_length=60)
    place = TextField(max_length=80, required=False, help_text="ENGINE if left out")
    note = TextField(max_length=2000, required=False, allow_blank=True)


class JobInSerializer(ActSerializer):
    """A job to be booked."""

    number = TextField(max_length=40)
    engine = TextField(max_length=40, help_text="engine number, forgiving of case, spaces and dashes")
    site = TextField(max_length=20)
    operations = serializers.ListField(child=TextField(max_length=40), max_length=100, help_text="codes of procedures")
    strip_on = DayField()
    fit_on = DayField(help_text="planned day of fitting: lots must be good beyond it")
    findings = FindingInSerializer(
        many=True, required=False, max_length=MOST, help_text="what is booked from the start"
    )
    new_engine = TruthField(required=False, help_text="the engine is not on record yet and shall be")
    owner = WholeField(required=False, allow_null=True, help_text="number of the owner")
    new_owner = TruthField(
        required=False,
        help_text="it changed hands: the owner given is another than on record, and it is theirs from the act's day on",
    )
    complaint = TextField(max_length=4000, required=False, allow_blank=True)
    hours = serializers.DecimalField(
        max_digits=10, decimal_places=1, min_value=0, required=False, allow_null=True, help_text="meter at arrival"
    )
    kilometres = WholeField(required=False, allow_null=True, max_value=2_000_000_000, help_text="at arrival")
    photo_ref = TextField(
        max_length=200, required=False, allow_blank=True, help_text="where the photograph of the meters is kept"
    )
    confirmed = TruthField(
        required=False, help_text="what the meters show stands whatever is asked about it, with the reason"
    )
    reason = TextField(max_length=2000, required=False, allow_blank=True)

    def validate_number(self, value: str) -> str:
        """A job has an address, and a number that can be read off paper: its number stands between slashes."""
        if "/" in value:
            raise serializers.ValidationError(f'"{value}" has a slash in it.')
        if not value.isprintable():
            raise serializers.ValidationError(f'"{shown(value)}" has a character in it that nobody sees.')
        return value


class BookedOperationSerializer(serializers.Serializer):
    """A procedure and the revision that the job keeps."""

    procedure = serializers.CharField()
    revision = serializers.IntegerField()


class JobBookedSerializer(serializers.Serializer):
    """The job was booked; its cart and its bench are places now."""

    job = serializers.CharField()
    engine = serializers.CharField()
    family = serializers.CharField()
    cart = serializers.CharField()
    bench = serializers.CharField()
    operations = BookedOperationSerializer(many=True)
    number_ranges = NumberRangeSerializer(many=True, help_text="what depends on the engine number")
    near = serializers.ListField(
        child=serializers.CharField(),
        help_text="of an engine that was new: those on record whose numbers are a slip of the hand away; is it one of them?",
    )


class JobSerializer(serializers.Serializer):
    """A job."""

    number = serializers.CharField()
    engine = serializers.CharField()
    family = serializers.CharField()
    site = serializers.CharField()
    state = serializers.ChoiceField(choices=STATES)
    strip_on = serializers.DateField()
    fit_on = serializers.DateField()
    version = serializers.IntegerField()


class JobOperationSerializer(serializers.Serializer):
    """A procedure on the job."""

    procedure = serializers.CharField()
    name = serializers.CharField()
    revision = serializers.IntegerField()


class FindingSerializer(serializers.Serializer):
    """A finding and how it stands."""

    id = serializers.IntegerField()
    code = serializers.CharField()
    place = serializers.CharField()
    extra_work = serializers.BooleanField(help_text="beyond the booked scope")
    state = serializers.ChoiceField(choices=["counts", "waits for the owner", "refused by the owner", "withdrawn"])
    note = serializers.CharField(allow_blank=True)


class JobChoiceSerializer(serializers.Serializer):
    """A choice that was made; the newest for a choice and place."""

    choice = serializers.CharField(allow_blank=True)
    place = serializers.CharField(allow_blank=True)
    alternative = serializers.CharField()
    reason = serializers.CharField()


class BoreSerializer(serializers.Serializer):
    """Which set goes where."""

    position = serializers.CharField()
    serial = serializers.CharField()


class JobDateSerializer(serializers.Serializer):
    """The planned day of fitting, as it was moved."""

    fit_on = serializers.DateField()
    reason = serializers.CharField(allow_blank=True)


class OutsideLostSerializer(serializers.Serializer):
    """So much of a piece was lost at the machinist's."""

    act = serializers.IntegerField()
    amount = serializers.IntegerField()
    said_by = serializers.CharField()
    reason = serializers.CharField()
    on = serializers.DateField()


class OutsideWorkSerializer(serializers.Serializer):
    """A piece at an outside machinist."""

    id = serializers.IntegerField()
    machinist = serializers.CharField(help_text="code of the machinist's place")
    item = serializers.IntegerField()
    part = serializers.CharField()
    identity = serializers.CharField(allow_blank=True)
    amount = serializers.IntegerField()
    positions = serializers.ListField(child=serializers.CharField(), help_text="at which it sat; empty: not known")
    needed_by = serializers.ListField(child=serializers.CharField(), help_text="procedure/step, where somebody said so")
    work = serializers.CharField(allow_blank=True)
    sent_by = serializers.CharField()
    sent_on = serializers.DateField()
    due_on = serializers.DateField()
    back_on = serializers.DateField(allow_null=True, help_text="null: it is out, or all of it was lost there")
    losses = OutsideLostSerializer(many=True)


class JobEndSerializer(serializers.Serializer):
    """How the job ended."""

    cancelled = serializers.BooleanField()
    at = serializers.DateTimeField()
    by = serializers.CharField()
    checker = serializers.CharField(allow_blank=True)
    reason = serializers.CharField(allow_blank=True)


class JobDetailSerializer(JobSerializer):
    """A job with everything that was booked, found, said and decided."""

    cart = serializers.CharField()
    bench = serializers.CharField()
    complaint = serializers.CharField(allow_blank=True)
    hours = serializers.CharField(allow_null=True)
    kilometres = serializers.IntegerField(allow_null=True)
    operations = JobOperationSerializer(many=True)
    findings = FindingSerializer(many=True)
    choices = JobChoiceSerializer(many=True)
    bores = BoreSerializer(many=True)
    dates = JobDateSerializer(many=True)
    outside_work = OutsideWorkSerializer(many=True)
    tools_on_loan = serializers.ListField(child=serializers.CharField())
    end = JobEndSerializer(allow_null=True)


class SheetWarningSerializer(serializers.Serializer):
    """A chemical whose safety data sheet is missing, or that who reads the list has not signed."""

    part = serializers.CharField()
    name = serializers.CharField()
    why = serializers.CharField()


class StorageWarningSerializer(serializers.Serializer):
    """A lot in the shop of which the log of a place's temperatures says something."""

    part = serializers.CharField()
    lot = serializers.CharField()
    lot_id = serializers.IntegerField()
    notes = StorageNoteSerializer(many=True)


class JobListSerializer(serializers.Serializer):
    """What must lie on the cart, in order of work, every unit with its because."""

    job = serializers.CharField()
    engine = serializers.CharField()
    family = serializers.CharField()
    fit_on = serializers.DateField()
    revisions = BookedOperationSerializer(many=True)
    findings = serializers.ListField(child=serializers.DictField())
    waiting_for_owner = serializers.ListField(child=serializers.DictField())
    complete = serializers.BooleanField(help_text="nothing waits for a person or a measurement")
    lines = serializers.ListField(
        child=serializers.DictField(),
        help_text="line, procedure, step, tray, part, name, amount, base, shown, how, class, positions, because, chosen, "
        "on_approval, tools, notes, cautions",
    )
    on_approval = serializers.ListField(
        child=serializers.DictField(),
        help_text="lines of candidates of a measured choice that is still open: all go along, one is chosen",
    )
    safety_sheets = SheetWarningSerializer(many=True, help_text="before anything is picked")
    storage = StorageWarningSerializer(
        many=True, help_text="nothing stops for these: an inspector stops a lot that is spoilt"
    )
    open_choices = serializers.ListField(child=serializers.DictField())
    conflicts = serializers.ListField(child=serializers.DictField())
    buy_in = serializers.ListField(
        child=serializers.DictField(),
        help_text="needed, no part is listed for it and none is named yet: position, amount, base, shown, text, because, step",
    )
    empty_operations = serializers.ListField(child=serializers.DictField())
    joins = serializers.ListField(child=serializers.DictField())
    unserved_findings = serializers.ListField(child=serializers.DictField())
    reused = serializers.ListField(child=serializers.DictField())
    reuse_refused = serializers.ListField(child=serializers.DictField())
    not_needed = serializers.ListField(child=serializers.DictField())
    tools = serializers.ListField(child=serializers.DictField(), help_text="special tools to lend, each with its steps")
    sizes = serializers.ListField(
        child=serializers.DictField(), help_text="of this engine on record: what is off, what is left to cut, inserts"
    )

    held_unasked = ToReleaseSerializer(
        many=True, help_text="held, no longer asked for: to be released, all in one act (`jobs/{number}/releases`)"
    )
    newer = NewerRevisionSerializer(
        many=True, help_text="revisions that a person is asked about, or has kept off the job"
    )

    def get_fields(self) -> dict[str, Any]:
        """`changes` is there only when ?since= asks for it."""
        changes = serializers.DictField(
            required=False,
            help_text="with ?since= only: added, removed, changed, kept, revisions; `held` of what was removed or changed: holds that serve it no longer",
        )
        return {**super().get_fields(), "changes": changes}


class ShortageSerializer(serializers.Serializer):
    """A part that the shelves of the site lack, and every way out."""

    part = serializers.CharField()
    name = serializers.CharField()
    short = serializers.IntegerField()
    by_loan = serializers.IntegerField(
        help_text="so many of these went to other jobs: they stand under `lent` too, and are short once"
    )
    free = serializers.IntegerField()
    base = serializers.CharField()
    short_shown = serializers.CharField()
    free_shown = serializers.CharField()
    step = serializers.CharField()
    positions = serializers.ListField(child=serializers.CharField())
    ways = serializers.ListField(
        child=serializers.DictField(),
        help_text="replacement, on the way, other site, borrow, from a kit, buy or express: these with arrives_on, and in_time for the fitting",
    )


class JobShortsSerializer(serializers.Serializer):
    """What a job is short of."""

    job = serializers.CharField()
    complete = serializers.BooleanField(help_text="it can start complete")
    fit_on = serializers.DateField()
    shorts = ShortageSerializer(many=True)
    buy_in = serializers.ListField(
        child=serializers.DictField(), help_text="to be bought in, and no part is named yet, as in the list"
    )
    raised = serializers.ListField(child=serializers.DictField(), help_text="shorts that acts raised by name")
    lent = serializers.ListField(
        child=serializers.DictField(),
        help_text="what went to other jobs, what pays it back, what came back and is to be held again, and how much beside the list it is short by"
        " (`short`); what the list asks for is counted in `shorts`: so many (`in_shorts`), as that part of the list (`short_as`)",
    )


class OpenLinesSerializer(serializers.Serializer):
    """What keeps a job from being closed."""

    job = serializers.CharField()
    open = serializers.ListField(child=serializers.DictField())


class MissingPartSerializer(serializers.Serializer):
    """A part, or a choice, that a step lacks."""

    part = serializers.CharField()
    amount = serializers.IntegerField()
    base = serializers.CharField()
    shown = serializers.CharField()


class StartableStepSerializer(serializers.Serializer):
    """Whether a step can begin, and if not, why."""

    procedure = serializers.CharField()
    step = serializers.IntegerField()
    name = serializers.CharField()
    can_start = serializers.BooleanField()
    missing = MissingPartSerializer(many=True)
    why = serializers.ListField(child=serializers.CharField())
    waits_for = serializers.ListField(child=serializers.CharField(), help_text="procedure/step")
    start_on = serializers.DateField(allow_null=True, help_text="the first day on which it can begin; null: not known")
    because = serializers.ListField(
        child=serializers.CharField(), help_text="what decides that day; empty: all is in the shop"
    )
    overdue = serializers.ListField(child=serializers.CharField(), help_text="pieces that should have been back")


class HandOverDaySerializer(serializers.Serializer):
    """When the job can be handed over at the earliest, by its steps and pieces, and since another than who fitted has to check it."""

    planned = serializers.DateField(help_text="the day of fitting, or the day asked about where that is past")
    checkers = serializers.ListField(
        child=serializers.CharField(), help_text="who checks then; empty too where the site names nobody"
    )
    earliest = serializers.DateField(allow_null=True, help_text="null: never, or not known, as it stands")
    why = serializers.CharField(allow_blank=True, help_text="empty: the planned day stands")


class StartableSerializer(serializers.Serializer):
    """Steps in order of work; `startable`: how many can be worked from the first on."""

    job = serializers.CharField()
    on = serializers.DateField()
    startable = serializers.IntegerField()
    steps = StartableStepSerializer(many=True)
    hand_over = HandOverDaySerializer()
