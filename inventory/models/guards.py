"""Guards in the database itself: rows of these tables are written once and never changed or removed.

They are installed after every migration run, because SQLite silently drops the triggers of a table that a later migration
alters. A test compares what stands in the database with this list and with the list in DEVELOPERS.md.
"""

from __future__ import annotations

from collections.abc import Iterable

from django.db import connections

#: Written once. UPDATE and DELETE are refused by triggers on both databases, TRUNCATE too on PostgreSQL.
APPEND_ONLY = (
    "inventory_act",
    "inventory_outcome",
    "inventory_refusal",
    "inventory_movement",
    "inventory_hold",
    "inventory_holdend",
    "inventory_short",
    "inventory_stop",
    "inventory_free",
    "inventory_setbreak",
    "inventory_receipt",
    "inventory_receiptline",
    "inventory_purchaseorder",
    "inventory_orderline",
    "inventory_orderpromise",
    "inventory_orderlineend",
    "inventory_loanrequest",
    "inventory_loananswer",
    "inventory_loan",
    "inventory_lenthold",
    "inventory_loanend",
    "inventory_setaside",
    "inventory_accepted",
    "inventory_asidegone",
    "inventory_reject",
    "inventory_supplierreturn",
    "inventory_supplierreturnline",
    "inventory_credit",
    "inventory_invoicetotal",
    "inventory_certificatefile",
    "inventory_certificate",
    "inventory_certificatelot",
    "inventory_sampleplan",
    "inventory_lotinspection",
    "inventory_sealantsheet",
    "inventory_sheetreading",
    "inventory_safetysheet",
    "inventory_safetysheetreading",
    "inventory_lifeextension",
    "inventory_lotdates",
    "inventory_setlabelling",
    "inventory_lateact",
    "inventory_clash",
    "inventory_clashanswer",
    "inventory_scrap",
    "inventory_kitassembly",
    "inventory_partjoin",
    "inventory_partphoto",
    "inventory_setmatch",
    "inventory_setmatchmember",
    "inventory_corevalue",
    "inventory_oldunit",
    "inventory_oldunittag",
    "inventory_oldunitsent",
    "inventory_depositentry",
    "inventory_importfile",
    "inventory_importanswer",
    "inventory_importbooked",
    "inventory_placestorage",
    "inventory_temperaturereading",
    "inventory_temperaturewithdrawal",
    "inventory_storageword",
    "inventory_storagecheck",
    "inventory_countedline",
    "inventory_countsheet",
    "inventory_countsheetbin",
    "inventory_countsheetline",
    "inventory_sheetcount",
    "inventory_countposting",
    "inventory_keptpiece",
    "inventory_keptend",
    "inventory_transfernote",
    "inventory_transfernoteline",
    "inventory_transfertaking",
    "inventory_transfertaken",
    "inventory_transferexplained",
    "inventory_offjob",
    "inventory_offjobline",
    "inventory_soldreturn",
    "inventory_demandmark",
)

FUNCTION = "refuse_change"
_POSTGRESQL_FUNCTION = f"""
CREATE OR REPLACE FUNCTION {FUNCTION}() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION '% rows are written once: % refused', TG_TABLE_NAME, TG_OP
        USING ERRCODE = 'integrity_constraint_violation';
END $$
"""


def names(table: str, vendor: str) -> tuple[str, ...]:
    """Names of the guards of one table on a database."""
    acts = ("update", "delete", "truncate") if vendor == "postgresql" else ("update", "delete")
    return tuple(f"{table}_no_{act}" for act in acts)


def install(using: str, tables: Iterable[str]) -> None:
    """Make the guards of these tables where they are missing."""
    connection = connections[using]
    existing = set(present(using))
    known_tables = set(connection.introspection.table_names())
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(_POSTGRESQL_FUNCTION)
        for table in tables:
            if table not in known_tables:
                continue
            for name in names(table, connection.vendor):
                if name in existing:
                    continue
                act = name.rsplit("_", 1)[1].upper()
                if connection.vendor == "postgresql":
                    each = "STATEMENT" if act == "TRUNCATE" else "ROW"
                    cursor.execute(
                        f"CREATE TRIGGER {name} BEFORE {act} ON {table} FOR EACH {each} EXECUTE FUNCTION {FUNCTION}()"
                    )
                else:
                    cursor.execute(
                        f"CREATE TRIGGER {name} BEFORE {act} ON {table} BEGIN"
                        f" SELECT RAISE(ABORT, '{table} rows are written once: {act} refused'); END"
                    )


def present(using: str) -> list[str]:
    """Names of all guards that stand in the database now, sorted."""
    connection = connections[using]
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(
                "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal AND tgname LIKE '%%\\_no\\_%%' ORDER BY 1"
            )
        else:
            cursor.execute("SELECT name FROM sqlite_master WHERE type = 'trigger' ORDER BY 1")
        return [row[0] for row in cursor.fetchall()]
