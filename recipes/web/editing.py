"""Writing a draft's method: the form, the figures that follow it, and what is typed kept."""

from __future__ import annotations

from dataclasses import dataclass, replace
from http import HTTPStatus
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.datastructures import MultiValueDict

from boxwort.accounts.services import plain
from boxwort.errors import Refusal
from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, answered, onward, page
from boxwort.web.keys import key_of
from boxwort.web.refusals import status_of
from inventory.models import Item
from recipes.brewing.roles import MethodKind
from recipes.models import Method, Revision
from recipes.queries.choices import choices_of, items_for_lines
from recipes.queries.contents import methods_in_full
from recipes.queries.typed import (
    TypedFigures,
    TypingRow,
    typed_figures,
    typing_of,
    typing_of_others,
)
from recipes.services.methods import MethodFacts, refuse_impossible_method, write_method
from recipes.services.typed import go_on_typing, keep_typed, settle_typed
from recipes.web.drafts import KIND_LABELS, found_draft, found_kind
from recipes.web.method_forms import MethodForm
from recipes.web.method_texts import blank_row, same, standing_texts
from recipes.web.rows import Texts, sent_texts, with_rows

SAVES = ("save", "save-over")
#: More than any version has; what a tampered form sends beyond them is not read.
VERSION_DIGITS = 9


@dataclass(frozen=True, kw_only=True)
class Desk:
    """Where one person writes one method: the draft, the method as it stands, what can go in."""

    revision: Revision
    kind: MethodKind
    method: Method | None
    items: list[Item]
    system: str

    @property
    def label(self) -> str:
        """What the method is called."""
        return str(KIND_LABELS[self.kind])

    def standing(self) -> Texts:
        """Return the boxes of the method as it stands."""
        return standing_texts(self.method, self.kind, self.system, self.revision.version)

    def form(self, texts: Texts, *, check: bool) -> MethodForm:
        """Return the form of these boxes."""
        return MethodForm(self.kind, self.items, self.system, texts, check=check)

    def facts(self, form: MethodForm) -> MethodFacts:
        """Return what the form says of the method."""
        names = MethodFacts.__dataclass_fields__
        before = {name: getattr(self.method, name) for name in names} if self.method else {}
        return form.method(before)


@page(Right.WRITE_RECIPE, methods=("GET", "POST"))
def method_edit(request: SignedInRequest, revision_id: int, kind: str) -> HttpResponse:
    """Show the form of a method, and save it; its other buttons work without JavaScript too."""
    desk = _desk(request, revision_id, kind)
    if request.method != "POST":
        typing = typing_of(desk.revision, desk.kind, request.user)
        texts = _restored(typing) if typing else desk.standing()
        return _shown(request, desk, texts, typing=typing)
    act = request.POST.get("act", "figures")
    if act == "discard":
        settle_typed(by=request.user, revision=desk.revision, kind=desk.kind, form=key_of(request))
        messages.info(request, "What was typed is discarded. The method stands as it was.")
        return onward(request, "method-edit", desk.revision.pk, desk.kind.value)
    texts = sent_texts(request.POST)
    if act in SAVES:
        return _saved(request, desk, texts, over=act == "save-over")
    texts = with_rows(texts, act, blank_row(desk.kind))
    typing = _kept(request, desk, texts)
    form = desk.form(texts, check=False)
    if act == "add":
        form.rows[-1].fields["item"].widget.attrs["autofocus"] = True
    return _shown(request, desk, texts, typing=typing, form=form)


@page(Right.WRITE_RECIPE, methods=("POST",))
def method_figures(request: SignedInRequest, revision_id: int, kind: str) -> HttpResponse:
    """Keep what is typed, and show the figures it gives: the fragment that follows the form."""
    desk = _desk(request, revision_id, kind)
    texts = sent_texts(request.POST)
    typing = _kept(request, desk, texts)
    context = _figures(desk, texts, typing) | {"follows": True}
    return render(request, "recipes/_typed_figures.html", context)


