"""The papers of a batch, drawn from its sheet's content: weigh sheet, pick list, instructions.

Everything on them comes from the stored content, so that a batch code reprints the very sheet
that went with the box. The layouts only place what is worked out here.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from boxwort import figures
from boxwort.papers.printing import Paper, printed
from boxwort.quantities import UL_PER_L, Measure
from inventory.models import ItemKind
from planning.documents.brew_day import BEFORE, CAUTIONS, brew_steps
from planning.documents.hop_pack import BEFORE as _HOP_PACK_BEFORE
from planning.documents.wording import (
    Content,
    amount,
    day,
    hop_pack_said,
    is_hop,
    lot_rows,
    stands_in,
    weight_like,
    when,
)
from planning.engine.tolerance import process_tolerance
from recipes.brewing.colour import ebc_from_srm
from recipes.brewing.roles import Use
from recipes.models import Contents

LAYOUTS = Path(__file__).parent / "layouts"
MOST_SQUARES = 120
ESTIMATES = "Figures are estimates for this batch's ingredients, not laboratory results."
NOWHERE = "Place not known"
CLEAN_BETWEEN = " Clean scale, scoop and bench between kits; do not breathe malt dust."

Line = Mapping[str, Any]


def weigh_sheet_pdf(content: Content, *, void: str = "", paper: Paper = Paper.A4) -> bytes:
    """Return the weigh sheet of a batch; ``void`` is the reason why it must not be used."""
    packed = [line for line in content["lines"] if not line["at_dispatch"]]
    data = {
        "title": f"Weigh sheet {content['sheet']} of batch {content['batch']}",
        **{name: content[name] for name in ("batch", "run", "kits", "sheet", "producer")},
        "kit_name": content["kit"]["name"],
        "kit_code": content["kit"]["code"],
        "pack_on": day(content["pack_on"]),
        "void": void,
        "facts": _weigh_facts(content),
        "sections": [section for section in _sections(content, packed) if section["rows"]],
        "dispatch": [
            {"name": line["item_name"], "per_kit": amount(line["per_kit"], line["measure"])}
            for line in content["lines"]
            if line["at_dispatch"]
        ],
        "dispatch_note": (content["yeast"] or {}).get("at_dispatch", ""),
        "allergens": _allergens(content["allergens"]) + CLEAN_BETWEEN,
        "tally": min(content["kits"], MOST_SQUARES),
    }
    return printed(LAYOUTS / "weigh_sheet.typ", data, dated=_pack_day(content), paper=paper)


def pick_list_pdf(
    contents: Sequence[Content], *, places: Mapping[str, str], paper: Paper = Paper.A4
) -> bytes:
    """Return the pick list of a run from the contents of its sheets.

    Parameters
    ----------
    contents: at least one, all of one run.
    places: where each lot lies, by lot code.
    """
    first = contents[0]
    rows = _picks(contents)
    data = {
        "title": f"Pick list of run {first['run']}",
        "run": first["run"],
        "producer": first["producer"],
        "pack_on": day(first["pack_on"]),
        "facts": _labelled(
            ("Batches", str(len(contents))),
            ("Kits", f"{sum(content['kits'] for content in contents):,}"),
            ("Lots to fetch", str(len(rows))),
        ),
        "places": _by_place(rows, places),
        "batches": [
            {
                "batch": content["batch"],
                "kit": content["kit"]["name"],
                "kits": content["kits"],
                "sheet": content["sheet"],
            }
            for content in contents
        ],
    }
    return printed(LAYOUTS / "pick_list.typ", data, dated=_pack_day(first), paper=paper)


def instruction_sheet_pdf(
    content: Content, *, units: str = "metric", paper: Paper = Paper.A4
) -> bytes:
    """Return the brewer's sheet of a box, in metric or US customary ("us") units."""
    figured = content["figures"]
    contained = [line for line in content["lines"] if line["use"]]
    hops_alone = content.get("contents") == Contents.HOP_PACK
    data = {
        "title": f"{content['kit']['name']}: how to brew batch {content['batch']}",
        "batch": content["batch"],
        "producer": content["producer"],
        "kit_name": content["kit"]["name"],
        "method": content["method_name"],
        "lead": f"For {amount(content['volume_ul'], 'volume', units)} of beer. Best brewed by "
        f"{day(_brew_by(content))}.{_best_before(content)}",
        "figures": _beer_facts(figured),
        "figures_note": ESTIMATES,
        "weights_note": f"Weighed for batch {content['batch']}: hops differ from crop to crop, so "
        "these weights belong to this box alone.",
        "ingredients": [
            {
                "name": line["item_name"],
                "note": stands_in(line),
                "amount": amount(line["per_kit"], line["measure"], units),
                "when": when(line),
            }
            for line in contained
        ]
        + _hop_pack_rows(content),
        "before": [*(_HOP_PACK_BEFORE if hops_alone else BEFORE), *_advice(content, units)],
        "steps": brew_steps(content, units),
        "notes": [] if hops_alone else list(_notes(content, units)),
        "allergens": _allergens(content["allergens"]),
        "cautions": CAUTIONS,
    }
    return printed(LAYOUTS / "instruction_sheet.typ", data, dated=_pack_day(content), paper=paper)


