# SPDX-License-Identifier: GPL-3.0-or-later
"""Holds what is said of a piece, on paper and in the plan document, against all that the job says of it."""

import re
from fractions import Fraction

import expect
from amounts import read_length
from write_job import decimal

LENGTH = r"(~?\d[\d ./'\"-]*(?:mm|in)?)"
POINT = {"long point": "long point", "short point": "short point", "centre": "centre line"}
SIDES = {None: "; long points on the SAME SIDE or on OPPOSITE SIDES? The job does not say: ask before the second mitre",
         "same side": ", long points on the same side", "opposite sides": ", long points on opposite sides"}


def plain(text):
    return re.sub(r"\s+", " ", text)


def words(text):
    """A pattern for these words, wherever a line was broken after a space or a hyphen."""
    return r"(?<!\w)" + re.escape(text).replace(r"\-", r"\- ?") + r"(?!\w)"


def takes_bend(bar, at):
    return bool(bar.supply.bend) and at == 0 and bar.pieces[0].use != "bend end"


def mitred(part):
    return [end for end in part.ends if end.mitre]


def written(job, piece):
    """The dimension of the drawing where the cut is another, 0 where it is the cut: of a piece that was measured the
    true length is all that was written."""
    part = job.parts[piece.part]
    if part.kind not in ("centres", "outside", "clear") and not mitred(part) or expect.is_true(job, piece):
        return 0
    return part.size if round(expect.cut_length(job, part) - part.size) else 0


# --- words: (what, pattern, lengths in it) ---------------------------------------------------------------

def degrees(angle):
    return decimal(Fraction(angle)) + "°"


def turned(end, where):
    return f"mitre {where} {degrees(end.mitre)} off square" if end.mitre else f"{where} stays square"


def bend_of(part):
    text = f"LENGTH straight, {degrees(part.angle)} on radius LENGTH (centre line), LENGTH straight"
    return re.escape(text).replace("LENGTH", LENGTH), [part.straights[0], part.radius, part.straights[1]]


def work_of(job, piece, bent_bar):
    """What is done to a piece after its square cut, in the words of the sheet."""
    out, part = [], job.parts[piece.part]
    if bent_bar:
        out.append(("bent end", rf"Takes the bent end: the {LENGTH} include the bend, along the tube\.", [piece.length]))
    if mitred(part):
        first, second = part.ends
        runs = " to ".join("long point" if end.mitre else "square end" for end in part.ends)
        turn = turned(first, "both ends") if first.mitre == second.mitre else \
            turned(first, "end 1 (datum end)") + ", " + turned(second, "end 2")
        sides = SIDES[part.long_points] if first.mitre and second.mitre else ""
        out.append(("mitre", rf"Cut square to {LENGTH}, {runs}; then {words(turn + sides)}\.", [piece.length]))
        if written(job, piece):
            runs = " to ".join(POINT[end.point] if end.mitre else "square end" for end in part.ends)
            out.append(("dimension", rf"Written as {LENGTH}, {runs}\.", [written(job, piece)]))
    if part.kind == "bent":
        pattern, lengths = bend_of(part)
        out.append(("bend", rf"Cut straight, then bend: {pattern}\.", lengths))
    return out


def brief_of(part):
    """The same in the few words of a label."""
    out = []
    if mitred(part):
        ends = " / ".join(f"mitre {degrees(end.mitre)}" if end.mitre else "square" for end in part.ends)
        both = len(mitred(part)) == 2
        where = f", long points {part.long_points or 'not said'}" if both else ", long point to square end"
        out.append(("mitre", words(ends + where), []))
    if part.kind == "bent":
        pattern, lengths = bend_of(part)
        out.append(("bend", f"bend {pattern}", lengths))
    return out


def planned_as(part, piece):
    return [piece.length - part.allowance, part.allowance]


def measure_of(paper, part, piece, blanks):
    """The line of a piece that is measured first; on a sheet with room for each piece of each bar."""
    planned = rf"planned as {LENGTH} \+ {LENGTH}"
    if paper == "labels":
        return "measure on site before cutting, " + planned
    if paper == "report":
        return "Measure first, cut last: " + planned + ", measured _+"
    return f"MEASURE ON SITE FIRST, CUT LAST: {planned}, measure: " + " ".join(re.escape(blank) + "_{6,}" for blank in blanks)


def client_of(order):
    """`Market stall, for Corner Market Co-op, due 2027-06-11`, of what is known."""
    name, client, due = order
    return name + (f", for {client}" if client else "") + (f", due {due}" if due else "")


