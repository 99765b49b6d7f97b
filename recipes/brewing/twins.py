"""What stands for a line of one method in its twin, line by line.

The families decide: base malt becomes pale extract by points, Munich, wheat and rye their own
extract, flaked corn or rice syrup at flame-out; crystal and roasted malt is steeped at its steep
yield. Flaked oats, barley and wheat have no syrup. They go into a small mash with as much of the
recipe's own malt as converts them, or, where nobody is to mash, extract and dextrin stand for them
and the body differs. Extract and sugar stay what they are.

What the recipe already has of a family is taken before other stock, and among several the one
whose colour for its extract is nearest. Weights are those of the new wort; what steeping gives less
is made up later (:mod:`recipes.brewing.fitting`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from boxwort.working import positive
from recipes.brewing.attenuation import apparent_attenuation
from recipes.brewing.extract import Fermentable, points_l
from recipes.brewing.figures import Brew
from recipes.brewing.power import base_malt_needed_kg
from recipes.brewing.roles import Family, FermentableKind, Use

EXTRACT_OF: Mapping[Family, Family] = {
    Family.BASE_MALT: Family.PALE_EXTRACT,
    Family.HIGH_KILNED: Family.MUNICH_EXTRACT,
    Family.WHEAT_MALT: Family.WHEAT_EXTRACT,
    Family.RYE_MALT: Family.RYE_EXTRACT,
    Family.FLAKED_CORN: Family.SYRUP,
}
MALT_OF: Mapping[Family, Family] = {
    extract: malt for malt, extract in EXTRACT_OF.items() if malt is not Family.FLAKED_CORN
}
COLOURED = frozenset({Family.CRYSTAL, Family.ROASTED})
MINI_MASH_LINTNER = 50.0  # above the sound 40, so that a weaker lot of malt still converts
BODY_DIFFERS = "body differs"

_GRIST = frozenset({*EXTRACT_OF, *COLOURED, Family.FLAKED_OATS})
_WORDS = {family: family.value.replace("_", " ") for family in Family}


@dataclass(frozen=True, kw_only=True)
class Change:
    """A line, and what it became in the new wort.

    ``body_differs`` marks a stand-in that does not give the beer what the line did.
    """

    was: Fermentable
    became: tuple[Fermentable, ...]
    reason: str
    body_differs: bool = False

    def words(self) -> str:
        """Return the change in one sentence."""
        became = " and ".join(f"{line.kg:.2f} kg {line.name}" for line in self.became)
        return f"{self.was.name}, {self.was.kg:.2f} kg: {became}; {self.reason}"


@dataclass(frozen=True, kw_only=True)
class Wort:
    """Where the lines go: the brew they come from, and the wort they are for.

    Attributes
    ----------
    old, new: the brew as it is, and with the volumes and efficiency of its twin.
    stock: what can be bought, of any weight and use.
    """

    old: Brew
    new: Brew
    stock: tuple[Fermentable, ...]

    def points_l(self, line: Fermentable) -> float:
        """Return the litre-degrees that must stand for a line of the old brew."""
        return points_l(line, self.old.mash_efficiency) * self._size

    def carried(self, line: Fermentable) -> Fermentable:
        """Return the line as it is, at the weight that the new wort takes."""
        if line.use is Use.PRIMING:
            size = self.new.finished_volume_l / self.old.finished_volume_l
            return replace(line, kg=line.kg * size)
        kg = line.kg * self._size
        if is_mashed(line):
            kg *= self.old.mash_efficiency / positive("mash efficiency", self.new.mash_efficiency)
        return replace(line, kg=kg)

    def by_points(self, line: Fermentable, family: Family, use: Use) -> Fermentable | None:
        """Return what of a family stands for a line, by points; None where there is none."""
        given_l = positive(f"extract of {line.name}", self.points_l(line))
        return self.worth(given_l, family, use, line.kg * line.colour_lovibond / given_l)

    def worth(
        self, given_l: float, family: Family, use: Use, colour_per_point: float
    ) -> Fermentable | None:
        """Return what of a family gives these litre-degrees: the recipe's own, the nearest."""
        own = [line for line in self.old.fermentables if line.family is family]
        stocked = [each for each in self.stock if each.family is family]
        found = [
            replace(put, kg=given_l / per_kg)
            for each in own or stocked
            for put in (replace(each, kg=1.0, use=use, minutes=None),)
            if (per_kg := points_l(put, self.new.mash_efficiency)) > 0
        ]

        def distance(line: Fermentable) -> float:
            return abs(line.kg * line.colour_lovibond / given_l - colour_per_point)

        return min(found, key=distance, default=None)

    @property
    def _size(self) -> float:
        return self.new.wort_volume_l / self.old.wort_volume_l


