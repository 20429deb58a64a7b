"""Loads the invented demo shop and does one job from request to closed job, telling it as it goes."""

from __future__ import annotations

import time
from datetime import date, timedelta
from typing import Any

from django.core.management import call_command
from django.core.management.base import BaseCommand

from api.demo.catalogue import (
    OPENED,
    Say,
    Staff,
    load_duties,
    load_gauges,
    load_parts,
    load_people,
    load_procedures,
    load_safety_sheets,
    load_sheets,
)
from api.demo.claims import tell_claims
from api.demo.day import Day, tell_shorts
from api.demo.delivery import deliver
from api.demo.files import document, stamp
from api.demo.history import History, fill_shelves
from api.demo.rebuild import Rebuild
from api.demo.stock import Buyer
from api.demo.stores import tell_stores
from api.demo.tell import tell_list
from api.demo.tubes import open_tubes
from inventory.queries.shop import demo_loaded
from inventory.services.set_up import set_up_shop
from kits.queries.job_list import document as list_document

#: Of the demo only: the logins of a real shop are made by its owner.
PASSWORD = "demo"


class Command(BaseCommand):
    """`manage.py demo`: a second run starts warm and tells the same job from the books."""

    help = "Load the invented demo shop and do one job from request to closed job."

    def handle(self, *args: Any, **options: Any) -> None:
        began = time.monotonic()

        def say(text: str) -> None:
            self.stdout.write(text)
            self.stdout.flush()

        def progress(text: str) -> None:
            say(f"[{time.monotonic() - began:5.1f} s] {text}")

        call_command("migrate", verbosity=0, interactive=False)
        staff = load_people(PASSWORD)
        buyer = Buyer(staff)
        if demo_loaded():
            progress("the demo shop is loaded already")
        else:
            load(staff, buyer, progress, say)
        Day(staff, buyer, say).run()
        deliver(staff, say)
        tell_stores(staff, say)
        tell_claims(staff, say)
        say("")
        say("What the booked jobs are short of")
        tell_shorts(say, [row["job"] for row in document("booked")["jobs"] if row["job"] != document("day")["job"]])
        say("")
        say("Pages and API: python3 manage.py runserver, then http://127.0.0.1:8000/api/v1/docs")
        say(
            f"Logins (password {PASSWORD!r}): "
            + ", ".join(f"{row['login']} ({row['group']})" for row in document("people")["people"])
        )
        progress("done")


def load(staff: Staff, buyer: Buyer, progress: Say, say: Say) -> None:
    """The whole shop: catalogue, two years of work, today's shelves, the booked jobs. Repeats nothing after a break."""
    load_duties(staff, staff.owner)
    load_parts(staff.manager, progress)
    load_safety_sheets(staff, progress)
    load_procedures(staff.manager, progress)
    load_gauges(staff.inspector, progress)
    story = document("day")["story_while_loading"]
    history = History(staff, buyer, progress, tell={story["job"]: lambda job: tell_story(say, job, story["text"])})
    progress(f"{history.run()} jobs of two years, each through the real services")
    fill_shelves(staff, buyer, progress)
    open_tubes(staff.storekeeper(buyer.main), buyer, progress)
    load_sheets(staff.manager, progress)
    book_jobs(staff, buyer)
    set_up_shop(actor=staff.owner, stamp=stamp("loaded", OPENED), settings={"demo_loaded": True})


def tell_story(say: Say, job: Rebuild, text: str) -> None:
    """The list of one job of the past, while it is loaded."""
    say("")
    say(f"{job.number}: {text}")
    tell_list(say, list_document(job.list()), [])
    say("")


def book_jobs(staff: Staff, buyer: Buyer) -> None:
    """The booked work from the reference day on; fitting is planned some days after the strip."""
    planned = document("chances")["fitting"]["working_days_after_strip"]
    for row in document("booked")["jobs"]:
        strip = date.fromisoformat(row["strip_on"])
        days = planned[row["site"]][1]
        Rebuild(staff, buyer, row, OPENED).book(strip, strip + timedelta(days=days))
