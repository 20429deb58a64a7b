"""Letters to owners: plain text, to be printed and put into an envelope."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

#: What an owner is told beside the work that is due; the maker's manual goes before it.
SERVICE_CAUTION = (
    "Stop the engine and call us if its oil pressure falls, if it runs hot, or if it loses coolant or oil. "
    "Do not open a hot cooling system, and do not tighten anything on a warm engine: leave that to us."
)


@dataclass(frozen=True, slots=True)
class LateWork:
    """Work after the first run whose last day is past: `days` late, 1 on the first day."""

    what: str
    due_on: date
    days: int
    parts: tuple[str, ...]


def service_letter(
    *, name: str, address: str, engine: str, family: str, job: str, run_on: date, on: date, lines: Sequence[LateWork]
) -> str:
    """The letter that asks an owner to bring the engine; without a name it goes to whoever has the engine."""
    head = [name or f"To the owner of engine {engine}", *address.splitlines()]
    work = [f"  - {one.what}, due by {one.due_on}, {_late(one.days)}" for one in lines]
    body = [
        f"Engine {engine} ({family}), our job {job}",
        "",
        f"Your engine ran for the first time after its rebuild on {run_on}. This work was to follow, and is not done yet:",
        "",
        *work,
        "",
        "Please bring the engine in, or call us for a day.",
        "",
        SERVICE_CAUTION,
    ]
    return "\n".join([*head, "", on.isoformat(), "", *body, ""])


def _late(days: int) -> str:
    return "one day past" if days == 1 else f"{days} days past"
