# SPDX-License-Identifier: GPL-3.0-or-later
"""Works out anew what each client's share of the tube is, by the way of charging that the job names."""

from collections import Counter
from fractions import Fraction

import expect
from amounts import read_money

PPM = 10**6


def used_by_order(job, bar):
    """Length that each client's job uses of a bar: pieces, the kerf after each, its share of the squared ends."""
    out, room = Counter(), expect.usable(bar.supply)
    pieces = [(p, job.parts[p.part].order if p.use in ("part", "post") else None) for p in bar.pieces]
    mine = sum(piece.length for piece, order in pieces if order is not None)
    for piece, order in pieces:
        room -= piece.length
        kerf = min(job.kerf, room)
        room -= kerf
        if order is not None:
            out[order] += piece.length + kerf + Fraction(expect.trims(bar.supply)[1] * piece.length, mine)
    return out


def share(money, weights):
    """Money in proportion to weights; all to the first where there are none."""
    total = sum(weights.values())
    return {key: Fraction(money) * weight / total for key, weight in weights.items()} if total else {}


def prices(plan, paid):
    """What one bar of each supply costs: a new one as bought, a piece of the shelf what was paid for it, if that is given."""
    out = {row["supply"]["id"]: Fraction(read_money(row["money"]), row["bought"]) for row in plan.document["takes"]}
    out.update((number, value) for number, value in paid.items() if number in out)
    return out


def tube_shares(job, plan, paid):
    """Exact shares of the tube, by client's job; what is missing to what was spent is the shop's."""
    terms, price = job.quote, prices(plan, paid)
    batch = {}
    for bar in plan.bars:
        batch.setdefault(bar.supply.material, Counter()).update(used_by_order(job, bar))
    out = Counter()
    for bar in plan.bars:
        used, each, length = used_by_order(job, bar), price[bar.supply.id], expect.actual(bar.supply)
        if terms["charge"] == "length plus percentage":
            for piece in bar.pieces:
                if piece.use in ("part", "post"):
                    cost = each * piece.length / length * Fraction(PPM + terms["percentage"], PPM)
                    out[job.parts[piece.part].order] += cost
            continue
        weights = batch[bar.supply.material] if terms["waste"] == "by batch" else used
        if terms["charge"] == "whole bars":
            out.update(share(each, weights))
            continue
        for order, nm in used.items():
            out[order] += each * nm / length
        rest = length - sum(used.values())
        if terms["offcuts"] == "shop" and bar.rest == "kept":
            rest -= bar.leftover
        if terms["waste"] != "shop":
            out.update(share(each * rest / length, weights))
    out.update(spare_shares(job, plan, price, batch))
    return out


def spare_shares(job, plan, price, batch):
    """Bars of a pack that stay uncut, where the clients pay them: by batch."""
    out = Counter()
    by_bars = job.quote["charge"] == "whole bars"
    if job.quote["charge"] == "length plus percentage" or job.quote["offcuts"] == "shop":
        return out
    for row in plan.document["takes"]:
        supply = plan.supplies[row["supply"]["index"]]
        if by_bars or job.quote["waste"] != "shop":
            out.update(share(price[supply.id] * (row["bought"] - row["used"]), batch.get(supply.material) or {}))
    return out


def check_tube_shares(report, job, plan, quote, paid):
    """Each client's tube and waste at cost, within a cent for each bar that was rounded."""
    right, slack = tube_shares(job, plan, paid), 100 * (len(plan.bars) + len(job.materials) + 1)
    for index, row in enumerate(quote["jobs"]):
        said = sum(read_money(line["cost"]) for line in row["lines"] if line["kind"] in ("tube", "waste"))
        if abs(said - right[index]) > slack:
            report.say("quote: a client's share of the tube", f"job {row['job']}", f"{float(right[index]) / 1e4:.4f}",
                       f"{said / 1e4:.4f}, by {job.quote['charge']}, waste {job.quote['waste']}, offcuts {job.quote['offcuts']}")
