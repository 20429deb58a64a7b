"""What a stop means for jobs: what they hold and what they have of the thing. Private to services: the stores' app imports every module of this name."""

from __future__ import annotations

from inventory.services import stopping
from kits.services.cart_rules import short_of_stopped
from kits.services.replanning import hold_other_lots

stopping.replan(hold_other_lots)
stopping.tell(short_of_stopped)
