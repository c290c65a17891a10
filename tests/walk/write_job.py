# SPDX-License-Identifier: GPL-3.0-or-later
"""Writes a random job as the file that a shop would write."""

from fractions import Fraction

from amounts import NM, write_money


def decimal(value):
    """A fraction that ends, in decimals."""
    scaled = value * 10**6
    assert scaled.denominator == 1, value
    whole, part = divmod(int(scaled), 10**6)
    return f"{whole}.{part:06d}".rstrip("0").rstrip(".")


def inches(value):
    whole, rest = int(value), value - int(value)
    return f"{whole}" if not rest else f"{rest}" if not whole else f"{whole} {rest}"


def length(job, nm, explicit=False):
    """A length as it is written in the job's unit; `explicit` is one that bears its unit."""
    if job.unit == "mm":
        return decimal(Fraction(nm, NM["mm"])) + (" mm" if explicit else "")
    value = Fraction(nm, NM["in"])
    if value.denominator > 64:
        return decimal(value) + " in"
    if job.unit == "ft" and value >= 12:
        feet, rest = int(value // 12), value % 12
        return f"{feet}' {inches(rest).replace(' ', '-')}\""
    return inches(value) + ('"' if value.denominator > 2 else " in")


def share(ppm):
    return f"{decimal(Fraction(ppm, 10000))} %"


def flow(pairs):
    """One flow map of those pairs that have a value."""
    return "{" + ", ".join(f"{key}: {value}" for key, value in pairs if value not in (None, "")) + "}"


def worth(job, rule):
    if rule[0] == "share":
        return share(rule[1])
    if rule[0] == "rate":
        return f"{write_money(rule[1])} per {length(job, rule[2], True)}"
    if rule[0] == "classes":
        rows = [flow((("from", length(job, at)), ("worth", write_money(money)))) for at, money in rule[1]]
        return "[" + ", ".join(rows) + "]"
    return "none"


def material(job, one):
    pairs = [("id", one.id), ("name", one.name), ("outside", length(job, one.outside)),
             ("wall", length(job, one.wall)), ("density", f"{one.density} kg/m3")]
    pairs += [(key, value) for key, value in (("alloy", one.alloy), ("finish", one.finish)) if value]
    if one.radius:
        pairs.append(("rolled radius", length(job, one.radius)))
    if one.end_bent:
        pairs.append(("end bent", "yes"))
    if one.own_rule:
        pairs += [("keep", length(job, one.keep)), ("leftover worth", worth(job, one.worth))]
    return flow(pairs)


def bar(job, one):
    pairs = [("number" if one.source == "offcut" else "id", one.id), ("material", one.material),
             ("length", length(job, one.length))]
    if one.measured:
        pairs.append(("measured", length(job, one.measured)))
    if one.source == "new":
        pairs.append(("price", write_money(one.price)))
        pairs.append(("pack", one.pack if one.pack > 1 else None))
        if one.breaks:
            rows = [flow((("from", n), ("price", write_money(price)))) for n, price in one.breaks]
            pairs.append(("price breaks", "[" + ", ".join(rows) + "]"))
    else:
        pairs.append(("source", "shelf" if one.source == "shelf" else None))
        pairs.append(("book value", None if one.book is None else write_money(one.book)))
    if one.source != "new" and one.ends != (("mill",) * 2 if one.source == "shelf" else ("sawn",) * 2):
        pairs.append(("ends", f'"{one.ends[0]}, {one.ends[1]}"'))
    if one.trim != job.trim:
        pairs.append(("squaring", length(job, one.trim)))
    if one.bend:
        pairs += [("bend", length(job, one.bend)), ("tail material", one.tail)]
    pairs.append(("use", "no" if one.barred else None))
    pairs += [("count", one.count), ("supplier", one.supplier), ("place", one.place),
              ("owner", one.owner), ("mark", one.mark), ("date", one.date)]
    return flow(pairs)


def end(one):
    if one.fitting:
        return one.fitting
    return f"mitre {one.mitre} {one.point}" if one.mitre else "free"


def part_size(job, part):
    if part.kind == "range":
        return [("length", f"{length(job, part.size, True)} to {length(job, part.most, True)}")]
    if part.kind == "offset":
        return [("offset", flow((("set", length(job, part.size)), ("angle", part.angle))))]
    if part.kind == "bent":
        bend = flow((("radius", length(job, part.radius)), ("angle", part.angle)))
        straights = ", ".join(length(job, nm) for nm in part.straights)
        return [("bent", flow((("bend", bend), ("straights", f"[{straights}]"))))]
    return [(part.kind, length(job, part.size))]


def part_row(job, part):
    pairs = [("label", part.label)] + part_size(job, part)
    pairs.append(("material", " or ".join(part.materials)))
    pairs.append(("at most" if part.post else "count", part.count))
    pairs.append(("worth", write_money(part.worth) if part.post else None))
    if part.ends:
        first, second = (end(one) for one in part.ends)
        pairs += [("both ends", first)] if first == second else [("end 1", first), ("end 2", second)]
    pairs.append(("long points", part.long_points))
    pairs.append(("priority", "yes" if part.priority else None))
    if part.measure_first:
        pairs += [("measure first", "yes"), ("allowance", length(job, part.allowance))]
    return flow(pairs + [("section", part.section), ("remark", part.remark)])


def fitting(job, one):
    pairs = [("id", one.id), ("price", write_money(one.price)), ("supplier", one.supplier)]
    for key, nm in (("take out", one.take_out), ("insert", one.insert), ("overhang", one.overhang)):
        pairs.append((key, length(job, nm) if nm else None))
    pairs.append(("stops short", "1/2 OD" if one.half_ods == 1 else None))
    pairs.append(("from", "outside" if one.outside else None))
    pairs.append(("joins", one.joins if one.joins > 1 else None))
    if one.bushed:
        pairs += [("fits", length(job, 3 * NM["in"])), ("fits with bushing", one.bushed), ("bushing", one.bushing)]
    return flow(pairs)


def supplier(name, terms):
    pairs = [("name", name)]
    for key, value in terms.items():
        plain = key in ("cuts a pack", "free cuts") or isinstance(value, str)
        pairs.append((key, value if plain else write_money(value)))
    return flow(pairs)


def quote(job):
    terms = job.quote
    lines = ["quote:"] + [f"  {key}: {terms[key]}" for key in ("charge", "offcuts", "waste")]
    lines += [f"  {key}: {share(terms[key])}" for key in ("percentage", "markup", "margin") if key in terms]
    if terms["tax"]:
        lines.append("  tax: " + flow((kind, share(rate) if rate else "none") for kind, rate in terms["tax"].items()))
    if terms["round to"]:
        lines.append(f"  round to: {write_money(terms['round to'])}")
    if terms["labour"]:
        lines.append("  labour:")
    for work, milli, rate, order in terms["labour"]:
        who = job.orders[order][0] if job.several else None
        lines.append("    - " + flow((("work", work), ("hours", decimal(Fraction(milli, 1000))),
                                      ("rate", write_money(rate)), ("job", who))))
    return lines


def rows(name, items, indent=""):
    return [f"{indent}{name}:"] + [f"{indent}  - {item}" for item in items] if items else []


def saw_and_rules(job):
    saw = [("kerf", length(job, job.kerf)), ("squaring", length(job, job.trim) if job.trim else None),
           ("grip", length(job, job.grip) if job.grip else None),
           ("end allowance", length(job, job.end_allowance) if job.end_allowance else None),
           ("cost per cut", write_money(job.cut_cost) if job.cut_cost else None),
           ("cost per bar", write_money(job.bar_cost) if job.bar_cost else None),
           ("cost per offcut", write_money(job.offcut_cost) if job.offcut_cost else None)]
    common = next((m for m in job.materials if not m.own_rule), None)
    rules = [("keep", length(job, common.keep) if common else None),
             ("leftover worth", worth(job, common.worth) if common else None),
             ("most new offcuts", job.most_kept), ("most pieces", job.most_pieces),
             ("longest scrap", length(job, job.longest_scrap) if job.longest_scrap else None),
             ("few layouts", share(job.few_layouts) if job.few_layouts else None)]
    return ["saw: " + flow(saw), "rules: " + flow(rules)]


def parts(job):
    if not job.several:
        return rows("parts", [part_row(job, p) for p in job.parts if not p.post]) + \
            rows("posts", [part_row(job, p) for p in job.parts if p.post])
    lines = ["jobs:"]
    for index, (name, client, due) in enumerate(job.orders):
        lines.append(f"  - name: {name}")
        lines += [f"    {key}: {value}" for key, value in (("client", client), ("due", due)) if value]
        mine = [p for p in job.parts if p.order == index]
        lines += rows("parts", [part_row(job, p) for p in mine if not p.post], "    ")
        lines += rows("posts", [part_row(job, p) for p in mine if p.post], "    ")
    return lines


def write(job):
    """The text of the job file."""
    lines = ["dropwise: 1", f"name: {job.name}", f"unit: {job.unit}", f"currency: {job.currency}"]
    if job.unit != "mm":
        lines.append(f"fractions: {job.fractions}")
    if not job.several:
        _, client, due = job.orders[0]
        lines += [f"{key}: {value}" for key, value in (("client", client), ("due", due)) if value]
    lines += saw_and_rules(job)
    lines += rows("materials", [material(job, m) for m in job.materials])
    lines += rows("bars", [bar(job, s) for s in job.supplies if s.source != "offcut"])
    lines += rows("offcuts", [bar(job, s) for s in job.supplies if s.source == "offcut"])
    lines += rows("fittings", [fitting(job, f) for f in job.fittings])
    lines += rows("loose fittings", [flow((("fitting", name), ("count", n),
                                           ("job", job.orders[order][0] if job.several else None)))
                                     for name, n, order in job.loose])
    lines += rows("sections", [flow((("name", name), ("longest", length(job, nm)))) for name, nm in job.sections])
    lines += rows("suppliers", [supplier(name, terms) for name, terms in job.suppliers])
    lines += quote(job) if job.quote else []
    return "\n".join(lines + parts(job)) + "\n"
