"""Pick lists: reading, picking, handing over."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import ActSerializer, StrictSerializer, TextField, WholeField
from api.rest.serializers.holds import HoldSerializer
from api.rest.serializers.jobs import MOST
from api.rest.serializers.to_return import ToReleaseSerializer


class PickListSerializer(serializers.Serializer):
    """A pick list in short."""

    id = serializers.IntegerField()
    number = serializers.IntegerField(help_text="first list of the job is 1")
    made_at = serializers.DateTimeField()
    by = serializers.CharField()


class PickLineSerializer(serializers.Serializer):
    """A line of a pick list with what is held for it."""

    line = serializers.IntegerField()
    procedure = serializers.CharField()
    step = serializers.IntegerField()
    step_name = serializers.CharField(allow_blank=True)
    tray = serializers.IntegerField(
        help_text="that the procedure prefers: an order within the step, not the tray it lies in"
    )
    part = serializers.CharField()
    name = serializers.CharField()
    amount = serializers.IntegerField()
    base = serializers.CharField()
    shown = serializers.CharField()
    how = serializers.CharField()
    positions = serializers.ListField(child=serializers.CharField())
    spans = serializers.ListField(
        child=serializers.CharField(), help_text="the positions that this list serves, numbered runs drawn together"
    )
    here = serializers.IntegerField(help_text="how much of the amount this list brings")
    here_shown = serializers.CharField()
    because = serializers.ListField(child=serializers.CharField())
    reasons = serializers.ListField(
        child=serializers.CharField(), help_text="the becauses, those that differ in places alone drawn together"
    )
    chosen = serializers.CharField(allow_blank=True)
    on_approval = serializers.BooleanField(help_text="a candidate: one is chosen by measurement, the others come back")
    tools = serializers.ListField(child=serializers.CharField())
    notes = serializers.ListField(child=serializers.CharField())
    cautions = serializers.ListField(child=serializers.CharField())
    step_cautions = serializers.ListField(
        child=serializers.CharField(),
        help_text="of the whole step, beside its first line here: read before the step begins",
    )
    held = HoldSerializer(many=True)
    pieces_here = serializers.IntegerField(help_text="pieces of the line in this tray")

    def get_fields(self) -> dict[str, serializers.Field]:
        """`class` is a word of the language, so it is added by hand."""
        return {**super().get_fields(), "class": serializers.CharField()}


class FloorLineSerializer(PickLineSerializer):
    """A line that stands on the floor of the trolley."""

    by_hoist = serializers.BooleanField(help_text="two people or a hoist")


class TraySerializer(serializers.Serializer):
    """A tray, in order of work; the lowest number is on top."""

    tray = serializers.IntegerField(help_text="numbered on over the pick lists of a job")
    weight_g = serializers.IntegerField()
    size_ml = serializers.IntegerField(help_text="what its things take up packed, as far as that is known")
    not_weighed = serializers.ListField(child=serializers.IntegerField(), help_text="lines whose weight is not known")
    not_sized = serializers.ListField(
        child=serializers.IntegerField(), help_text="lines whose packed size is not known"
    )
    tools = serializers.ListField(child=serializers.CharField())
    lines = PickLineSerializer(many=True)


class HandoverSerializer(serializers.Serializer):
    """The cart went to the bench, signed by both."""

    at = serializers.DateTimeField()
    by = serializers.CharField()
    received_by = serializers.CharField()
    missing = serializers.ListField(child=serializers.CharField())


class WalkSerializer(HoldSerializer):
    """What is taken from a bin, and into which trays of the cart it goes: none for the floor of the trolley."""

    trays = serializers.ListField(child=serializers.IntegerField())


class SecondLookSerializer(serializers.Serializer):
    """A set or bearing of the list, that a second person looks at before the cart is handed over."""

    hold = serializers.IntegerField()
    part = serializers.CharField()
    lot = serializers.CharField(allow_blank=True)
    serial = serializers.CharField(allow_blank=True)
    positions = serializers.ListField(child=serializers.DictField())
    state = serializers.ChoiceField(choices=["not picked", "to be looked at", "seen", "wrong"])
    by = serializers.CharField(allow_blank=True)
    at = serializers.DateTimeField(allow_null=True)
    wrong = serializers.CharField(allow_blank=True, help_text="what was wrong with it")


class PickListDetailSerializer(PickListSerializer):
    """A pick list as it is picked from: by tray in order of work, and by bin in walking order."""

    job = serializers.CharField()
    engine = serializers.CharField()
    family = serializers.CharField()
    site = serializers.CharField()
    strip_on = serializers.DateField()
    fit_on = serializers.DateField()
    extra = serializers.DictField(allow_null=True, help_text="what was asked for in mid-job, on a list of its own")
    trays = TraySerializer(many=True)
    floor = FloorLineSerializer(many=True)
    candidates = HoldSerializer(many=True, help_text="on approval: one is chosen at the bench, the others come back")
    loose = HoldSerializer(many=True, help_text="asked for outside the list")
    walk = WalkSerializer(many=True, help_text="everything, in the order of the bins")
    missing = serializers.ListField(child=serializers.DictField(), help_text="what the shelves lacked when it was made")
    open_choices = serializers.ListField(child=serializers.DictField())
    buy_in = serializers.ListField(
        child=serializers.DictField(), help_text="to be bought in, with no part named, when it was made"
    )
    sizes = serializers.ListField(
        child=serializers.DictField(), help_text="of the engine, as they stood when it was made"
    )
    tools = serializers.ListField(child=serializers.DictField())
    second_looks = SecondLookSerializer(many=True)
    handovers = HandoverSerializer(many=True)
    stopped_by_maker = serializers.ListField(
        child=serializers.CharField(),
        help_text="the job works by a revision that a maker's bulletin stops: nothing goes on",
    )
    unasked = ToReleaseSerializer(many=True, help_text="held on this list, no longer asked for: leave it on the shelf")


class ScanInSerializer(StrictSerializer):
    """One scan at the shelf."""

    hold = WholeField(help_text="the line that is being picked")
    scanned = TextField(
        max_length=400,
        trim_whitespace=False,
        help_text="what the label says: lot, serial, tube, or part number; or all of a GS1 or ANSI MH10.8.2 label as it was scanned",
    )
    amount = WholeField(required=False, allow_null=True, help_text="counted, whole base units; all of it if left out")
    bin = TextField(
        max_length=400,
        required=False,
        allow_blank=True,
        help_text="label of the bin that it was taken from: refused if that is not the line's",
    )


class PicksInSerializer(ActSerializer):
    """What was scanned at the shelves."""

    scans = ScanInSerializer(many=True, max_length=MOST)


class PickedSerializer(serializers.Serializer):
    """A line that was picked."""

    hold = serializers.IntegerField(
        help_text="that was picked; of a tube that was weighed heavier since it was held, the new one with what is in it"
    )
    part = serializers.CharField()
    lot = serializers.CharField(allow_blank=True)
    serial = serializers.CharField(allow_blank=True)
    amount = serializers.IntegerField()

    def get_fields(self) -> dict[str, serializers.Field]:
        """`from` is a word of the language, so it is added by hand."""
        return {**super().get_fields(), "from": serializers.CharField(help_text="place")}


class PicksMadeSerializer(serializers.Serializer):
    """What lies on the cart now."""

    job = serializers.CharField()
    picked = PickedSerializer(many=True)
    left = serializers.IntegerField(help_text="lines of the list that are still open")


class LookInSerializer(StrictSerializer):
    """What a second person saw of a picked line."""

    hold = WholeField(help_text="the line")
    wrong = TextField(
        max_length=2000, required=False, allow_blank=True, help_text="what is wrong with it: it goes back to its bin"
    )


class LooksInSerializer(ActSerializer):
    """A second person looked at picked lines."""

    looks = LookInSerializer(many=True, max_length=MOST)


class SeenSerializer(serializers.Serializer):
    """A line that is what the list asks for."""

    hold = serializers.IntegerField()
    part = serializers.CharField()
    lot = serializers.CharField(allow_blank=True)
    serial = serializers.CharField(allow_blank=True)


class PutBackSerializer(SeenSerializer):
    """A wrong one: back in its bin, which is to be counted; the line is open again."""

    amount = serializers.IntegerField()
    place = serializers.CharField()
    spot = serializers.CharField()
    wrong = serializers.CharField()


class LookedAtSerializer(serializers.Serializer):
    """What was seen, and what went back."""

    job = serializers.CharField()
    seen = SeenSerializer(many=True)
    put_back = PutBackSerializer(many=True)


class HandoverInSerializer(ActSerializer):
    """The cart goes to the bench."""

    received_by = TextField(
        max_length=150, help_text="log-in of who takes it over and signs: may fit, and is never who hands it over"
    )
    missing = serializers.ListField(
        child=TextField(max_length=60),
        required=False,
        max_length=MOST,
        help_text="what is not with the cart: parts by number, open choices by code, parts in conflict and what is to be "
        "bought in and has no part yet by position",
    )


class AbsentSerializer(serializers.Serializer):
    """Something that the list asks for and that is not with the cart: it stays held, or lacking."""

    name = serializers.CharField(help_text="as it is named in `missing`: part number, code of a choice, position")
    what = serializers.ChoiceField(choices=["part", "choice", "conflict", "buy-in"])
    amount = serializers.IntegerField(help_text="0 where it is not known: nothing is chosen yet")
    base = serializers.CharField()
    shown = serializers.CharField(allow_blank=True)
    positions = serializers.ListField(child=serializers.CharField())
    step = serializers.CharField(allow_blank=True)
    why = serializers.CharField()


class BinToCountSerializer(serializers.Serializer):
    """A bin in which the books have what nobody found: to be counted."""

    place = serializers.CharField()
    spot = serializers.CharField()
    item = serializers.IntegerField()
    part = serializers.CharField()
    lot = serializers.CharField(allow_blank=True)
    serial = serializers.CharField(allow_blank=True)
    tube = serializers.CharField(allow_blank=True)
    on_books = serializers.IntegerField()
    base = serializers.CharField()


class WhyCountedSerializer(serializers.Serializer):
    """For which job a bin is to be counted."""

    job = serializers.CharField()
    pick_list = serializers.IntegerField()
    by = serializers.CharField(help_text="who found it missing")
    at = serializers.DateTimeField()
    why = serializers.CharField()


class ListedBinSerializer(BinToCountSerializer):
    """A bin that is to be counted, until that thing is counted there."""

    site = serializers.CharField()
    since = serializers.DateTimeField()
    asked = WhyCountedSerializer(many=True)


class HandedOverSerializer(serializers.Serializer):
    """What went to the bench, and which tools were lent with it."""

    job = serializers.CharField()
    moved = serializers.ListField(child=serializers.DictField())
    missing = serializers.ListField(child=serializers.CharField(), help_text="names of what is absent, as it is signed")
    absent = AbsentSerializer(many=True)
    not_missing = serializers.ListField(child=serializers.CharField(), help_text="named as missing, but it is here")
    to_count = BinToCountSerializer(many=True)
    tools = serializers.ListField(child=serializers.CharField())
    tools_short = serializers.ListField(
        child=serializers.DictField(), help_text="tool, with which jobs, how many in all"
    )