def _pack_day(content: Content) -> date:
    return date.fromisoformat(content["pack_on"])


def _labelled(*pairs: tuple[str, str]) -> list[dict[str, str]]:
    return [{"label": label, "value": value} for label, value in pairs]


def _weigh_facts(content: Content) -> list[dict[str, str]]:
    figured = content["figures"]
    target = f"{figures.rounded(figured['ibu_target'], 1)} IBU"
    bitterness = (
        f"{target}, by its hop pack"
        if content.get("hop_pack")
        else (
            f"{figures.rounded(figured['ibu'], 1)} of {target} ± "
            f"{figures.rounded(figured['ibu_spread'], 1)}"
        )
    )
    return _labelled(
        ("Method", content["method_name"]),
        ("Beer", amount(content["volume_ul"], "volume")),
        ("Brew day", day(content["brew_on"])),
        ("Best before", day(content.get("best_before", {}).get("on")) or "no day"),
        ("Bitterness, target", bitterness),
        ("Scale division", f"{amount(content['division_mg'], 'mass')} or finer"),
    )


def _sections(content: Content, lines: Sequence[Line]) -> Iterable[dict[str, Any]]:
    """Yield what is weighed, in the order of the bench; grain of one bag has a running total."""
    weighed = [line for line in lines if line["measure"] != Measure.COUNT]
    grain = [line for line in weighed if line["kind"] == ItemKind.GRAIN]
    hops = [line for line in weighed if is_hop(line)]
    others = [line for line in weighed if line not in grain and line not in hops]
    for use, bag in ((Use.MASH, "Grain for the mash"), (Use.STEEP, "Grain for steeping")):
        together = [line for line in grain if line["use"] == use]
        note = "One bag for each box: weigh one after another into it without taring."
        yield _section(content, bag, note, together, running=len(together) > 1)
    yield _section(
        content,
        "Hops",
        "One pouch for each addition; mark it with when it goes in. These weights belong to the "
        "lots named beside them.",
        hops,
    )
    rest = [line for line in grain if line["use"] not in (Use.MASH, Use.STEEP)] + others
    yield _section(content, "Extract, sugar and the rest", "", rest)
    counted = [line for line in lines if line["measure"] == Measure.COUNT]
    yield _section(content, "Count into the box", "", counted)


def _section(
    content: Content, title: str, note: str, lines: Sequence[Line], *, running: bool = False
) -> dict[str, Any]:
    total = 0
    rows = []
    for line in lines:
        total += line["per_kit"]
        rows.append(
            {
                "name": line["item_name"],
                "note": stands_in(line),
                "when": when(line),
                "per_kit": amount(line["per_kit"], line["measure"]),
                "running": weight_like(total, total) if running else "",
                "tolerance": _tolerance(content, line),
                "lots": lot_rows(line),
            }
        )
    return {"title": title, "note": note, "running": running, "rows": rows}


def _tolerance(content: Content, line: Line) -> str:
    if line["measure"] == Measure.COUNT:
        return "exactly"
    if line["measure"] == Measure.VOLUME:
        return ""
    within = process_tolerance(
        line["per_kit"],
        pouch_mg=content["tolerance_mg"],
        division_mg=content["division_mg"],
        is_hop=is_hop(line),
    )
    return f"± {amount(within, 'mass')}"


def _picks(contents: Iterable[Content]) -> dict[str, dict[str, Any]]:
    """Return what to fetch of each lot over all batches, by lot code."""
    picks: dict[str, dict[str, Any]] = {}
    for content in contents:
        for line in content["lines"]:
            for lot in line["lots"]:
                pick = picks.setdefault(lot["code"], {"line": line, "lot": lot, "quantity": 0})
                pick["quantity"] += lot["quantity"]
    return picks


def _by_place(
    picks: Mapping[str, Mapping[str, Any]], places: Mapping[str, str]
) -> list[dict[str, Any]]:
    found: dict[str, list[dict[str, str]]] = defaultdict(list)
    for code, pick in sorted(picks.items(), key=lambda pair: (_bench_order(pair[1]), pair[0])):
        line = pick["line"]
        found[places.get(code, NOWHERE)].append(
            {
                "lot": code,
                "item": line["item_name"],
                "item_code": line["item_code"],
                "quantity": amount(pick["quantity"], line["measure"]),
                "best_before": day(pick["lot"]["best_before_on"]),
            }
        )
    return [{"name": name, "rows": rows} for name, rows in sorted(found.items())]


