"""README's worked request, done as it is written there: what it prints is what README says it prints.

curl is the test client, `python3` runs as it is, `grep -E` picks lines. The shelves of this shop are not those of the demo, so
codes of lots are left out of the comparison, and nothing else.
"""

import re
import shlex
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest
from rest_framework.test import APIClient

from inventory.models import Person
from tests.journeys.shop import JOBS, Story

TEXT = (Path(__file__).resolve().parents[2] / "README.md").read_text(encoding="utf-8")
SECTION = re.search(r"## A worked request\n(.*?)\n## ", TEXT, re.DOTALL)
STEPS = re.findall(r"```sh\n(.*?)```\n(?:\n```text\n(.*?)```)?", SECTION.group(1) if SECTION else "", re.DOTALL)
OPENED = datetime(2025, 1, 15, 8, tzinfo=UTC)
OF_THIS_SHOP = re.compile(r"( lot )\S+")


class Shell:
    """Just enough of a shell for README: two variables, pipes, curl, python3, grep."""

    def __init__(self) -> None:
        self.known: dict[str, str] = {}

    def run(self, block: str) -> str:
        """What the block prints."""
        block = block.replace("\\\n", " ")
        for name, inner, plain in re.findall(r"^([A-Z]+)=(?:\$\((.*)\)|(\S+))$", block, re.MULTILINE):
            self.known[name] = self.pipe(inner).strip() if inner else plain
        if self.known and block.startswith("SHOP="):
            return ""
        return self.pipe(block)

    def pipe(self, text: str) -> str:
        """What comes out of the last command."""
        for name, value in self.known.items():
            text = text.replace(f"${name}", value)
        words = shlex.shlex(text, posix=True, punctuation_chars="|")
        words.whitespace_split = True
        stages: list[list[str]] = [[]]
        for word in words:
            if word == "|":
                stages.append([])
            else:
                stages[-1].append(word)
        out = ""
        for stage in stages:
            out = {"curl": curl, "python3": python, "grep": grep}[stage[0]](stage[1:], out)
        return out


def curl(words: list[str], _: str) -> str:
    """The request that these words make."""
    flags, address, headers, body = "", "", {}, None
    asked: dict[str, str] = {}
    left = iter(words)
    for word in left:
        if word == "-H":
            name, _, value = next(left).partition(": ")
            headers[name] = value
        elif word == "-d":
            body = next(left)
        elif word == "--data-urlencode":
            name, _, asked_value = next(left).partition("=")
            asked[name] = asked_value
        elif word.startswith("-"):
            flags += word[1:]
        else:
            address = word
    assert set(flags) <= {"s", "i", "G"}
    assert bool(asked) == ("G" in flags)
    path = re.sub(r"^http://127\.0\.0\.1:8000", "", address)
    client = APIClient(headers=headers)
    answer = (
        client.get(path, asked) if body is None else client.generic("POST", path, body, headers.get("Content-Type", ""))
    )
    text: str = answer.content.decode()
    if "i" not in flags:
        return text
    head = [
        f"HTTP/1.1 {answer.status_code} {answer.reason_phrase}",
        *(f"{name}: {answer[name]}" for name in answer.headers),
    ]
    return "\n".join([*head, "", text])


def python(words: list[str], given: str) -> str:
    """The same program on the same input."""
    done = subprocess.run([sys.executable, *words], input=given, capture_output=True, text=True, timeout=30)
    assert done.returncode == 0, done.stderr
    return done.stdout


def grep(words: list[str], given: str) -> str:
    """The lines that fit."""
    assert words[0] == "-E"
    return "".join(f"{line}\n" for line in given.splitlines() if re.search(words[1], line))


@pytest.fixture
def shelved(story: Story) -> Story:
    """The job booked, what its head takes on the shelves, and the technician's password as README says it."""
    card = JOBS["J1176"]
    for part, pieces in {"A-203": 1, "A-204": 1, "A-205": 1, "A-502": 10}.items():
        story.shelve(part, pieces, OPENED)
    story.book("J1176", OPENED, card["strip_on"], "2025-01-25")
    technician = Person.objects.get(username="jonah")
    technician.set_password("demo")
    technician.save(update_fields=["password"])
    return story


def test_the_worked_request_prints_what_readme_says(shelved: Story) -> None:
    shell = Shell()
    assert len(STEPS) == 6
    for block, said in STEPS:
        printed = shell.run(block)
        assert OF_THIS_SHOP.sub(r"\1…", printed) == OF_THIS_SHOP.sub(r"\1…", said)


def test_a_wrong_word_in_readme_would_be_seen(shelved: Story) -> None:
    shell = Shell()
    (login, _), (listing, said) = STEPS[:2]
    shell.run(login)
    assert shell.run(listing) == said
    assert shell.run(listing.replace('line["shown"], ', "")) != said
