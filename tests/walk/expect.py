# SPDX-License-Identifier: GPL-3.0-or-later
"""What must come out of a job, worked out anew from the job alone: lengths, marks, worth, money.

The rules are those that FORMAT.md and the public headers state; nothing here asks the program."""

import math
from collections import Counter
from dataclasses import dataclass
from fractions import Fraction

PPM = 10**6


# --- take-off ----------------------------------------------------------------------------------

def at_fitting(job, part, end):
    """What a fitted end adds to the drawn dimension. A fitting of a job here meets the part's own tube."""
    fitting = next(one for one in job.fittings if one.id == end.fitting)
    half = Fraction(job.material(part.materials[0]).outside, 2)
    centre = {"centres": 0, "outside": -half, "clear": half}[part.kind]
    reference = centre + (half if fitting.outside else 0)
    return reference - fitting.take_out - fitting.half_ods * half + fitting.insert + fitting.overhang


def at_mitre(job, part, end):
    """From the point that the dimension runs to, on to the long point."""
    outside = job.material(part.materials[0]).outside
    reach = outside * math.tan(math.radians(end.mitre))
    return {"long point": 0, "centre": reach / 2, "short point": reach}[end.point]


def cut_length(job, part):
    """The cut length without allowance, in nanometres: exact, or within one where a root is in it."""
    size = part.size
    if part.kind == "offset":
        return size / math.sin(math.radians(part.angle))
    if part.kind == "bent":
        return sum(part.straights) + part.radius * math.radians(part.angle)
    for end in part.ends:
        if end.fitting:
            size += at_fitting(job, part, end)
        elif end.mitre:
            size += at_mitre(job, part, end)
    return size


def lengths(job, part):
    """Least and greatest length that the saw may cut for a part, allowance counted."""
    low = cut_length(job, part)
    high = part.most if part.kind == "range" else low
    return low + part.allowance, high + part.allowance


def is_true(job, piece):
    """Was this piece of a part that is measured first given its true length?"""
    return piece.length in job.true.get(piece.part, ())


def is_drawn(part):
    return part.kind not in ("length", "range") or bool(part.ends)


