# SPDX-License-Identifier: GPL-3.0-or-later
"""Holds a plan document against the job: fit, demand, supply, lengths and money, each worked out anew."""

import re
from collections import Counter

import expect
from check_piece import check_members
from amounts import read_money, write_money


def money(value):
    return write_money(value) if isinstance(value, int) else str(value)


def check_fit(report, job, bar):
    """Does the bar hold its pieces, and is what it leaves said right?"""
    place = f"bar {bar.number} of {bar.supply.id}"
    after = expect.after_last(job, bar)
    if after is None:
        report.say("plan: a bar is overfilled", place, f"usable {expect.usable(bar.supply)} nm",
                   f"pieces {[piece.length for piece in bar.pieces]}")
        return
    left = after[0]
    report.same("plan: leftover", place, left, bar.leftover)
    keep = expect.left_material(job, bar.supply).keep
    right = ("none",) if left == 0 else ("scrap",) if left < keep else ("kept", "scrap")
    if bar.rest not in right or (bar.rest == "scrap" and left >= keep and job.most_kept is None):
        report.say("plan: what becomes of a leftover", place, f"{left} nm where {keep} is kept", bar.rest)
    if job.longest_scrap and job.longest_scrap < left < keep:
        report.say("plan: a middling leftover", place, f"none between {job.longest_scrap} and {keep}", left)


def check_pieces(report, job, bar, done):
    """Is each piece one of the job, of its material and length, and in its place on the bar?"""
    late = False
    given = sum(piece.use != "bend end" for piece in bar.pieces)
    if job.most_pieces is not None and given > job.most_pieces:
        report.say("plan: pieces of a bar", f"bar {bar.number}", f"at most {job.most_pieces}", given)
    for at, piece in enumerate(bar.pieces):
        place = f"bar {bar.number}, piece {at + 1} of {len(bar.pieces)}"
        check_members(report, job, bar, at)
        if piece.use == "bend end":
            report.same("plan: bend end", place, (0, bar.supply.bend), (at, piece.length))
            continue
        part = job.parts[piece.part]
        report.same("plan: label of a piece", place, part.label, piece.said["part"]["label"])
        material = bar.supply.material if at == 0 or not bar.supply.bend else bar.supply.tail
        if material not in part.materials:
            report.say("plan: material", place, f"{part.label} takes {part.materials}", material)
        low, high = expect.lengths(job, part)
        if not low - 1 <= piece.length <= high + 1 and not expect.is_true(job, piece):
            report.say("plan: length", place, f"{part.label} {low} to {high}", piece.length)
        if piece.use in ("part", "post"):
            report.same("plan: use", place, "post" if part.post else "part", piece.use)
            done[piece.part] += 1
        waits = part.measure_first and not expect.is_true(job, piece)
        if late and not waits:
            report.say("plan: measured first is cut last", place, "a piece to be measured before it", part.label)
        late = late or (waits and not (at == 0 and bar.supply.bend))


def check_demand(report, job, done, already):
    for index, part in enumerate(job.parts):
        count, place = done[index] + already[index], f"part {index} {part.label}"
        if part.post and count > part.count:
            report.say("plan: posts", place, f"at most {part.count}", count)
        if not part.post:
            report.same("plan: demand", place, part.count, count)


def check_takes(report, job, plan, already_bought):
    """What is taken and bought, at the prices of the job. Returns the money of new bars and of the shelf's. Of a
    supplier that charges, any number of whole packs that is enough may be bought.
    A piece that the job lists stands twice in the plan of a rest: supplies are told apart by their index."""
    index = {id(supply): at for at, supply in enumerate(plan.supplies)}
    used = Counter(index[id(bar.supply)] for bar in plan.bars)
    rows = {row["supply"]["index"]: row for row in plan.document["takes"]}
    free = {at for at, supply in enumerate(plan.supplies)
            if supply.source == "new" and supply.supplier in expect.charging(job)}
    report.same("plan: takes", "takes", sorted(used), sorted(at for at in rows if used[at] or at not in free))
    bars = taken = 0
    for at, supply in enumerate(plan.supplies):
        if not used[at] and not (at in free and at in rows):
            continue
        row, place = rows.get(at), f"take of {supply.id}"
        if supply.barred:
            report.say("plan: what is not to be used", place, "none of it", used[at])
        if supply.source == "new":
            count = expect.to_buy(supply, used[at]) or 0
            if at in free and row and row["bought"] % supply.pack == 0 and used[at] <= row["bought"] and \
                    row["bought"] <= (supply.count or row["bought"]):
                count = row["bought"]
            cost = count * expect.price_at(supply, count)
            bars += cost
        else:
            count, cost = used[at], read_money(row["money"]) if row else 0
            if row and supply.counted:
                report.same("plan: a piece of the shelf at its price", place, used[at] * supply.price, cost)
            taken += cost
            if count > (supply.count or 0):
                report.say("plan: more than there are", place, supply.count, count)
        if row:
            said = (row["used"], row["bought"], read_money(row["money"]))
            report.same("plan: takes", place, (used[at], count, cost), said)
    return bars, taken


