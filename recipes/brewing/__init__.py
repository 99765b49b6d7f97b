"""The arithmetic of a brew: gravity, bitterness, colour, enzymes, alcohol, yeast, size and bill.

What is guaranteed
------------------
Every function is pure: the same numbers in give the same number out, on any machine, and nothing is
read or written. What people see comes as a :class:`boxwort.working.Working`, with the formula, the
numbers put in, the published source, and the parts it is the sum of; its value is not rounded.
Input that cannot be (a negative time, an empty kettle, an alpha acid of 5) is refused with a
:class:`ValueError` whose text can be shown to a person.

Conventions
-----------
* Shares are 0-1: alpha acid of 5 % is 0.05. Volumes are litres at 20 C, weights kilograms (grist)
  and grams (hops), times minutes before flame-out.
* Extract is counted in litre-degrees: gravity points times litres. Mashed grain gives its maximum
  times the mash efficiency, steeped grain its steep yield, extract and sugar everything.
* Priming sugar is left out of every gravity. Sugar in the fermenter counts as if in the wort.
* The gravity of the boil is the mean of before and after it, of what is in the kettle. Each hop
  addition has its own: late extract counts for the share of that addition's contact.
* IBU are counted in the finished volume, extract and colour in the wort: the finished volume, or
  the kettle's where a full boil leaves some behind.
* Boiled hops count bitterness, first-wort hops as the whole boil unless the method says otherwise.
  A declared hop stand counts as minutes of boiling for every hop in the kettle, at the gravity of
  that hop's boil. Without one, flame-out and whirlpool hops count none; dry hops never do.
* A form factor applies only where a lot's form is not the one the recipe was written for.
* Final gravity follows :mod:`recipes.brewing.attenuation`, alcohol follows Balling.

The rooms: :mod:`~recipes.brewing.figures` is the front; ``gravity``, ``extract``, ``attenuation``,
``alcohol``, ``colour``, ``spectrum``, ``power``, ``strike``, ``boil``, ``stand``, ``bitterness``,
``pitch``, ``priming`` and ``style`` each hold one subject. ``scale`` takes a brew to another size
and ``convert`` to another method (``twins`` says what stands for what, ``fitting`` meets the
figures), ``parity`` compares the two; ``hop_weights`` keeps the bitterness through all of it.
``substitution`` replaces one line, ``placement`` says what cannot be where it is, ``calibration``
learns from a trial, ``containers`` fills whole tins and ``bill`` turns amounts into what is packed.

A worked example
----------------
A pale ale of 20 litres: extract with steeped crystal malt, 12 litres boiled down to 10.

>>> from recipes.brewing.extract import Fermentable
>>> from recipes.brewing.figures import Brew, Hop, figures
>>> from recipes.brewing.roles import FermentableKind, HopRole, MethodKind, Use
>>> pale = Brew(
...     kind=MethodKind.EXTRACT, finished_volume_l=20.0, pre_boil_volume_l=12.0,
...     post_boil_volume_l=10.0, mash_efficiency=0.75, attenuation=0.76,
...     fermentables=(
...         Fermentable(
...             name="Dry pale extract", kind=FermentableKind.EXTRACT, kg=2.7, use=Use.BOIL,
...             points_l_per_kg=366.0, colour_lovibond=4.0,
...         ),
...         Fermentable(
...             name="Crystal malt", kind=FermentableKind.GRAIN, kg=0.3, use=Use.STEEP,
...             points_l_per_kg=284.0, steep_points_l_per_kg=150.0, colour_lovibond=60.0,
...             fermentability=0.6,
...         ),
...     ),
...     hops=(
...         Hop(name="Bittering", grams=40.0, alpha=0.08, minutes=60, use=Use.BOIL,
...             role=HopRole.ABSORB),
...         Hop(name="Aroma", grams=30.0, alpha=0.06, minutes=0, use=Use.FLAME_OUT),
...     ),
... )
>>> result = figures(pale)

The extract gives 2.7 * 366 = 988.2 and the crystal malt 0.3 * 150 = 45 litre-degrees; 1033.2 over
20 litres are 51.7 points:

>>> result.og.value
1.05166

The extract keeps 24 % of its points and the crystal malt 1 - 0.76 * 0.6 = 54.4 %:

>>> result.fg.value
1.01308

In the kettle the same extract is in 12, then 10 litres, so the hops meet 1.0947 and not 1.0517:

>>> result.boil_gravity.value
1.09471
>>> result.ibu.value, [part.value for part in result.ibu.parts]
(24.7, [24.7, 0.0])

Had the wort stood on its hops for 20 minutes, falling from 95 to 80 C, both would give more, as if
each had boiled 7 minutes on:

>>> from dataclasses import replace
>>> from recipes.brewing.stand import Stand
>>> stood = figures(replace(pale, stand=Stand(minutes=20.0, from_c=95.0, to_c=80.0)))
>>> [part.value for part in stood.ibu.parts]
[25.3, 3.8]

And the alcohol, the colour, and the enzymes that no mash needs:

>>> result.abv.value
5.08
>>> result.srm.value
8.2
>>> result.power is None
True
"""
