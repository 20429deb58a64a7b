"""Who sells parts."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import ActSerializer, TextField, WholeField


class SupplierSerializer(serializers.Serializer):
    """A supplier."""

    code = serializers.CharField()
    name = serializers.CharField()
    facts = serializers.DictField(help_text="lead times and the like, as the parts manager notes them")
    send_back_days = serializers.IntegerField(allow_null=True, help_text="how long an old unit may stay here")


class SellsSerializer(serializers.Serializer):
    """A part that the supplier sells."""

    part = serializers.CharField()
    number = serializers.CharField(allow_blank=True)
    pack = serializers.IntegerField()
    least_order = serializers.IntegerField()
    price_coins = serializers.IntegerField(allow_null=True)
    lead_days = serializers.IntegerField(allow_null=True)
    send_back_days = serializers.IntegerField(allow_null=True)
    express_days = serializers.IntegerField(allow_null=True)
    express_coins = serializers.IntegerField(allow_null=True)


class SupplierDetailSerializer(SupplierSerializer):
    """A supplier with what it sells."""

    sells = SellsSerializer(many=True)


class SupplierInSerializer(ActSerializer):
    """A new supplier."""

    code = TextField(max_length=40)
    name = TextField(max_length=200)
    facts = serializers.DictField(required=False)
    send_back_days = WholeField(required=False, allow_null=True, help_text="how long an old unit may stay here")


class SupplierCreatedSerializer(serializers.Serializer):
    """The supplier was entered."""

    supplier = serializers.CharField()
    name = serializers.CharField()


class SupplierPartInSerializer(ActSerializer):
    """A part that the supplier sells, or its new terms."""

    part = TextField(max_length=60)
    number = TextField(required=False, allow_blank=True, max_length=60, help_text="the supplier's own number")
    pack = WholeField(required=False)
    least_order = WholeField(required=False)
    price_coins = WholeField(required=False, allow_null=True)
    lead_days = WholeField(required=False, allow_null=True)
    send_back_days = WholeField(required=False, allow_null=True, help_text="how long its old unit may stay here")
    express_days = WholeField(required=False, allow_null=True, help_text="sent fast, with express_coins")
    express_coins = WholeField(required=False, allow_null=True, help_text="what a fast delivery costs more")


class TermsSerializer(serializers.Serializer):
    """Terms of a sale."""

    number = serializers.CharField(allow_blank=True)
    pack = serializers.IntegerField()
    least_order = serializers.IntegerField()
    price_coins = serializers.IntegerField(allow_null=True)
    lead_days = serializers.IntegerField(allow_null=True)
    send_back_days = serializers.IntegerField(allow_null=True)
    express_days = serializers.IntegerField(allow_null=True)
    express_coins = serializers.IntegerField(allow_null=True)


class SupplierPartSetSerializer(serializers.Serializer):
    """The terms were recorded."""

    supplier = serializers.CharField()
    part = serializers.CharField()
    before = TermsSerializer(allow_null=True)
    terms = TermsSerializer()
