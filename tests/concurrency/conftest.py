"""Every test here has the small workshop in a database of its own."""

from tests.factories.workshop_databases import shop_database, workshop_template

__all__ = ["shop_database", "workshop_template"]
