"""Methods of a draft with their lines, and its yeast options."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from django.db.models import F

from boxwort.accounts.models import User
from boxwort.accounts.services import service, write_history
from boxwort.errors import Refusal
from boxwort.figures import share as percent
from inventory.models import Item, ItemKind
from inventory.services.rows import check_row
from recipes.brewing.roles import HopRole, MethodKind, Use
from recipes.models import Line, Method, Revision, Substitute, YeastOption
from recipes.services.drafts import change_draft

HIGHEST_ALPHA = 0.35
MOST_VOLUMES = 5.0
STAND_LIMITS_C = (40.0, 100.0)
MASH_LIMITS_L_PER_KG = (1.0, 10.0)
GRAIN_LIMITS_C = (-10.0, 60.0)
_ASIDE = 10_000  # where the lines that are replaced wait: far behind any line of a method
_NOT_A_LINE = {
    ItemKind.YEAST: "Add it as a yeast option of the revision.",
    ItemKind.KIT: "Write the ingredients of the kit as lines.",
}


@dataclass(frozen=True, kw_only=True)
class MethodFacts:
    """What a method says of itself. Volumes in microlitres of wort at 20 C, shares 0-1.

    ``attenuation`` is what trials showed, where it is not the strain's. A hop stand is declared by
    all three of its values; carbonation is in volumes of CO2, and above 4 of them the bottles are
    heavy ones.
    """

    kind: MethodKind
    finished_volume: int
    pre_boil_volume: int
    post_boil_volume: int
    boil_minutes: int = 60
    mash_efficiency: float = 0.75
    mash_temperature_c: float | None = None
    ferment_temperature_c: float = 20.0
    steps: str = ""
    attenuation: float | None = None
    stand_minutes: int | None = None
    stand_from_c: float | None = None
    stand_to_c: float | None = None
    first_wort_minutes: int | None = None
    carbonation_volumes: float | None = None
    heavy_bottles: bool = False
    mash_l_per_kg: float | None = None
    grain_temperature_c: float | None = None


@dataclass(frozen=True, kw_only=True)
class LineFacts:
    """One addition. ``quantity`` in units of stock; a hop has a role and reference alpha (0-1).

    One that moves its time does so between ``least_minutes`` and ``most_minutes`` of boil.
    """

    item: Item
    use: Use
    quantity: int
    minutes: int = 0
    role: HopRole | None = None
    reference_alpha: float | None = None
    note: str = ""
    least_minutes: int | None = None
    most_minutes: int | None = None


@service
def write_method(
    *,
    by: User,
    revision: Revision,
    facts: MethodFacts,
    lines: Sequence[LineFacts],
    expected: int | None = None,
) -> Method:
    """Write a draft's method of this kind anew, with all its lines in order.

    Approved substitutes stay with their item: those of its first line with its first line again,
    and so on; a line that is gone takes its own with it.

    Raises
    ------
    Refusal: ``revision-offered``; ``boil-impossible``, ``efficiency-impossible``,
        ``attenuation-impossible``, ``stand-impossible``, ``carbonation-impossible``,
        ``mash-impossible``, ``quantity-missing``, ``not-a-line``, ``hop-line-incomplete``,
        ``time-limits-impossible``, ``not-a-hop`` or ``entry-not-valid`` for facts that no method
        can have; ``changed-by-someone-else``.
    """
    refuse_impossible_method(facts)
    for line in lines:
        refuse_impossible_line(line)
    change_draft(by=by, revision=revision, expected=expected, action="write-method")
    known = {"revision": revision, "kind": facts.kind}
    method = Method.objects.filter(**known).first() or Method(**known)
    before = {} if method._state.adding else _said(method)
    for name, value in asdict(facts).items():
        setattr(method, name, value)
    check_row(method)
    method.save()
    _replace_lines(method, lines)
    write_history(by=by, thing=method, action="write-method", before=before, after=_said(method))
    return method


@service
def write_yeasts(
    *, by: User, revision: Revision, items: Sequence[Item], expected: int | None = None
) -> list[YeastOption]:
    """Write the yeast options of a draft; the first is the usual one.

    Approved substitutes stay with the yeasts that stay.

    Raises
    ------
    Refusal: ``revision-offered``, ``not-a-yeast``, ``yeast-named-twice``, or
        ``changed-by-someone-else``.
    """
    _refuse_impossible_yeasts(items)
    change_draft(by=by, revision=revision, expected=expected, action="write-yeasts")
    before = list(revision.yeasts.values_list("item__code", flat=True))
    options = _replace_yeasts(revision, items)
    write_history(
        by=by,
        thing=revision,
        action="write-yeasts",
        before={"yeasts": before},
        after={"yeasts": [item.code for item in items]},
    )
    return options


def _replace_yeasts(revision: Revision, items: Sequence[Item]) -> list[YeastOption]:
    kept = {option.item_id: option for option in revision.yeasts.all()}
    revision.yeasts.exclude(item__in=items).delete()
    revision.yeasts.update(position=F("position") + _ASIDE)
    options = []
    for position, item in enumerate(items, start=1):
        option = kept.get(item.pk) or YeastOption(revision=revision, item=item)
        option.position = position
        option.save()
        options.append(option)
    return options


def _replace_lines(method: Method, lines: Sequence[LineFacts]) -> None:
    rows = [
        Line(
            method=method,
            position=position,
            item=line.item,
            use=line.use,
            minutes=line.minutes,
            quantity=line.quantity,
            role=line.role or "",
            reference_alpha=line.reference_alpha,
            least_minutes=line.least_minutes,
            most_minutes=line.most_minutes,
            note=line.note,
        )
        for position, line in enumerate(lines, start=1)
    ]
    for row in rows:
        check_row(row)
    method.lines.update(position=F("position") + _ASIDE)
    replaced = _numbered(method.lines.order_by("position"))
    for place, row in _numbered(Line.objects.bulk_create(rows)).items():
        if place in replaced:
            Substitute.objects.filter(line=replaced[place]).update(line=row)
    method.lines.filter(position__gt=_ASIDE).delete()


def _numbered(lines: Iterable[Line]) -> dict[tuple[int, int], Line]:
    """Return lines by their item and which line of that item they are."""
    seen: Counter[int] = Counter()
    numbered = {}
    for line in lines:
        numbered[line.item_id, seen[line.item_id]] = line
        seen[line.item_id] += 1
    return numbered


def _said(method: Method) -> dict[str, Any]:
    """Return a method and its lines as history keeps them."""
    fields = (
        "use",
        "minutes",
        "least_minutes",
        "most_minutes",
        "quantity",
        "role",
        "reference_alpha",
        "note",
    )
    return {
        **{name: getattr(method, name) for name in MethodFacts.__dataclass_fields__},
        "lines": list(method.lines.values("item__code", *fields)),
    }


def refuse_impossible_method(facts: MethodFacts) -> None:
    """Refuse what no method can be, in the words of :func:`write_method`."""
    if not 0 < facts.post_boil_volume <= facts.pre_boil_volume or facts.finished_volume <= 0:
        raise Refusal(
            "boil-impossible",
            "The volumes of the method are not those of a boil.",
            "Give all three above zero, and no more after the boil than before it.",
        )
    if not 0 < facts.mash_efficiency <= 1:
        raise Refusal(
            "efficiency-impossible",
            f"A mash efficiency of {percent(facts.mash_efficiency, 0)} cannot be.",
            "Give a share above 0 % and up to 100 %.",
        )
    _refuse_impossible_fermentation(facts)
    _refuse_impossible_stand(facts)
    _refuse_impossible_mash(facts)


def _refuse_impossible_fermentation(facts: MethodFacts) -> None:
    if facts.attenuation is not None and not 0 < facts.attenuation <= 1:
        raise Refusal(
            "attenuation-impossible",
            f"An attenuation of {percent(facts.attenuation, 0)} cannot be.",
            "Give a share above 0 % and up to 100 %, or leave it to the yeast.",
        )
    volumes = facts.carbonation_volumes
    if volumes is not None and not 0 <= volumes <= MOST_VOLUMES:
        raise Refusal(
            "carbonation-impossible",
            f"A carbonation of {volumes:g} volumes of CO2 is not for bottles.",
            f"Give 0 to {MOST_VOLUMES:g} volumes; most beers have 2 to 3.",
        )


def _refuse_impossible_stand(facts: MethodFacts) -> None:
    said = (facts.stand_minutes, facts.stand_from_c, facts.stand_to_c)
    minutes, from_c, to_c = said
    if said == (None, None, None):
        return
    if minutes is None or from_c is None or to_c is None:
        raise Refusal(
            "stand-impossible",
            "The hop stand is only half declared.",
            "Give its minutes and both temperatures, or none of the three.",
        )
    low, high = STAND_LIMITS_C
    if minutes <= 0 or not low <= to_c <= from_c <= high:
        raise Refusal(
            "stand-impossible",
            f"A hop stand of {minutes} min from {from_c:g} to {to_c:g} °C cannot be.",
            f"Give minutes above zero, and temperatures from {high:g} down to {low:g} °C at most.",
        )


def _refuse_impossible_mash(facts: MethodFacts) -> None:
    for value, (least, most), what in (
        (facts.mash_l_per_kg, MASH_LIMITS_L_PER_KG, "mash water in litres per kg of grain"),
        (facts.grain_temperature_c, GRAIN_LIMITS_C, "temperature of the grain in °C"),
    ):
        if value is not None and not least <= value <= most:
            raise Refusal(
                "mash-impossible",
                f"{value:g} cannot be the {what}.",
                f"Give {least:g} to {most:g}, or leave it out.",
            )


def refuse_impossible_line(line: LineFacts) -> None:
    """Refuse a line that no method can have, in the words of :func:`write_method`."""
    if line.quantity <= 0:
        raise Refusal(
            "quantity-missing",
            f"The line of {line.item} has no amount.",
            "Give an amount above zero, or leave the line out.",
        )
    remedy = _NOT_A_LINE.get(ItemKind(line.item.kind))
    if remedy:
        raise Refusal("not-a-line", f"{line.item} cannot be a line of a method.", remedy)
    if line.item.kind != ItemKind.HOP and (line.role or line.reference_alpha is not None):
        raise Refusal(
            "not-a-hop",
            f"{line.item} is not a hop, and has a role or an alpha acid.",
            "Leave both empty.",
        )
    if (line.role is None) != (line.reference_alpha is None):
        raise Refusal(
            "hop-line-incomplete",
            f"The line of {line.item} has only one of role and reference alpha.",
            "Give both, or neither while you are drafting.",
        )
    if line.reference_alpha is not None and not 0 < line.reference_alpha < HIGHEST_ALPHA:
        raise Refusal(
            "hop-line-incomplete",
            f"A reference alpha of {percent(line.reference_alpha)} for {line.item} cannot be.",
            f"Give the share of alpha acid, above 0 % and below {percent(HIGHEST_ALPHA, 0)}.",
        )
    _refuse_impossible_limits(line)


def _refuse_impossible_limits(line: LineFacts) -> None:
    least, most = line.least_minutes, line.most_minutes
    if least is None and most is None:
        return
    if line.role is not HopRole.MOVE_TIME:
        raise Refusal(
            "time-limits-impossible",
            f"{line.item} does not move its time, and has limits for it.",
            "Leave both limits empty, or let the hop move its time.",
        )
    if least is None or most is None or not 0 < least <= line.minutes <= most:
        raise Refusal(
            "time-limits-impossible",
            f"The time of {line.item} cannot move between these limits.",
            "Give the least and the most minutes, with those of the recipe between them.",
        )


def _refuse_impossible_yeasts(items: Sequence[Item]) -> None:
    for item in items:
        if item.kind != ItemKind.YEAST:
            raise Refusal(
                "not-a-yeast",
                f"{item} is not a yeast.",
                "Choose items of the kind yeast.",
            )
    if len({item.pk for item in items}) < len(items):
        raise Refusal(
            "yeast-named-twice",
            "A yeast is named twice.",
            "Name each yeast once.",
        )
