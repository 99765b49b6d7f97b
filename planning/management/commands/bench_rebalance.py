"""Time the re-balancing of many kits against one new lot."""

from __future__ import annotations

from argparse import ArgumentParser
from collections.abc import Callable, Sequence
from statistics import median
from time import perf_counter
from typing import Any

import numpy as np
from django.core.management.base import CommandError
from numpy.typing import NDArray

from boxwort.quantities import MG_PER_G
from boxwort.terminal import HouseCommand
from planning.engine.balance import Balance
from planning.engine.balances import Kits, Rebalanced, rebalanced
from planning.engine.hop_line import HopLine
from planning.engine.kit_sheet import BoundKit, BoundLot, balanced
from recipes.brewing.bitterness import ibu_per_gram
from recipes.brewing.roles import HopRole

_SEED = 2026
_LITRES = 20.0
_SAME_IBU = 1e-9
_ITEMS = ("Magnum", "Perle", "Willamette", "Saaz")
_AIM = 10

Floats = NDArray[np.float64]


class Command(HouseCommand):
    """``manage.py bench_rebalance --kits 1000 --repeat 200``."""

    help = (
        "Print the time of re-balancing many kit revisions against one new lot, all at once and "
        "one by one, and either as a ratio to the bare arithmetic of the same kits. The kits are "
        "made up for it, always the same; no stock or recipe is read or changed."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--kits", type=int, default=1000, help="kit revisions (1000)")
        parser.add_argument(
            "--repeat",
            type=int,
            default=200,
            help="how often each is timed (200; one by one a fiftieth of it); medians count",
        )

    def prepare(self) -> None:
        """Leave the database alone: nothing here reads it."""

    def handle(self, *_: Any, **options: Any) -> None:
        count, repeat = options["kits"], options["repeat"]
        if count < 1 or repeat < 1:
            msg = "There must be at least one kit and one repetition."
            raise CommandError(msg)
        kits = made_up_kits(count)
        lot = BoundLot(lot=1, code="NEW-LOT", available=0, alpha=0.112)
        item = _ITEMS[0]
        started = perf_counter()
        laid_out = Kits.of(kits)
        layout = perf_counter() - started
        bare = BareKits(kits, item)

        at_once, arithmetic = medians(
            repeat,
            lambda: rebalanced(laid_out, item=item, lot=lot),
            lambda: bare.exact_mg(lot.effective_alpha),
        )
        rarely = max(repeat // 50, 1)
        (one_by_one,) = medians(rarely, lambda: each(kits, item, lot))

        self.say(f"Re-balancing {_kits(count)} against one new lot of {item}, median times:")
        rows = [
            ("all at once", repeat, at_once),
            ("one by one", rarely, one_by_one),
            ("bare arithmetic", repeat, arithmetic),
        ]
        self.show(
            ("what", "runs", "milliseconds", "times the bare arithmetic"),
            [
                (name, runs, f"{time * 1e3:.3f}", f"{time / arithmetic:.1f}")
                for name, runs, time in rows
            ],
        )
        self.say(f"Laid out in arrays once, beforehand, in {layout * 1e3:.1f} milliseconds.")
        self.say(f"The aim for all at once is below {_AIM} times the bare arithmetic.")
        result = rebalanced(laid_out, item=item, lot=lot)
        self.say(f"{_kits(int(result.limited.any(axis=1).sum()))} held at a limit.")
        if differing := disagreements(result, each(kits, item, lot)):
            msg = f"{_kits(differing)} differ between all at once and one by one."
            raise CommandError(msg)
        self.say("All at once and one by one agree in every kit.")


class BareKits:
    """The exact weights of kits in bare numpy: no rounding, no limits, no whole minutes.

    Arrays are lines x kits, padded to the longest kit, so that each operation is one long run.
    """

    def __init__(self, kits: Sequence[BoundKit], item: str) -> None:
        shape = (max(len(kit.hop_lines) for kit in kits), len(kits))
        self._new = np.zeros(shape, dtype=bool)
        self._alpha, self._per_mg = np.ones(shape), np.ones(shape)
        self._today, self._kept, self._own, self._share = (np.zeros(shape) for _ in range(4))
        self._target = np.array([kit.target_ibu for kit in kits])
        for column, kit in enumerate(kits):
            takers = taking_the_rest(kit)
            whole = sum(line.reference_ibu for line in takers)
            for row, line in enumerate(kit.hop_lines):
                at = (row, column)
                self._new[at], self._alpha[at] = line.item == item, line.effective_alpha
                if line.ibu_per_gram:
                    self._per_mg[at] = line.ibu_per_gram / MG_PER_G
                    self._today[at] = line.reference_mg
                if line in takers:
                    self._share[at] = line.reference_ibu / whole
                elif line.role is HopRole.HOLD_WEIGHT:
                    self._kept[at] = self._today[at]
                else:
                    self._own[at] = line.reference_mg * line.reference_alpha

    def exact_mg(self, alpha: float) -> tuple[Floats, Floats]:
        """Return what moves (of a pouch: at the recipe's minutes), and today's IBU."""
        alphas = np.where(self._new, alpha, self._alpha)
        ibu_per_mg = self._per_mg * alphas
        own_mg = self._own / alphas
        left = self._target - ((self._kept + own_mg) * ibu_per_mg).sum(axis=0)
        return own_mg + left * self._share / ibu_per_mg, (self._today * ibu_per_mg).sum(axis=0)


def taking_the_rest(kit: BoundKit) -> list[HopLine]:
    """Return the lines that take what is left of the target."""
    absorbing = [line for line in kit.hop_lines if line.role is HopRole.ABSORB]
    return absorbing or [line for line in kit.hop_lines if line.moves_in_time]


def made_up_kits(count: int) -> list[BoundKit]:
    """Return kits of 20 L with two to six additions of every role, the same ones each time.

    Seven in ten have one bittering addition, two in ten a second one that absorbs or holds its
    bitterness, and one in ten a pouch of fixed weight in its place. All have aroma hops.
    """
    dice = np.random.default_rng(_SEED)
    return [_made_up_kit(dice) for _ in range(count)]


def _made_up_kit(dice: np.random.Generator) -> BoundKit:
    bittering = [
        [HopRole.ABSORB],
        [HopRole.ABSORB, HopRole.ABSORB],
        [HopRole.ABSORB, HopRole.HOLD_BITTERNESS],
        [HopRole.MOVE_TIME],
    ][dice.choice(4, p=[0.7, 0.1, 0.1, 0.1])]
    roles = [*bittering, *[HopRole.HOLD_WEIGHT] * int(dice.integers(1, 5))]
    gravity = float(dice.uniform(1.035, 1.075))
    lines = [_made_up_line(dice, place, role, gravity) for place, role in enumerate(roles)]
    return BoundKit(
        target_ibu=sum(line.reference_ibu for line in lines),
        hop_lines=lines,
        bound_items={},
        resolution_mg=100,
    )


def _made_up_line(dice: np.random.Generator, place: int, role: HopRole, gravity: float) -> HopLine:
    aroma = role is HopRole.HOLD_WEIGHT
    minutes = int(dice.choice([0, 5, 10, 15])) if aroma else 60 - 30 * place
    alpha = float(dice.uniform(0.03, 0.08) if aroma else dice.uniform(0.10, 0.14))
    limits = range(minutes - 20, minutes + 31) if role is HopRole.MOVE_TIME else ()
    return HopLine(
        line=str(place),
        item=str(dice.choice(_ITEMS[1:] if aroma else _ITEMS[:2])),
        name=f"Addition {place + 1}",
        role=role,
        reference_mg=int(dice.integers(50, 400)) * 100,
        reference_alpha=alpha,
        ibu_per_gram=ibu_per_gram(gravity, minutes, _LITRES),
        alpha=alpha * float(dice.uniform(0.93, 1.07)),
        minutes=minutes,
        minutes_table={minute: ibu_per_gram(gravity, minute, _LITRES) for minute in limits},
    )


def each(kits: Sequence[BoundKit], item: str, lot: BoundLot) -> list[Balance]:
    """Return the kits balanced one by one."""
    return [balanced(kit, {item: lot}) for kit in kits]


def disagreements(at_once: Rebalanced, one_by_one: Sequence[Balance]) -> int:
    """Return how many kits differ in a weight, in a boil minute, or in IBU by over 1e-9."""
    return sum(
        at_once.after_mg[row, : len(one.rows)].tolist() != list(one.weights.values())
        or at_once.minutes_after[row, : len(one.rows)].tolist()
        != [line.minutes_after or 0 for line in one.rows]
        or abs(at_once.ibu_unchanged[row] - one.ibu_unchanged) > _SAME_IBU
        or abs(at_once.ibu_corrected[row] - one.ibu_corrected) > _SAME_IBU
        for row, one in enumerate(one_by_one)
    )


def medians(repeat: int, *works: Callable[[], object]) -> list[float]:
    """Return the median seconds of each work, done in turn so that all meet the same machine."""
    seconds: list[list[float]] = [[] for _ in works]
    for _ in range(repeat):
        for work, taken in zip(works, seconds, strict=True):
            started = perf_counter()
            work()
            taken.append(perf_counter() - started)
    return [median(taken) for taken in seconds]


def _kits(count: int) -> str:
    return "1 kit" if count == 1 else f"{count} kits"
