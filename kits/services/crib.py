"""The tool crib: how many of each special tool a site has."""

from __future__ import annotations

from collections.abc import Mapping

from inventory.domain.errors import DomainError
from inventory.models import Act, Person, Site
from inventory.queries.catalogue import no_such_site
from inventory.services.run import Body, Done, Stamp, run
from kits.models import CribTool


def stock_crib(*, actor: Person, stamp: Stamp, site: str, tools: Mapping[str, int]) -> Done:
    """Say how many of each special tool the crib of a site has. Outcome: {"site", "tools"}."""

    def work(act: Act) -> Body:
        where = Site.objects.filter(code=site).first()
        if where is None:
            raise no_such_site(site)
        if any(count < 0 for count in tools.values()):
            raise DomainError("amount-negative", "Fewer than no tools.", tools=dict(tools))
        for tool, count in sorted(tools.items()):
            CribTool.objects.update_or_create(site=where, tool=tool, defaults={"count": count})
        return {"site": site, "tools": dict(sorted(tools.items()))}

    return run("stock crib", work, actor=actor, stamp=stamp, request={"site": site, "tools": dict(tools)})
