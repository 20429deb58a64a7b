"""Holds of jobs: promised, picked, released, lapsed."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import ActSerializer, DayField, StrictSerializer, TextField
from kits.queries.pick_lists import STATES


class NamedLotsSerializer(StrictSerializer):
    """Lots or sets that a person wants instead of the first to expire."""

    part = TextField(max_length=60)
    lots = serializers.ListField(
        child=TextField(max_length=60),
        min_length=1,
        max_length=100,
        help_text='lot codes, serials, or "item" and its number',
    )


class KitHoldInSerializer(ActSerializer):
    """Hold what the job's list still lacks."""

    steps = serializers.ListField(
        child=TextField(max_length=60), required=False, max_length=500, help_text="only these, as procedure/step"
    )
    until = DayField(required=False, allow_null=True, help_text="past this day the holds have lapsed")
    lots = NamedLotsSerializer(many=True, required=False, max_length=500)
    lots_reason = TextField(max_length=2000, required=False, allow_blank=True)


class ServedSerializer(serializers.Serializer):
    """A use position and how much of the hold is for it; `make`: how many times the joint is made."""

    position = serializers.CharField()
    make = serializers.IntegerField()
    amount = serializers.IntegerField()


class HeldSerializer(serializers.Serializer):
    """What was held just now."""

    hold = serializers.IntegerField()
    part = serializers.CharField()
    wanted = serializers.CharField(help_text="part that the list asks for; another one where a replacement serves")
    item = serializers.IntegerField()
    lot = serializers.CharField(allow_blank=True)
    serial = serializers.CharField(allow_blank=True)
    tube = serializers.CharField(allow_blank=True)
    use_by = serializers.DateField(allow_null=True)
    place = serializers.CharField()
    spot = serializers.CharField()
    amount = serializers.IntegerField()
    positions = serializers.ListField(child=serializers.ListField(), help_text="position, make, amount")
    tray = serializers.IntegerField(
        help_text="of the cart, the first that its line lies in; 0: on the floor, on approval"
    )
    on_approval = serializers.BooleanField()
    look = serializers.CharField(allow_blank=True, help_text="of the lot: what to look at, such as an unknown receipt")


class KitShortSerializer(serializers.Serializer):
    """What the shelves lack."""

    part = serializers.CharField()
    wanted = serializers.CharField()
    amount = serializers.IntegerField()
    base = serializers.CharField()
    step = serializers.CharField()
    positions = serializers.ListField(child=serializers.CharField())
    why = serializers.CharField()
    held_by = serializers.ListField(
        child=serializers.CharField(), help_text="jobs that hold of it what would have served here"
    )


class CartLineSerializer(serializers.Serializer):
    """So many pieces of a line of the list."""

    line = serializers.IntegerField()
    pieces = serializers.IntegerField()


class CartTraySerializer(serializers.Serializer):
    """A tray of the cart; the lowest number is on top."""

    tray = serializers.IntegerField(help_text="numbered on over the pick lists of a job")
    weight_g = serializers.IntegerField()
    size_ml = serializers.IntegerField(help_text="what its things take up packed, as far as that is known")
    lines = CartLineSerializer(many=True)
    not_weighed = serializers.ListField(child=serializers.IntegerField(), help_text="lines whose weight is not known")
    not_sized = serializers.ListField(
        child=serializers.IntegerField(), help_text="lines whose packed size is not known"
    )
    tools = serializers.ListField(child=serializers.CharField())


class CartFloorSerializer(CartLineSerializer):
    """What stands on the floor of the trolley."""

    by_hoist = serializers.BooleanField(help_text="two people or a hoist")
    tools = serializers.ListField(child=serializers.CharField())


class CartSerializer(serializers.Serializer):
    """What the pick list holds or misses, laid out on the cart in order of work."""

    trays = CartTraySerializer(many=True)
    floor = CartFloorSerializer(many=True)


class KitHeldSerializer(serializers.Serializer):
    """The kit is held as far as the shelves have it; `pick_list` is the address to pick from."""

    pick_list = serializers.IntegerField(allow_null=True, help_text="null: nothing could be held, so there is no list")
    number = serializers.IntegerField(allow_null=True)
    held = HeldSerializer(many=True)
    shorts = KitShortSerializer(many=True)
    open_choices = serializers.ListField(child=serializers.DictField())
    buy_in = serializers.ListField(child=serializers.DictField(), help_text="to be bought in, with no part named yet")
    tools = serializers.ListField(child=serializers.DictField())
    cart = CartSerializer()


class HoldSerializer(serializers.Serializer):
    """A hold of a job and how it stands."""

    hold = serializers.IntegerField()
    pick_list = serializers.IntegerField(allow_null=True)
    part = serializers.CharField()
    name = serializers.CharField()
    wanted = serializers.CharField()
    item = serializers.IntegerField()
    lot = serializers.CharField(allow_blank=True)
    serial = serializers.CharField(allow_blank=True)
    tube = serializers.CharField(allow_blank=True)
    use_by = serializers.DateField(allow_null=True)
    place = serializers.CharField()
    spot = serializers.CharField()
    amount = serializers.IntegerField()
    base = serializers.CharField()
    shown = serializers.CharField()
    positions = ServedSerializer(many=True)
    line = serializers.IntegerField()
    tray = serializers.IntegerField(
        help_text="of the cart, the first that its line lies in; 0: on the floor, on approval"
    )
    on_approval = serializers.BooleanField()
    needed_on = serializers.DateField()
    until = serializers.DateField(allow_null=True)
    state = serializers.ChoiceField(choices=STATES)
    picked = serializers.IntegerField()
    why = serializers.CharField(allow_blank=True)


class HoldReleasedSerializer(serializers.Serializer):
    """What was held is free again."""

    hold = serializers.IntegerField()
    part = serializers.CharField()
    freed = serializers.IntegerField()


class PartReleasedSerializer(serializers.Serializer):
    """A hold that was given up, in whole or in part."""

    hold = serializers.IntegerField()
    part = serializers.CharField()
    freed = serializers.IntegerField(help_text="whole base units")
    positions = serializers.ListField(child=serializers.CharField())
    again = serializers.IntegerField(
        allow_null=True, help_text="the hold of what is still asked for; null: all was freed"
    )


class LentUnaskedSerializer(serializers.Serializer):
    """Lent by another job and no longer asked for: it stays held until it is given back."""

    loan = serializers.IntegerField()
    hold = serializers.IntegerField()
    part = serializers.CharField()
    amount = serializers.IntegerField()


class UnaskedReleasedSerializer(serializers.Serializer):
    """What the list asks for no longer is free again."""

    job = serializers.CharField()
    released = PartReleasedSerializer(many=True)
    lent = LentUnaskedSerializer(many=True, help_text="to be given back: `loans/{id}/returns`")


class HoldLapsedSerializer(serializers.Serializer):
    """The hold was ended as lapsed."""

    lapsed = serializers.ListField(child=serializers.IntegerField())
