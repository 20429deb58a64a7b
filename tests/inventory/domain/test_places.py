"""Kinds of places: which may run below zero, and how a movement from or to them is said."""

from inventory.domain.places import BOOKS_ONLY, NO_SPOT, SAID_FROM, SAID_TO, PlaceKind, is_real, said_from, said_to

#: Where a person can walk to and count; common practice of double-entry stock books: what is outside the walls may run below
#: zero, because it is nobody's stock.
WALKED_TO = {"shelf", "cart", "bench", "engine", "van", "quarantine", "outside work", "old-unit crate"}


def test_a_place_is_either_walked_to_or_only_in_the_books() -> None:
    assert {kind.value for kind in PlaceKind if is_real(kind)} == WALKED_TO
    assert {kind for kind in PlaceKind if not is_real(kind)} == BOOKS_ONLY


def test_every_books_only_place_is_said_as_what_happened_and_no_real_one_is() -> None:
    assert set(SAID_FROM) == BOOKS_ONLY
    assert set(SAID_TO) == BOOKS_ONLY


def test_what_is_said_never_names_the_place_as_if_one_could_walk_there() -> None:
    said = [*SAID_FROM.values(), *SAID_TO.values()]
    assert [words for words in said if words.startswith(("from ", "to ", "at "))] == []
    assert len(set(said)) == 2 * len(BOOKS_ONLY)
    assert (SAID_FROM[PlaceKind.SUPPLIER], SAID_TO[PlaceKind.SCRAP]) == ("received from the supplier", "scrapped")
    assert (SAID_FROM[PlaceKind.COUNT_DIFFERENCE], SAID_TO[PlaceKind.COUNT_DIFFERENCE]) == (
        "counted over",
        "counted short",
    )


def test_a_correction_says_what_it_takes_back_and_real_places_are_not_put_into_words() -> None:
    for kind in BOOKS_ONLY:
        assert (said_from(kind), said_to(kind)) == (SAID_FROM[kind], SAID_TO[kind])
        assert said_from(kind, taken_back=True) == f"taken back: {SAID_TO[kind]}"
        assert said_to(kind, taken_back=True) == f"taken back: {SAID_FROM[kind]}"
    real = [kind for kind in PlaceKind if kind not in BOOKS_ONLY]
    assert {
        said(kind, taken_back=back) for said in (said_from, said_to) for kind in real for back in (True, False)
    } == {""}


def test_the_spot_of_a_place_without_spots_is_no_name_of_a_use_position() -> None:
    assert NO_SPOT == "-"
    assert "/" not in NO_SPOT
