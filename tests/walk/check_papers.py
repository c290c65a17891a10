# SPDX-License-Identifier: GPL-3.0-or-later
"""Holds cut sheets and labels against the plan: the same bar, piece, length, mark and words on every paper."""

import math
import re
from collections import Counter

import expect
from amounts import read_length, read_money, write_money
from check_piece import check_about, client_of, is_length, plain

WHAT_IS_LEFT = {"kept": "Keep", "scrap": "scrap", "none": "Nothing is left"}
SOURCE = {"new": "new bar", "shelf": "shelf bar", "offcut": "offcut"}


def says(text, words):
    """Are the words in the text, however its lines are broken?"""
    return plain(words) in plain(text) or plain(words) in plain(text).replace("- ", "-")


def lengths_in(job, text):
    """All lengths that a text says."""
    out = []
    for match in re.finditer(r"~?\d[\d ./'-]*(?:mm|in\b|\"|')", text):
        try:
            out.append(read_length(match.group(), job.unit, job.grain))
        except ValueError:
            pass
    return out


def has_length(job, text, nm):
    return any(length.is_of(nm) for length in lengths_in(job, text))


def material_name(job, code):
    material = job.material(code)
    return material.name or material.id


def tube_text(job, code):
    """A tube as papers name it: its name, alloy and finish."""
    material = job.material(code)
    return ", ".join(text for text in (material_name(job, code), material.alloy, material.finish) if text)


def piece_material(job, bar, at):
    return material_name(job, bar.supply.tail if bar.supply.bend and at else bar.supply.material)


# --- what there is to take care of -----------------------------------------------------------------

def named(names):
    """Each once, in order; past six as others."""
    names = list(dict.fromkeys(names))
    return ", ".join(names[:6]) + (" and others" if len(names) > 6 else "")


def kilos(job, bar):
    """By pi (D - t) t L and the density."""
    one, nm = job.material(bar.supply.material), 1e-9
    return math.pi * (one.outside - one.wall) * nm * one.wall * nm * expect.actual(bar.supply) * nm * one.density


def cares(job, plan):
    """What must stand above the first bar: short pieces, heavy bars, long bars, by the limits of common practice."""
    inches, mm = job.unit in ("in", "ft"), 10**6
    short = [job.parts[p.part].label if p.part is not None else "bend end" for bar in plan.bars for p in bar.pieces
             if p.length < max(150 * mm, job.material(bar.supply.material).outside)]
    heavy = [bar for bar in plan.bars if kilos(job, bar) >= 25]
    long = [bar.supply.id for bar in plan.bars if expect.actual(bar.supply) > 3000 * mm]
    if short:
        yield f"Too short to hold: {named(short)} (under {'about 6 in' if inches else '150 mm'}"
    if heavy:
        most = max(kilos(job, bar) for bar in heavy)
        about = f"about {most / 0.45359237:.0f} lb" if inches else f"about {most:.0f} kg"
        up_to = "up to " if len({bar.supply.id for bar in heavy}) > 1 else ""
        yield f"Heavy bars: {named(bar.supply.id for bar in heavy)} ({up_to}{about})"
    if long:
        yield f"Long bars: {named(long)} (over {'about 10 ft' if inches else '3 m'})"


GENERAL = ["codes and licensed practice decide", "Eye and hearing protection"]


def check_general(report, paper, place, text):
    for words in GENERAL:
        if not says(text, words):
            report.say(f"{paper}: caution missing", place, words, plain(text)[-200:])


def check_foot(report, text):
    """Each page of a sheet has the general cautions at its foot."""
    for number, page in enumerate(text.strip("\f").split("\f"), 1):
        check_general(report, "sheet", f"page {number}", page)