def sum_lengths(job, plan):
    """The totals of a plan in lengths and counts, bar by bar."""
    out = Counter()
    for bar in plan.bars:
        _, chips, cuts = expect.after_last(job, bar) or (0, 0, 0)
        out["length in"] += expect.actual(bar.supply)
        out["length in trim"] += expect.trims(bar.supply)[1]
        out["length in chips"] += chips
        out["bar count"] += 1
        out["cut count"] += cuts
        for piece in bar.pieces:
            out["length in " + {"part": "parts", "post": "posts"}.get(piece.use, "scrap")] += piece.length
        out["length in " + ("kept" if bar.rest == "kept" else "scrap")] += bar.leftover
        out["kept count"] += bar.rest == "kept"
    return out


def check_totals(report, job, plan, bars, taken):
    said, right = plan.totals(), sum_lengths(job, plan)
    handling = sum(job.offcut_cost if bar.supply.source == "offcut" else job.bar_cost for bar in plan.bars)
    right.update({"bars": bars, "taken": taken, "cuts": right["cut count"] * job.cut_cost + handling})
    for bar in plan.bars:
        if bar.rest == "kept":
            right["kept"] += expect.worth(job, expect.left_material(job, bar.supply), bar.leftover)
        for piece in bar.pieces:
            right["posts"] += job.parts[piece.part].worth if piece.use == "post" else 0
    bought = {row["supply"]["index"]: row["bought"] for row in plan.document["takes"]}
    used = Counter(id(bar.supply) for bar in plan.bars)
    charged = expect.charged(job, {plan.supplies[at].id: n for at, n in bought.items()}, "rest" not in plan.document)
    spare = sum(expect.spare_worth(job, plan.supplies[at], n, used[id(plan.supplies[at])])
                for at, n in bought.items() if plan.supplies[at].source == "new")
    right["value"] = bars + sum(charged.values()) + taken + right["cuts"] - right["kept"] - right["posts"] - spare
    said_order = plan.document.get("order", {"charges": "0.00", "spare": "0.00"})
    report.same("plan: charges", "order", (sum(charged.values()), spare),
                (read_money(said_order["charges"]), read_money(said_order["spare"])))
    for name in said:
        report.same(f"plan: total {name}", "totals", right[name], said[name])
    parts = ("parts", "posts", "kept", "scrap", "trim", "chips")
    report.same("plan: lengths balance", "totals", said["length in"], sum(said[f"length in {p}"] for p in parts))
    if job.most_kept is not None and right["kept count"] > job.most_kept:
        report.say("plan: new offcuts", "totals", f"at most {job.most_kept}", right["kept count"])
    groups = plan.document["groups"]
    apart = sum(amount for name, amount in charged.items()
                if not any(one.source == "new" and one.supplier == name for one in job.supplies))
    report.same("plan: groups add up", "groups", said["value"], sum(read_money(g["value"]) for g in groups) + apart)


def check_numbers(report, plan):
    numbers = [bar.number for bar in plan.bars]
    report.same("plan: numbers of bars", "layouts", list(range(1, len(numbers) + 1)), sorted(numbers))


def check_plan(report, job, plan, already=None, already_bought=None):
    """`already`: what earlier plans of the job have given, {part index: count}."""
    done = Counter()
    check_numbers(report, plan)
    for bar in plan.bars:
        check_fit(report, job, bar)
        check_pieces(report, job, bar, done)
    check_demand(report, job, done, already or Counter())
    bars, taken = check_takes(report, job, plan, already_bought or Counter())
    check_totals(report, job, plan, bars, taken)


