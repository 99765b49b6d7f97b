"""What stands in the way of offering a revision: all of it at once, each with its remedy.

Warnings are beside the obstacles, in the same words: they keep nothing from being offered.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import asdict, dataclass

from boxwort.errors import Refusal
from boxwort.quantities import MG_PER_KG
from inventory.models import ItemKind
from recipes.brewing.figures import Brew
from recipes.brewing.placement import misplaced
from recipes.brewing.priming import BOTTLE_RATING_VOLUMES
from recipes.brewing.roles import HopRole, MethodKind, Use
from recipes.models import Method
from recipes.models.methods import METHOD_CHOICES
from recipes.queries.contents import (
    LineContent,
    MethodContent,
    SubstituteContent,
    brew_of,
    fermentable_of,
    is_fermentable,
    is_hop,
    live_content,
    method_content,
    methods_in_full,
)
from recipes.queries.figures import computed
from recipes.queries.packed_brews import Scales, house_scales
from recipes.queries.parity import TwinRow
from recipes.queries.stand_ins import brew_with

_LABELS = dict(METHOD_CHOICES)
_BITTERING_USES = (Use.FIRST_WORT, Use.BOIL)
_STAND_USES = (Use.FLAME_OUT, Use.WHIRLPOOL)
_LEVELLING_ROLES = (HopRole.ABSORB, HopRole.MOVE_TIME)


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
    scales = house_scales()
    contents = [live_content(method) for method in methods]
    found = [obstacle for content in contents for obstacle in obstacles_in(content, scales)]
    return list(dict.fromkeys(found))


def obstacles_in(content: MethodContent, scales: Scales) -> list[Obstacle]:
    """Return every obstacle in one method."""
    found = [obstacle for check in _CHECKS for obstacle in check(content)]
    return found or list(_figures(content)) or list(_substitutes(content, scales))


def warnings_of(methods: Sequence[Method], pairs: Sequence[TwinRow]) -> list[Obstacle]:
    """Return the warnings of a revision's methods, read by ``methods_in_full``, and their pairs."""
    found = list(_twins(pairs))
    for method in methods:
        found += warnings_in(method_content(method))
    return list(dict.fromkeys(found))


def warnings_in(content: MethodContent) -> list[Obstacle]:
    """Return the warnings of one method by itself."""
    return [*_unstood(content), *_placed(content, refused=False)]


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
        elif not _bitters(content, line) and line["role"] != HopRole.HOLD_WEIGHT:
            yield Obstacle(
                code="hop-must-hold-weight",
                what=f"{_said(content, line)} is not boiled and has no bitterness to balance.",
                remedy="Let it hold its weight.",
            )
        elif line["role"] == HopRole.MOVE_TIME:
            yield from _moving_time(content, line)


def _bitters(content: MethodContent, line: LineContent) -> bool:
    stands = content["stand_minutes"] is not None and line["use"] in _STAND_USES
    return line["use"] in _BITTERING_USES or stands


def _moving_time(content: MethodContent, line: LineContent) -> Iterator[Obstacle]:
    if line["use"] != Use.BOIL:
        yield Obstacle(
            code="hop-cannot-move-time",
            what=f"{_said(content, line)} moves its boil time and does not go into the boil.",
            remedy="Let it hold its weight, or boil it.",
        )
    elif line["least_minutes"] is None or line["most_minutes"] is None:
        yield Obstacle(
            code="time-limits-missing",
            what=f"{_said(content, line)} moves its boil time without limits.",
            remedy="Give the least and the most minutes that it may boil.",
        )
    elif line["most_minutes"] > content["boil_minutes"]:
        yield Obstacle(
            code="longer-than-the-boil",
            what=f"{_said(content, line)} may boil {line['most_minutes']} minutes and the boil "
            f"lasts {content['boil_minutes']}.",
            remedy="Lengthen the boil or lower the limit.",
        )


