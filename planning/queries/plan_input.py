"""The input of a plan, read in a fixed number of statements."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date, timedelta

import numpy as np

from boxwort.accounts.models import SiteSettings
from boxwort.accounts.queries import site_settings
from boxwort.collecting import uncollected
from planning.engine.plan_input import HouseRules, PlanInput
from planning.queries.plan_kits import kit_rows
from planning.queries.plan_makes import Makes
from planning.queries.plan_offers import open_contracts, plan_offers
from planning.queries.plan_stock import known_items, on_order, pitch_days, stock_on_hand
from planning.queries.plan_wants import (
    first_week_of,
    forecast_grid,
    forecasts,
    open_orders,
    open_runs,
    plan_orders,
    plan_runs,
    weeks_between,
)
from planning.queries.routes import working_days
from planning.queries.supply import house


@uncollected()
def plan_input(on: date, *, suggest: bool = True, also_kits: Iterable[int] = ()) -> PlanInput:
    """Return everything a plan is made from as of ``on``.

    Parameters
    ----------
    suggest: whether runs are suggested for what is demanded.
    also_kits: kits to know that nothing wants yet.
    """
    site, rules, known = site_settings(), house(), known_items()
    until = on + timedelta(weeks=site.horizon_weeks)
    back = max(site.consume_back_weeks, site.consume_forward_weeks)
    first_week = first_week_of(on, back)
    runs, orders = open_runs(), open_orders(first_week)
    wanted = forecasts(first_week, until)
    kit_ids = {
        *also_kits,
        *(line.kit_id for line in runs.lines),
        *(row.kit_id for row in orders if row.kit_id is not None),
        *(kit_id for kit_id, _, _ in wanted),
    }
    kits = kit_rows(known, kit_ids)
    makes = Makes(known=known, kits=kits, pouch=rules.pouch)
    planned, ordered = plan_runs(runs, known, makes), plan_orders(orders, known, makes)
    stock, rows = stock_on_hand(known, rules, on, until), makes.rows()
    found = PlanInput(
        today=on,
        weeks=site.horizon_weeks,
        calendar=working_days(site),
        house=house_rules(site),
        items=known.items,
        kits=kits.kits,
        make_kit=np.array(makes.kit_of, dtype=np.int64),
        rows=rows,
        first_week=first_week,
        forecast=forecast_grid(wanted, kits.place, first_week, weeks_between(first_week, until)),
        orders=ordered.orders,
        order_lines=ordered.lines,
        runs=planned.runs,
        run_lines=planned.lines,
        allotted=planned.allotted,
        lots=stock.lots,
        on_order=on_order(known),
        offers=plan_offers(known),
        contracts=open_contracts(on),
        stand_ins=makes.stand_ins(),
        held=stock.held,
        pitch_item=np.array([pitch.item for pitch in makes.pitches], dtype=np.int64),
        suggest=suggest,
    )
    last = pitch_days(makes.pitches, stock.lots, rules, on, found.buckets)
    return replace(found, pitch_last=last)


def house_rules(site: SiteSettings) -> HouseRules:
    """Return the house's rules of planning."""
    return HouseRules(
        kits_per_day=site.kits_per_day,
        pack_lead_days=site.pack_lead_days,
        consume_back=site.consume_back_weeks,
        consume_forward=site.consume_forward_weeks,
        holding_share=site.holding_share,
    )
