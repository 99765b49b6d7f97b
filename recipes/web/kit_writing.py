"""Writing kits: a new one of a method, and what may change of one that stands."""

from __future__ import annotations

from collections.abc import Callable
from http import HTTPStatus
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, onward, page
from boxwort.web.submitting import submitted
from recipes.models import Kit, Method
from recipes.queries.choices import choices_of, items_for_parts
from recipes.services.kits import write_kit
from recipes.services.new_kits import begin_kit
from recipes.web.kit_forms import BLANK, KitForm, kit_texts, new_texts
from recipes.web.rows import Texts, sent_texts, with_rows


@page(Right.WRITE_RECIPE, methods=("GET", "POST"))
def kit_new(request: SignedInRequest, method_id: int) -> HttpResponse:
    """Write a new kit of a method, with the item it is sold as."""
    method = get_object_or_404(Method.objects.select_related("revision__recipe"), pk=method_id)
    texts = new_texts(method, request.user.units, request.GET.get("volume", ""))

    def write(form: KitForm) -> Kit:
        typed = form.cleaned_data
        named = {"code": typed["code"], "name": typed["name"]}
        return begin_kit(by=request.user, method=method, **named, **form.facts(None))

    return _written(request, method, texts, write, None)


@page(Right.WRITE_RECIPE, methods=("GET", "POST"))
def kit_edit(request: SignedInRequest, kit_id: int) -> HttpResponse:
    """Change a kit; of an offered one what its bill does not hang on."""
    found = Kit.objects.select_related("item", "method__revision__recipe")
    kit = get_object_or_404(found, pk=kit_id)

    def write(form: KitForm) -> Kit:
        return write_kit(
            by=request.user,
            item=kit.item,
            method=kit.method,
            expected=form.cleaned_data["version"],
            **form.facts(kit),
        )

    return _written(request, kit.method, kit_texts(kit, request.user.units), write, kit)


def _written(
    request: SignedInRequest,
    method: Method,
    texts: Texts,
    write: Callable[[KitForm], Kit],
    kit: Kit | None,
) -> HttpResponse:
    items = items_for_parts()
    status: int = HTTPStatus.OK
    act = request.POST.get("act", "")
    if request.method == "POST":
        texts = with_rows(sent_texts(request.POST), act, BLANK)
    form = KitForm(items, request.user.units, texts, check=act == "save", kit=kit)
    if act == "save":

        def work() -> dict[str, Any]:
            return {"code": write(form).item.code}

        done = submitted(request, form, work)
        if done.answer is not None:
            messages.success(request, "The kit is saved.")
            return onward(request, "kit-detail", done.answer["code"])
        status = done.status
    revision = method.revision
    context = {
        "form": form,
        "kit": kit,
        "method": method,
        "revision": revision,
        "recipe": revision.recipe,
        "choices": choices_of(items),
        "back": reverse("kit-detail", args=[kit.item.code])
        if kit
        else reverse("recipe-revision", args=[revision.recipe.code, revision.number]),
    }
    return render(request, "recipes/kit_edit.html", context, status=status)
