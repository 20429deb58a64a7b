"""What is held for one job and lent to another."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import ActSerializer, AmountField, TextField, TruthField, WholeField
from api.rest.serializers.common import ShortSerializer
from api.rest.serializers.holds import HeldSerializer


class LoanRequestInSerializer(ActSerializer):
    """Asks for so much of what is held for another job."""

    hold = WholeField(help_text="of the other job")
    amount = AmountField()
    asked_of = TextField(max_length=150, help_text="log-in of the technician of the other job, who consents by name")
    reason = TextField(max_length=2000)


class LoanRequestSerializer(serializers.Serializer):
    """Asked."""

    request = serializers.IntegerField()
    hold = serializers.IntegerField()
    from_job = serializers.CharField()
    to_job = serializers.CharField()
    part = serializers.CharField()
    amount = serializers.IntegerField()
    asked_of = serializers.CharField()
    answer_within_minutes = serializers.IntegerField(help_text="after that it stays with its job")


class LoanAnswerInSerializer(ActSerializer):
    """The word of who was asked."""

    agreed = TruthField()
    reason = TextField(max_length=2000, required=False, allow_blank=True, help_text="a no says why")


class LoanAnswerSerializer(serializers.Serializer):
    """Answered."""

    request = serializers.IntegerField()
    agreed = serializers.BooleanField()
    reason = serializers.CharField(allow_blank=True)


class LoanInSerializer(ActSerializer):
    """Lend, and the incoming order's line that pays it back."""

    order = TextField(max_length=40, required=False, allow_blank=True)
    line = WholeField(required=False, allow_null=True)


class PaybackSerializer(serializers.Serializer):
    """A line of an order that pays a loan back."""

    order = serializers.CharField()
    line = serializers.IntegerField()
    promised_on = serializers.DateField(allow_null=True)
    outstanding = serializers.IntegerField()
    late = serializers.BooleanField(help_text="for the day on which the lending job needs it, or promised for no day")
    came = serializers.IntegerField(help_text="this loan's share of what was accepted of the line since it was lent")
    before = serializers.ListField(
        child=serializers.IntegerField(),
        help_text="running loans that the line pays back first: who needs it first, of equal days the older loan",
    )


class LoanMadeSerializer(serializers.Serializer):
    """Lent: what is held over both jobs is unchanged."""

    loan = serializers.IntegerField()
    from_job = serializers.CharField()
    to_job = serializers.CharField()
    part = serializers.CharField()
    amount = serializers.IntegerField()
    held = HeldSerializer(many=True, help_text="for the borrower")
    rest = serializers.IntegerField(allow_null=True, help_text="hold of what stays with the lending job")
    pick_list = serializers.IntegerField()
    number = serializers.IntegerField()
    payback = PaybackSerializer(allow_null=True)
    shorts = ShortSerializer(many=True, help_text="of the lending job, where nothing pays it back in time")


class LoanBackSerializer(serializers.Serializer):
    """Given back, as far as it was still held."""

    loan = serializers.IntegerField()
    hold = serializers.IntegerField(help_text="of the lending job, anew")
    ended = serializers.ListField(child=serializers.IntegerField())
    amount = serializers.IntegerField()
    gone = serializers.IntegerField(help_text="held no more: stopped, counted away, released")
    shorts = ShortSerializer(many=True, help_text="of the lending job, for what is gone, unless raised as it was lent")


class LoanCloseSerializer(ActSerializer):
    """Nothing more is awaited of a loan."""

    paid_back = TruthField(help_text="the lending job has it again; if not, it is short by name")
    reason = TextField(max_length=2000)


class LoanClosedSerializer(serializers.Serializer):
    """Closed."""

    loan = serializers.IntegerField()
    how = serializers.CharField()
    held = serializers.IntegerField(help_text="by the borrower still: its own from now on")
    picked = serializers.IntegerField()
    gone = serializers.IntegerField(help_text="held no more: stopped, counted away, released")
    shorts = ShortSerializer(many=True, help_text="of the lending job, unless raised as it was lent")


class LentHoldSerializer(serializers.Serializer):
    """What the borrower got, and what became of it."""

    hold = serializers.IntegerField()
    amount = serializers.IntegerField()
    how = serializers.CharField(allow_blank=True, help_text="how it ended; empty: it is open")
    picked = serializers.IntegerField()
    why = serializers.CharField(allow_blank=True)
    act = serializers.IntegerField(allow_null=True, help_text="that ended it")
    at = serializers.DateTimeField(allow_null=True)


class LentSerializer(serializers.Serializer):
    """How a loan stands."""

    lent_at = serializers.DateTimeField()
    lent_by = serializers.CharField()
    holds = LentHoldSerializer(many=True)
    held = serializers.IntegerField(help_text="for the borrower still")
    picked = serializers.IntegerField()
    gone = serializers.IntegerField(help_text="held no more: stopped, counted away, released")
    rest = serializers.IntegerField(allow_null=True)
    payback = PaybackSerializer(allow_null=True)
    short = serializers.IntegerField(help_text="raised for the lending job as it was lent")
    over = serializers.CharField(
        allow_blank=True, help_text="given back, paid back, not coming back; empty: the loan runs"
    )
    over_at = serializers.DateTimeField(allow_null=True)
    over_by = serializers.CharField(allow_blank=True)
    over_why = serializers.CharField(allow_blank=True)


class HoldEndedSerializer(serializers.Serializer):
    """What ended a hold."""

    how = serializers.CharField()
    why = serializers.CharField(allow_blank=True)
    act = serializers.IntegerField()
    at = serializers.DateTimeField()


class LoanRowSerializer(serializers.Serializer):
    """A request to lend, and what became of it."""

    request = serializers.IntegerField()
    from_job = serializers.CharField()
    to_job = serializers.CharField()
    hold = serializers.IntegerField()
    part = serializers.CharField()
    lot = serializers.CharField(allow_blank=True)
    serial = serializers.CharField(allow_blank=True)
    amount = serializers.IntegerField()
    base = serializers.CharField()
    shown = serializers.CharField(required=False)
    needed_there_on = serializers.DateField()
    asked_of = serializers.CharField()
    asked_by = serializers.CharField()
    asked_at = serializers.DateTimeField()
    answer_by = serializers.DateTimeField()
    state = serializers.CharField()
    reason = serializers.CharField()
    answered_at = serializers.DateTimeField(allow_null=True)
    answer_reason = serializers.CharField(allow_blank=True)
    hold_ended = HoldEndedSerializer(allow_null=True, help_text="before anything of it was lent: the request lapsed")
    loan = LentSerializer(allow_null=True)


class JobLoansSerializer(serializers.Serializer):
    """What was asked to be lent by a job, or to it."""

    job = serializers.CharField()
    loans = LoanRowSerializer(many=True)
