# SPDX-License-Identifier: GPL-3.0-or-later
"""Seeded random shop jobs, small but with all that a job file can say, and the shelf they meet."""

import random
from dataclasses import dataclass, field
from fractions import Fraction

from amounts import NM, write_money

MONEY = 10000
CLIENTS = ("Harbour Lights Trio", "Corner Market Co-op", "Tidewater Radio")
JOBS = ("Trio rack", "Market stall", "Broadcast desk")
SUPPLIERS = ("Quay Metals", "Northgate Tube")
NAMES = ("upright", "rail", "brace", "leg", "sill", "cradle", "tie", "bridge", "arm", "strut")
REMARKS = ("both ends flattened 30 mm", "deburr inside", "takes the mallet bag", "drill 8 mm at the middle")
PLACES = ("rack 1", "rack 2 B", "bin 3", "long rack")
DAY = "2027-05-03"


@dataclass
class Material:
    id: str
    name: str = None
    outside: int = 0
    wall: int = 0
    radius: int = 0
    density: int = 0  # kg/m3
    end_bent: bool = False
    alloy: str = None
    finish: str = None
    keep: int = 0
    worth: tuple = ("none",)  # none | share, ppm | rate, money, nm | classes, [(from, worth)]
    own_rule: bool = False


@dataclass
class Supply:
    id: str
    material: str
    source: str  # new, shelf, offcut
    length: int
    measured: int = 0
    price: int = 0
    book: int = None
    counted: str = None  # of one that a plan brings from the shelf: why its price is not its book value
    paid_from: str = None  # of such a one: where its book value comes from
    count: int = None  # None: no limit
    barred: bool = False  # not to be used this time
    pack: int = 1
    breaks: list = field(default_factory=list)
    ends: tuple = ("mill", "mill")
    trim: int = 0
    bend: int = 0
    tail: str = None
    supplier: str = None
    place: str = None
    owner: str = None
    mark: str = None
    date: str = None


@dataclass
class End:
    fitting: str = None
    mitre: int = 0
    point: str = "long point"


@dataclass
class Part:
    label: str
    order: int
    kind: str  # length, range, centres, outside, clear, offset, bent
    size: int
    materials: list
    count: int
    most: int = 0
    angle: int = 0
    radius: int = 0
    straights: tuple = ()
    ends: tuple = ()
    long_points: str = None  # of two mitred ends: same side, opposite sides
    section: str = None
    remark: str = None
    measure_first: bool = False
    allowance: int = 0
    priority: bool = False
    post: bool = False
    worth: int = 0


@dataclass
class Fitting:
    id: str
    take_out: int = 0
    insert: int = 0
    overhang: int = 0
    half_ods: int = 0
    outside: bool = False
    joins: int = 1
    price: int = 0
    supplier: str = None
    bushing: str = None
    bushed: str = None


@dataclass
class Stock:
    """A piece that lies on the shelf before the job."""
    number: str
    material: str
    kind: str
    length: int
    measured: int
    ends: tuple
    value: int
    place: str = None
    owner: str = None
    mark: str = None
    date: str = None


@dataclass
class Job:
    seed: int
    way: str  # shelf: plan from it; listed: the job lists pieces of it; paper: no shelf at all
    unit: str
    fractions: int
    currency: str
    name: str
    kerf: int
    trim: int
    grip: int
    cut_cost: int
    most_kept: int
    longest_scrap: int
    few_layouts: int
    most_pieces: int = None  # on a bar
    end_allowance: int = 0
    bar_cost: int = 0  # of taking up a bar, and an offcut
    offcut_cost: int = 0
    orders: list = field(default_factory=list)  # (name, client, due)
    several: bool = False
    materials: list = field(default_factory=list)
    supplies: list = field(default_factory=list)
    parts: list = field(default_factory=list)
    fittings: list = field(default_factory=list)
    loose: list = field(default_factory=list)  # (fitting, count, order)
    sections: list = field(default_factory=list)  # (name, longest)
    suppliers: list = field(default_factory=list)
    quote: dict = None
    stock: list = field(default_factory=list)
    true: dict = field(default_factory=dict)  # {index of a part: true lengths that were measured}

    @property
    def grain(self):
        """By how much a length that is printed with ~ may be off."""
        return NM["mm"] // 200 if self.unit == "mm" else Fraction(NM["in"], 2 * self.fractions)

    def material(self, name):
        return next(material for material in self.materials if material.id == name)