def fittings_needed(job):
    """Pieces of each fitting: ends of a client's parts by what one joins, rounded up; and bushings."""
    total = {fitting.id: 0 for fitting in job.fittings}
    for order in range(len(job.orders)):
        ends = {fitting.id: 0 for fitting in job.fittings}
        bushings = dict(ends)
        for part in job.parts:
            if part.order != order or part.post:
                continue
            for end in part.ends:
                if end.fitting:
                    ends[end.fitting] += part.count
                    fitting = next(one for one in job.fittings if one.id == end.fitting)
                    if fitting.bushed in part.materials:
                        bushings[fitting.bushing] += part.count
        for fitting in job.fittings:
            total[fitting.id] += -(-ends[fitting.id] // fitting.joins) + bushings[fitting.id]
    for name, count, _ in job.loose:
        total[name] += count
    return total


# --- bars --------------------------------------------------------------------------------------

@dataclass
class Piece:
    use: str  # part, post, surplus, bend end
    part: int  # index into the job's parts; None for a bend end
    length: int
    said: dict = None  # what the plan document says of it
    number: int = 0  # on its bar, as the document counts it


@dataclass
class Bar:
    """One bar of a plan, under its own number."""
    number: int
    supply: object
    pieces: list
    rest: str  # none, scrap, kept
    leftover: int
    layout: int

    def marks(self, kerf):
        """Where the far end of each piece lies from the datum end."""
        at, out = 0, []
        for piece in self.pieces:
            at += piece.length
            out.append(at)
            at += kerf
        return out


def actual(supply):
    return supply.measured or supply.length


def trims(supply):
    """How many ends are squared, and what that takes."""
    ends = sum(end == "mill" for end in supply.ends[supply.bend > 0:]) if supply.trim else 0  # never the bent one
    return ends, ends * supply.trim


def usable(supply):
    return actual(supply) - trims(supply)[1]


def after_last(job, bar):
    """Leftover, chips and cuts of a bar by the saw's arithmetic; None if it does not fit."""
    n = len(bar.pieces)
    room = usable(bar.supply) - sum(piece.length for piece in bar.pieces) - job.kerf * (n - 1)
    known = bar.supply.measured or bar.supply.source == "offcut"
    held = max(job.grip, 0 if known else job.end_allowance)
    if room < 0 or (held and room < job.kerf + held):
        return None
    chips = job.kerf * (n - 1) + min(job.kerf, room)
    return max(0, room - job.kerf), chips, n - 1 + (room > 0) + trims(bar.supply)[0]


def left_material(job, supply):
    return job.material(supply.tail if supply.bend else supply.material)


def worth(job, material, leftover):
    """What a leftover counts for: the rule, and never more than the same length costs new."""
    if leftover < material.keep:
        return 0
    new = [(least_price(bar), actual(bar)) for bar in job.supplies
           if bar.source == "new" and bar.material == material.id and not bar.bend]
    caps = [price * leftover // length for price, length in new]
    rule = material.worth
    if rule[0] == "rate":
        base = rule[1] * leftover // rule[2]
    elif rule[0] == "share":
        base = min((rule[1] * price * leftover // (length * PPM) for price, length in new), default=0)
    elif rule[0] == "classes":
        base = max((money for at, money in rule[1] if at <= leftover), default=0)
    else:
        base = 0
    return min([base] + caps)


def to_make(job, made):
    """(part, least length) of what is still to be made, pieces of known length by that. made: lengths of what was
    cut, {index of a part: list}."""
    for index, part in enumerate(job.parts):
        cut = made.get(index, ())
        true = list((Counter(job.true.get(index, ())) - Counter(cut)).elements())
        if part.count - len(cut) - len(true) > 0:
            yield part, int(lengths(job, part)[0])
        yield from ((part, length) for length in true)


def counted(job, supply, book, made):
    """What a plan counts for a piece of the shelf: what was paid, or what it would be worth with the shortest part
    off it that is still to be made, so that none is cut only to be put back."""
    shortest = min((length for part, length in to_make(job, made)
                    if {supply.material, supply.tail} & set(part.materials)), default=0)
    rest = usable(supply) - shortest - job.kerf
    return max(book, worth(job, left_material(job, supply), rest) if rest > 0 else 0)


def least_price(bar):
    return min([bar.price] + [price for _, price in bar.breaks])


def price_at(bar, count):
    reached = [price for start, price in bar.breaks if start <= count]
    return reached[-1] if reached else bar.price


def to_buy(bar, used):
    """How many bars are paid where so many are used: whole packs, and more where a break makes it cheaper."""
    most = max([used] + [start for start, _ in bar.breaks]) + bar.pack
    if bar.count is not None:
        most = min(most, bar.count)
    counts = [n for n in range(bar.pack, most + 1, bar.pack) if n >= used]
    return min(counts, key=lambda n: (n * price_at(bar, n), n), default=None)


# --- the order ---------------------------------------------------------------------------------

def order_lines(job, bought, fittings=True):
    """By supplier: [(kind, item, quantity, money)] of what is bought, {bar id: count}; of the plan of a rest the
    bars alone."""
    by_supplier = {}
    for bar in job.supplies:
        if bar.source == "new" and bought.get(bar.id):
            count = bought[bar.id]
            line = ("bars", bar.id, count, count * price_at(bar, count))
            by_supplier.setdefault(bar.supplier, []).append(line)
    for fitting in job.fittings if fittings else ():
        count = fittings_needed(job)[fitting.id]
        if count:
            by_supplier.setdefault(fitting.supplier, []).append(
                ("fitting", fitting.id, count, count * fitting.price))
    for name, terms in job.suppliers:
        if name in by_supplier:
            by_supplier[name] += charges(job, terms, by_supplier[name])
    return by_supplier


def charging(job):
    """Suppliers that ask for more than their goods cost."""
    return {name for name, terms in job.suppliers
            if terms.get("least order") or terms.get("freight")
            or (terms.get("small order under") and terms.get("small order charge"))
            or (terms.get("cuts a pack") and (terms.get("cut charge") or terms.get("least cut charge")))}


def charged(job, bought, fittings=True):
    """What each supplier that charges adds to its goods, by name."""
    lines = order_lines(job, bought, fittings)
    return {name: sum(line[3] for line in lines[name] if line[0] not in ("bars", "fitting"))
            for name in charging(job) if name in lines}


def spare_worth(job, bar, bought, used):
    """Worth of the bars of a supplier that charges that stay whole beyond the packs that are opened."""
    if bar.bend or bar.supplier not in charging(job):
        return 0
    material = next(one for one in job.materials if one.id == bar.material)
    return (bought - used) // bar.pack * bar.pack * worth(job, material, actual(bar))


def charges(job, terms, lines):
    """What a supplier adds to the goods: cuts, least order, small order, freight."""
    goods, out = sum(line[3] for line in lines), []
    packs = sum(line[2] // next(b.pack for b in job.supplies if b.id == line[1])
                for line in lines if line[0] == "bars")
    cuts = packs * terms.get("cuts a pack", 0)
    paid = max(0, cuts - terms.get("free cuts", 0)) if terms.get("cut charge") else 0
    if cuts:
        money = max(paid * terms["cut charge"], terms.get("least cut charge", 0)) if paid else 0
        out.append(("cuts", None, cuts, money))
    if goods < terms.get("least order", 0):
        out.append(("minimum", None, 1, terms["least order"] - goods))
    if goods < terms.get("small order under", 0):
        out.append(("surcharge", None, 1, terms["small order charge"]))
    free = terms.get("free freight from")
    if terms.get("freight") and not (free and goods >= free):
        out.append(("freight", None, 1, terms["freight"]))
    return out
