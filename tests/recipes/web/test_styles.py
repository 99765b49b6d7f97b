"""Styles: their list, and the warning with its distance beside a beer."""

from __future__ import annotations

import pytest
from django.test import Client

from recipes.brewing.style import StyleRow
from recipes.services.styles import write_style
from recipes.web.beer import distance, signed
from tests.recipes.make import Catalogue, developer, offered, offered_kit, pale_ale
from tests.visits import read, statements

WIDE = {
    "og_min": 1.045,
    "og_max": 1.060,
    "fg_min": 1.010,
    "fg_max": 1.015,
    "abv_min": 4.5,
    "abv_max": 6.2,
    "ibu_min": 20.0,
    "ibu_max": 50.0,
    "srm_min": 5.0,
    "srm_max": 10.0,
}


def _style(name: str = "Pale ale", code: str = "PALE", **ranges: float) -> None:
    write_style(by=developer(), code=code, name=name, ranges=WIDE | ranges)


def test_no_style_yet_says_what_to_import(viewer: Client) -> None:
    text = read(viewer, "style-list")
    assert "There are no styles yet" in text
    assert "sheet “Styles”" in text


def test_the_styles_are_listed_with_their_ranges(viewer: Client, db: None) -> None:
    _style()
    text = read(viewer, "style-list")
    for words in ("Pale ale", "1.045 to 1.060", "4.5 to 6.2 %", "20 to 50.0 IBU", "10.0 SRM"):
        assert words in text
    one = statements(viewer, "style-list")
    for number in range(20):
        _style(f"Style {number}", f"S-{number}")
    assert statements(viewer, "style-list") == one


def test_a_beer_outside_its_style_is_pointed_out_and_can_be_offered(
    designer: Client, goods: Catalogue
) -> None:
    _style(abv_max=4.9, srm_max=7.0)
    revision = pale_ale(goods)
    text = read(designer, "recipe-detail", "PALE-ALE")
    assert "ABV 5.1 %, 0.2 above 4.9 %" in text
    assert "Offer this revision" in text
    offered_kit(offered(revision), "KIT-A", goods)
    assert "SRM 8.2 SRM, 1.2 above 7.0 SRM" in read(designer, "kit-detail", "KIT-A")


def test_a_beer_inside_its_style_says_so(viewer: Client, goods: Catalogue) -> None:
    _style()
    offered_kit(offered(pale_ale(goods)), "KIT-A", goods)
    assert "Inside every range of the style Pale ale" in read(viewer, "kit-detail", "KIT-A")


def test_a_style_that_nobody_imported_is_named(viewer: Client, goods: Catalogue) -> None:
    pale_ale(goods)
    assert "No style “Pale ale” is known" in read(viewer, "recipe-detail", "PALE-ALE")


def test_the_colour_of_a_beer_is_shown_with_how_it_was_computed(
    viewer: Client, goods: Catalogue
) -> None:
    offered_kit(offered(pale_ale(goods)), "KIT-A", goods)
    text = read(viewer, "kit-detail", "KIT-A")
    assert "Computed colour of 8.2 SRM through 5 cm of beer; screens differ" in text
    assert "Light through the glass" in text
    assert 'fill="#' in text
    assert "style=" not in text[text.index("<main") :]
    assert "Computed colour of 8.2 SRM" in read(viewer, "kit-list")


@pytest.mark.parametrize(
    ("figure", "low", "high", "value", "said"),
    [
        ("abv", 4.5, 5.7, 5.9, "0.2 above 5.7 %"),
        ("og", 1.045, 1.060, 1.0449, "0.0001 below 1.045"),
        ("ibu", 30, 50, 27.02, "3.0 below 30.0 IBU"),
    ],
)
def test_a_distance_is_never_rounded_to_nothing(
    figure: str, low: float, high: float, value: float, said: str
) -> None:
    away = value - high if value > high else value - low
    row = StyleRow(figure=figure, value=value, low=low, high=high, unit="", distance=away)
    assert distance(row).replace("\N{NO-BREAK SPACE}", " ") == said


def test_a_difference_has_its_sign() -> None:
    written = [signed(value, "og") for value in (0.0042, -0.0042, 0.0001, -0.0001)]
    assert written == ["+0.004", "\N{MINUS SIGN}0.004", "0.000", "0.000"]
