"""How engine numbers of replacement notices are read. Private to services: the stores' app imports every module of this name."""

from __future__ import annotations

from inventory.services import noticing
from kits.domain.engine_numbers import parse_engine_number
from kits.models import EngineFamily


def _as_written(typed: str) -> str:
    """The number as its family writes it; as typed while no family is on record. DomainError "engine-number-unreadable". One query."""
    families = dict(EngineFamily.objects.values_list("prefix", "width"))
    return parse_engine_number(typed, families).text if families else typed


noticing.read_numbers_by(_as_written)
