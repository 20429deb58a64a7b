"""Two orders and what came for them: two cure quarters in one bag, and a set that is rejected whole and sent back."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any

from api.demo.catalogue import Say, Staff
from api.demo.files import document, moment, once, stamp
from inventory.queries.orders import order, rendered_orders
from inventory.services.claims import ReturnLine, return_to_supplier
from inventory.services.orders import OrderLineIn, place_order
from inventory.services.receive import ReceiveLine, SetLabel, receive


def deliver(staff: Staff, say: Say) -> None:
    """Order, receive, send back; told as it goes."""
    plan = document("delivery")
    for row in plan["orders"]:
        _order(staff, plan, row)
        say("")
        say(f"{row['supplier']} delivers for order {row['order']}: {row['pieces']} of {row['part']} were ordered")
        said = _receive(staff, plan, row)
        for line in said["lines"]:
            of = f"lot {line['lot']}, good until {line['expires_on']}" if line["lot"] else f"set {line['serial']}"
            why = f", {line['why']}: {line['quarantined']}" if line["why"] else ""
            say(f"  {line['amount']} of {line['part']}, {of}, to {line['place']}{why}")
        for line in said["lines"]:
            if line["reject"] is not None:
                _send_back(staff, plan, row, line)
                say(f"  set {line['serial']} goes back whole, with note {plan['return_note']}; its credit is awaited")
        (now,) = rendered_orders([order(row["order"])], date.fromisoformat(plan["came_on"]))[0].lines
        say(
            f"  delivered {now.delivered} = accepted {now.accepted} + rejected {now.rejected} + in inspection"
            f" {now.in_inspection}; {now.outstanding} still to come; promised days that passed: {len(now.promises_passed)}"
        )


def _order(staff: Staff, plan: Mapping[str, Any], row: Mapping[str, Any]) -> None:
    line = OrderLineIn(row["part"], amount=row["pieces"], promised_on=date.fromisoformat(row["promised_on"]))
    once(
        place_order,
        actor=staff[plan["manager"]],
        stamp=stamp(f"order {row['order']}", moment(plan["ordered_on"], 12)),
        order=row["order"],
        supplier=row["supplier"],
        lines=[line],
    )


def _receive(staff: Staff, plan: Mapping[str, Any], row: Mapping[str, Any]) -> dict[str, Any]:
    return once(
        receive,
        actor=staff[plan["storekeeper"]],
        stamp=stamp(f"delivery for {row['order']}", moment(plan["came_on"], 7, 15)),
        supplier=row["supplier"],
        order=row["order"],
        place=row["place"],
        quarantine=plan["quarantine"],
        lines=list(_lines(row)),
    )


def _lines(row: Mapping[str, Any]) -> Iterator[ReceiveLine]:
    for bag in row.get("bags", ()):
        yield ReceiveLine(row["part"], bag["pieces"], lot=bag["lot"], cure_code=bag["cure"])
    for one in row.get("sets", ()):
        label = SetLabel(weight_mg=one["weight_with_pin_g"] * 1000, weighed="with pin")
        bad = {"rejected": one.get("rejected", ""), "photos": one.get("photos", ())}
        yield ReceiveLine(row["part"], 1, serial=one["serial"], set_label=label, **bad)


def _send_back(staff: Staff, plan: Mapping[str, Any], row: Mapping[str, Any], line: Mapping[str, Any]) -> None:
    price = next(part["price_coins"] for part in document("parts")["parts"] if part["number"] == row["part"])
    back = ReturnLine(line["item"], line["place"], 1, price, reject=line["reject"])
    once(
        return_to_supplier,
        actor=staff[plan["storekeeper"]],
        stamp=stamp(f"return {plan['return_note']}", moment(plan["came_on"], 7, 40)),
        supplier=row["supplier"],
        note=plan["return_note"],
        lines=[back],
    )
