"""Sums of the audit that take a page of their own."""

from __future__ import annotations

_COUNTS = "NOT EXISTS (SELECT 1 FROM inventory_act c WHERE c.corrects_id = x.act_id)"

#: At the van's spot of a note stands what was sent by it, less what was taken in of it and what was explained, and nothing else:
#: note, item, by the lines, by the balance.
IN_TRANSIT = f"""
    WITH moved AS (
        SELECT x.act_id AS note, x.spot_id, l.item_id, l.amount FROM inventory_transfernoteline l
        JOIN inventory_transfernote x ON x.act_id = l.note_id WHERE {_COUNTS}
        UNION ALL
        SELECT n.act_id, n.spot_id, t.item_id, -t.amount FROM inventory_transfertaken t
        JOIN inventory_transfertaking x ON x.act_id = t.taking_id JOIN inventory_transfernote n ON n.act_id = x.note_id
        WHERE NOT t.over AND {_COUNTS}
        UNION ALL
        SELECT n.act_id, n.spot_id, l.item_id, -x.amount FROM inventory_transferexplained x
        JOIN inventory_transfernoteline l ON l.id = x.line_id JOIN inventory_transfernote n ON n.act_id = l.note_id
        WHERE {_COUNTS}
        UNION ALL
        SELECT n.act_id, n.spot_id, b.item_id, 0 FROM inventory_balance b JOIN inventory_transfernote n ON n.spot_id = b.spot_id)
    SELECT m.note, m.item_id, SUM(m.amount), COALESCE(MAX(b.amount), 0) FROM moved m
    LEFT JOIN inventory_balance b ON b.item_id = m.item_id AND b.spot_id = m.spot_id
    GROUP BY m.note, m.item_id HAVING SUM(m.amount) <> COALESCE(MAX(b.amount), 0)"""