def is_mashed(line: Fermentable) -> bool:
    """Return whether a line is grain in the mash."""
    return line.use is Use.MASH and line.kind is FermentableKind.GRAIN


def extract_changes(wort: Wort, *, partial_mash: bool) -> tuple[Change, ...]:
    """Return what each line becomes in an extract method, or a partial mash where it is needed.

    Parameters
    ----------
    partial_mash: what has no extract or syrup may be mashed.

    Raises
    ------
    ValueError: nothing in stock stands for a line; the sentence names the remedy.
    """
    lines = wort.old.fermentables
    mashed = {
        place: wort.carried(line)
        for place, line in enumerate(lines)
        if partial_mash and is_mashed(line) and _has_no_twin(wort, line)
    }
    malt_kg = _mini_mash_malt(wort, mashed)
    return tuple(
        _mashed_change(lines[place], mashed[place])
        if place in mashed
        else _extract_change(wort, line, malt_kg.get(place, 0.0))
        for place, line in enumerate(lines)
    )


def all_grain_changes(wort: Wort) -> tuple[Change, ...]:
    """Return what each line becomes in an all-grain method.

    Raises
    ------
    ValueError: nothing in stock stands for an extract; the sentence names the remedy.
    """
    return tuple(_all_grain_change(wort, line) for line in wort.old.fermentables)


def _has_no_twin(wort: Wort, line: Fermentable) -> bool:
    family = _family(line)
    if family in COLOURED:
        return line.steep_points_l_per_kg <= 0
    return family is Family.FLAKED_OATS or not _in_stock(wort, EXTRACT_OF[family])


def _family(line: Fermentable) -> Family:
    if line.family not in _GRIST:
        said = f"is {_WORDS[line.family]}" if line.family else "is of no family"
        msg = (
            f"{line.name} is mashed and {said}, so nothing can stand for it; say in the catalogue "
            "which grain it is"
        )
        raise ValueError(msg)
    return line.family


def _in_stock(wort: Wort, family: Family) -> bool:
    return any(each.family is family for each in (*wort.old.fermentables, *wort.stock))


def _mini_mash_malt(wort: Wort, mashed: Mapping[int, Fermentable]) -> dict[int, float]:
    """Return the kg of each of the recipe's malts that the small mash needs, strongest first."""
    malts = sorted(
        (
            (place, wort.carried(line))
            for place, line in enumerate(wort.old.fermentables)
            if is_mashed(line)
            and place not in mashed
            and line.family in EXTRACT_OF
            and line.power_lintner > MINI_MASH_LINTNER
        ),
        key=lambda found: (found[1].family is not Family.BASE_MALT, -found[1].power_lintner),
    )
    grist = list(mashed.values())
    taken = {}
    for place, malt in malts:
        needed_kg = base_malt_needed_kg(grist, malt.power_lintner, MINI_MASH_LINTNER)
        if needed_kg > 0:
            taken[place] = min(needed_kg, malt.kg)
            grist.append(replace(malt, kg=taken[place]))
    return taken


def _mashed_change(line: Fermentable, carried: Fermentable) -> Change:
    family = _family(line)
    if family in COLOURED:
        why = "it has no steep yield, so it is mashed"
    elif family is Family.FLAKED_OATS:
        why = "its starch has no syrup and must be mashed"
    else:
        why = f"there is no {_WORDS[EXTRACT_OF[family]]} in stock, so it is mashed"
    return Change(was=line, became=(carried,), reason=why)


def _extract_change(wort: Wort, line: Fermentable, mashed_kg: float) -> Change:
    if not is_mashed(line):
        return _carried(wort, line)
    family = _family(line)
    if family in COLOURED:
        return _steeped(wort, line)
    if family is Family.FLAKED_OATS:
        return _stand_in(wort, line)
    use = Use.FLAME_OUT if family is Family.FLAKED_CORN else Use.BOIL
    twin = wort.by_points(line, EXTRACT_OF[family], use)
    if twin is None:
        raise _no_twin(line, EXTRACT_OF[family])
    given = f"the same {wort.points_l(line):.0f} litre-degrees"
    if not mashed_kg:
        return Change(was=line, became=(twin,), reason=given)
    carried = wort.carried(line)
    rest = replace(twin, kg=twin.kg * (1 - mashed_kg / carried.kg))
    became = (replace(carried, kg=mashed_kg), *((rest,) if rest.kg > 0 else ()))
    return Change(was=line, became=became, reason=f"{given}; the malt converts the small mash")


