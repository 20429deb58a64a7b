"""What a stop means for jobs that had the thing already. Private to services: the stores' app imports every module of this name."""

from __future__ import annotations

from inventory.services import stopping
from kits.services.cart_rules import short_of_stopped

stopping.tell(short_of_stopped)
