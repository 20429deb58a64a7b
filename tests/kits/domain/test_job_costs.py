"""What a job is charged: by the bench, never by the cart; whatever has no value is left out."""

from inventory.domain.places import PlaceKind as Kind
from inventory.domain.valuation import End, Entry
from kits.domain.job_costs import job_costs

BENCH, CART = End(1, 1, Kind.BENCH), End(2, 2, Kind.CART)
SHELF, ENGINE, SCRAP = End(3, 3, Kind.SHELF), End(4, 4, Kind.ENGINE), End(5, 5, Kind.SCRAP)
OTHER = End(6, 6, Kind.BENCH)


def entry(amount: int, coins: int, origin: End, target: End, *, unknown: int = 0, old: int = 0, item: int = 1) -> Entry:
    return Entry(1, item, amount, coins, unknown, old, origin, target)


def test_charged_at_the_bench_and_credited_at_the_same_cost() -> None:
    """Worked example of the demo shop (invented): 12 at 4.40, 2 come back."""
    (cost,) = job_costs(
        [entry(12, 5280, CART, BENCH), entry(2, 880, BENCH, SHELF), entry(9, 3960, BENCH, ENGINE)], 1, 2
    ).values()
    assert (cost.issued, cost.returned, cost.net, cost.unknown) == (12, 2, 4400, 0)
    assert (cost.coins.fitted, cost.coins.still_here) == (3960, 440)


def test_what_goes_from_the_cart_to_no_stock_is_charged_as_it_goes() -> None:
    found = job_costs([entry(1, 500, CART, SCRAP), entry(4, 100, SHELF, OTHER), entry(3, 9, OTHER, ENGINE)], 1, 2)
    assert [(cost.net, cost.coins.scrapped, cost.coins.still_here) for cost in found.values()] == [(500, 500, 0)]


def test_old_parts_are_no_cost_and_what_is_in_suspense_is_said() -> None:
    found = job_costs(
        [
            entry(4, 0, ENGINE, BENCH, old=4, item=2),
            entry(5, 300, CART, BENCH, unknown=2, old=0),
            entry(1, 0, BENCH, SHELF, unknown=1),
        ],
        1,
        2,
    )
    assert [(item, cost.issued, cost.unknown, cost.net) for item, cost in found.items()] == [(1, 5, 1, 300)]
