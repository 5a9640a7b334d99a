"""One table of the trade's words: British and American, and back."""

from __future__ import annotations

import pytest

from cam.ground.trade_words import AMERICAN, both, british, say_both_once


@pytest.mark.parametrize(
    ("term", "said"),
    [
        ("carrier", "carrier (dog)"),
        ("catch plate", "catch plate (drive plate)"),
        ("revolving centre", "revolving centre (live center)"),
        ("second tap", "second tap (plug tap)"),
        ("silver steel", "silver steel (drill rod)"),
        ("tailstock", "tailstock"),
    ],
)
def test_a_term_is_said_in_both_languages(term: str, said: str) -> None:
    assert both(term) == said


@pytest.mark.parametrize("term", sorted(set(AMERICAN) - {"slips"}))
def test_an_american_term_gives_the_british_one_back(term: str) -> None:
    american = AMERICAN[term]
    assert british(american) in AMERICAN
    assert AMERICAN[british(f" {american.upper()} ")] == american
    assert british(term) == term


def test_a_plug_tap_is_taken_for_a_second_one() -> None:
    assert british("plug tap") == "second tap"
    assert british("Plug") == "second"


def test_what_is_no_american_term_is_left_as_it_was_typed() -> None:
    assert british("Half Centre, mine") == "Half Centre, mine"


def test_a_page_explains_a_term_where_it_first_stands_and_only_there() -> None:
    said: set[str] = set()
    first = say_both_once("Fit the carrier. Carriers swing; the dead centre does not.", said)
    assert first == "Fit the carrier (dog). Carriers swing; the dead centre (dead center) does not."
    assert say_both_once("The carrier again, on silver steel.", said) == (
        "The carrier again, on silver steel (drill rod)."
    )
    assert say_both_once("Two carriers.", set()) == "Two carriers (dogs)."
    assert say_both_once("Fit the carrier (dog).", set()) == "Fit the carrier (dog)."
    assert say_both_once('Fit "my carrier", a carrier.', set()) == 'Fit "my carrier", a carrier (dog).'
