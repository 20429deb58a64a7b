"""Setting up a shop: its sites, its places, its settings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from inventory import locks
from inventory.domain.articles import a
from inventory.domain.errors import DomainError, ManyErrors
from inventory.domain.part_numbers import KnownNumbers, Nearness
from inventory.domain.places import PlaceKind
from inventory.models import Act, Person, Place, ShopSetting, Site
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


def add_site(*, actor: Person, stamp: Stamp, code: str, name: str) -> Done:
    """Enter one site. Raises DomainError "nothing-given", "site-exists". Outcome: {"site", "name", "warnings"}."""

    def work(act: Act) -> Body:
        if not code.strip() or not name.strip():
            raise DomainError("nothing-given", "A site has a code and a name.", site=code, name=name)
        locks.name("site", code)
        known = list(Site.objects.values_list("code", flat=True))
        if code in known:
            raise DomainError("site-exists", f"{code} is a site already.", site=code)
        Site.objects.create(code=code, name=name)
        return {"site": code, "name": name, "warnings": _alike(code, "site", KnownNumbers(known))}

    return run("enter site", work, actor=actor, stamp=stamp, request={"code": code, "name": name}, subject=code)


def add_places(*, actor: Person, stamp: Stamp, places: Sequence[PlaceIn]) -> Done:
    """Enter places that are not there yet: all of them, or none.

    Raises "nothing-given"; ManyErrors naming every refused line: "place-exists" (also for a code that stands twice),
    "wrong-place" (a kind that is not made by hand, a code that the books keep), "not-found" (site).
    Outcome: {"places": [{"code", "kind", "site", "name", "walk_order", "warnings"}]}; a warning names a place that is on record
    already and reads alike.
    """

    def work(act: Act) -> Body:
        if not places:
            raise DomainError("nothing-given", "Nothing was given to be made.")
        for code in sorted({one.code for one in places}):
            locks.name("place", code)
        sites = {site.code: site for site in Site.objects.all()}
        known = list(Place.objects.filter(real=True).values_list("code", flat=True))
        there = set(known)
        errors: list[tuple[int, DomainError]] = []
        for number, one in enumerate(places, 1):
            try:
                if one.code in there:
                    raise DomainError("place-exists", f"{one.code} is a place already.", place=one.code)
                _make(one, sites)
                there.add(one.code)
            except DomainError as error:
                errors.append((number, error))
        if errors:
            raise ManyErrors(tuple(errors))
        numbers = KnownNumbers(known)
        return {"places": [{**asdict(one), "warnings": _alike(one.code, "place", numbers)} for one in places]}

    request = {"places": [asdict(one) for one in places]}
    return run("enter places", work, actor=actor, stamp=stamp, request=request)


def _alike(code: str, what: str, known: KnownNumbers) -> list[str]:
    """A sentence for each code on record that a tired eye takes for this one."""
    try:
        misses = known.near(code)
    except DomainError:
        return []
    alike = [miss.number for miss in misses if miss.nearness <= Nearness.LOOKS_ALIKE]
    return [f"{code} reads like {number}, which is {a(what)} already." for number in alike]


def _make(one: PlaceIn, sites: Mapping[str, Site]) -> None:
    kinds = {kind.value: kind for kind in MADE_BY_HAND}
    if one.kind not in kinds:
        raise DomainError(
            "wrong-place",
            f"{one.code}: a {one.kind!r} is not made by hand; {', '.join(sorted(kinds))} are.",
            place=one.code,
        )
    if one.code.startswith("(") and one.code.endswith(")"):
        raise DomainError(
            "wrong-place", f"{one.code}: a code in brackets is kept for the books themselves.", place=one.code
        )
    if one.site and one.site not in sites:
        raise no_such_site(one.site)
    if not one.site and kinds[one.kind] in (PlaceKind.SHELF, PlaceKind.BENCH):
        raise DomainError("not-found", f"{one.code}: {a(one.kind)} stands at a site.", place=one.code)
    things.make_place(
        one.code, kinds[one.kind], site=sites[one.site] if one.site else None, name=one.name, walk_order=one.walk_order
    )
