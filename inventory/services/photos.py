"""Where photos of parts are kept. A newer one replaces the older, which stays on record."""

from __future__ import annotations

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.models import Act, PartPhoto, Person
from inventory.services import things
from inventory.services.run import Body, Done, Stamp, run

MOST_CHARACTERS = 500


def enter_photo(*, actor: Person, stamp: Stamp, part: str, link: str) -> Done:
    """A photo of the part is kept at `link`: an address, or where it hangs. Nothing is uploaded.

    Outcome: {"part", "revision", "photo"}. Raises DomainError "not-found", "nothing-given", "text-too-long".
    """

    def work(act: Act) -> Body:
        found = things.parts_by_number([part])[part]
        where = link.strip()
        if not where:
            raise DomainError("nothing-given", f"Where is the photo of {part} kept?", part=part)
        if len(where) > MOST_CHARACTERS:
            raise DomainError(
                "text-too-long", f"At most {MOST_CHARACTERS} characters are kept.", field="link", most=MOST_CHARACTERS
            )
        locks.name("photo", part)
        revision = PartPhoto.objects.filter(part=found).count() + 1
        PartPhoto.objects.create(part=found, revision=revision, act=act, link=where)
        return {"part": part, "revision": revision, "photo": where}

    request = {"part": part, "link": link}
    return run("enter photo", work, actor=actor, stamp=stamp, request=request, subject=part[:80])