def check_brought(report, job, plan, shelf, earlier=None, made=None):
    """Does the document bring pieces along as they lie on the shelf? shelf: {number: Piece of read_shelf};
    earlier: the plan that one of a rest replaces; made: lengths of what is cut, {index of a part: list}."""
    for row in plan.document.get("shelf", []):
        supply = next(one for one in plan.supplies if one.counted and one.id == row["id"])
        piece = shelf.get(supply.id)
        if piece is None:
            report.say("plan: shelf piece", supply.id, "not on the shelf", "in the plan")
            continue
        source = "shelf" if piece.kind == "bar" else "offcut"
        right = (source, piece.material, piece.length, piece.measured or 0, piece.ends, piece.place, piece.owner, piece.mark)
        said = (supply.source, supply.material, supply.length, supply.measured, supply.ends, supply.place, supply.owner,
                supply.mark)
        report.same("plan: shelf piece", supply.id, right, said)
        came = {"shelf": "put on the shelf|delivered for plan [0-9]+", "offcut": "put on the shelf|left of [^ ,]+"}[source]
        if not re.fullmatch(f"({came}), [0-9]{{4}}-[0-9]{{2}}-[0-9]{{2}}", supply.paid_from):
            report.say("plan: where a book value comes from", supply.id, f"right {came}", f"said {supply.paid_from}")
        report.same("plan: book value of a shelf piece", supply.id, 0 if piece.owner else piece.value, supply.book)
        before = earlier and next((one for one in earlier.supplies[::-1] if one.id == supply.id), None)
        check_counted(report, job, supply, piece, earlier and (before or "new"), made or {})


def check_counted(report, job, supply, piece, before, made):
    """Is what a plan counts for a piece what it should be, with the reason? In the plan of a rest a piece counts as
    it did in the plan before, and so does one that was bought for it and came."""
    right = expect.counted(job, supply, supply.book, made)
    reason = "leftover" if right > supply.book else "client" if piece.owner else "as paid"
    if before and before != "new" and before.counted:
        right, reason = before.price, before.counted
        if reason == "as paid" and right != supply.book:
            reason = "before"
    elif before and (before != "new" or supply.source == "shelf"):  # listed by the job, or bought and here
        right = supply.price if before == "new" or before.book is None else expect.counted(job, before, before.book, {})
        reason = "as paid" if right == supply.book else supply.counted if supply.counted == "bought" else "before"
    report.same("plan: why a shelf piece counts otherwise", supply.id, reason, supply.counted)
    if abs(right - supply.price) > 1:
        report.say("plan: what is counted for a shelf piece", supply.id, write_money(right), write_money(supply.price))


# --- take-off ----------------------------------------------------------------------------------

def check_takeoff(report, job, document):
    drawn = [part for part in job.parts if expect.is_drawn(part)]
    report.same("takeoff: parts", "parts", [part.label for part in drawn], [row["label"] for row in document["parts"]])
    for part, row in zip(drawn, document["parts"]):
        right, said = expect.cut_length(job, part), int(row["cut"]["nm"])
        if abs(right - said) > 1:
            report.say("takeoff: cut length", part.label, f"right {float(right)}", f"said {said}")
        steps = sum(int(step["amount"]["nm"]) for step in row["steps"])
        report.same("takeoff: steps add up", part.label, said, steps)
        report.same("takeoff: allowance", part.label, part.allowance, int(row["allowance"]["nm"]))
    needed = {name: count for name, count in expect.fittings_needed(job).items() if count}
    said = Counter()
    for row in document["fittings"]:
        said[row["fitting"]] += row["count"]
    report.same("takeoff: fittings", "fittings", needed, dict(said))
    check_sections(report, job, document)


def check_sections(report, job, document):
    rows = {row["section"]: row for row in document["sections"]}
    for name in {part.section for part in job.parts if not part.post}:
        mine = [part for part in job.parts if part.section == name and not part.post]
        row = rows.get(name)
        if row is None:
            report.say("takeoff: sections", f"section {name}", f"{len(mine)} rows of parts", "not listed")
            continue
        report.same("takeoff: section's pieces", name, sum(part.count for part in mine), row["pieces"])
        longest = max(expect.lengths(job, part)[1] for part in mine)
        if abs(longest - int(row["longest"]["nm"])) > 1:
            report.say("takeoff: section's longest", name, float(longest), row["longest"]["nm"])
        limit = dict(job.sections).get(name)
        if limit is not None:
            report.same("takeoff: over the longest", name, longest > limit, bool(row["over"]))


def over_long(job):
    """Labels of parts that are longer than their section allows."""
    limits = dict(job.sections)
    return [part.label for part in job.parts
            if part.section in limits and expect.lengths(job, part)[1] > limits[part.section]]


def check_limits_said(report, job, where, text):
    """Are the limits of sections that are passed said by this command too?"""
    for label in over_long(job):
        if "over the longest" not in text and "longest piece" not in text:
            report.say("sections' limits are not checked", where, f"{label} is too long for its section", "nothing is said")
