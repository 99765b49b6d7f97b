"""HiGHS as every programme of the house has it: silent, one thread, a fixed seed, and no clock."""

from __future__ import annotations

import highspy


class _Silent(highspy.Highs):
    """HiGHS without its banner, which it prints when callbacks are switched on."""

    def enableCallbacks(self) -> None:  # noqa: N802 - the name HiGHS has for it
        """Switch callbacks on, once it is told to print nothing."""
        self.setOptionValue("output_flag", False)  # noqa: FBT003 - an option has a name and a value
        super().enableCallbacks()  # type: ignore[no-untyped-call]


def solver(**options: float) -> highspy.Highs:
    """Return a solver with these options, by the names HiGHS has for them.

    Raises
    ------
    ValueError: HiGHS has no such option, or not with such a value.
    """
    model = _Silent()  # type: ignore[no-untyped-call]
    for option, value in {"threads": 1, "random_seed": 0, **options}.items():
        if model.setOptionValue(option, value) != highspy.HighsStatus.kOk:
            msg = f"HiGHS has no option {option} of {value}"
            raise ValueError(msg)
    return model
