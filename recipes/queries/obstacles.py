"""What stands in the way of offering a revision: all of it at once, each with its remedy."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass

from boxwort.errors import Refusal
from inventory.models import ItemKind
from recipes.brewing.power import LEAST_LINTNER
from recipes.brewing.roles import HopRole, MethodKind, Use
from recipes.models import Method
from recipes.models.methods import METHOD_CHOICES
from recipes.queries.contents import (
    LineContent,
    MethodContent,
    brew_of,
    is_fermentable,
    is_hop,
    live_content,
    methods_in_full,
)
from recipes.queries.figures import computed

_LABELS = dict(METHOD_CHOICES)
_BITTERING_USES = (Use.FIRST_WORT, Use.BOIL)


@dataclass(frozen=True, kw_only=True)
class Obstacle:
    """One reason why a revision cannot be offered: a refusal's code, what, and remedy."""

    code: str
    what: str
    remedy: str


def obstacles(revision_id: int) -> list[Obstacle]:
    """Return every obstacle to offering a revision; an empty list means it may be offered."""
    methods = list(methods_in_full().filter(revision=revision_id))
    if not methods:
        return [
            Obstacle(
                code="method-missing",
                what="The revision has no method.",
                remedy="Write at least one: extract, partial mash or all-grain.",
            )
        ]
    found = [obstacle for method in methods for obstacle in method_obstacles(method)]
    return list(dict.fromkeys(found))


def method_obstacles(method: Method) -> list[Obstacle]:
    """Return the obstacles of one draft method, read by ``methods_in_full``."""
    content = live_content(method)
    found = [obstacle for check in _CHECKS for obstacle in check(content)]
    return found or list(_figures(content))


def refused(found: list[Obstacle]) -> Refusal:
    """Return the refusal to offer: the first obstacle in words, all of them in the details."""
    first = found[0]
    more = f" {len(found) - 1} more stand in the way." if len(found) > 1 else ""
    return Refusal(
        first.code,
        first.what + more,
        first.remedy,
        details={"obstacles": [asdict(obstacle) for obstacle in found]},
    )


def _yeast(content: MethodContent) -> Iterator[Obstacle]:
    if not content["yeasts"]:
        yield Obstacle(
            code="yeast-missing",
            what="The revision has no yeast option.",
            remedy="Add at least one yeast; the first is the usual one.",
        )


def _hop_roles(content: MethodContent) -> Iterator[Obstacle]:
    for line in filter(is_hop, content["lines"]):
        if not line["role"]:
            yield Obstacle(
                code="hop-role-missing",
                what=f"{_said(content, line)} has no role and reference alpha.",
                remedy="Say whether it holds weight, holds bitterness or absorbs, and the alpha "
                "it was designed with.",
            )
        elif line["use"] not in _BITTERING_USES and line["role"] != HopRole.HOLD_WEIGHT:
            yield Obstacle(
                code="hop-must-hold-weight",
                what=f"{_said(content, line)} is not boiled and has no bitterness to balance.",
                remedy="Let it hold its weight.",
            )


def _absorbing(content: MethodContent) -> Iterator[Obstacle]:
    bittering = [ln for ln in content["lines"] if is_hop(ln) and ln["use"] in _BITTERING_USES]
    if bittering and all(line["role"] != HopRole.ABSORB for line in bittering):
        yield Obstacle(
            code="absorb-missing",
            what=f"No hop of the {_label(content)} method absorbs the difference when a lot's "
            "alpha acid is not the reference.",
            remedy="Mark at least one boiled addition as absorb, usually the first.",
        )


def _times(content: MethodContent) -> Iterator[Obstacle]:
    for line in content["lines"]:
        if line["use"] == Use.BOIL and line["minutes"] > content["boil_minutes"]:
            yield Obstacle(
                code="longer-than-the-boil",
                what=f"{_said(content, line)} boils {line['minutes']} minutes and the boil lasts "
                f"{content['boil_minutes']}.",
                remedy="Lengthen the boil or shorten the addition.",
            )
        counted = is_hop(line) or is_fermentable(line)
        if counted and line["use"] in _BITTERING_USES and line["minutes"] == 0:
            yield Obstacle(
                code="boil-time-missing",
                what=f"{_said(content, line)} is boiled for 0 minutes.",
                remedy="Give its minutes before the end of the boil, or add it at flame-out.",
            )


def _mash(content: MethodContent) -> Iterator[Obstacle]:
    mashed = [line for line in content["lines"] if line["use"] == Use.MASH]
    if content["kind"] == MethodKind.EXTRACT:
        for line in mashed:
            yield Obstacle(
                code="mash-in-extract-method",
                what=f"{_said(content, line)} is mashed, and an extract method has no mash.",
                remedy="Make it a partial mash, or use extract in its place.",
            )
    elif not any(line["kind"] == ItemKind.GRAIN for line in mashed):
        yield Obstacle(
            code="mash-missing",
            what=f"The {_label(content)} method mashes no grain.",
            remedy="Mash its base malt, or make it an extract method.",
        )


def _steep(content: MethodContent) -> Iterator[Obstacle]:
    for line in content["lines"]:
        if line["use"] == Use.STEEP and line["malt"] and line["malt"]["must_mash"]:
            yield Obstacle(
                code="must-be-mashed",
                what=f"{_said(content, line)} is steeped, and its starch needs a mash.",
                remedy="Use a partial mash, or syrup or extract of the same grain in its place.",
            )


def _figures(content: MethodContent) -> Iterator[Obstacle]:
    try:
        result = computed(brew_of(content))
    except Refusal as refusal:
        yield Obstacle(
            code=refusal.code,
            what=f"In the {_label(content)} method: {refusal.what}",
            remedy=refusal.remedy,
        )
        return
    if result.og.value <= 1:
        yield Obstacle(
            code="extract-missing",
            what=f"Nothing in the {_label(content)} method gives extract.",
            remedy="Add its malt, extract or sugar.",
        )
    if result.power is not None and result.power.value < LEAST_LINTNER:
        yield Obstacle(
            code="grist-too-weak",
            what=f"The grist of the {_label(content)} method has {result.power.value:.0f} degrees "
            f"Lintner; below {LEAST_LINTNER:.0f} it does not convert.",
            remedy="Mash more base malt with it.",
        )


def _label(content: MethodContent) -> str:
    return str(_LABELS[content["kind"]]).lower()


def _said(content: MethodContent, line: LineContent) -> str:
    return f"{line['name']} in the {_label(content)} method"


_CHECKS: tuple[Callable[[MethodContent], Iterator[Obstacle]], ...] = (
    _yeast,
    _mash,
    _steep,
    _hop_roles,
    _absorbing,
    _times,
)
