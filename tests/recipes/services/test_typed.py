"""What is typed at a draft is kept apart from the draft, for each person by themselves."""

from __future__ import annotations

import pytest

from boxwort.accounts.models import History
from boxwort.errors import Refusal
from recipes.brewing.roles import MethodKind
from recipes.models import Revision, TypedMethod
from recipes.queries.typed import kinds_typed, typing_of
from recipes.services.typed import MOST_CHARACTERS, go_on_typing, keep_typed, settle_typed
from tests.recipes.make import catalogue, developer, offered, pale_ale

pytestmark = pytest.mark.django_db
EXTRACT = MethodKind.EXTRACT


@pytest.fixture
def revision() -> Revision:
    return pale_ale(catalogue())


def typed(revision: Revision, text: str = "12", *, form: str = "one", who: str = "robin") -> None:
    keep_typed(
        by=developer(who),
        revision=revision,
        kind=EXTRACT,
        texts={"boil_minutes": [text]},
        started_from=revision.version,
        form=form,
    )


def test_typing_is_kept_and_neither_changes_the_draft_nor_its_history(revision: Revision) -> None:
    written = History.objects.count()
    typed(revision, "12")
    typed(revision, "123")
    found = typing_of(revision, EXTRACT, developer())
    assert found is not None
    assert (dict(found.texts), found.behind) == ({"boil_minutes": ["123"]}, False)
    assert History.objects.count() == written
    assert Revision.objects.get().version == revision.version


def test_each_person_has_their_own(revision: Revision) -> None:
    typed(revision, "12")
    typed(revision, "90", who="wren")
    assert TypedMethod.objects.count() == 2
    found = typing_of(revision, EXTRACT, developer())
    assert found is not None
    assert found.texts == {"boil_minutes": ["12"]}


def test_what_a_settled_form_still_sends_is_late_and_what_another_sends_is_not(
    revision: Revision,
) -> None:
    typed(revision, form="one")
    settle_typed(by=developer(), revision=revision, kind=EXTRACT, form="one")
    typed(revision, form="one")
    assert kinds_typed(revision.pk, developer()) == []
    typed(revision, form="two")
    assert kinds_typed(revision.pk, developer()) == [EXTRACT]


def test_only_ones_own_change_carries_the_typing_along(revision: Revision) -> None:
    for who in ("robin", "wren"):
        typed(revision, who=who)
    before = revision.version
    Revision.objects.update(version=before + 1)
    go_on_typing(by=developer(), revision=revision, before=before)
    revision.refresh_from_db()
    found = {who: typing_of(revision, EXTRACT, developer(who)) for who in ("robin", "wren")}
    assert [row and row.behind for row in found.values()] == [False, True]


def test_typing_without_end_is_refused(revision: Revision) -> None:
    with pytest.raises(Refusal) as refused:
        typed(revision, "x" * (MOST_CHARACTERS + 1))
    assert refused.value.code == "typing-too-long"


def test_nobody_types_at_what_is_offered(revision: Revision) -> None:
    with pytest.raises(Refusal) as refused:
        typed(offered(revision))
    assert refused.value.code == "revision-offered"