def check_care(report, job, plan, paper, text):
    """What the bars and pieces of the plan ask for, above the first bar."""
    wanted = list(cares(job, plan))
    for words in wanted:
        if not says(text, words):
            report.say(f"{paper}: caution missing", "head", words, plain(text)[:200])
    for start in ("Too short to hold:", "Heavy bars:", "Long bars:"):
        if says(text, start) and not any(words.startswith(start) for words in wanted):
            report.say(f"{paper}: caution without a cause", "head", "none", start)


# --- sheet ---------------------------------------------------------------------------------------

def pieces_of(job, block):
    """The pieces of a block one by one: (stop, mark, about)."""
    out = []
    for row in block.rows:
        marks = row.marks + [None] * (row.count - len(row.marks))
        out += [(row.stop, marks[k], row.about) for k in range(row.count)]
        if len(row.marks) > row.count:
            out += [(row.stop, mark, row.about) for mark in row.marks[row.count:]]
    return out


def looks_like(job, block, bar):
    """Is the block that of this bar, whatever number it bears?"""
    if not says(block.head, f"{SOURCE[bar.supply.source]} {bar.supply.id},"):
        return False
    pieces, marks = pieces_of(job, block), bar.marks(job.kerf)
    return WHAT_IS_LEFT[bar.rest] in block.tail and len(pieces) == len(marks) and all(
        is_length(job, stop.removeprefix("plan "), piece.length) and mark and is_length(job, mark, at, job.unit) and
        (piece.use == "bend end" or says(about, job.parts[piece.part].label))
        for (stop, mark, about), piece, at in zip(pieces, bar.pieces, marks))


def blanks_of(block, row):
    """Where a piece that is measured first is written in, for each piece of each bar of a block."""
    bars, first = block.last - block.first + 1, row.first or 1
    for bar in range(block.first, block.last + 1):
        for piece in range(first, first + row.count):
            yield (f"bar {bar}, " if bars > 1 else "") + (f"piece {piece}: " if bars > 1 or row.count > 1 else "")


def check_block_pieces(report, job, paper, block, bar):
    place = f"bar {bar.number}"
    pieces, marks = pieces_of(job, block), bar.marks(job.kerf)
    if not report.same(f"{paper}: pieces of a bar", place, len(bar.pieces), len(pieces)):
        return
    at, blanks = 1, []
    for row in block.rows:
        if row.first is not None:
            report.same(f"{paper}: number of a piece", place, (at, at + row.count - 1), (row.first, row.last))
        blanks += [list(blanks_of(block, row))] * row.count
        at += row.count
    for at, (stop, mark, about) in enumerate(pieces):
        here, piece = f"{place}, piece {at + 1} of {len(pieces)}", bar.pieces[at]
        if not is_length(job, stop.removeprefix("plan "), piece.length, job.unit):
            report.say(f"{paper}: length", here, f"{piece.length} nm", stop)
        if mark is None or not is_length(job, mark, marks[at], job.unit):
            report.say(f"{paper}: running mark", here, f"{marks[at]} nm", mark)
        check_about(report, job, paper, here, bar, at, about, blanks[at])


def check_squaring(report, job, paper, block, bar):
    place, text, supply = f"bar {bar.number}", plain(block.head), bar.supply
    ends = expect.trims(supply)[0]
    if bar.supply.bend:
        if "the bent end is the datum end and is not squared" not in text:
            report.say(f"{paper}: which end of a bent bar is the datum", place, "the bent end", text)
        right = ["square the far end first"] if ends else []
        report.same(f"{paper}: a bent end is not squared", place, right, re.findall("square (?:both ends|the [a-z]+ end) first", text))
    elif ends == 0 and "square" in text:
        report.say(f"{paper}: squaring", place, "none", text)
    elif ends == 2 and "square both ends" not in text:
        report.say(f"{paper}: squaring", place, "both ends", text)
    elif ends == 1 and f"square the {'datum' if supply.ends[0] == 'mill' else 'far'} end" not in text:
        report.say(f"{paper}: squaring", place, "one end", text)
    if ends and not any(has_length(job, part, supply.trim) for part in re.findall(r"square .*? off", plain(block.head))):
        report.say(f"{paper}: squaring by how much", place, f"{supply.trim} nm", text)