class Bench:
    """The sizes of one unit: what a shop of millimetres or of inches would draw."""

    def __init__(self, unit):
        self.metric = unit == "mm"
        self.unit = unit

    def of(self, mm, inches):
        """So many millimetres, or so many inches, by the unit."""
        return int(mm * NM["mm"]) if self.metric else int(Fraction(inches) * NM["in"])

    def between(self, rng, low_mm, high_mm):
        """A length on the grid of a tape: half millimetres or sixteenths."""
        if self.metric:
            step = rng.choice((1, 1, 1, 5, Fraction(1, 2)))
            return int(rng.randint(int(low_mm / step), int(high_mm / step)) * step * NM["mm"])
        return rng.randint(int(low_mm / 25.4 * 16), int(high_mm / 25.4 * 16)) * NM["in"] // 16


def make_materials(rng, bench, job):
    tubes = [("al38", "aluminium 38 x 2.5", bench.of(38, "1.5"), bench.of(2.5, "0.125"), 2700),
             ("al48", "aluminium 48 x 3", bench.of(48, "1.875"), bench.of(3, "0.125"), 2700),
             ("st32", "steel 32 x 2", bench.of(32, "1.25"), bench.of(2, "0.0625"), 7850)]
    for code, name, outside, wall, density in rng.sample(tubes, rng.choice((1, 2, 2, 3))):
        job.materials.append(Material(code, rng.choice((name, None)), outside, wall, 0, density))
    first = job.materials[0]
    if rng.random() < 0.25:
        job.materials.append(Material("hoop", "rolled hoop", first.outside, first.wall,
                                      bench.of(900, 36), first.density))
    if rng.random() < 0.35:
        job.materials.append(Material("cane", rng.choice((None, "bent top tube")), first.outside,
                                      first.wall, 0, first.density, True))


def dress_materials(rng, job):
    """Alloy and finish, drawn apart: they bear on no plan."""
    for material in job.materials:
        material.alloy = rng.choice((None, "S235" if material.id.startswith("st") else "6061-T6"))
        material.finish = rng.choice((None, None, "mill", "brushed along"))


def make_worth(rng, bench):
    kind = rng.choice(("none", "share", "share", "rate", "classes"))
    if kind == "share":
        return ("share", rng.choice((250000, 400000, 500000, 333300)))
    if kind == "rate":
        return ("rate", rng.randint(40, 200) * 100, bench.of(100, 4))
    if kind == "classes":
        return ("classes", [(bench.of(400, 16), 15000), (bench.of(1000, 40), 50000)])
    return ("none",)


def make_rules(rng, bench, job):
    keep, worth = bench.of(*rng.choice(((250, 10), (350, 14), (450, 18)))), make_worth(rng, bench)
    for material in job.materials:
        material.keep, material.worth = keep, worth
        if rng.random() < 0.2:
            material.own_rule = True
            material.keep, material.worth = bench.of(500, 20), make_worth(rng, bench)


