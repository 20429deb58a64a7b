"""What the browser looks at: the demo shop's catalogue, and one Alder-4 with everything off, whose kit is held."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Any

from django.contrib.auth.hashers import PBKDF2PasswordHasher
from django.contrib.auth.models import Group

from inventory.models import Balance, Person
from kits.models import Job
from kits.queries.documents import family_of
from tests.browser.chromium import Visit
from tests.factories.shop import same
from tests.journeys import shop

JOB = "J1175"
STRIP = datetime(2025, 1, 15, 8, tzinfo=UTC)
SETS = ("S-0441", "S-0442", "S-0444", "S-0445")
PASSWORD = "wet liners stand proud"
#: Looks after the service; has every right that Django's admin knows.
KEEPER = "keeper"


@dataclass(frozen=True, slots=True)
class Scene:
    """The held kit: what the act answered, and where the service is."""

    held: dict[str, Any]
    pick_list: dict[str, Any]
    note: int
    claim: int
    address: str = ""

    def at(self, address: str) -> Scene:
        """The same, served there."""
        return replace(self, address=address)

    def sign_in(self, visit: Visit, login: str, then: str) -> None:
        """Sign in as people do, and be led on to a page of the service."""
        visit.page.goto(f"{self.address}/api/v1/session/login/?next={then}")
        visit.page.fill("input[name=username]", login)
        visit.page.fill("input[name=password]", PASSWORD)
        visit.page.click("input[type=submit]")
        visit.page.wait_for_url(f"{self.address}{then}")

    @property
    def rides(self) -> str:
        """The sheet of the transfer note."""
        return f"/api/v1/transfer-notes/{self.note}?format=html"

    @property
    def pack(self) -> str:
        """The sheets of the claim's pack."""
        return f"/api/v1/claims/{self.claim}/pack?format=html"

    @property
    def printed(self) -> str:
        """The page to print."""
        return f"/api/v1/pick-lists/{self.held['pick_list']}?format=html"


def fill() -> Scene:
    """Catalogue, people who can log in, shelves that have what the list asks, and the kit held."""
    shop.fill(same)
    keeper = Person.objects.create(username=KEEPER, is_staff=True, is_superuser=True)
    keeper.groups.add(Group.objects.get(name="owner"))
    Person.objects.update(password=PBKDF2PasswordHasher().encode(PASSWORD, "salt", iterations=1000))
    story = shop.Story()
    story.book(JOB, STRIP, "2025-01-15", "2025-01-20")
    for serial in SETS:
        story.shelve("A-101", 1, STRIP, serial=serial, set_label={"weight_mg": 416_000, "weighed": "with pin"})
    for part, amount in shop.totals(story.list_of(JOB)["lines"]).items():
        if part != "A-101":
            story.shelve(part, pieces_of(part, amount), STRIP)
    story.at = STRIP
    held = story.did(story.client("jonah"), f"jobs/{JOB}/holds", {})
    assert held["shorts"] == []
    return Scene(held, story.client("piet").read(f"pick-lists/{held['pick_list']}").json(), _note(story), _claim(story))


#: Words that are hard to lay out: the widest letters, none to break at, long, and of other scripts.
HARD = (
    "W" * 120,
    "groove-lower/" * 20,
    "Kühlmittel im Öl, ölig und trüb, " * 12,
    "漏れている" * 20,
    "@%M&" * 40,
    "it leaks",
)


def _claim(story: shop.Story) -> int:
    """A claim on an engine that went out (its job is closed by the row), on every position of its map, in hard words."""
    story.book("J1176", STRIP, "2025-01-15", "2025-01-20")
    job = Job.objects.select_related("family_revision", "engine").get(number="J1176")
    Job.objects.filter(pk=job.pk).update(state=Job.State.CLOSED)
    names = [position.name for position in family_of(job.family_revision).map.positions]
    things = [
        {"position": name, "what": HARD[at % len(HARD)], "photo_ref": f"photo {at}" * (at % 9)}
        for at, name in enumerate(names)
    ]
    told = {
        "told_on": "2025-01-15",
        "told_by": "owner",
        "what": "\n".join(HARD) * 2,
        "job": "J1176",
        "photos": [word[:200] for word in HARD],
    }
    return int(
        story.did(story.client("hester"), f"engines/{job.engine.number}/claims", {**told, "things": things})["claim"]
    )


def _note(story: shop.Story) -> int:
    """By the van to Quayside: a set with a long serial and a ring with a long lot, on a line each."""
    bare = {
        "A-101": {"serial": "S-0446-LONG-SERIAL-OF-ITS-MAKER"},
        "A-111": {"lot": "2024/Q3/WET-LINER-BASE-RINGS/0017"},
    }
    for part, named in bare.items():
        story.shelve(
            part,
            1,
            STRIP,
            **named,
            **({"set_label": {"weight_mg": 416_000, "weighed": "with pin"}} if part == "A-101" else {}),
        )
    free = Balance.objects.filter(amount__gt=0, held=0, part__number__in=bare, pickable=True).order_by("part__number")
    lines = [
        {"item": row.item_id, "amount": 1, "from_place": row.place.code, "for_job": "J1201"}
        for row in free.select_related("place")
    ]
    words = {"van": "VAN", "to_site": "QY", "driver": "lio", "remark": "with the 16:00 van; " * 12}
    sent = story.did(story.client("piet"), "transfer-notes", {"lines": lines, **words})
    return int(sent["note"])


def pieces_of(part: str, amount: int) -> int:
    """What is bought for an amount on the list: litres of what comes in drums, one tube, tin or bottle of the rest."""
    base = {"G-706": 6, "G-707": 4, "G-701": 1, "G-705": 1, "G-708": 1}
    return base.get(part, amount)
