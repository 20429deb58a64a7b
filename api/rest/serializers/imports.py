"""Tables that are brought in."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import ActSerializer, TextField, TruthField, WholeField
from api.rest.serializers.kept import LaidSerializer
from api.tables.kinds import KINDS
from inventory.domain.import_cells import DayOrder
from inventory.services.bring_in import MOST_READ

#: Base 64 makes four characters of three bytes, and a body is 2 MiB at most: longer files come in by the command.
MOST_CHARACTERS = 2_000_000


class TableInSerializer(ActSerializer):
    """A table file."""

    kind = TextField(max_length=20, help_text=", ".join(KINDS))
    name = TextField(max_length=200, help_text="of the file")
    content = TextField(
        max_length=MOST_CHARACTERS, help_text="the file, CSV or XLSX, in base 64; longer ones by `import`"
    )
    day_order = serializers.ChoiceField(
        choices=[order.value for order in DayOrder],
        required=False,
        help_text="which way round its days stand, if known",
    )


class TableKeptSerializer(serializers.Serializer):
    """A table that was kept."""

    vars()["import"] = serializers.IntegerField(help_text="its number")
    kind = serializers.CharField()
    name = serializers.CharField()
    sha256 = serializers.CharField()
    rows = serializers.IntegerField()
    read_as = serializers.CharField()
    columns = serializers.DictField(child=serializers.CharField(), help_text="heading: column")
    unknown_headings = serializers.ListField(
        child=serializers.CharField(), help_text="kept with each row, and not used"
    )
    same_file_before = serializers.IntegerField(allow_null=True, help_text="the same file was brought in as this one")


class TableSerializer(serializers.Serializer):
    """How far a table is. accepted + questioned + refused = read."""

    vars()["import"] = serializers.IntegerField()
    kind = serializers.CharField()
    name = serializers.CharField()
    read_as = serializers.CharField()
    sha256 = serializers.CharField()
    brought_by = serializers.CharField()
    brought_at = serializers.DateTimeField()
    unknown_headings = serializers.ListField(child=serializers.CharField())
    rows = serializers.IntegerField(help_text="rows in the file that are not empty")
    read = serializers.IntegerField()
    accepted = serializers.IntegerField()
    questioned = serializers.IntegerField()
    refused = serializers.IntegerField()
    known = serializers.IntegerField(help_text="of those accepted: on record as they stand")
    booked = serializers.IntegerField(allow_null=True, help_text="the act that booked it")
    same_file_before = serializers.IntegerField(allow_null=True)


class TableNameSerializer(serializers.Serializer):
    """A table in the list."""

    vars()["import"] = serializers.IntegerField()
    kind = serializers.CharField()
    name = serializers.CharField()
    rows = serializers.IntegerField()
    booked = serializers.IntegerField(allow_null=True)


class TableFileSerializer(serializers.Serializer):
    """The file as it came."""

    name = serializers.CharField()
    sha256 = serializers.CharField()
    content = serializers.CharField(help_text="base 64")


class TableQuestionSerializer(serializers.Serializer):
    """A question about a cell, or under the column "" about the row."""

    code = serializers.CharField(
        help_text="zeros-eaten, day-swapped, day-unclear, exponent, turned, comma, cell-merged, no-unit, another-unit, number-known, looks-alike,"
        " undated, row-twice, on-record-otherwise; of jobs engine-unclear, family-differs, no-day, owner-differs, reading-asked"
    )
    column = serializers.CharField(allow_blank=True)
    typed = serializers.CharField(allow_blank=True)
    proposal = serializers.CharField(allow_blank=True)
    words = serializers.CharField()


class TableRowRefusalSerializer(serializers.Serializer):
    """Why a row is refused."""

    code = serializers.CharField()
    message = serializers.CharField()


class TableRowSerializer(serializers.Serializer):
    """A row with what was found."""

    row = serializers.IntegerField(help_text="number in the file")
    verdict = serializers.CharField(help_text="accepted, questioned, refused")
    known = serializers.BooleanField()
    cells = serializers.DictField(child=serializers.CharField(allow_blank=True), help_text="as they stand in the file")
    questions = TableQuestionSerializer(many=True)
    refusals = TableRowRefusalSerializer(many=True)
    warnings = serializers.ListField(child=serializers.CharField())


class TableRowsSerializer(serializers.Serializer):
    """Rows of a table, in the order of the file."""

    rows = TableRowSerializer(many=True)


class TableReadInSerializer(ActSerializer):
    """How many rows to read on."""

    most = WholeField(required=False, min_value=1, max_value=MOST_READ)


class TableReadSerializer(serializers.Serializer):
    """The rows that were read by this."""

    vars()["import"] = serializers.IntegerField()
    read = serializers.IntegerField(help_text="of the whole table by now")
    rows = serializers.IntegerField()
    accepted = serializers.IntegerField()
    questioned = serializers.IntegerField()
    refused = serializers.IntegerField()


class TableRowAnswerSerializer(serializers.Serializer):
    """What is said instead of a cell; under the column "" of the row itself: "leave out", or "it counts" of one that stands twice."""

    row = WholeField(min_value=1, max_value=10_000_000)
    column = TextField(max_length=40, allow_blank=True)
    said = TextField(max_length=2000, allow_blank=True)


class TableAnswersInSerializer(ActSerializer):
    """Answers to questions."""

    answers = TableRowAnswerSerializer(many=True, required=False)
    as_proposed = serializers.ListField(
        child=TextField(max_length=40), required=False, max_length=20, help_text="codes whose proposals are taken"
    )


class TableAnsweredSerializer(serializers.Serializer):
    """The rows that were answered, judged anew."""

    vars()["import"] = serializers.IntegerField()
    answered = serializers.IntegerField()
    accepted = serializers.IntegerField()
    questioned = serializers.IntegerField()
    refused = serializers.IntegerField()


class TableBookInSerializer(ActSerializer):
    """Book what is accepted."""

    without_questioned = TruthField(required=False, help_text="also while rows are questioned, without those")


class TableBookedSerializer(LaidSerializer):
    """The table is booked."""

    vars()["import"] = serializers.IntegerField()
    kind = serializers.CharField()
    rows = serializers.IntegerField()
    accepted = serializers.IntegerField()
    questioned = serializers.IntegerField()
    refused = serializers.IntegerField()
    known = serializers.IntegerField()
    booked = serializers.DictField(child=serializers.IntegerField(), help_text="what was made, and how many")