def make_new_bars(rng, bench, job):
    sizes = ((6000, 240), (4000, 144), (3000, 96))
    for material in job.materials:
        kinds = 1 if material.radius or material.end_bent else rng.choice((1, 2, 2))
        for mm, inches in rng.sample(sizes[:2] if kinds == 1 else sizes, kinds):
            bar = Supply(f"{material.id}-{mm // 1000}", material.id, "new", bench.of(mm, inches))
            bar.price = int(mm * rng.uniform(0.005, 0.009) * 100) * (MONEY // 100)
            bar.trim = job.trim
            bar.supplier = rng.choice(SUPPLIERS + (None,))
            if rng.random() < 0.35:
                bar.pack = rng.choice((2, 3, 4))
            if rng.random() < 0.3:
                bar.breaks = [(bar.pack * 2, bar.price * 9 // 10 // 100 * 100)]
            if rng.random() < 0.12:
                bar.measured = bar.length + bench.of(12, "0.5")
            if rng.random() < 0.08:
                bar.count = 12 * bar.pack
            if rng.random() < 0.1 and job.trim:
                bar.trim = job.trim * 2
            if material.end_bent:
                bar.bend, bar.tail = bench.of(240, 10), job.materials[0].id
            job.supplies.append(bar)


def make_stock(rng, bench, job):
    """Pieces on the shelf; those of the way `listed` and `paper` stand in the job as well."""
    straight = [m for m in job.materials if not m.end_bent]
    for index in range(rng.randint(0, 9)):
        material = rng.choice(straight)
        whole = rng.random() < 0.25
        length = bench.of(6000, 240) if whole else bench.between(rng, 380, 2600)
        piece = Stock(f"K-{index + 1:02d}", material.id, "bar" if whole else "offcut", length, 0,
                      ("mill", "mill") if whole else rng.choice((("sawn", "sawn"),) * 4 + (("sawn", "mill"),)),
                      rng.randint(50, 900) * (MONEY // 100), rng.choice(PLACES + (None,)))
        if whole:
            piece.value = rng.randint(1500, 4000) * (MONEY // 100)
            piece.measured = rng.choice((0, 0, length - bench.of(7, "0.25")))
        if rng.random() < 0.1:
            piece.owner = rng.choice(CLIENTS)
        if rng.random() < 0.2:
            piece.mark = f"H{rng.randint(10, 99)}"
        piece.date = rng.choice((None, "2026-11-02", "2027-02-25"))
        job.stock.append(piece)


def list_stock(rng, job):
    for piece in job.stock:
        bar = Supply(piece.number, piece.material, "shelf" if piece.kind == "bar" else "offcut",
                     piece.length, piece.measured, count=1, ends=piece.ends, trim=job.trim,
                     place=piece.place, owner=piece.owner, mark=piece.mark, date=piece.date)
        bar.book = piece.value if rng.random() < 0.7 else None
        if job.way == "paper" and rng.random() < 0.3:
            bar.count = 2
        job.supplies.append(bar)
    job.supplies.sort(key=lambda bar: bar.source == "offcut")


def make_orders(rng, job):
    job.several = rng.random() < 0.6
    for index in range(rng.choice((2, 3)) if job.several else 1):
        due = f"2027-06-{10 + index}" if rng.random() < 0.7 else None
        client = CLIENTS[index] if rng.random() < 0.8 else None
        job.orders.append((JOBS[index] if job.several else job.name, client, due))


def make_fittings(rng, bench, job):
    names = [material.id for material in job.materials if not material.end_bent]
    price = lambda: rng.randint(60, 700) * (MONEY // 100)
    job.fittings = [
        Fitting("tee", half_ods=1, price=price(), supplier=rng.choice(SUPPLIERS + (None,))),
        Fitting("corner", take_out=bench.of(60, "2.5"), insert=bench.of(38, "1.5"), joins=3,
                price=price(), supplier=rng.choice(SUPPLIERS)),
        Fitting("foot", outside=True, take_out=bench.of(5, "0.25"), price=price()),
        Fitting("pass", overhang=bench.of(100, 4), price=price(), supplier=SUPPLIERS[0])]
    if rng.random() < 0.4:
        job.fittings.append(Fitting("sleeve", price=price(), supplier=SUPPLIERS[1]))
        job.fittings.append(Fitting("reducer", half_ods=1, price=price(), bushing="sleeve",
                                    bushed=rng.choice(names)))
    if rng.random() < 0.5:
        job.loose.append(("foot", rng.randint(1, 4), rng.randrange(len(job.orders))))


def draw(rng, bench, job, part):
    """Makes a drawn part of one that is given by its cut length."""
    part.kind = rng.choice(("centres", "centres", "outside", "clear", "mitre", "mitre", "offset", "bent"))
    plain = [f.id for f in job.fittings if not f.bushing and f.id != "sleeve"]
    bushed = [f.id for f in job.fittings if f.bushed in part.materials]
    if part.kind in ("centres", "outside", "clear"):
        part.size = bench.between(rng, 450, 1900)
        part.ends = tuple(End(rng.choice(plain + bushed + [None])) for _ in range(2))
    elif part.kind == "mitre":
        part.kind = "length"
        angle = rng.choice((45, 45, 30, 22.5))
        point = rng.choice(("long point", "short point", "centre"))
        one = End(None, angle, point)
        part.ends = (one, rng.choice((one, one, End(), End(None, 30, "long point"))))
        if part.ends[1].mitre:
            part.long_points = rng.choice((None, "same side", "opposite sides"))
    elif part.kind == "offset":
        part.size, part.angle = bench.between(rng, 200, 700), rng.choice((30, 45, 60))
    else:
        part.angle, part.radius = rng.choice((90, 60, 45)), bench.of(200, 8)
        part.straights = (bench.between(rng, 200, 500), bench.between(rng, 200, 500))


def make_part(rng, bench, job, straight):
    part = Part(rng.choice(NAMES), rng.randrange(len(job.orders)), "length", bench.between(rng, 180, 2100),
                [rng.choice(straight).id], rng.choice((1, 2, 2, 3, 4, 6)))
    if len(straight) > 1 and rng.random() < 0.25:
        part.materials = [m.id for m in rng.sample(straight, 2)]
    roll = rng.random()
    if roll < 0.15:
        part.kind, part.most = "range", part.size + bench.of(40, "1.5")
    elif roll < 0.45 and len(part.materials) == 1:
        draw(rng, bench, job, part)
    if rng.random() < 0.15 and part.kind in ("length", "centres"):
        part.measure_first, part.allowance = True, bench.of(25, 1)
    if rng.random() < 0.5:
        part.section = rng.choice(("left", "right", "middle"))
    if rng.random() < 0.3:
        part.remark = rng.choice(REMARKS)
    return part


def make_parts(rng, bench, job):
    straight = [m for m in job.materials if not m.end_bent and not m.radius]
    parts, pieces = [], rng.randint(5, 34)
    while sum(part.count for part in parts) < pieces:
        parts.append(make_part(rng, bench, job, straight))
    for material in job.materials:
        if material.end_bent or material.radius:
            parts.append(Part("swan" if material.end_bent else "hoop", rng.randrange(len(job.orders)),
                              "length", bench.between(rng, 500, 1400), [material.id], rng.choice((1, 2, 3))))
    for order in range(len(job.orders)):
        if not any(part.order == order for part in parts):
            parts.append(make_part(rng, bench, job, straight))
            parts[-1].order = order
    if rng.random() < 0.45:
        low = bench.between(rng, 300, 400)
        parts.append(Part(rng.choice(("microphone arm", "cup bar")), rng.randrange(len(job.orders)),
                          "range", low, [rng.choice(straight).id], rng.choice((1, 2, 4)),
                          low + bench.of(80, 3), post=True, worth=rng.randint(50, 300) * (MONEY // 100)))
    if rng.random() < 0.04:  # longer than any bar: there is no plan for it
        parts[0].kind, parts[0].size, parts[0].ends, parts[0].most = "length", bench.of(6500, 260), (), 0
    parts.sort(key=lambda part: (part.order, part.post))
    job.parts = parts


def make_terms(rng, bench, job):
    for name in SUPPLIERS:
        if rng.random() < 0.7:
            terms = {"freight": 220000, "prices of": "2027-04-26", "valid until": "2027-06-30"}
            terms.update(rng.choice(({}, {"free freight from": 3000000})))
            terms.update(rng.choice(({}, {"least order": 500000})))
            terms.update(rng.choice(({}, {"small order under": 2500000, "small order charge": 150000})))
            terms.update(rng.choice(({}, {"cut charge": 15000, "cuts a pack": 1, "free cuts": 2,
                                          "least cut charge": 40000})))
            job.suppliers.append((name, terms))
    if rng.random() < 0.2:
        job.sections.append(("left", bench.of(1200, 48)))
    if rng.random() < 0.85:
        job.quote = make_quote(rng, job)


def make_quote(rng, job):
    charge = rng.choice(("whole bars", "length used", "length plus percentage"))
    waste = rng.choice(("by bar", "by batch") if charge == "whole bars" else ("by bar", "by batch", "shop"))
    quote = {"charge": charge, "waste": waste, "offcuts": rng.choice(("client", "shop"))}
    if charge == "length plus percentage":
        quote.update({"percentage": 120000, "waste": "shop"})
    if quote["waste"] == "shop":
        quote["offcuts"] = "shop"
    quote.update(rng.choice(({}, {"markup": 350000}, {"markup": 333300}, {"margin": 250000})))
    rates = {kind: 200000 for kind in ("tube", "cuts", "fittings", "delivery", "labour", "waste")}
    if rng.random() < 0.3:
        rates["waste"] = None
        rates["labour"] = 90000
    quote["tax"] = rng.choice((None, rates, rates))
    quote["round to"] = rng.choice((None, None, 500, 5000))
    quote["labour"] = [("sawing and deburring", rng.choice((500, 1250, 2500)), 420000, order)
                       for order in range(len(job.orders)) if rng.random() < 0.5]
    return quote


def make_wishes(rng, bench, job):
    """Rules of single parts and bars. What is barred is one of several, so that there is a plan."""
    if rng.random() < 0.25:
        job.end_allowance = bench.of(3, "1/8")
    if rng.random() < 0.3:
        job.bar_cost, job.offcut_cost = rng.choice(((1500, 2500), (0, 4000), (20000, 20000)))
    for part in job.parts:
        part.priority = not part.post and rng.random() < 0.1
    for bar in job.supplies:
        others = [one for one in job.supplies if one is not bar and one.material == bar.material and not one.barred]
        longer = any(one.source == "new" and one.length >= bar.length and not one.count for one in others)
        bar.barred = longer and rng.random() < 0.1


def make(seed):
    """The job of a seed."""
    rng = random.Random(seed)
    unit = rng.choice(("mm", "mm", "mm", "in", "in", "ft"))
    bench = Bench(unit)
    job = Job(seed, rng.choice(("shelf",) * 7 + ("listed",) * 2 + ("paper",)), unit,
              64 if bench.metric else rng.choice((16, 32, 64)), "EUR" if bench.metric else "USD",
              f"Batch {seed}", bench.of(*rng.choice(((2, "1/16"), (2.5, "3/32"), (3, "1/8"), (3, "1/8")))),
              bench.of(*rng.choice(((0, 0), (4, "1/4"), (5, "1/4")))),
              bench.of(*rng.choice(((0, 0), (0, 0), (40, 2)))), rng.choice((0, 3000, 3500)),
              rng.choice((None, None, None, 2, 5)), bench.of(*rng.choice(((0, 0),) * 9 + ((60, 2),))),
              rng.choice((0, 0, 0, 5000)))
    job.most_pieces = random.Random(f"pieces {seed}").choice((None, None, None, None, 2, 4, 7))
    make_materials(rng, bench, job)
    make_rules(rng, bench, job)
    make_new_bars(rng, bench, job)
    make_orders(rng, job)
    make_stock(rng, bench, job)
    if job.way != "shelf":
        list_stock(rng, job)
    make_fittings(rng, bench, job)
    make_parts(rng, bench, job)
    make_terms(rng, bench, job)
    make_wishes(random.Random(f"{seed} wishes"), bench, job)
    dress_materials(random.Random(f"{seed} dress"), job)
    return job
