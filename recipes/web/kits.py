"""The pages that show kits: the list, and one kit with its figures and bill of materials."""

from __future__ import annotations

from http import HTTPStatus

from django import forms
from django.http import Http404, HttpResponse
from django.shortcuts import render

from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, page
from boxwort.web.paging import page_of
from recipes.models import MOST_KITS, Kit
from recipes.queries.bills import BillRow, totals, with_one_yeast
from recipes.queries.brew_day import kit_brew_day
from recipes.queries.kits import KitDetail, kit_rows
from recipes.queries.kits import kit_detail as kit_in_detail
from recipes.queries.styles import style_check_of


class BillForm(forms.Form):
    """How many kits a bill is wanted for, and with which yeast."""

    kits = forms.IntegerField(label="Kits", min_value=1, max_value=MOST_KITS)
    yeast = forms.TypedChoiceField(label="Yeast", required=False, coerce=int, empty_value=None)

    def __init__(self, bill: tuple[BillRow, ...], *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]
        options = [(row.item_id, row.item_name) for row in bill if row.is_yeast_option]
        box = self.fields["yeast"]
        if len(options) > 1 and isinstance(box, forms.ChoiceField):
            box.choices = options
        else:
            del self.fields["yeast"]


@page(Right.READ)
def kit_list(request: SignedInRequest) -> HttpResponse:
    """List the kits with the beer they make."""
    return render(request, "recipes/kit_list.html", {"page": page_of(request, kit_rows())})


@page(Right.READ)
def kit_detail(request: SignedInRequest, code: str) -> HttpResponse:
    """Show a kit: figures, bill of materials, allergens, and the bill for any number of kits."""
    kit = found_kit(code)
    asked = "kits" in request.GET
    form = BillForm(kit.bill, request.GET) if asked else BillForm(kit.bill, initial={"kits": 24})
    usable = not asked or form.is_valid()
    bill = _counted(kit, form) if asked and usable else []
    context = {
        "kit": kit,
        "form": form,
        "totals": bill,
        "wanted": form.cleaned_data["kits"] if bill else 0,
        "style": kit.figures and style_check_of(kit.row.style, kit.figures),
        "day": kit_brew_day(kit.row.id, kit.bill),
    }
    status = HTTPStatus.OK if usable else HTTPStatus.UNPROCESSABLE_ENTITY
    return render(request, "recipes/kit_detail.html", context, status=status)


def found_kit(code: str) -> KitDetail:
    """Return a kit in full, or answer that there is none."""
    try:
        return kit_in_detail(code)
    except Kit.DoesNotExist as missing:
        raise Http404 from missing


def _counted(kit: KitDetail, form: BillForm) -> list[object]:
    rows = with_one_yeast(kit.bill, form.cleaned_data.get("yeast"))
    return list(totals(rows, form.cleaned_data["kits"]))
