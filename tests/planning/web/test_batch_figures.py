"""The figures of a batch on the pages: against the design, and whole."""

from __future__ import annotations

from django.test import Client
from django.urls import reverse

from planning.models import Batch
from tests.planning.make import Store
from tests.planning.web.asking import HTMX, text_of


def _batch(house: Store) -> Batch:
    house.reserved(10)
    return Batch.objects.get()


def test_the_run_fetches_the_beer_of_its_batch_and_links_to_it_without_javascript(
    house: Store, planner: Client
) -> None:
    batch = _batch(house)
    page = text_of(planner, "run-detail", batch.run_line.run_id)
    assert f'hx-get="{reverse("batch-beer", args=[batch.pk])}"' in page
    assert f'href="{reverse("batch-figures", args=[batch.pk])}"' in page


def test_the_beer_is_a_fragment_with_both_figures(house: Store, planner: Client) -> None:
    text = text_of(planner, "batch-beer", _batch(house).pk, **HTMX)
    assert "<html" not in text
    assert text.count("Original gravity") == 2
    assert "By design" in text


def test_a_batch_that_is_not_there_is_not_found(house: Store, planner: Client) -> None:
    for name in ("batch-beer", "batch-figures", "batch-figures-pdf"):
        assert planner.get(reverse(name, args=[404])).status_code == 404
