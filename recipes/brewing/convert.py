"""The twin of a method, drafted: all-grain as extract or partial mash, and the other way round.

Line by line :mod:`recipes.brewing.twins` says what stands for what; :mod:`recipes.brewing.fitting`
then brings the grist to the same gravity, and to colour and final gravity within the limits of
:mod:`recipes.brewing.parity`; and each method gets its own hop weights, because a partial boil is
of another gravity. The draft says what it did and what stays apart, and a person edits it.

>>> from recipes.brewing.roles import FermentableKind
>>> malt = Fermentable(
...     name="Pale malt", kind=FermentableKind.GRAIN, kg=5.0, use=Use.MASH, must_mash=True,
...     points_l_per_kg=310.0, colour_lovibond=3.0, family=Family.BASE_MALT,
... )
>>> extract = Fermentable(
...     name="Dry pale extract", kind=FermentableKind.EXTRACT, kg=0.0, use=Use.BOIL,
...     points_l_per_kg=375.0, colour_lovibond=4.0, family=Family.PALE_EXTRACT,
... )
>>> pale = Brew(
...     kind=MethodKind.ALL_GRAIN, finished_volume_l=20.0, pre_boil_volume_l=25.0,
...     post_boil_volume_l=20.0, mash_efficiency=0.75, attenuation=0.76, fermentables=(malt,),
...     hops=(),
... )
>>> draft = converted(pale, (extract,), pre_boil_volume_l=13.0, post_boil_volume_l=11.0)
>>> [(line.name, line.use.value, line.kg) for line in draft.brew.fermentables]
[('Dry pale extract', 'boil', 1.66), ('Dry pale extract', 'flame_out', 1.44)]
>>> draft.reasons[0]
'Pale malt, 5.00 kg: 3.10 kg Dry pale extract; the same 1162 litre-degrees'
>>> draft.parity.holds
True
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from recipes.brewing.extract import Fermentable
from recipes.brewing.figures import Brew, figures
from recipes.brewing.fitting import (
    Fitted,
    filler_of,
    with_body_of,
    with_colour_of,
    with_gravity_of,
    with_late_extract,
)
from recipes.brewing.hop_weights import with_bitterness_of
from recipes.brewing.parity import Parity, ParityRow, parity
from recipes.brewing.placement import misplaced
from recipes.brewing.roles import Family, FermentableKind, HopRole, MethodKind, Use
from recipes.brewing.twins import (
    BODY_DIFFERS,
    EXTRACT_OF,
    Change,
    Wort,
    all_grain_changes,
    extract_changes,
    is_mashed,
    merged,
)

MASH_L_PER_KG = 3.2
"""Room that a kg of a thick mash takes: 2.5 L of water and 0.7 L of grain; common practice."""


_SHOWN_G = 0.05  # less reads the same to a tenth of a gram
_MIXED = frozenset({Family.WHEAT_EXTRACT, Family.RYE_EXTRACT})


@dataclass(frozen=True, kw_only=True)
class Draft:
    """The drafted twin of a method.

    Attributes
    ----------
    brew: the twin, at exact weights.
    changes: what became of each line, before the gravity was met.
    reasons: the changes in words, then what was done to meet the figures.
    warnings: what a person should look at; of each figure that stays apart, why.
    parity: the method beside its twin, with the same yeasts.
    """

    brew: Brew
    changes: tuple[Change, ...]
    reasons: tuple[str, ...]
    warnings: tuple[str, ...]
    parity: Parity


def converted(
    brew: Brew,
    stock: Sequence[Fermentable],
    *,
    pre_boil_volume_l: float,
    post_boil_volume_l: float,
    partial_mash: bool = True,
) -> Draft:
    """Return the extract twin of a method, or a partial mash where an ingredient needs it.

    Parameters
    ----------
    stock: what may be used, each with its family; weight and use are not looked at.
    pre_boil_volume_l, post_boil_volume_l: litres in the kettle of the twin, at 20 C.
    partial_mash: whether what has no extract or syrup may be mashed. Where it may not, extract and
        dextrin stand for it, and the draft says that the body differs.

    Raises
    ------
    ValueError: nothing stands for a line, or the figures cannot be met; the sentence names the
        remedy.
    """
    brew = _weighed(brew)
    new = replace(
        brew,
        kind=MethodKind.EXTRACT,
        pre_boil_volume_l=pre_boil_volume_l,
        post_boil_volume_l=post_boil_volume_l,
    )
    wort = Wort(old=brew, new=new, stock=tuple(stock))
    changes = extract_changes(wort, partial_mash=partial_mash)
    grist = merged(changes)
    if any(is_mashed(line) for line in grist):
        new = replace(new, kind=MethodKind.PARTIAL_MASH)
    draft = _with_bulk(replace(new, fermentables=grist), wort)
    return _fitted(brew, draft, changes, stock, _is_extract)


def all_grain_draft(
    brew: Brew,
    stock: Sequence[Fermentable],
    *,
    pre_boil_volume_l: float,
    post_boil_volume_l: float,
    mash_efficiency: float | None = None,
) -> Draft:
    """Return the all-grain twin of an extract method or a partial mash.

    Parameters
    ----------
    stock, pre_boil_volume_l, post_boil_volume_l: as in :func:`converted`.
    mash_efficiency: of the twin; None takes that of the method.

    Raises
    ------
    ValueError: as in :func:`converted`.
    """
    brew = _weighed(brew)
    new = replace(
        brew,
        kind=MethodKind.ALL_GRAIN,
        pre_boil_volume_l=pre_boil_volume_l,
        post_boil_volume_l=post_boil_volume_l,
        mash_efficiency=brew.mash_efficiency if mash_efficiency is None else mash_efficiency,
    )
    changes = all_grain_changes(Wort(old=brew, new=new, stock=tuple(stock)))
    draft = replace(new, fermentables=merged(changes))
    return _fitted(brew, draft, changes, stock, _is_malt)


def _weighed(brew: Brew) -> Brew:
    """Return the brew without the lines that have no weight yet."""
    return replace(brew, fermentables=tuple(line for line in brew.fermentables if line.kg > 0))


def _is_extract(line: Fermentable) -> bool:
    return line.kind is FermentableKind.EXTRACT and line.use is not Use.PRIMING


def _is_malt(line: Fermentable) -> bool:
    return is_mashed(line) and line.family in EXTRACT_OF and line.family is not Family.FLAKED_CORN


def _with_bulk(draft: Brew, wort: Wort) -> Brew:
    """Return the draft with a line of extract to meet the gravity with, of no weight yet."""
    if any(_is_extract(line) for line in draft.fermentables):
        return draft
    pale = wort.worth(1.0, Family.PALE_EXTRACT, Use.BOIL, 0.0)
    if pale is None:
        msg = "there is no pale extract in stock to meet the gravity with; enter one"
        raise ValueError(msg)
    return replace(draft, fermentables=(*draft.fermentables, replace(pale, kg=0.0)))


def _fitted(
    brew: Brew,
    draft: Brew,
    changes: tuple[Change, ...],
    stock: Sequence[Fermentable],
    counts: Callable[[Fermentable], bool],
) -> Draft:
    filler = filler_of(draft, counts)
    steps: list[Fitted] = [with_gravity_of(brew, draft, filler)]
    steps.append(with_colour_of(brew, steps[-1].brew, filler))
    steps.append(with_body_of(brew, steps[-1].brew, filler, stock))
    steps.append(with_late_extract(brew, steps[-1].brew, filler))
    grist = steps[-1].brew
    twin = with_bitterness_of(brew, _weighed(grist))
    compared = parity(figures(brew), figures(twin), same_yeasts=True)
    return Draft(
        brew=twin,
        changes=changes,
        reasons=(
            *(change.words() for change in changes),
            *(reason for step in steps for reason in step.reasons),
            *_hop_words(brew, twin),
        ),
        warnings=(
            *_what_to_look_at(twin, changes),
            *(warning for step in steps for warning in step.warnings),
            *(_apart(row, twin) for row in compared.rows if not row.within),
        ),
        parity=compared,
    )


def _hop_words(brew: Brew, twin: Brew) -> tuple[str, ...]:
    return tuple(
        f"{was.name}: {was.grams:.1f} g to {now.grams:.1f} g, for the same bitterness in this boil"
        for was, now in zip(brew.hops, twin.hops, strict=True)
        if abs(was.grams - now.grams) >= _SHOWN_G
    )


def _what_to_look_at(twin: Brew, changes: Sequence[Change]) -> tuple[str, ...]:
    stand_ins = (
        f"{change.was.name}: {BODY_DIFFERS}, because extract stands for what must be mashed"
        for change in changes
        if change.body_differs
    )
    mixed = (
        f"{name} is usually made with barley malt too; compare its label with the recipe"
        for name in dict.fromkeys(
            line.name
            for change in changes
            for line in (change.was, *change.became)
            if line.family in _MIXED
        )
    )
    wrong = (f"{found.what} {found.remedy}" for found in misplaced(twin.fermentables, twin.kind))
    return (*stand_ins, *mixed, *_crowded(twin), *wrong)


def _crowded(twin: Brew) -> tuple[str, ...]:
    mash_kg = math.fsum(line.kg for line in twin.fermentables if is_mashed(line))
    room_l = mash_kg * MASH_L_PER_KG
    if twin.kind is not MethodKind.PARTIAL_MASH or room_l <= twin.pre_boil_volume_l:
        return ()
    return (
        f"a mash of {mash_kg:.1f} kg takes about {room_l:.0f} L, and the kettle of this method is "
        f"filled to {twin.pre_boil_volume_l:g} L; use a larger one, or brew all-grain",
    )


def _apart(row: ParityRow, twin: Brew) -> str:
    words = (
        f"{row.name}: {row.one:.4g} and {row.other:.4g} {row.unit} are {row.difference:.2g} apart, "
        f"and {row.limit:.2g} is the limit"
    )
    if row.figure == "ibu" and not any(hop.role is HopRole.ABSORB for hop in twin.hops):
        words += "; no hop absorbs the difference: mark a boiled addition as absorb"
    return words