def check_numbers(report, job, paper, block, bar):
    """Numbers by themselves in the head of a block: the bars to tick off, then the pieces under their drawing."""
    numbers = [found for text in block.head.strip().splitlines()[2:]
               if re.match(r"\d+( |$)", text) and not lengths_in(job, text)
               for found in re.findall(r"(?<!\S)(\d+)(?!\S)((?: [a-z]+)*)", text)]
    right = [(str(n), "") for n in range(block.first, block.last + 1)] if block.last > block.first else []
    place, pieces = f"bar {bar.number}", numbers[len(right):]
    report.same(f"{paper}: bars to tick off", place, right, numbers[:len(right)])
    shown = [int(n) for n, _ in pieces]
    hidden = [piece.length for n, piece in enumerate(bar.pieces, 1) if n not in shown]
    if shown != sorted(set(shown) & set(range(1, len(bar.pieces) + 1))) or \
            (hidden and shown and max(hidden) >= min(bar.pieces[n - 1].length for n in shown if n < 10)):
        report.say(f"{paper}: numbers of the pieces in the drawing", place, f"1 to {len(bar.pieces)}", shown)
    for n, name in pieces:
        piece = bar.pieces[int(n) - 1] if 0 < int(n) <= len(bar.pieces) else None
        if piece and piece.use != "bend end" and name.strip().removesuffix(" keep") not in ("", "keep", job.parts[piece.part].label):
            report.say(f"{paper}: names of the pieces in the drawing", place, job.parts[piece.part].label, f"{n}{name}")


def check_drawing(report, job, paper, block, bar):
    """Lengths in the drawing of a bar are its pieces' and what it keeps."""
    right = [piece.length for piece in bar.pieces] + [bar.leftover]
    lines = [line for line in block.head.strip().splitlines()[2:] if not re.search("square |datum end|tail:|mm off|in off|\" off", line)]
    for text in lines:
        for said in lengths_in(job, text):
            if not any(said.is_of(nm) for nm in right):
                report.say(f"{paper}: a length in the drawing", f"bar {bar.number}", right, text)


def check_to_write(report, paper, block, bar):
    """Room for number and place of each offcut that is kept."""
    rows = [line for line in block.tail.splitlines() if "number _" in line]
    said = [int(n) for n in re.findall(r"bar (\d+): number _+ place _+", " ".join(rows))]
    right = range(block.first, block.last + 1) if bar.rest == "kept" and block.last > block.first else ()
    report.same(f"{paper}: room for each offcut", f"bar {bar.number}", list(right), said)


def check_block(report, job, paper, block, bar):
    """One block against the bar that it stands for."""
    place, supply = f"bar {bar.number}", bar.supply
    if "…" in block.head + block.tail + "".join(row.about + row.stop for row in block.rows):
        report.say(f"{paper}: text cut short", place, "whole text", plain(block.head))
    which = f"{block.last - block.first + 1} × {SOURCE[supply.source]} {supply.id},"
    if not says(block.head, which):
        report.say(f"{paper}: which bar", place, which, plain(block.head))
    if not has_length(job, block.head.replace(supply.id, "", 1), expect.actual(supply)):
        report.say(f"{paper}: length of the bar", place, f"{expect.actual(supply)} nm", plain(block.head))
    for what, words in (("place", supply.place), ("mark", supply.mark), ("owner", supply.owner),
                        ("material", tube_text(job, supply.material))):
        if words and not says(block.head, words):
            report.say(f"{paper}: {what} of a bar", place, words, plain(block.head))
    check_squaring(report, job, paper, block, bar)
    check_block_pieces(report, job, paper, block, bar)
    check_numbers(report, job, paper, block, bar)
    check_to_write(report, paper, block, bar)
    check_drawing(report, job, paper, block, bar)
    word = WHAT_IS_LEFT[bar.rest]
    left = block.tail.splitlines()[0] if block.tail else ""
    if word not in left or (bar.rest != "none" and not has_length(job, left, bar.leftover)):
        report.say(f"{paper}: what is left", place, f"{bar.rest} {bar.leftover} nm", left)


