"""What a certificate's file may be, and which lots it speaks of."""

import pytest

from inventory.domain.certificates import MOST_BYTES, check_file, checksum, speaks_of
from inventory.domain.errors import DomainError

PDF = b"%PDF-1.7 lot 3421"


def test_the_checksum_is_the_published_one():
    # Source: FIPS 180-4, examples of SHA-256 published by NIST: the message "abc" and the empty message
    assert checksum(b"abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert checksum(b"") == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"


def test_a_usable_file_is_known_by_its_checksum():
    assert check_file("3421.pdf", "application/pdf", PDF) == checksum(PDF)
    most = b"%PDF-" + b"x" * (MOST_BYTES - 5)
    assert check_file("a.pdf", "application/pdf", most) == checksum(most)


@pytest.mark.parametrize(
    ("filename", "content_type", "content"),
    [
        ("a.pdf", "application/pdf", b""), ("a.pdf", "application/pdf", b"<html>"), ("a.png", "image/png", PDF),
        ("a.htm", "text/html", b"<html>"), ("a.pdf", "application/pdf", b"%PDF-" + b"x" * (MOST_BYTES - 4)),
        ("", "application/pdf", PDF), ("../a.pdf", "application/pdf", PDF), (".a", "application/pdf", PDF),
        ("a\r\nX: y.pdf", "application/pdf", PDF), ('a".pdf', "application/pdf", PDF), ("x" * 121, "application/pdf", PDF),
    ],
)  # fmt: skip
def test_any_other_is_refused(filename, content_type, content):
    with pytest.raises(DomainError) as refused:
        check_file(filename, content_type, content)
    assert refused.value.code == "file-unusable"


def test_a_code_is_the_lots_apart_from_case_spaces_and_dashes():
    printed = ["SB-3421", "sb 3422"]
    assert [speaks_of(printed, code) for code in ("sb3421", "SB-3422", "SB-342", "3421", "")] == [
        True,
        True,
        False,
        False,
        False,
    ]
    assert not speaks_of([], "A")
    assert not speaks_of(["-"], "--")
