"""A method at another size, typed in any unit."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client

from recipes.brewing.roles import MethodKind
from recipes.models import Method
from tests.recipes.make import Catalogue, kg, pale_ale
from tests.recipes.trials import method_of
from tests.visits import read, statements


@pytest.fixture
def method(goods: Catalogue) -> Method:
    return method_of(pale_ale(goods), MethodKind.EXTRACT)


def test_a_method_is_first_shown_as_it_is_written(viewer: Client, method: Method) -> None:
    text = read(viewer, "method-scaling", method.pk)
    assert 'value="20.00 L"' in text
    assert "2.700 kg" in text
    assert "36.5 g" in text


def test_half_the_size_takes_half_the_malt_and_whole_packs_of_yeast(
    viewer: Client, method: Method
) -> None:
    text = read(viewer, "method-scaling", method.pk, volume="10 L", kits=12)
    assert "1.350 kg" in text
    assert "16.200 kg" in text  # twelve of them
    assert "6.00 L → 5.00 L" in text
    assert "takes what is left of the bitterness" in text
    assert "billion in a fresh pack: 1 whole" in text


def test_a_size_is_typed_in_any_unit(viewer: Client, method: Method) -> None:
    assert "18.93 L" in read(viewer, "method-scaling", method.pk, volume="5 US gal")


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ({"volume": "3 L"}, "3.8"),
        ({"volume": "41 L"}, "40"),
        ({"volume": "5 kg"}, "does not measure that"),
        ({"volume": ""}, "required"),
        ({"kits": "0"}, "greater than or equal to 1"),
    ],
)
def test_a_size_that_cannot_be_is_refused_in_words(
    viewer: Client, method: Method, query: dict[str, Any], said: str
) -> None:
    text = read(viewer, "method-scaling", method.pk, expect=422, **query)
    assert said in text
    assert "What goes in" not in text


def test_a_size_that_whole_tins_do_not_fit_is_said_to_be_another_beer(
    viewer: Client, method: Method
) -> None:
    assert "not the same beer" not in read(viewer, "method-scaling", method.pk, volume="10 L")
    tin = method.lines.get(item__code="EXTRACT").item
    type(tin).objects.filter(pk=tin.pk).update(container_quantity=kg(2.7))
    text = read(viewer, "method-scaling", method.pk, volume="10 L")
    assert "it is not the same beer" in text
    assert "Original gravity is 0.0" in text


def test_every_size_takes_as_many_statements(viewer: Client, method: Method) -> None:
    read(viewer, "method-scaling", method.pk)
    first = statements(viewer, "method-scaling", method.pk)
    assert first == statements(viewer, "method-scaling", method.pk)
    read(viewer, "method-scaling", 404, expect=404)