def block_of(job, blocks, bar):
    """The block under a bar's number; None if it shows another bar."""
    return next((b for b in blocks if b.first <= bar.number <= b.last and looks_like(job, b, bar)), None)


def check_sheet(report, job, plan, blocks, before, paper):
    """A sheet's blocks against the plan. A block under another number is that, and is still read."""
    shown = Counter(n for block in blocks for n in range(block.first, block.last + 1))
    report.same(f"{paper}: bars", "numbers", Counter(bar.number for bar in plan.bars), shown)
    for bar in plan.bars:
        block = block_of(job, blocks, bar)
        if block is None:
            block = next((b for b in blocks if looks_like(job, b, bar)), None)
            if block:
                report.say("sheet: number of a bar", f"{paper}, {bar.supply.id}", f"bar {bar.number} of the plan",
                           f"bar {block.first} to {block.last} of the sheet")
            else:
                block = next((b for b in blocks if b.first <= bar.number <= b.last), None)
        if block:
            check_block(report, job, paper.split(",")[0], block, bar)
    check_tally(report, job, plan, blocks)


def check_head(report, job, plan, before):
    """What stands above the first bar: kerf, bars and cuts in all, and what to fetch."""
    text, totals = " ".join(before), plan.totals()
    kerf = re.search(r"kerf ([^,]*),", text)
    if not kerf or not is_length(job, kerf.group(1), job.kerf):
        report.say("sheet: kerf", "head", f"{job.kerf} nm", kerf and kerf.group(1))
    right = " ".join(f"{n} {word}{'' if n == 1 else 's'}" for n, word in
                     ((totals["bar count"], "bar"), (totals["cut count"], "cut")))
    if not re.search(rf"\b{right}\b", text):
        report.say("sheet: bars and cuts in all", "head", right, text)
    check_clients(report, job, "sheet", before)
    check_care(report, job, plan, "sheet", text)
    check_fetch(report, job, plan, before)


def check_clients(report, job, paper, lines):
    """Whose jobs these are, by when: a line each."""
    right = [client_of(order) for order in job.orders if order[1] or order[2]]
    said = [line.strip() for line in lines if re.search(", (for|due) ", line) and not line.startswith("plan ")]
    report.same(f"{paper}: clients", "head", right, said)


def check_plan_number(report, job, plan, heads):
    """Each page says which plan it is of, and whose it is where that is one client's."""
    number, replaced = plan.document.get("number"), plan.document.get("replaces")
    name = f"plan {number}" if number else r"plan [0-9a-f]{8}"
    name += f", in place of {replaced}" if number and replaced else ""
    _, client, due = job.orders[0]
    whose = (f" for {client}" if client else "") + ("," if client and due else "") + (f" due {due}" if due else "")
    for text in heads:
        if not re.fullmatch(name + ("" if job.several else re.escape(whose)), text):
            report.say("sheet: number of the plan", "head of a page", name + whose, text)


def fetch_lines(before):
    """The list of what to fetch, each entry as one text, however many lines of the paper it takes."""
    lines = []
    for line in before:
        if re.match(r"\d+ × (new bar|shelf bar|offcut) ", line):
            lines.append(line)
        elif lines:
            lines[-1] += line if re.search(r"\w-$", lines[-1]) else f" {line}"  # "6061-" and "T6" are one word
    return lines


