"""How hops lose alpha acid and yeast loses life between the supplier and the brew.

What is guaranteed
------------------
Pure functions: no clock is read, so ages and dates are passed in. What people see comes as a
:class:`boxwort.working.Working`. Ageing never adds: alpha acid and viability only fall, and never
below zero. What is published, what is interpolated and what is from memory is said in the notes.

Conventions
-----------
* Shares are 0-1, temperatures degrees C, ages whole days.
* A life is a list of *stretches*, each with its days, temperature and (for hops) storage factor:
  bulk cold store, then the pouch on a shelf. Where a lot lies sets the temperature, how it is
  packed sets the factor; a repack starts a new stretch.
* Hop ageing starts at the *sample date* of the analysis that gave the alpha acid, yeast ageing at
  the packaging date.

A worked example
----------------
A hop of 9.0 % that loses 30 % in six months at 20 C, half a year in the cold store in a barrier
bag, then a month in the kit on a shelf:

>>> from inventory.ageing.hops import STORAGE_FACTORS, Stretch, alpha_after, decay_rate
>>> life = (
...     Stretch(days=180, temperature_c=2.0, storage_factor=STORAGE_FACTORS["barrier"]),
...     Stretch(days=30, temperature_c=20.0, storage_factor=STORAGE_FACTORS["barrier"]),
... )
>>> alpha_after(0.09, decay_rate(0.30), life).value
8.09

A liquid yeast ten weeks after packaging, and three weeks after 60 % of it was counted alive:

>>> from inventory.ageing.yeast import LiquidStretch, ViabilityRule, viability, viability_after
>>> viability(ViabilityRule.LINEAR, 70).value
51.0
>>> refrigerated = LiquidStretch(days=21, temperature_c=4.0)
>>> viability_after(ViabilityRule.LINEAR, [refrigerated], at_start=0.60).value
45.3
"""