def _bench_order(pick: Mapping[str, Any]) -> tuple[int, str]:
    kinds = list(ItemKind)
    return kinds.index(ItemKind(pick["line"]["kind"])), pick["line"]["item_name"]


def _beer_facts(figured: Mapping[str, float]) -> list[dict[str, str]]:
    """Return the figures that are known, as a brewer reads them."""
    return [
        {"label": label, "value": write(figured[name])}
        for name, label, write in _BEER_FACTS
        if name in figured
    ]


def _gravity(value: float) -> str:
    return figures.rounded(value, 3)


def _colour(srm: float) -> str:
    ebc = figures.with_unit(ebc_from_srm(srm), 0, "EBC")
    return f"{figures.with_unit(srm, 0, 'SRM')} ({ebc})"


_BEER_FACTS: tuple[tuple[str, str, Callable[[float], str]], ...] = (
    ("og", "Original gravity", _gravity),
    ("fg", "Final gravity", _gravity),
    ("abv", "Alcohol by volume", lambda value: figures.with_unit(value, 1, "%")),
    ("ibu", "Bitterness", lambda value: figures.with_unit(value, 0, "IBU")),
    ("srm", "Colour", _colour),
)


def _notes(content: Content, units: str) -> Iterator[str]:
    """Yield the maker's notes; written for another size of the kit, they say so first."""
    notes = [note for note in content["steps"].splitlines() if note.strip()]
    written_for = content["steps_volume_ul"]
    if notes and written_for != content["volume_ul"]:
        yield (
            f"These notes were written for {amount(written_for, 'volume', units)}; this box brews "
            f"{amount(content['volume_ul'], 'volume', units)}. Where they differ from the steps "
            "above, follow the steps."
        )
    yield from notes


def _brew_by(content: Content) -> str:
    """Return the day to brew by: the day the weights are right for, unless the box ends before."""
    brew_on: str = content["brew_on"]
    return min(brew_on, content.get("best_before", {}).get("on") or brew_on)


def _best_before(content: Content) -> str:
    """Return the best-before of the box; the first sheets did not say it."""
    dated = content.get("best_before", {})
    if not dated.get("on"):
        return ""
    set_by = f" ({dated['set_by']})" if dated.get("set_by") else ""
    return f" Best before {day(dated['on'])}{set_by}."


def _hop_pack_rows(content: Content) -> list[dict[str, str]]:
    """Return the hop pack of a box and when its hops go in; their weights are on its own sheet."""
    pack = content.get("hop_pack")
    if not pack:
        return []
    rows = [{"name": line["item_name"], "when": when(line)} for line in pack["lines"]]
    note = "weights on its own sheet, which stays with it"
    return [
        {"name": _capital(hop_pack_said(content)), "note": note, "amount": "1", "when": ""},
        *({**row, "note": "", "amount": "in the pack"} for row in rows),
    ]


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _advice(content: Content, units: str) -> Iterator[str]:
    """Yield what this box asks for besides: its hop pack to be read, its yeast to be helped."""
    if content.get("hop_pack"):
        yield (
            f"The hops of this box are in the {hop_pack_said(content)}. How much of each goes in "
            "stands on the sheet of the pack; where its times differ from these, go by the pack's."
        )
    if content.get("grain") == "whole":
        yield "The grain of this box is whole: crush it on the day you brew, before it goes in."
    yield from _yeast_advice(content, units)


def _yeast_advice(content: Content, units: str) -> Iterator[str]:
    """Yield how to make up for packed yeast that will be below its target on brew day."""
    yeast = content["yeast"] or {}
    if yeast.get("pitched", 1.0) >= yeast.get("target", 1.0):
        return
    given = figures.share(yeast["pitched"] / yeast["target"], 0)
    if given == figures.share(1.0, 0):
        return
    ways = "pitch another pack"
    if litres := yeast["starter_l"]:
        ways = (
            f"grow it for a day in {amount(round(litres * UL_PER_L), 'volume', units)} of wort of "
            "1.036 to 1.040, boiled and cooled (boiling wort scalds), or pitch another pack"
        )
    yield (
        f"On {day(content['brew_on'])} the yeast of this box gives about {given} of the pitch we "
        f"aim at. For all of it, {ways}."
    )


def _allergens(names: Sequence[str]) -> str:
    if not names:
        return "None of the allergens that must be named."
    gluten = [name for name in ("barley", "wheat", "rye", "oats") if name in names]
    note = f" Gluten: {', '.join(gluten)}." if gluten else ""
    return f"Contains {', '.join(names)}.{note}"