def check_fetch(report, job, plan, before):
    """The list of what to fetch: so many of each, and where."""
    used = Counter(id(bar.supply) for bar in plan.bars)
    lines = fetch_lines(before)
    report.same("sheet: fetch", "lines", sum(count > 0 for count in used.values()), len(lines))
    for supply in plan.supplies:
        if not used[id(supply)]:
            continue
        start, material = f"{used[id(supply)]} × {SOURCE[supply.source]} {supply.id},", tube_text(job, supply.material)
        line = next((text for text in lines if text.startswith(start)), None)
        rest = line and line[len(start):].replace(f" {material}", "", 1)
        if line is None or not has_length(job, rest, expect.actual(supply)) or \
                not says(line, supply.place or "") or not re.search(rf" {re.escape(material)}(,|$| [\d.]+ (kg|lb|g|oz))", line):
            report.say("sheet: fetch", supply.id, f"{start} {expect.actual(supply)} nm, {supply.place}", line)
        elif line:
            check_weights(report, supply, used[id(supply)], weight_of(job, supply), line)


def weight_of(job, supply):
    """Of one bar or piece, in grams: the ring of the tube times its length; None where its measures are not known."""
    tube = job.material(supply.material)
    if not (tube.outside and tube.wall and tube.density):
        return None
    ring = math.pi * (tube.outside - tube.wall) * tube.wall / 1e18  # square metres
    return ring * expect.actual(supply) / 1e9 * tube.density * 1000


GRAMS = {"kg": 1000, "g": 1, "lb": 453.59237, "oz": 28.349523125}


def check_weights(report, supply, count, one, line):
    """What one weighs and what all weigh, to the four figures that a weight from nominal sizes is told with."""
    right = [] if one is None else [one, one * count]
    said = [float(number) * GRAMS[unit] for number, unit in re.findall(r"(\d[\d.]*) (kg|g|lb|oz)\b", line)][-2:]
    if len(right) != len(said) or any(abs(a - b) > max(6e-4 * a, 0.6) for a, b in zip(right, said)):
        report.say("sheet: weights of what to fetch", supply.id, right, line)


def check_tally(report, job, plan, blocks):
    """After the last bar, each part that is made: section, length, how many. After a true length was said a part may
    stand there with two."""
    made = Counter()
    for piece in (one for bar in plan.bars for one in bar.pieces if one.part is not None and one.use in ("part", "post")):
        part = job.parts[piece.part]
        made[piece.part, None if part.kind == "range" or part.post else piece.length] += 1
    lines = [line for line in (blocks[-1].tail if blocks else "").splitlines() if line.rstrip().endswith("......")]
    rows = [row for row in (re.match(r"(.*?)(\d+) \.+$", line) for line in lines) if row]
    for (index, length), count in sorted(made.items(), key=lambda one: (one[0][1] is None, not job.parts[one[0][0]].section)):
        part = job.parts[index]
        row = next((row for row in rows if row.group(1).startswith(part.label) and int(row.group(2)) == count
                    and says(row.group(1), part.section or "")
                    and (length is None or has_length(job, row.group(1)[len(part.label):], length)
                         or (part.measure_first and not lengths_in(job, row.group(1)[len(part.label):])))), None)
        if row is None:
            report.say("sheet: tally", part.label, f"{part.section or ''} {length} nm {count}", [one.group(0) for one in rows])
        else:
            rows.remove(row)
    report.same("sheet: tally", "rows", 0, len(rows))


def numbers_in(text):
    """"7 to 9, 12" as numbers."""
    spans = [span.split(" to ") for span in text.split(", ")]
    return {n for span in spans for n in range(int(span[0]), int(span[-1]) + 1)}


