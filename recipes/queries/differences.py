"""What a revision changed of the one before it: methods, lines and yeasts, in words."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from boxwort.figures import share, temperature, with_unit
from boxwort.quantities import Measure, read_naturally
from recipes.models import Revision
from recipes.models.methods import METHOD_CHOICES, ROLE_CHOICES, USE_CHOICES
from recipes.queries.contents import LineContent, MethodContent, method_content, methods_in_full

_USES, _ROLES = dict(USE_CHOICES), dict(ROLE_CHOICES)
#: What is said of a method: its name, and how it is written.
_SAID: tuple[tuple[str, str, str], ...] = (
    ("finished_volume", "Beer in the fermenter", "volume"),
    ("pre_boil_volume", "In the kettle before the boil", "volume"),
    ("post_boil_volume", "In the kettle after the boil", "volume"),
    ("boil_minutes", "Boil", "min"),
    ("mash_efficiency", "Mash efficiency", "share"),
    ("attenuation", "Attenuation from trials", "share"),
    ("stand_minutes", "Hop stand", "min"),
    ("stand_from_c", "Hop stand, from", "degrees"),
    ("stand_to_c", "Hop stand, down to", "degrees"),
    ("first_wort_minutes", "First-wort hops count for", "min"),
    ("carbonation_volumes", "Carbonation", "volumes of CO2"),
    ("heavy_bottles", "Heavy bottles", "yes or no"),
    ("mash_l_per_kg", "Mash water", "L/kg"),
    ("grain_temperature_c", "Temperature of the grain", "degrees"),
)
_NOT_THERE = ""


@dataclass(frozen=True, kw_only=True)
class DifferenceRow:
    """One thing that changed; ``before`` or ``after`` is empty where it was not there."""

    where: str
    what: str
    before: str
    after: str


def differences(revision_id: int, system: str) -> tuple[int | None, list[DifferenceRow]]:
    """Return the number of the revision before, and what this one changed of it.

    ``system`` is the units that the reader reads ("metric" or "us"). None: it is the first.

    Raises
    ------
    Revision.DoesNotExist: there is no such revision.
    """
    revision = Revision.objects.get(pk=revision_id)
    earlier = Revision.objects.filter(recipe=revision.recipe_id, number__lt=revision.number)
    before = earlier.order_by("-number").first()
    if before is None:
        return None, []
    methods = methods_in_full().filter(revision__in=[before, revision])
    contents: dict[int, dict[str, MethodContent]] = {before.pk: {}, revision.pk: {}}
    for method in methods:
        contents[method.revision_id][method.kind] = method_content(method)
    return before.number, list(_differences(contents[before.pk], contents[revision.pk], system))


def _differences(
    old: Mapping[str, MethodContent], new: Mapping[str, MethodContent], system: str
) -> Iterator[DifferenceRow]:
    for kind, label in METHOD_CHOICES:
        was, now = old.get(kind), new.get(kind)
        if was and now:
            yield from _of_method(str(label), was, now, system)
        elif was or now:
            there = ("Written", "") if was else ("", "Written")
            yield DifferenceRow(where=str(label), what="Method", before=there[0], after=there[1])
    usual = [_yeasts(contents) for contents in (old, new)]
    if all((old, new)) and usual[0] != usual[1]:
        yield DifferenceRow(where="Yeasts", what="In order", before=usual[0], after=usual[1])


def _of_method(
    label: str, was: MethodContent, now: MethodContent, system: str
) -> Iterator[DifferenceRow]:
    one: Mapping[str, Any] = was
    other: Mapping[str, Any] = now
    for name, what, unit in _SAID:
        if one[name] != other[name]:
            before, after = (_written(each[name], unit, system) for each in (one, other))
            yield DifferenceRow(where=label, what=what, before=before, after=after)
    old, new = _numbered(was["lines"]), _numbered(now["lines"])
    for key in dict.fromkeys([*old, *new]):
        before, after = (_line(lines.get(key), system) for lines in (old, new))
        if before != after:
            yield DifferenceRow(where=label, what=key[1], before=before, after=after)


def _numbered(lines: Iterable[LineContent]) -> dict[tuple[int, str], LineContent]:
    """Return lines by their item and which line of that item they are."""
    seen: Counter[str] = Counter()
    numbered = {}
    for line in lines:
        numbered[seen[line["item"]], f"{line['name']} ({line['item']})"] = line
        seen[line["item"]] += 1
    return numbered


def _line(line: LineContent | None, system: str) -> str:
    if line is None:
        return _NOT_THERE
    said = [
        read_naturally(line["quantity"], Measure(line["measure"]), system),
        str(_USES[line["use"]]).lower(),
    ]
    if line["minutes"]:
        said.append(f"{line['minutes']} min")
    if line["least_minutes"] is not None and line["most_minutes"] is not None:
        said.append(f"{line['least_minutes']} to {line['most_minutes']} min")
    if line["role"]:
        said.append(f"{str(_ROLES[line['role']]).lower()} at {share(line['alpha'] or 0.0)}")
    return ", ".join(said)


def _yeasts(contents: Mapping[str, MethodContent]) -> str:
    for content in contents.values():
        return ", ".join(yeast["name"] for yeast in content["yeasts"])
    return _NOT_THERE


def _written(value: Any, unit: str, system: str) -> str:
    if value is None:
        return _NOT_THERE
    if unit == "yes or no":
        return "Yes" if value else "No"
    if unit == "volume":
        return read_naturally(value, Measure.VOLUME, system)
    if unit == "share":
        return share(value)
    if unit == "degrees":
        return temperature(value, system)
    return with_unit(float(value), 0 if unit == "min" else 1, unit)