def _no_twin(line: Fermentable, family: Family) -> ValueError:
    return ValueError(
        f"there is no {_WORDS[family]} in stock to stand for {line.name}; enter one in the "
        "catalogue, or let the draft be a partial mash"
    )


def _steeped(wort: Wort, line: Fermentable) -> Change:
    if line.steep_points_l_per_kg <= 0:
        msg = (
            f"{line.name} has no steep yield; give one in the catalogue, or let the draft be a "
            "partial mash"
        )
        raise ValueError(msg)
    kg = line.kg * wort.new.wort_volume_l / wort.old.wort_volume_l
    steeped = replace(line, kg=kg, use=Use.STEEP)
    return Change(
        was=line, became=(steeped,), reason=f"steeped, {_given_words(wort, line, steeped)}"
    )


def _given_words(wort: Wort, line: Fermentable, put: Fermentable) -> str:
    now_l, was_l = points_l(put, wort.new.mash_efficiency), wort.points_l(line)
    return f"which gives {now_l:.0f} litre-degrees for {was_l:.0f}"


def _carried(wort: Wort, line: Fermentable) -> Change:
    carried = wort.carried(line)
    sizes = f"{wort.old.wort_volume_l:g} L to {wort.new.wort_volume_l:g} L"
    reason = "stays" if carried.kg == line.kg else f"follows the wort, {sizes}"
    return Change(was=line, became=(carried,), reason=reason)


def _stand_in(wort: Wort, line: Fermentable) -> Change:
    """Return pale extract, and dextrin for what the line leaves unfermented."""
    pale = wort.by_points(line, Family.PALE_EXTRACT, Use.BOIL)
    if pale is None:
        raise _no_twin(line, Family.PALE_EXTRACT)
    given_l = wort.points_l(line)
    dextrin = wort.worth(given_l, Family.DEXTRIN, Use.BOIL, 0.0)
    became: tuple[Fermentable, ...] = (pale,)
    if dextrin is not None and (part := _body_share(wort.new, line, pale, dextrin)) > 0:
        became = (replace(pale, kg=pale.kg * (1 - part)), replace(dextrin, kg=dextrin.kg * part))
    reason = (
        f"the same {given_l:.0f} litre-degrees, but {BODY_DIFFERS}: it must be mashed, and nothing "
        "else gives its starch and protein"
    )
    return Change(was=line, became=became, reason=reason, body_differs=True)


def _body_share(brew: Brew, line: Fermentable, pale: Fermentable, dextrin: Fermentable) -> float:
    """Return the share of the points that dextrin gives so that as many stay in the beer."""
    goes, pale_goes, dextrin_goes = (
        apparent_attenuation(
            each.kind, fermentability=each.fermentability, strain_attenuation=brew.attenuation
        )
        for each in (line, pale, dextrin)
    )
    if pale_goes <= dextrin_goes:
        return 0.0
    return min(1.0, max(0.0, (pale_goes - goes) / (pale_goes - dextrin_goes)))


def _all_grain_change(wort: Wort, line: Fermentable) -> Change:
    if line.use is Use.STEEP and line.kind is FermentableKind.GRAIN:
        kg = line.kg * wort.new.wort_volume_l / wort.old.wort_volume_l
        mashed = replace(line, kg=kg, use=Use.MASH)
        reason = f"mashed with the rest, {_given_words(wort, line, mashed)}"
        return Change(was=line, became=(mashed,), reason=reason)
    if line.kind is not FermentableKind.EXTRACT:
        return _carried(wort, line)
    family = MALT_OF.get(line.family) if line.family else None
    if family is None:
        msg = (
            f"{line.name} is an extract of no family that malt makes, so no malt can stand for it; "
            "say in the catalogue which extract it is"
        )
        raise ValueError(msg)
    malt = wort.by_points(line, family, Use.MASH)
    if malt is None:
        msg = (
            f"there is no {_WORDS[family]} in stock to stand for {line.name}; enter one in the "
            "catalogue"
        )
        raise ValueError(msg)
    given = f"the same {wort.points_l(line):.0f} litre-degrees"
    return Change(was=line, became=(malt,), reason=given)


def merged(changes: Sequence[Change]) -> tuple[Fermentable, ...]:
    """Return the lines of the new grist: one for each ingredient and use."""
    lines: dict[tuple[str, Use, float | None], Fermentable] = {}
    for change in changes:
        for line in change.became:
            key = (line.name, line.use, line.minutes)
            same = lines.get(key)
            lines[key] = line if same is None else replace(same, kg=same.kg + line.kg)
    return tuple(lines.values())
