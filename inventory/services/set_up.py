"""Setting up a shop: its sites, its places, its settings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from inventory.domain.errors import DomainError, ManyErrors
from inventory.domain.places import PlaceKind
from inventory.models import Act, Person, ShopSetting, Site
from inventory.queries.catalogue import no_such_site
from inventory.services import things
from inventory.services.run import Body, Done, Stamp, run


@dataclass(frozen=True, slots=True)
class PlaceIn:
    """A place to be made: code, kind (one of the real kinds), site code, name, and its order when the shelves are walked."""

    code: str
    kind: str
    site: str = ""
    name: str = ""
    walk_order: int = 0


#: Engines, carts and job benches come with engines and jobs; the books' own places come by themselves.
MADE_BY_HAND = frozenset(
    {
        PlaceKind.SHELF,
        PlaceKind.BENCH,
        PlaceKind.VAN,
        PlaceKind.QUARANTINE,
        PlaceKind.OUTSIDE,
        PlaceKind.CRATE,
    }
)


def set_up_shop(
    *,
    actor: Person,
    stamp: Stamp,
    sites: Mapping[str, str] | None = None,
    places: Sequence[PlaceIn] = (),
    settings: Mapping[str, Any] | None = None,
) -> Done:
    """Make sites (code → name) and places, and set settings by name; what exists stays, settings are overwritten.

    Raises ManyErrors for places: "wrong-place" (a kind that is not made by hand), "not-found" (site), "place-exists".
    Outcome: {"sites", "places", "settings"} with what was given.
    """
    wanted = dict(sites or {})
    request = {"sites": wanted, "places": [asdict(one) for one in places], "settings": dict(settings or {})}

    def work(act: Act) -> Body:
        for code, name in wanted.items():
            Site.objects.get_or_create(code=code, defaults={"name": name})
        known = {site.code: site for site in Site.objects.all()}
        errors: list[tuple[int, DomainError]] = []
        for number, one in enumerate(places, 1):
            try:
                _make(one, known)
            except DomainError as error:
                errors.append((number, error))
        if errors:
            raise ManyErrors(tuple(errors))
        for name, value in (settings or {}).items():
            ShopSetting.objects.update_or_create(name=name, defaults={"value": value})
        return {"sites": sorted(wanted), "places": [one.code for one in places], "settings": dict(settings or {})}

    return run("set up shop", work, actor=actor, stamp=stamp, request=request)


def _make(one: PlaceIn, sites: Mapping[str, Site]) -> None:
    kinds = {kind.value: kind for kind in MADE_BY_HAND}
    if one.kind not in kinds:
        raise DomainError(
            "wrong-place",
            f"{one.code}: a {one.kind!r} is not made by hand; {', '.join(sorted(kinds))} are.",
            place=one.code,
        )
    if one.site and one.site not in sites:
        raise no_such_site(one.site)
    if not one.site and kinds[one.kind] in (PlaceKind.SHELF, PlaceKind.BENCH):
        raise DomainError("not-found", f"{one.code}: a {one.kind} stands at a site.", place=one.code)
    things.make_place(
        one.code, kinds[one.kind], site=sites[one.site] if one.site else None, name=one.name, walk_order=one.walk_order
    )
