"""Stock value, costs of jobs, invoices."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import ActSerializer, TextField, WholeField
from api.rest.shapes import shape
from kits.domain.issued import Account


class ValueRowSerializer(serializers.Serializer):
    """A part in stock."""

    part = serializers.CharField()
    name = serializers.CharField(allow_blank=True)
    base = serializers.CharField()
    own_cost = serializers.BooleanField(help_text="each at its own: serials, matched sets, opened tubes")
    amount = serializers.IntegerField(help_text="what came out of engines is left out: it is worth nothing here")
    shown = serializers.CharField()
    unknown = serializers.IntegerField(help_text="of it in suspense: without a cost, in no coins")
    coins = serializers.IntegerField()
    each = serializers.CharField(
        allow_blank=True, help_text="coins for one base unit, to five places; empty where nothing has a cost"
    )


class GoneSerializer(serializers.Serializer):
    """Where value went."""

    where = serializers.CharField()
    coins = serializers.IntegerField()


class StockValueSerializer(serializers.Serializer):
    """What is in stock, and where everything else of the value is; the sums beside the rows are those of the whole shop."""

    on = serializers.CharField(allow_null=True)
    known = serializers.CharField(allow_null=True)
    site = serializers.CharField(allow_blank=True)
    method = serializers.CharField()
    rows = ValueRowSerializer(many=True)
    coins = serializers.IntegerField(help_text="of the rows")
    all_stock_coins = serializers.IntegerField()
    received_coins = serializers.IntegerField(help_text="delivered and taken over, with what invoices changed")
    counted_over_coins = serializers.IntegerField()
    at_jobs_coins = serializers.IntegerField(help_text="at benches and outside")
    difference_coins = serializers.IntegerField(help_text="of invoices for what was gone already")
    gone = GoneSerializer(many=True)
    adds_up = serializers.BooleanField(help_text="all that came in is all that is there and all that went")


class JobCostSerializer(serializers.Serializer):
    """One item on the job."""

    item = serializers.IntegerField()
    part = serializers.CharField()
    lot = serializers.CharField(allow_blank=True)
    serial = serializers.CharField(allow_blank=True)
    member = serializers.CharField(allow_blank=True)
    base = serializers.CharField()
    issued = serializers.IntegerField()
    returned = serializers.IntegerField()
    unknown = serializers.IntegerField(
        help_text="of those issued in suspense: in no coins, and an invoice later is no cost of the job"
    )
    net_coins = serializers.IntegerField(help_text="issued less returned")
    coins = shape(Account)(help_text="by the ways they came and went")


class JobCostsSerializer(serializers.Serializer):
    """What the job is charged: at its bench, credited at the same cost."""

    job = serializers.CharField()
    on = serializers.CharField(allow_null=True)
    known = serializers.CharField(allow_null=True)
    method = serializers.CharField()
    items = JobCostSerializer(many=True)
    issued_coins = serializers.IntegerField()
    credited_coins = serializers.IntegerField()
    net_coins = serializers.IntegerField()


class InvoiceInSerializer(ActSerializer):
    """What was charged for a whole line of a delivery."""

    line = WholeField(help_text="the receipt's own number of the line")
    coins = WholeField(help_text="for all of it; 0: free of charge, with its reason")
    note = TextField(required=False, allow_blank=True, max_length=120, help_text="number of the invoice")
    reason = TextField(required=False, allow_blank=True, max_length=2000)


class InvoiceSerializer(serializers.Serializer):
    """The invoice as entered."""

    line = serializers.IntegerField()
    receipt = serializers.IntegerField()
    part = serializers.CharField()
    amount = serializers.IntegerField()
    base = serializers.CharField()
    coins = serializers.IntegerField()
    was = serializers.IntegerField(allow_null=True, help_text="null: it was in suspense")
    difference_coins = serializers.IntegerField()
    note = serializers.CharField(allow_blank=True)
    reason = serializers.CharField(allow_blank=True)


class WaitingLineSerializer(serializers.Serializer):
    """A line of a delivery whose invoice is awaited."""

    line = serializers.IntegerField()
    receipt = serializers.IntegerField()
    supplier = serializers.CharField()
    note = serializers.CharField(allow_blank=True)
    received_on = serializers.DateField()
    days = serializers.IntegerField()
    part = serializers.CharField()
    amount = serializers.IntegerField()
    shown = serializers.CharField()
    base = serializers.CharField()
    counts_as_coins = serializers.IntegerField(allow_null=True, help_text="by its order; null: in suspense")


class EnteredInvoiceSerializer(serializers.Serializer):
    """Where the difference of an invoice went."""

    line = serializers.IntegerField()
    part = serializers.CharField()
    invoice = serializers.CharField(allow_blank=True)
    entered_on = serializers.DateField()
    was_coins = serializers.IntegerField(allow_null=True)
    coins = serializers.IntegerField()
    difference_coins = serializers.IntegerField()
    on_hand_coins = serializers.IntegerField(help_text="to what was still there")
    price_difference_coins = serializers.IntegerField(help_text="for what was gone: no job is charged again")


class LateInvoicesSerializer(serializers.Serializer):
    """Awaited and entered."""

    on = serializers.DateField()
    waiting = WaitingLineSerializer(many=True)
    entered = EnteredInvoiceSerializer(many=True)
    price_difference_coins = serializers.IntegerField()