def check_to_come(report, plan, blocks, before, right):
    """A sheet of a held plan says of exactly these bars that they are still to be delivered: at the bar, and in the
    list of what to fetch how many of each."""
    said = set()
    for block in blocks:
        mine = set(range(block.first, block.last + 1))
        found = re.search(r"still to come(?:: bars? (\d+(?: to \d+)?(?:, \d+(?: to \d+)?)*))?", plain(block.head))
        said |= (numbers_in(found.group(1)) if found.group(1) else mine) if found else set()
    report.same("sheet: which bars are still to come", "bars", sorted(right), sorted(said))
    count = Counter(bar.supply.id for bar in plan.bars if bar.number in right)
    lines = re.findall(r"\d+ × (?:new bar|shelf bar|offcut) .*?(?=\d+ × (?:new bar|shelf bar|offcut) |$)", " ".join(before))
    fetch = {}
    for line in lines:
        found = re.search(r"(?:(\d+) of them )?still to come", line)
        supply = next((s for s in plan.supplies if re.match(rf"\d+ × {SOURCE[s.source]} {re.escape(s.id)},", line)), None)
        if found and supply:
            fetch[supply.id] = int(found.group(1) or re.match(r"\d+", line).group())
    report.same("sheet: how many of what to fetch are still to come", "fetch", dict(count), fetch)


# --- the report of a plan --------------------------------------------------------------------------

def check_worth(report, job, bar, text):
    """What an offcut that is kept counts for."""
    right = expect.worth(job, expect.left_material(job, bar.supply), bar.leftover)
    said = re.search(r"worth (\d+\.\d+) ", text)
    if (read_money(said.group(1)) if said else 0) != right:
        report.say("report: worth of an offcut", f"bar {bar.number}", write_money(right), text)


def check_last_chips(report, job, bar, text):
    """Where the last cut takes all that is left, how much that is."""
    said = re.search(r"the last (.*?) become chips", text)
    last = expect.usable(bar.supply) - bar.marks(job.kerf)[-1]
    if said and not is_length(job, said.group(1), last):
        report.say("report: what becomes chips", f"bar {bar.number}", f"{last} nm", text)


def check_report(report, job, plan, blocks, text):
    """The report that `plan` prints shows each bar under its number, as the document has it."""
    kerf = re.search(r"kerf of (.*?) counted", text)
    if plan.bars and job.kerf and (not kerf or not is_length(job, kerf.group(1), job.kerf)):
        report.say("report: kerf", "cut", f"{job.kerf} nm", kerf and kerf.group(1))
    if plan.bars:
        check_care(report, job, plan, "report", text[:text.find("\n  Bar")])
        check_general(report, "report", "head", text[:text.find("\n  Bar")])
        head = text[text.index("\nCut\n"):].partition("\n  Bar")[0]
        check_clients(report, job, "report", head.splitlines())
    most = re.search(r"A bar gives at most (\d+) piece", " ".join(text.split()))
    report.same("report: most pieces of a bar", "cut", plan.bars and job.most_pieces or None, int(most.group(1)) if most else None)
    shown = Counter(n for block in blocks for n in range(block.first, block.last + 1))
    report.same("report: bars", "numbers", Counter(bar.number for bar in plan.bars), shown)
    for bar in plan.bars:
        block = next((b for b in blocks if b.first <= bar.number <= b.last), None)
        if block is None:
            continue
        place, supply = f"bar {bar.number}", bar.supply
        title = block.head.splitlines()[0]
        count = block.last - block.first + 1
        which = ("" if count == 1 else f"{count} × ") + f"{SOURCE[supply.source].replace('new bar', 'bar')} {supply.id},"
        tube = job.material(supply.material)
        material = tube_text(job, tube.id) if len(job.materials) > 1 or tube.alloy or tube.finish else None
        for what, words in (("which bar", which), ("place", supply.place), ("mark", supply.mark),
                            ("owner", supply.owner), ("material", material)):
            if words and not says(title, words):
                report.say(f"report: {what} of a bar", place, words, title)
        if not has_length(job, title.replace(supply.id, "", 1), expect.actual(supply)):
            report.say("report: length of the bar", place, f"{expect.actual(supply)} nm", title)
        check_squaring(report, job, "report", block, bar)
        check_block_pieces(report, job, "report", block, bar)
        word = {"kept": "keep as an offcut", "scrap": "scrap", "none": "nothing"}[bar.rest]
        if word not in block.tail or (bar.rest != "none" and not has_length(job, block.tail, bar.leftover)):
            report.say("report: what is left", place, f"{bar.rest} {bar.leftover} nm", block.tail)
        check_last_chips(report, job, bar, block.tail)
        if bar.rest == "kept":
            check_worth(report, job, bar, block.tail)


