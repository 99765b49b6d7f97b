"""One recipe of a workbook: all it holds against the revisions that stand."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from boxwort.accounts.queries import site_settings
from boxwort.errors import Refusal
from boxwort.sheets.forms import Row
from boxwort.sheets.saving import Saving
from inventory.services.importing import Catalogue
from recipes.brewing.bill import packed_amount
from recipes.brewing.roles import HopRole, MethodKind, Use
from recipes.models import Line, Method, Recipe, Revision, RevisionState, YeastOption
from recipes.models.recipes import FROZEN_STATES
from recipes.queries.obstacles import obstacles
from recipes.queries.packed_brews import WEIGHT_STAYS
from recipes.services.importing_forms import LINES, METHODS, SUBSTITUTES, YEAST_OPTIONS
from recipes.services.methods import LineFacts, MethodFacts, write_method, write_yeasts
from recipes.services.offering import offer_revision
from recipes.services.recipes import start_revision, try_revision, write_recipe
from recipes.services.substitutes import approve_substitute, withdraw_substitute

Methods = dict[tuple[str, str], Method]
# the method ("" for a yeast), what it stands for, the substitute, its ratio and the note
StandIn = tuple[str, str, str, float, str]


@dataclass(frozen=True, kw_only=True)
class _Content:
    """What a revision says, in a form that two of them can be compared by.

    ``substitutes`` are sorted, one for each line they stand for; None where nothing is said of
    them, and then those that stand stay.
    """

    methods: dict[MethodKind, tuple[MethodFacts, list[LineFacts]]]
    yeasts: list[str]
    substitutes: list[StandIn] | None

    def same(self, wanted: _Content, step_mg: int) -> bool:
        """Return whether a revision says already what is wanted of it."""
        unsaid = wanted.substitutes is None or wanted.substitutes == self.substitutes
        return unsaid and self.settled(step_mg) == wanted.settled(step_mg)

    def settled(self, step_mg: int) -> dict[str, Any]:
        """Return it with the weights that hold on the step of the pouch scale, as offering does."""
        return {
            "yeasts": self.yeasts,
            "methods": {
                kind: (facts, [_line_said(line, step_mg) for line in lines])
                for kind, (facts, lines) in self.methods.items()
            },
        }


def save_recipe(saving: Saving, row: Row, books: Catalogue, *, new: bool) -> Methods:
    """Write one recipe; return its methods by recipe code and kind, none where it was refused."""
    parts = [
        part
        for sheet in (METHODS, LINES, YEAST_OPTIONS, SUBSTITUTES)
        for part in saving.reading.rows[sheet.name]
        if part["recipe"] == row["code"]
    ]
    named = {part["item"] for part in parts if "item" in part.values}
    if not all(part.sound for part in parts) or not named <= set(books.items):
        return {}
    written: list[Revision] = []  # stays empty where the recipe is refused
    with saving.writing(row, *parts, new=new):
        written.append(_written(saving, row, _content(parts, books), books))
    methods = Method.objects.filter(revision__in=written).select_related("revision")
    return {(row["code"], method.kind): method for method in methods}


def _content(parts: Sequence[Row], books: Catalogue) -> _Content:
    lines = [part for part in parts if part.sheet == LINES.name]
    return _Content(
        methods={
            MethodKind(part["kind"]): (
                _method_facts(part),
                [_line_facts(line, books) for line in lines if line["method"] == part["kind"]],
            )
            for part in parts
            if part.sheet == METHODS.name
        },
        yeasts=[part["item"] for part in parts if part.sheet == YEAST_OPTIONS.name],
        substitutes=_stand_ins(parts) or None,
    )


def _stand_ins(parts: Sequence[Row]) -> list[StandIn]:
    """Return the substitutes of a workbook; one of an item stands for each line of that item."""
    return sorted(
        (part["method"], part["stands_for"], part["item"], part["ratio"], part["note"])
        for part in parts
        if part.sheet == SUBSTITUTES.name
        for line in parts
        if _stands_for(part, line)
    )


def _stands_for(part: Row, line: Row) -> bool:
    of_yeast = line.sheet == YEAST_OPTIONS.name and part["method"] == ""
    of_line = line.sheet == LINES.name and part["method"] == line["method"]
    return (of_yeast or of_line) and line["item"] == part["stands_for"]


def _written(saving: Saving, row: Row, content: _Content, books: Catalogue) -> Revision:
    said = {name: row[name] for name in ("code", "name", "style", "notes")}
    recipe = write_recipe(by=saving.by, **said)
    step_mg = site_settings().pouch_resolution_mg
    standing = _revisions(recipe)
    same = [revision for revision in standing if _standing_content(revision).same(content, step_mg)]
    frozen = [revision for revision in same if revision.state in FROZEN_STATES]
    if frozen:
        return frozen[0]
    revision = standing[0] if standing else start_revision(by=saving.by, recipe=recipe)
    if revision not in same:
        _rewrite(saving, revision, content, books)
    _advance(saving, row, revision)
    return revision


def _revisions(recipe: Recipe) -> list[Revision]:
    rows = recipe.revisions.order_by("-number").select_related("recipe")
    lines = ("methods__lines__item", "methods__lines__substitutes__item")
    return list(rows.prefetch_related(*lines, "yeasts__item", "yeasts__substitutes__item"))


def _rewrite(saving: Saving, revision: Revision, content: _Content, books: Catalogue) -> None:
    if revision.state in FROZEN_STATES:
        raise Refusal(
            "offered-revision-differs",
            f"{revision} is offered, and the workbook says something else of it.",
            "Start a new revision on the recipe's page and import again, or put back what is "
            "offered.",
        )
    left_out = {method.kind for method in revision.methods.all()} - set(content.methods)
    if left_out:
        raise Refusal(
            "method-left-out",
            f"{revision} has a method that the workbook leaves out: {', '.join(left_out)}.",
            "Add the method to the workbook, or start a new recipe without it.",
        )
    for facts, lines in content.methods.values():
        write_method(by=saving.by, revision=revision, facts=facts, lines=lines)
    yeasts = [books.items[code] for code in content.yeasts]
    write_yeasts(by=saving.by, revision=revision, items=yeasts)
    if content.substitutes is not None:
        _approve(saving, revision, content.substitutes, books)


def _approve(
    saving: Saving, revision: Revision, wanted: Sequence[StandIn], books: Catalogue
) -> None:
    lines = Line.objects.filter(method__revision=revision).select_related("method", "item")
    for line in lines:
        line.method.revision = revision  # one copy of it, whose version each approval takes on
        _approve_for(saving, line, line.method.kind, wanted, books)
    for option in YeastOption.objects.filter(revision=revision).select_related("item"):
        option.revision = revision
        _approve_for(saving, option, "", wanted, books)


def _approve_for(
    saving: Saving,
    thing: Line | YeastOption,
    method: str,
    wanted: Sequence[StandIn],
    books: Catalogue,
) -> None:
    said = {
        stand_in[2]: stand_in for stand_in in wanted if stand_in[:2] == (method, thing.item.code)
    }
    for substitute in thing.substitutes.exclude(item__code__in=said):
        withdraw_substitute(by=saving.by, substitute=substitute)
    for *_, code, ratio, note in said.values():
        item = books.items[code]
        approve_substitute(by=saving.by, stands_for=thing, item=item, ratio=ratio, note=note)


def _advance(saving: Saving, row: Row, revision: Revision) -> None:
    """Take a revision on to the state that is wanted; one that is further already stays there."""
    if row["state"] == RevisionState.OFFERED:
        for obstacle in obstacles(revision.pk)[1:]:  # the first is what offering says
            saving.refuse(row, "state", obstacle.what, obstacle.remedy)
        offer_revision(by=saving.by, revision=revision, expected=revision.version)
    elif row["state"] == RevisionState.TRIAL and revision.state == RevisionState.DRAFT:
        try_revision(by=saving.by, revision=revision, expected=revision.version)


def _method_facts(row: Row) -> MethodFacts:
    said = {name: value for name, value in row.values.items() if name not in ("recipe", "kind")}
    return MethodFacts(kind=MethodKind(row["kind"]), **said)


def _line_facts(row: Row, books: Catalogue) -> LineFacts:
    return LineFacts(
        item=books.items[row["item"]],
        use=Use(row["use"]),
        quantity=row["amount"].quantity,
        minutes=row["minutes"],
        role=HopRole(row["role"]) if row["role"] else None,
        reference_alpha=row["reference_alpha"],
        least_minutes=row["least_minutes"],
        most_minutes=row["most_minutes"],
        note=row["note"],
    )


def _standing_content(revision: Revision) -> _Content:
    return _Content(
        methods={
            MethodKind(method.kind): (
                MethodFacts(
                    **{name: getattr(method, name) for name in MethodFacts.__dataclass_fields__}
                ),
                [
                    LineFacts(
                        item=line.item,
                        use=Use(line.use),
                        quantity=line.quantity,
                        minutes=line.minutes,
                        role=HopRole(line.role) if line.role else None,
                        reference_alpha=line.reference_alpha,
                        least_minutes=line.least_minutes,
                        most_minutes=line.most_minutes,
                        note=line.note,
                    )
                    for line in method.lines.all()
                ],
            )
            for method in revision.methods.all()
        },
        yeasts=[option.item.code for option in revision.yeasts.all()],
        substitutes=sorted(
            (method, thing.item.code, each.item.code, each.ratio, each.note)
            for method, thing in _replaceable(revision)
            for each in thing.substitutes.all()
        ),
    )


def _replaceable(revision: Revision) -> Iterator[tuple[str, Line | YeastOption]]:
    for method in revision.methods.all():
        for line in method.lines.all():
            yield method.kind, line
    for option in revision.yeasts.all():
        yield "", option


def _line_said(line: LineFacts, step_mg: int) -> tuple[object, ...]:
    stays = line.role in WEIGHT_STAYS
    step = line.item.container_quantity or step_mg
    quantity = packed_amount(float(line.quantity), step) if stays else line.quantity
    limits = (line.least_minutes, line.most_minutes)
    said = (line.use, quantity, line.minutes, *limits, line.role, line.reference_alpha, line.note)
    return line.item.code, *said
