"""Planning as arithmetic: which lots, what weights, what is missing, what to buy.

Nothing here knows a database. Stock is whole milligrams, microlitres or pieces; alpha and other
shares are floats from 0 to 1; days are dates. The same input gives the same answer.

The rooms
---------
hop_line     one hop addition, and the lot it is weighed from
balance      the weight or boil time of every hop addition of a kit from particular lots
moved_time   which whole minutes of a boil give what is asked of a pouch of fixed weight
rounding     which way each of those weights is rounded, chosen together
limits       what is asked and may not be packed; notes: what else a reader must know
remedies     what lifts a limit: another lot, a blend with proportions, an approved substitute
             (remedy: each of them in words; blending: two lots as one)
balances     many kits against one new lot, with numpy (kits_alike, times_alike: the arrays)
lots         first expired, first out; what a divisible need draws
usage        whole units of stock for a number of kits, with overage
kit_sheet    what a kit takes from a set of hop and yeast lots
choice       the fewest lots of one item, then the oldest
cutting      where to change lots
allotment    one run line cut into batches, or what it lacks
shortage     what a whole run lacks of divisible things
horizon      the run lines of weeks to come and the one stock they share
             (serving: run after run, and first expired literally; aims: how good an answer is;
             recheck: what would be wrong with one; lacking: which items hold kits back)
improving    better lots for a horizon than serving run after run
             (most_kits, variety: its integer programmes; relining, lining_up: where to change;
             fewest_batches: the bound; programme, solver: HiGHS; chosen_lots: taken up later)
plan         the whole plan, one function of plan_input: demand (plan_wanted), runs to make
             (plan_making), needs of parts (plan_parts), netting and pegs (plan_netting, plan_pegs,
             plan_supplies), orders (plan_buying); plan_late, plan_remedies, plan_phases and
             plan_causes read it
phased       many items netted through time (supplies: what serves them, in order of use;
             lots_in_turn: the arrays of it); explosion: bills by level; pegging: what serves what
sizing       from net requirements to orders by lot rule, in packs, at price breaks
pitching     what packs of an ageing yeast give a wort
tolerance    how far a weight may be off when a kit is packed

Balancing
---------
The target IBU of a kit is frozen with its revision and never derived from a lot. An addition has
one of four roles, and they are settled in this order:

1. *hold weight* (aroma, flavour, dry hop) keeps its grams.
2. *hold bitterness* gets ``w x alpha_reference / alpha_lot``.
3. *move time*, for pouches sold at a fixed weight, keeps its grams and boils longer or shorter, in
   whole minutes within its limits. Beside an addition that absorbs, each aims at its own reference
   IBU. Where nothing absorbs, these additions do: they share what is left of the target in
   proportion to their reference IBU.
4. *absorb* takes what is then left, shared in proportion to the IBU of the reference weights. It
   is what the whole minutes leave, so that rounding a boil costs the kit nothing.

The alpha that counts is the lot's alpha acid times the form factor of its form. Moving weights go
to the floor or the ceiling of the pouch resolution, moving times to the whole minute below or
above, chosen together: the combination with the least miss of the target, then the least change
in grams from today's sheet, then the least change in minutes, then the lighter.

A weight may not fall below zero nor pass a multiple of its reference, a boil may not leave its
limits. Where the target asks for that, the result holds it at the limit and says so, and the
target is not met; a boil at its limit is only noted while something absorbs the difference. For
each limit *remedies* names, of the lots at hand, another lot, a blend of two with its proportions
and an approved substitute, each with weights that meet the target and amounts that hold the kits.

The spread is one standard deviation, by first-order propagation: the alpha of each lot errs once
for all its additions, the scale (``division / sqrt 12``) once a weighing. The error of the
utilisation formula itself is left out. Alpha acids measured by different methods are never added
up without a note.

A worked example. A kit was written for 20 g of Magnum at 60 minutes (5.0 % alpha, 24 IBU per
gram of alpha acid: 24 IBU) and 15 g of Perle at 15 minutes (4.0 %, 12 IBU per gram:
7.2 IBU). Its target is 31.2 IBU.

>>> from boxwort.figures import NO_BREAK
>>> from datetime import date
>>> from planning.engine.allotment import allot
>>> from planning.engine.balance import HopLine, balance
>>> from planning.engine.kit_sheet import BoundLot
>>> from recipes.brewing.roles import HopRole
>>> def additions(gold_alpha):
...     return [
...         HopLine(
...             line="60", item="gold", name="Magnum at 60 min", role=HopRole.ABSORB,
...             reference_mg=20_000, reference_alpha=0.050, ibu_per_gram=24.0, alpha=gold_alpha,
...         ),
...         HopLine(
...             line="15", item="perle", name="Perle at 15 min",
...             role=HopRole.HOLD_WEIGHT, reference_mg=15_000, reference_alpha=0.040,
...             ibu_per_gram=12.0, alpha=0.040,
...         ),
...     ]

A lot of Magnum at 5.6 % needs 20 x 5.0 / 5.6 = 17.857 g, 17.9 g on a pouch resolution of
0.1 g. Unchanged, the kit would have come out at 34.08 IBU.

>>> result = balance(target_ibu=31.2, lines=additions(0.056), resolution_mg=100)
>>> result.weights
{'60': 17900, '15': 15000}
>>> round(result.ibu_unchanged, 2), round(result.ibu_corrected, 2), round(result.spread_ibu, 2)
(34.08, 31.26, 0.75)

A lot at 2.0 % would need 50 g, more than twice the recipe's 20 g. What helps is found among the
lots at hand: here 40 kits are held by another lot alone, or by a blend that uses the weak one up.

>>> from planning.engine.kit_sheet import BoundKit, balanced
>>> from planning.engine.remedies import remedies
>>> kit = BoundKit(
...     target_ibu=31.2, hop_lines=additions(0.050), bound_items={}, resolution_mg=100,
... )
>>> weak = BoundLot(lot=4, code="FG-4", available=700_000, alpha=0.020)
>>> strong = BoundLot(lot=5, code="FG-5", available=400_000, alpha=0.110)
>>> (limit,) = balanced(kit, {"gold": weak}).limits
>>> for remedy in remedies(
...     limit, kit=kit, lots={"gold": weak}, candidates={"gold": [weak, strong]}, kits=40,
... ):
...     print(remedy.sentence.replace(NO_BREAK, " "))
Weigh lot FG-5 at 11.0 % alpha acid: Magnum at 60 min 9.1 g a kit. 40 kits take 364.0 g of the
400.0 g available; a kit comes to 31.2 IBU.
Blend lots FG-4 at 2.0 % alpha acid and FG-5 at 11.0 % alpha acid, 65 % to 35 %, to 5.2 %: Magnum at
60 min 12.6 g and 6.8 g a kit. 40 kits take 504.0 g of the 700.0 g available and 272.0 g of the
400.0 g available; a kit comes to 31.2 IBU.

A kit sold as one pouch of 28 g of Magnum, boiled 45 minutes, has no other bittering. From the
stronger lot it is boiled for 34.

>>> from recipes.brewing.bitterness import ibu_per_gram
>>> by_minute = {minute: ibu_per_gram(1.050, minute, 20.0) for minute in range(30, 76)}
>>> pouch = HopLine(
...     line="45", item="gold", name="Magnum pouch at 45 min", role=HopRole.MOVE_TIME,
...     reference_mg=28_000, reference_alpha=0.050, alpha=0.056, ibu_per_gram=by_minute[45],
...     minutes=45, minutes_table=by_minute,
... )
>>> result = balance(target_ibu=pouch.reference_ibu, lines=[pouch], resolution_mg=100)
>>> result.weights, result.minutes
({'45': 28000}, {'45': 34})
>>> round(result.ibu_target, 2), round(result.ibu_unchanged, 2), round(result.ibu_corrected, 2)
(14.82, 16.6, 14.8)

Allotment
---------
A lot fixes the weights, so a batch is a stretch of kits without a change of hop or yeast lot, and
one printed sheet is right for all of it. Taking first-expired literally would make many tiny
batches. Instead the kits are walked from the first to the last, and at each batch it is asked for
the kits that remain: the oldest set of single lots that holds them all; else, for each item, the
oldest of the fewest lots that hold them. The batch is as long as the first lot to run out, or
a little shorter where that keeps a later batch from falling under the minimum. A variety that
must change anyway changes where another one does. Every batch has its own exact weights, and
what it takes is subtracted in whole milligrams before the next is begun: no lot is overdrawn.
Lots whose balanced weight may not be packed are passed over. The minimum gives way only where
kits would otherwise be lost.

Forty kits, 600 g of Magnum at 5.0 % that expires first and 400 g at 5.6 %; of Perle
one lot that holds them all. No single lot of Magnum holds 40 kits, the pair does: 30 kits at
20.0 g, then ten at 17.9 g.

>>> lots = {
...     "gold": [
...         BoundLot(lot=1, code="FG-1", available=600_000, alpha=0.050,
...                  last_day=date(2025, 9, 1)),
...         BoundLot(lot=2, code="FG-2", available=400_000, alpha=0.056,
...                  last_day=date(2026, 3, 1)),
...     ],
...     "perle": [BoundLot(lot=3, code="HF-1", available=900_000, alpha=0.040)],
... }
>>> result = allot(
...     kits=40, hop_lines=additions(0.050), bound_items={}, lots_by_item=lots,
...     on=date(2025, 6, 2), target_ibu=31.2, resolution_mg=100, minimum_kits=6,
... )
>>> [(batch.kits, batch.lots["gold"], batch.weights["60"]) for batch in result.batches]
[(30, 1, 20000), (10, 2, 17900)]

Sixty kits are too many; what is possible is cut, and what is missing is said at planning alpha.

>>> result = allot(
...     kits=60, hop_lines=additions(0.050), bound_items={}, lots_by_item=lots,
...     on=date(2025, 6, 2), target_ibu=31.2, resolution_mg=100, minimum_kits=6,
... )
>>> result.kits, [(row.item, row.short, row.kits_possible) for row in result.short]
(52, [('gold', 153800, 52)])

Allocation
----------
The runs of a horizon share one stock; what is reserved or packed is not in it. Of two ways to give
them lots the better one is, in this order: the one that packs more kits for firm orders, by
promised day; more kits; fewer batches under the minimum, which only kits can be worth; fewer
batches; more kits for the lines that are served first; fewer kits whose yeast is below its target;
fewer kits packed while an older lot of the same item is passed over; fewer slivers, lots left with
a kit or more and less than a batch.

It starts from the greedy answer, run after run, firm orders first. Where kits are lost, what is
promised is served day by day, and an integer programme says how many of each line to aim for. Lines
in several batches are served anew, alone or beside one other, from what both give up. Then each
variety has a programme of its own, in which the lots of all lines are chosen anew beside the lots
of their other varieties, and the lines that change are cut anew so that their varieties change lot
at the same kit. With s lots of each variety a line has at least the largest s, and at most 1 + the
sum of (s - 1) batches.

HiGHS solves the programmes, each aim in turn, on one thread, ended by a gap and by nodes and by no
clock: the same question has the same answer. Each answer is reckoned anew in whole units (no lot
overdrawn, none used outside its days, no weight beyond its limits) and kept only where it is
better in the order above, so that it is never worse than the greedy one. Two bounds are stated:
no answer that serves the firm orders as well packs more kits, and none with the same kits of each
line has fewer batches. Both leave out nothing that is possible: weights are taken at their least
and batches may be of any size.

Run 1 wants 12 kits, run 2 wants 8 and run 3 wants 10, of 15 g of Perle each. There are 150 g that
expire first and 300 g. Run after run, run 1 takes the only lot that holds it, run 2 the older one,
and run 3 is cut in two. With runs 1 and 2 from one lot, nobody has to change the scale.

>>> from planning.engine.horizon import Horizon, PackLine
>>> from planning.engine.improving import allocated
>>> old, new = (
...     BoundLot(lot=lot, code=f"HF-{lot}", available=mg, alpha=0.040, last_day=date(2025, lot, 1))
...     for lot, mg in ((8, 150_000), (9, 300_000))
... )
>>> perle = BoundKit(
...     target_ibu=7.2, hop_lines=additions(0.050)[1:], bound_items={}, resolution_mg=100,
... )
>>> found = allocated(Horizon(lines=[
...     PackLine(line=line, on=date(2025, 6, line), kits=kits, kit=perle,
...              lots={"perle": [old, new]}, minimum_kits=2)
...     for line, kits in ((1, 12), (2, 8), (3, 10))
... ]))
>>> found.greedy.batches, found.aims.batches, found.fewest_batches
(4, 3, 3)
>>> {line: [(batch.kits, batch.lots["perle"].code) for batch in batches]
...  for line, batches in found.answer.items()}
{1: [(12, 'HF-9')], 2: [(8, 'HF-9')], 3: [(10, 'HF-8')]}

Requirements
------------
Bills are exploded by low-level code: what so many kits take of an item is known in full before the
item is netted, and each row of a bill is rounded up as it will be when it is reserved. Bills that
go round in a circle are refused, and the items in it are named.

Receipts arrive at the start of a bucket, demand is taken inside it and projected on hand is its
end: net = max(0, gross + safety stock - projected before - scheduled). Stock that will have expired
by the day of a need serves nothing, nor does what is on order before it can be used. Lots are used
first expired, first out; of all orders of use this one serves the most, and lets no more of what
lies in store go off than must: max(0, the most, over all days, of what expires by a day less what
is wanted up to it). What is net is taken to arrive and be used at once; lot rules, a supplier's
packs and minimum and, where that is cheaper in all, price breaks come after.

Hops are wanted by weight where the weight stands on the sheet, and by milligrams of alpha acid
where it follows the lot. In a bucket the weights are taken first; then each lot gives alpha acid at
what it still holds on that day. Yeast is wanted by groups of kits, the pickiest served first: a lot
too weak for one may do for another. Each need is pegged to what serves it, and its pegs add up to
it exactly. An order that should have gone before today is past due: it is named, never dropped.

Twelve kits a week for three weeks take 5 kg of malt each and 1 % over: 60.6 kg a week. In store are
100 kg, of which 70 kg expire after the first week; 25 kg are on order for the third.

>>> import numpy as np
>>> from planning.engine.explosion import Bills, exploded
>>> from planning.engine.phased import Demands, phased
>>> from planning.engine.sizing import LotSizing, sized
>>> from planning.engine.supplies import Supplies
>>> bills = Bills(
...     parent=np.array([0]), component=np.array([1]), packed=np.array([5_000]),
...     overage=np.array([0.01]),
... )
>>> _, malt = exploded(np.array([[12, 12, 12]]), bills, items=2)
>>> malt.tolist()  # grams
[60600, 60600, 60600]
>>> found = phased(
...     Demands(item=np.array([0]), weight=malt[None]),
...     Supplies(
...         item=np.array([0, 0, 0]), quantity=np.array([70_000, 30_000, 25_000]),
...         first=np.array([0, 0, 2]), last=np.array([0, 9, 9]),
...     ),
...     items=1,
... )
>>> found.net[0].tolist(), found.expired[0].tolist(), found.projected[0].tolist()
([0, 30600, 35600], [0, 9400, 0], [39400, 0, 0])

Without regard to expiry 9.4 kg too few would have been bought. In bags of 25 kg, one order for
every two weeks, it is three bags for the second week:

>>> rule = LotSizing(kind="period", period=2, pack_quantity=25_000)
>>> [(order.bucket, order.packs) for order in sized(found.net[0], rule)]
[(1, 3)]
"""
