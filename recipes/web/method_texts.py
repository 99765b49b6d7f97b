"""A method as the texts of its form, as it stands."""

from __future__ import annotations

from typing import Any

from django.utils.datastructures import MultiValueDict

from boxwort.quantities import Measure
from boxwort.web.amounts import exact_amount
from boxwort.web.numbers import MeasuredField, PercentField
from recipes.brewing.roles import MethodKind, Use
from recipes.models import Line, Method
from recipes.web.method_forms import MethodForm
from recipes.web.rows import Texts, put_row

NEW_ROWS = 4
_BOXES = ("item", "use", "minutes", "amount", "role", "alpha", "least", "most", "note")


def standing_texts(method: Method | None, kind: MethodKind, system: str, version: int) -> Texts:
    """Return the boxes of a method as it stands, with its lines; of none, those to begin with."""
    texts: Texts = MultiValueDict({"version": [str(version)]})
    form = MethodForm(kind, [], system, MultiValueDict(), check=False)
    said = method or Method(kind=kind, boil_minutes=60)
    for name, box in form.fields.items():
        if name != "version":
            texts.setlist(name, [_text(box, getattr(said, name), system)])
    if method is None:
        rows = [blank_row(kind) for _ in range(NEW_ROWS)]
    else:
        rows = [_line(line, system) for line in method.lines.all()]
    for row in rows:
        put_row(texts, row)
    return texts


def same(one: Texts, other: Texts) -> bool:
    """Return whether the boxes say the same, whatever version they began from."""
    return _said(one) == _said(other)


def _said(texts: Texts) -> dict[str, list[str]]:
    return {name: values for name, values in texts.lists() if name != "version" and any(values)}


def _text(box: Any, value: Any, system: str) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "on" if value else ""  # as a box that is ticked or not is sent
    if isinstance(box, MeasuredField):
        return box.typed(value)
    if hasattr(box, "measure"):
        return exact_amount(value, Measure.VOLUME, system)
    return str(value)


def _line(line: Line, system: str) -> dict[str, str]:
    def whole(value: int | None) -> str:
        return "" if value is None else str(value)

    return {
        "item": str(line.item),
        "use": line.use,
        "minutes": whole(line.minutes or None),
        "amount": exact_amount(line.quantity, Measure(line.item.measure), system),
        "role": line.role,
        "alpha": PercentField().typed(line.reference_alpha),
        "least": whole(line.least_minutes),
        "most": whole(line.most_minutes),
        "note": line.note,
    }


def blank_row(kind: MethodKind) -> dict[str, str]:
    """Return the boxes of a row that is new."""
    use = Use.BOIL if kind is MethodKind.EXTRACT else Use.MASH
    return {**dict.fromkeys(_BOXES, ""), "use": use.value}