def _absorbing(content: MethodContent) -> Iterator[Obstacle]:
    bittering = [line for line in content["lines"] if is_hop(line) and _bitters(content, line)]
    if bittering and all(line["role"] not in _LEVELLING_ROLES for line in bittering):
        yield Obstacle(
            code="absorb-missing",
            what=f"No hop of the {_label(content)} method absorbs the difference when a lot's "
            "alpha acid is not the reference.",
            remedy="Mark at least one bittering addition as absorb, usually the first; or, where "
            "pouches are sold at a fixed weight, as move time.",
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
        if counted and line["use"] == Use.BOIL and line["minutes"] == 0:
            yield Obstacle(
                code="boil-time-missing",
                what=f"{_said(content, line)} is boiled for 0 minutes.",
                remedy="Give its minutes before the end of the boil, or add it at flame-out.",
            )


def _mash(content: MethodContent) -> Iterator[Obstacle]:
    mashed = [line for line in content["lines"] if line["use"] == Use.MASH]
    if content["kind"] == MethodKind.EXTRACT:
        for line in mashed:
            if line["kind"] == ItemKind.GRAIN:
                continue  # misplaced, with a remedy of its own
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


def _bottles(content: MethodContent) -> Iterator[Obstacle]:
    volumes = content["carbonation_volumes"] or 0.0
    if volumes > BOTTLE_RATING_VOLUMES and not content["heavy_bottles"]:
        yield Obstacle(
            code="bottles-would-burst",
            what=f"The {_label(content)} method wants {volumes:g} volumes of CO2, and bottles are "
            f"typically rated for {BOTTLE_RATING_VOLUMES:g}.",
            remedy="Lower its carbonation, or say that it needs heavy bottles.",
        )


def _misplaced(content: MethodContent) -> Iterator[Obstacle]:
    yield from _placed(content, refused=True)


def _placed(content: MethodContent, *, refused: bool) -> Iterator[Obstacle]:
    """Yield what grain cannot be where it is, or what only makes poor beer there."""
    try:
        grist = [
            fermentable_of(line, line["quantity"] / MG_PER_KG)
            for line in content["lines"]
            if is_fermentable(line)
        ]
    except Refusal:
        return  # without a specification there are no figures either, and that is said
    for found in misplaced(grist, MethodKind(content["kind"])):
        if found.refused is refused:
            weak = "grist-too-weak" if refused else "grist-weak"
            codes = {"Mash": weak, "Wort": "adjuncts-many"}
            yield Obstacle(
                code=codes.get(found.name, "grain-misplaced"),
                what=f"In the {_label(content)} method: {found.what}",
                remedy=found.remedy,
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


def _substitutes(content: MethodContent, scales: Scales) -> Iterator[Obstacle]:
    """Yield what cannot stand in its place any more; the method itself has its figures."""
    brew = brew_of(content)
    for number, line in enumerate(content["lines"]):
        for substitute in line["substitutes"]:
            why = _why_not(brew, content, number, substitute, scales)
            if why:
                yield Obstacle(
                    code="substitute-unfit",
                    what=f"{substitute['name']} cannot stand for {_said(content, line)}: {why}",
                    remedy="Withdraw the substitute, or change the use of the line.",
                )


def _why_not(
    brew: Brew, content: MethodContent, number: int, substitute: SubstituteContent, scales: Scales
) -> str:
    try:
        other = brew_with(brew, content, number, substitute, scales)
        computed(other)
    except Refusal as refusal:
        return refusal.what
    return " ".join(
        found.what for found in misplaced(other.fermentables, other.kind) if found.refused
    )


def _twins(pairs: Sequence[TwinRow]) -> Iterator[Obstacle]:
    for row in pairs:
        if row.apart:
            yield Obstacle(
                code="twins-differ",
                what=f"{row.one_label} and {row.other_label.lower()} are not the same beer as "
                f"packed: they differ in {row.apart}.",
                remedy="Change one of them until every difference is within its limit, or offer "
                "them knowing that they differ.",
            )


def _unstood(content: MethodContent) -> Iterator[Obstacle]:
    if content["stand_minutes"] is not None:
        return
    for line in filter(is_hop, content["lines"]):
        if line["use"] == Use.WHIRLPOOL:
            yield Obstacle(
                code="stand-missing",
                what=f"{_said(content, line)} goes in with the heat off and counts as 0 IBU.",
                remedy="Declare a hop stand with its minutes and temperatures if there is one.",
            )


def _label(content: MethodContent) -> str:
    return str(_LABELS[content["kind"]]).lower()


def _said(content: MethodContent, line: LineContent) -> str:
    return f"{line['name']} in the {_label(content)} method"


_CHECKS: tuple[Callable[[MethodContent], Iterator[Obstacle]], ...] = (
    _yeast,
    _mash,
    _misplaced,
    _hop_roles,
    _absorbing,
    _times,
    _bottles,
)
