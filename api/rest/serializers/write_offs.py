"""What of dated stock is likely to be written off."""

from __future__ import annotations

from rest_framework import serializers


class IdlePartSerializer(serializers.Serializer):
    """A part on the shelves that nobody used for long."""

    part = serializers.CharField()
    name = serializers.CharField()
    on_shelf = serializers.IntegerField()
    bins = serializers.IntegerField(help_text="things at spots of shelves")
    last_used_on = serializers.DateField(allow_null=True, help_text="null: never")
    months_since_use = serializers.IntegerField(allow_null=True, help_text="whole months; null: never used")
    used = serializers.IntegerField(help_text="pieces that left the shelves in the window, less what came back")
    window_days = serializers.IntegerField(help_text="fewer than asked for where the part came in later")
    cover_days = serializers.IntegerField(
        allow_null=True, help_text="for how many days it lasts at that rate; null: nothing was used in the window"
    )
    coins = serializers.IntegerField(allow_null=True, help_text="at the catalogue price; null without one")


class LotLossSerializer(serializers.Serializer):
    """A lot, what it is likely to lose, and what that rests on."""

    part = serializers.CharField()
    name = serializers.CharField()
    lot = serializers.CharField(allow_blank=True)
    lot_id = serializers.IntegerField(allow_null=True)
    expires_on = serializers.DateField(allow_null=True, help_text="null: none on record, counted as expired now")
    use_by_fit_date = serializers.DateField(
        allow_null=True, help_text="the last day of fitting that leaves the shop's margin"
    )
    on_shelf = serializers.IntegerField()
    held = serializers.IntegerField(
        help_text="by jobs that are fitted in time; what is held too late is not counted as used"
    )
    free = serializers.IntegerField()
    used = serializers.IntegerField(help_text="pieces that left the shelves in the window, less what came back")
    uses = serializers.IntegerField(help_text="acts by which they left")
    window_days = serializers.IntegerField(help_text="fewer than asked for where the part came in later")
    last_used_on = serializers.DateField(
        allow_null=True, help_text="the last day on which the part left a shelf, whenever that was; null: never"
    )
    months_since_use = serializers.IntegerField(allow_null=True, help_text="whole months")
    cover_days = serializers.IntegerField(
        allow_null=True, help_text="for how many days this lot lasts at that rate; null: nothing was used in the window"
    )
    thin_data = serializers.BooleanField(help_text="too few uses to trust the rate")
    wanted_until_then = serializers.CharField(
        help_text="pieces expected to be wanted beyond what is held, since the last day of the lot before it"
    )
    expected_lost = serializers.CharField(help_text="pieces, to three places: E[(Q - D)+]")
    chance_of_any = serializers.CharField()
    expected_coins = serializers.IntegerField(allow_null=True, help_text="at the catalogue price; null without one")
    said = serializers.CharField()


class MonthLossSerializer(serializers.Serializer):
    """All lots of one month of use-by."""

    month = serializers.CharField(help_text='as 2025-04, or "now" for what has no use-by')
    lots = serializers.IntegerField()
    expected_lost = serializers.CharField()
    expected_coins = serializers.IntegerField()
    without_price = serializers.IntegerField(help_text="lots that are not in the coins")


class WriteOffsSerializer(serializers.Serializer):
    """The forecast on a day."""

    on = serializers.DateField()
    until = serializers.DateField()
    lots = LotLossSerializer(many=True)
    months = MonthLossSerializer(many=True)
