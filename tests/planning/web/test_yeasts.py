"""The yeast page: which lot for which run, what is advised, and what could stand in."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from inventory.models import YeastSpec
from recipes.models import Kit
from tests.planning.make import store

pytestmark = pytest.mark.django_db


@pytest.fixture
def made():
    made = store()
    Kit.objects.update(shelf_days=30)
    YeastSpec.objects.update(strain_group="Ale")
    return made


def lot(made, item, packs=8, code="Y-1"):
    today = timezone.localdate()
    return made.lot(item, packs, code=code, packaged_on=today, received_on=today)


def shown(client, made, name="yeast-list", *args):
    client.force_login(made.by)
    answer = client.get(reverse(name, args=args))
    assert answer.status_code == 200
    return " ".join(answer.content.decode().replace("\N{NO-BREAK SPACE}", " ").split())


def test_the_page_says_which_lot_goes_to_which_run_and_what_is_left_without(client, made):
    lot(made, made.goods.ale_yeast)
    run = made.plan(6, timezone.localdate() + timedelta(days=7))
    page = shown(client, made)
    assert "4 of 6 kits have a lot, 0 at target" in page
    assert f'<p>2 of Kit-Pale in <a class="code" href="/runs/named/{run.code}/">' in page
    assert "advise a starter of 1.5 L" in page


def test_the_page_says_what_could_stand_in(client, made):
    lot(made, made.goods.dry_ale_yeast, code="D-1")
    page = shown(client, made)
    assert "Other yeasts of the same strain group" in page
    assert "76 % to 78 %" in page


def test_the_page_of_a_lot_opens_every_figure_down_to_the_way_to_the_customer(client, made):
    kept = lot(made, made.goods.ale_yeast)
    made.plan(4, timezone.localdate() + timedelta(days=7))
    page = shown(client, made, "yeast-lot", kept.pk)
    for part in ("Storage", "Transit", "Customer&#x27;s shelf", "Starter", "our own choice"):
        assert part in page


def test_without_yeast_the_page_says_what_to_do(client, made):
    assert "No yeast is in stock." in shown(client, made)