def facts_of(job, paper, piece, bent_bar, blanks):
    """All that must stand at a piece, longest first."""
    part, order, out = job.parts[piece.part], job.orders[job.parts[piece.part].order], []
    out += brief_of(part) if paper == "labels" else work_of(job, piece, bent_bar)
    if part.measure_first and not expect.is_true(job, piece):
        out.append(("measure first", measure_of(paper, part, piece, blanks), planned_as(part, piece)))
        out += [("measure first", "measure first", [])] if paper == "report" else []
    if part.remark:
        out.append(("remark", ("" if paper == "labels" else "Remark: ") + words(part.remark), []))
    if paper == "report":  # who it is for stands once, above the bars
        out += [("job", words(order[0]), [])] if job.several else []
    elif paper == "labels" or job.several:
        out.append(("job, client and due", words(client_of(order)), []))
    out += [("section", words(part.section), [])] if part.section else []
    out.append(("label", words(part.label), []))
    return out


def take(report, job, cause, place, text, facts):
    """Takes what must be said out of a text; what is left."""
    rest = plain(text)
    for what, pattern, lengths in facts:
        match = re.search(pattern, rest)
        if not match:
            report.say(f"{cause}: {what} missing", place, pattern, text)
            continue
        for said, nm in zip(match.groups(), lengths):
            if not is_length(job, said, nm):
                report.say(f"{cause}: {what}", place, f"{float(nm)} nm", said)
        rest = rest[:match.start()] + " " + rest[match.end():]
    return rest


def is_length(job, text, nm, unit=None):
    """Does the text say this length?"""
    try:
        return read_length(text, unit, job.grain).is_of(nm)
    except ValueError:
        return False


def check_about(report, job, paper, place, bar, at, text, blanks=()):
    """Is all that is known of a piece said at it, and nothing else that has a number?"""
    piece = bar.pieces[at]
    if piece.use == "bend end":
        if "scrap" not in text:
            report.say(f"{paper}: bend end", place, "scrap", text)
        return
    rest = take(report, job, paper, place, text, facts_of(job, paper, piece, takes_bend(bar, at), blanks))
    if paper == "sheet":  # the drawing of its ends
        for end in mitred(job.parts[piece.part]):
            rest = rest.replace(degrees(end.mitre), "", 1)
    if re.search(r"\d", rest):
        report.say(f"{paper}: a number of no meaning at a piece", place, "none", rest.strip())


# --- the plan document ------------------------------------------------------------------------------------

def ends_of(part):
    out = []
    for end in part.ends:
        one = {"shape": "mitre" if end.mitre else "square"}
        if end.mitre:
            one.update({"angle": decimal(Fraction(end.mitre)), "point": POINT[end.point]})
        if end.fitting:
            one["fitting"] = end.fitting
        out.append(one)
    return out


def members_of(job, bar, at):
    """What the document must say of a piece, besides use, part, length and count; its lengths as numbers."""
    piece = bar.pieces[at]
    if piece.use == "bend end":
        return {}
    part = job.parts[piece.part]
    name, client, due = job.orders[part.order]
    measured = part.measure_first and not expect.is_true(job, piece)
    out = {"job": name, "client": client, "due": due, "section": part.section, "remark": part.remark,
           "measure first": measured, "allowance": part.allowance if measured else 0, "written": written(job, piece),
           "bent bar": takes_bend(bar, at)}
    if any(end.mitre or end.fitting for end in part.ends):
        out["ends"] = ends_of(part)
    if len(mitred(part)) == 2:
        out["long points"] = part.long_points or "not said"
    if part.kind == "bent":
        one = {"straight": part.straights[0], "radius": part.radius, "angle": str(part.angle)}
        out["bend"] = {"bends": [one], "last straight": part.straights[1]}
    return {key: value for key, value in out.items() if value}


def as_numbers(value):
    """A member with its lengths in nanometres."""
    if isinstance(value, dict):
        return int(value["nm"]) if "nm" in value else {key: as_numbers(one) for key, one in value.items()}
    return [as_numbers(one) for one in value] if isinstance(value, list) else value


def check_members(report, job, bar, at):
    """The members of a piece in the plan document, and the words that it gives for people."""
    place, piece = f"bar {bar.number}, piece {at + 1} of {len(bar.pieces)}", bar.pieces[at]
    report.same("plan: number of a piece", place, at + 1, piece.number)
    said = {key: value for key, value in piece.said.items()
            if key not in ("use", "part", "length", "count", "number", "work", "measure")}
    right, said = members_of(job, bar, at), as_numbers(said)
    for key in sorted(set(right) | set(said)):
        report.same(f"plan: {key} of a piece", place, right.get(key), said.get(key))
    facts, planned = [], []
    if piece.use != "bend end":
        part, facts = job.parts[piece.part], work_of(job, piece, takes_bend(bar, at))
        if "measure first" in right:
            planned = [("measure", rf"planned as {LENGTH} \+ {LENGTH}", planned_as(part, piece))]
    for key, rows in (("work", facts), ("measure", planned)):
        rest = take(report, job, f"plan: {key} of a piece", place, piece.said.get(key, ""), rows)
        if rest.strip():
            report.say(f"plan: {key} of a piece", place, "no other words", rest)