def _desk(request: SignedInRequest, revision_id: int, kind: str) -> Desk:
    known = found_kind(kind)
    revision = found_draft(revision_id)
    return Desk(
        revision=revision,
        kind=known,
        method=methods_in_full().filter(revision=revision, kind=known).first(),
        items=items_for_lines(),
        system=request.user.units,
    )


def _restored(typing: TypingRow) -> Texts:
    return MultiValueDict({**typing.texts, "version": [str(typing.started_from)]})


def _kept(request: SignedInRequest, desk: Desk, texts: Texts) -> TypingRow | None:
    """Keep the boxes for the person who typed; nothing where they say what stands."""
    standing = same(texts, desk.standing())
    now, version = desk.revision.version, texts.get("version") or ""
    keep_typed(
        by=request.user,
        revision=desk.revision,
        kind=desk.kind,
        texts={} if standing else dict(texts.lists()),
        started_from=min(int(version[:VERSION_DIGITS]), now) if version.isdecimal() else now,
        form=key_of(request),
    )
    return typing_of(desk.revision, desk.kind, request.user)


def _saved(request: SignedInRequest, desk: Desk, texts: Texts, *, over: bool) -> HttpResponse:
    form = desk.form(texts, check=True)
    seen = request.POST.get("seen", "")
    if not form.is_valid():
        return _refused(request, desk, texts, form, HTTPStatus.UNPROCESSABLE_ENTITY)
    known = over and seen.isdecimal()
    expected = int(seen[:VERSION_DIGITS]) if known else form.cleaned_data["version"]

    def work() -> dict[str, Any]:
        method = write_method(
            by=request.user,
            revision=desk.revision,
            facts=desk.facts(form),
            lines=form.lines,
            expected=expected,
        )
        settle_typed(by=request.user, revision=desk.revision, kind=desk.kind, form=key_of(request))
        go_on_typing(by=request.user, revision=desk.revision, before=expected)
        return {"method": method.pk}

    try:
        answered(request, plain(form.cleaned_data) | {"expected": expected}, work)
    except Refusal as refusal:
        form.refuse(refusal)
        return _refused(request, desk, texts, form, status_of(refusal))
    messages.success(request, f"{desk.label} is saved.")
    return onward(request, "recipe-revision", desk.revision.recipe.code, desk.revision.number)


def _refused(
    request: SignedInRequest, desk: Desk, texts: Texts, form: MethodForm, status: int
) -> HttpResponse:
    """Show the form again with what was wrong; what was typed is kept meanwhile."""
    typing = _kept(request, desk, texts)
    desk = replace(desk, revision=found_draft(desk.revision.pk))
    return _shown(request, desk, texts, typing=typing, form=form, status=status)


def _shown(
    request: SignedInRequest,
    desk: Desk,
    texts: Texts,
    *,
    typing: TypingRow | None,
    form: MethodForm | None = None,
    status: int = HTTPStatus.OK,
) -> HttpResponse:
    context = {
        **_figures(desk, texts, typing),
        "form": form or desk.form(texts, check=False),
        "choices": choices_of(desk.items),
        "others": typing_of_others(desk.revision, desk.kind, request.user),
    }
    return render(request, "recipes/method_edit.html", context, status=status)


def _figures(desk: Desk, texts: Texts, typing: TypingRow | None) -> dict[str, Any]:
    """Return the figures of the boxes as they are typed, without the rows that cannot be read."""
    read = desk.form(texts, check=True)
    read.is_valid()
    typed: TypedFigures | None = None
    if not read.errors:
        facts = desk.facts(read)
        try:
            refuse_impossible_method(facts)
        except Refusal as refusal:
            read.refuse(refusal)
        else:
            lines = [{**vars(line), "role": line.role or ""} for line in read.lines]
            typed = typed_figures(desk.revision, vars(facts), lines)
    return {
        "desk": desk,
        "revision": desk.revision,
        "recipe": desk.revision.recipe,
        "typing": typing,
        "typed": typed,
        "unread": read.unread,
        "taken": read.taken,
        "figures_url": reverse("method-figures", args=[desk.revision.pk, desk.kind.value]),
    }