# --- labels ----------------------------------------------------------------------------------------

def check_label(report, job, plan, lines, bar, at):
    text, piece = " ".join(lines), bar.pieces[at]
    place = f"label of bar {bar.number}, piece {at + 1} of {len(bar.pieces)}"
    if not says(text, piece_material(job, bar, at)):
        report.say("labels: material", place, piece_material(job, bar, at), text)
    named = numbered(plan, f"bar {bar.number}, piece {at + 1} of {len(bar.pieces)}")
    if not says(text, named):
        report.say("labels: number missing", place, named, text)
    rest = plain(text).replace(named, " ", 1).replace(plain(piece_material(job, bar, at)), " ", 1)
    said = next((length for length in re.findall(r"(?<![^ ~])~?\d[\d ./'\"-]*(?:mm|in)?", rest)
                 if is_length(job, length, piece.length)), None)
    if said is None:
        report.say("labels: length", place, f"{piece.length} nm", text)
    check_about(report, job, "labels", place, bar, at, rest.replace(said or "", " ", 1))


def numbered(plan, words):
    """With the number of the plan, once it has one."""
    return f"plan {plan.document['number']}, {words}" if plan.document.get("number") else words


def labelled(job, bar, at, lines):
    """Can these lines be the label of that piece?"""
    text, piece = " ".join(lines), bar.pieces[at]
    return says(text, job.parts[piece.part].label) and has_length(job, text, piece.length) and \
        says(text, piece_material(job, bar, at)) and \
        (not job.several or says(text, job.orders[job.parts[piece.part].order][0])) and \
        says(text, job.parts[piece.part].section or "")


def check_labels(report, job, plan, labels):
    """One label a part or post, one an offcut to keep."""
    left = [lines for lines in labels if lines]
    for bar in plan.bars:
        for at, piece in enumerate(bar.pieces):
            if piece.use not in ("part", "post"):
                continue
            named = f"bar {bar.number}, piece {at + 1} of {len(bar.pieces)}"
            lines = next((l for l in left if says(" ".join(l), named)), None) or \
                next((l for l in left if labelled(job, bar, at, l)), None)
            if lines is None:
                report.say("labels: a piece without a label", named, job.parts[piece.part].label, "none")
                continue
            left.remove(lines)
            check_label(report, job, plan, lines, bar, at)
    check_offcut_labels(report, job, plan, left)


def check_offcut_labels(report, job, plan, left):
    for bar in plan.bars:
        if bar.rest != "kept":
            continue
        material = expect.left_material(job, bar.supply)
        name = material.name or material.id
        lines = next((l for l in left if "ffcut" in " ".join(l) and has_length(job, " ".join(l), bar.leftover)
                      and says(" ".join(l), name)), None)
        if lines is None:
            report.say("labels: an offcut without a label", f"bar {bar.number}", f"{bar.leftover} nm", "none")
            continue
        left.remove(lines)
        if not says(" ".join(lines), numbered(plan, f"left of bar {bar.number}")):
            report.say("labels: an offcut's label without its bar", f"bar {bar.number}", "its number", " ".join(lines))
        if not says(" ".join(lines), job.name):
            report.say("labels: an offcut's label without its job", f"bar {bar.number}", job.name, " ".join(lines))
    for lines in left:
        report.say("labels: one too many", "labels", "none", " ".join(lines))
