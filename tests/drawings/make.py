#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Makes the drawings in data/, and there cases.json: what must come of each.

Half of them are written by ezdxf, a general library for DXF (Debian: python3-ezdxf), in several versions of the
format; the others tag by tag by this script, so that each trap is in the file. All of it is invented. Parts,
joints and lengths are worked out here by hand; nothing is read back from the program. The tests read the files
that are kept and need no ezdxf.
usage: make.py
"""
import json
import math
import os

import ezdxf

ezdxf.options.write_fixed_meta_data_for_testing = True
HERE = os.path.join(os.path.dirname(os.path.abspath(__file__)), "data")
CASES = []
MM = 1000000
IN = 25400000

# --- a DXF file, tag by tag -----------------------------------------------------------------------------------


def tags(*pairs):
    return "".join(f"{code:3d}\n{value}\n" for code, value in pairs)


def section(name, body):
    return tags((0, "SECTION"), (2, name)) + body + tags((0, "ENDSEC"))


def header(units=None, version="AC1009"):
    body = tags((9, "$ACADVER"), (1, version))
    return section("HEADER", body + (tags((9, "$INSUNITS"), (70, units)) if units is not None else ""))


def line(layer, a, b, handle=None):
    return tags((0, "LINE"), *([(5, handle)] if handle else []), (8, layer), (10, a[0]), (20, a[1]), (30, a[2] if len(a) > 2 else 0.0),
                (11, b[0]), (21, b[1]), (31, b[2] if len(b) > 2 else 0.0))


def drawing(entities, units=4, before=""):
    return header(units) + before + section("ENTITIES", entities) + tags((0, "EOF"))


def write(name, text, encoding="utf-8"):
    with open(os.path.join(HERE, name), "wb") as out:
        out.write(text.encode(encoding))


def library(name, version, units, draw, layers=()):
    doc = ezdxf.new(version)
    doc.units = units
    for layer in layers:
        doc.layers.add(layer) if isinstance(layer, str) else doc.layers.add(layer[0], **layer[1])
    draw(doc, doc.modelspace())
    doc.saveas(os.path.join(HERE, name))


def case(file, trap, parts, joints=(), job="", cuts=None, fittings=None, remarks=(), options=(), extra=""):
    """parts: [label, count, layer, centre line in nm, ends]; cuts: [label, count, cut in nm]; remarks: severity and
    what stands in it. `job`: materials, fittings and joints of a job that names the drawing with `extra`."""
    CASES.append({"file": file, "trap": trap, "parts": parts, "joints": list(joints), "job": job, "cuts": cuts, "fittings": fittings or {},
                  "remarks": [list(remark) for remark in remarks], "options": list(options), "extra": extra})


def nm(value):
    """The nearest nanometre, half up: a length of a drawing."""
    return math.floor(value + 0.5)


TUBE = "materials: [{id: al38, outside: 38 mm, wall: 2.5 mm}]\n"

# 1. A gate: a closed polyline on the layer of its material, mitred corners, one rail notched between its sides.
library("gate.dxf", "R2010", 4, lambda doc, m: (
    m.add_lwpolyline([(0, 0), (1200, 0), (1200, 900), (0, 900)], close=True, dxfattribs={"layer": "al38"}),
    m.add_line((0, 450), (1200, 450), dxfattribs={"layer": "al38"})), ["al38"])
case("gate.dxf", "a closed polyline is four tubes; a mitre at 45 degrees adds half the tube's 38 mm at each end; a notch on a tube as thick "
     "as the rail ends on that tube's centre line",
     [["P1", 2, "al38", 1200 * MM, ["corner with al38", "corner with al38"]],
      ["P2", 1, "al38", 1200 * MM, ["T on al38", "T on al38"]],
      ["P3", 2, "al38", 900 * MM, ["corner with al38", "corner with al38"]]],
     job=TUBE + "joints: [{meeting: corner, end: mitre}, {meeting: T, end: notch}]\n",
     cuts=[["P1", 2, 1238 * MM], ["P2", 1, 1200 * MM], ["P3", 2, 938 * MM]])


# 2. A crate in space, R12: no unit in the file, polylines in space and lines, a corner of three tubes at each of 8 points.
def crate(doc, m):
    for z in (0, 400):
        m.add_polyline3d([(0, 0, z), (1000, 0, z), (1000, 600, z), (0, 600, z)], close=True, dxfattribs={"layer": "crate"})
    for x in (0, 1000):
        for y in (0, 600):
            m.add_line((x, y, 0), (x, y, 400), dxfattribs={"layer": "crate"})


library("crate.dxf", "R12", 0, crate, ["crate"])
case("crate.dxf", "no unit in the file: said beside it; three tubes at each corner; a fitting that joins three counts once for three ends",
     [["P1", 4, "crate", 1000 * MM, ["corner with crate", "corner with crate"]],
      ["P2", 4, "crate", 600 * MM, ["corner with crate", "corner with crate"]],
      ["P3", 4, "crate", 400 * MM, ["corner with crate", "corner with crate"]]],
     job=TUBE + "fittings: [{id: cube, take out: 21, joins: 3}]\njoints: [{meeting: corner, end: cube}]\n",
     cuts=[["P1", 4, 958 * MM], ["P2", 4, 558 * MM], ["P3", 4, 358 * MM]], fittings={"cube": 8}, options=["--unit", "mm"], extra=", unit: mm")
case("crate.dxf", "the same without a word about the unit: refused, never guessed", None,
     remarks=[["wrong", "does not say its unit"]])

# 3. A handrail in inches, its rail drawn in four pieces from post to post: one tube. Tee fittings stop half a tube short.
posts = "".join(line("post", (40 * i, 0), (40 * i, 42), f"A{i}") for i in range(5))
rail = "".join(line("rail", (40 * i, 42), (40 * i + 40, 42), f"B{i}") for i in range(4))
write("handrail.dxf", drawing(posts + rail, 1))
case("handrail.dxf", "lines in line of one layer are one tube when that is said; posts meet it in a T, the outer ones in corners",
     [["P1", 2, "post", 42 * IN, ["end", "corner with rail"]], ["P2", 3, "post", 42 * IN, ["end", "T on rail"]],
      ["P3", 1, "rail", 160 * IN, ["corner with post", "corner with post"]]],
     job="materials: [{id: t, outside: 1.5 in, wall: 0.12 in}]\nfittings: [{id: tee, stops short: 1/2 OD}, {id: elbow, take out: 1.25 in, joins: 2}]\n"
     "joints: [{meeting: T, with: rail, end: tee}, {meeting: corner, end: elbow}]\n",
     cuts=[["P1", 2, 42 * IN - 31750000], ["P2", 3, 42 * IN - 19050000], ["P3", 1, 160 * IN - 63500000]],
     fittings={"tee": 3, "elbow": 2}, options=["--one-tube"], extra=", in line: one tube")
case("handrail.dxf", "the same with two tubes: the rail is cut at each post, and both its pieces end in the T",
     [["P1", 2, "post", 42 * IN, ["end", "corner with rail"]], ["P2", 3, "post", 42 * IN, ["end", "T on rail"]],
      ["P3", 2, "rail", 40 * IN, ["T in line with rail and post", "corner with post"]],
      ["P4", 2, "rail", 40 * IN, ["T in line with rail and post", "T in line with rail and post"]]])

# 4. A bow of a line, an arc and a line; beside it the same, mirrored, as one polyline with a bulge (tan of 90/4 degrees).
quarter = math.tan(math.radians(90) / 4)
library("bow.dxf", "R2000", 4, lambda doc, m: (
    m.add_line((0, 0), (300, 0), dxfattribs={"layer": "bow"}), m.add_arc((300, 200), 200, 270, 360, dxfattribs={"layer": "bow"}),
    m.add_line((500, 200), (500, 600), dxfattribs={"layer": "bow"}),
    m.add_lwpolyline([(2000, 600, 0), (2000, 200, quarter), (2200, 0, 0), (2500, 0, 0)], format="xyb", dxfattribs={"layer": "bow"})), ["bow"])
bow = nm((300 + 400 + 100 * math.pi) * MM)
case("bow.dxf", "arcs that go on in their tangents are one bent tube; walked from its other end the polyline is the same part",
     [["P1", 2, "bow", bow, ["end", "end"]]], job=TUBE, cuts=[["P1", 2, bow]])


# 5. A tube in space, bent twice in planes at right angles: arcs in the coordinates of their own plane (extrusion).
def hook(doc, m):
    m.add_line((0, 0, 0), (200, 0, 0), dxfattribs={"layer": "hook"})
    m.add_arc((200, 100, 0), 100, 270, 360, dxfattribs={"layer": "hook"})
    m.add_line((300, 100, 0), (300, 300, 0), dxfattribs={"layer": "hook"})
    # from (300, 300, 0) up to (300, 380, 80) about (300, 300, 80), in the plane x = 300: extrusion (1, 0, 0) has the axes Y and Z
    m.add_arc((300, 80, 300), 80, 270, 360, dxfattribs={"layer": "hook", "extrusion": (1, 0, 0)})
    m.add_line((300, 380, 80), (300, 380, 480), dxfattribs={"layer": "hook"})


library("hook.dxf", "R2018", 4, hook, ["hook"])
length = nm((200 + 200 + 400 + 50 * math.pi + 40 * math.pi) * MM)
case("hook.dxf", "bends in two planes: the developed length, and by how much the second is turned",
     [["P1", 1, "hook", length, ["end", "end"]]], job=TUBE, cuts=[["P1", 1, length]])


# 6. Blocks: a post with a foot, on layer 0 of the block, placed straight, turned, mirrored and doubled in size, and in a row.
def stalls(doc, m):
    block = doc.blocks.new("POST")
    block.add_line((0, 0), (0, 500))
    block.add_line((-80, 0), (80, 0), dxfattribs={"layer": "foot"})
    m.add_blockref("POST", (0, 0), dxfattribs={"layer": "post"})
    m.add_blockref("POST", (1000, 0), dxfattribs={"layer": "post", "rotation": 30})
    m.add_blockref("POST", (2000, 0), dxfattribs={"layer": "post", "xscale": -2, "yscale": 2})
    m.add_blockref("POST", (3000, 0), dxfattribs={"layer": "post", "column_count": 3, "column_spacing": 400})


library("stalls.dxf", "R2007", 4, stalls, ["post", "foot"])
case("stalls.dxf", "blocks are unfolded where they stand; layer 0 in them is that of the insert; turned, mirrored and scaled",
     [["P1", 1, "post", 1000 * MM, ["T on foot", "end"]], ["P2", 5, "post", 500 * MM, ["T on foot", "end"]],
      ["P3", 1, "foot", 320 * MM, ["end", "end"]], ["P4", 5, "foot", 160 * MM, ["end", "end"]]])

# 7. All that is doubtful: twice, gaps of ends and on a line, a crossing, a line along another, a stub; and what is no tube.
layers = section("TABLES", tags((0, "TABLE"), (2, "LAYER"), (0, "LAYER"), (2, "tube"), (70, 0), (62, 7), (0, "LAYER"), (2, "old"), (70, 0), (62, -7),
                                (0, "LAYER"), (2, "ice"), (70, 1), (62, 7), (0, "ENDTAB")))
flaws = (line("tube", (0, 0), (1000, 0), "10") + line("tube", (1000, 0), (0, 0), "11")  # twice, the other way round
         + line("tube", (1001.5, 0), (1001.5, 700), "12")  # 1.5 mm beside the end of 10
         + line("tube", (400, 0.8), (400, 700), "13")      # 0.8 mm over 10
         + line("tube", (200, 300), (900, 300), "14")      # crosses 13
         + line("tube", (0, 500), (0, 900), "15") + line("tube", (0, 700), (0, 1200), "16")  # 200 mm of it twice
         + line("tube", (2000, 0), (2000, 1.5), "17")      # too short
         + line("old", (0, 0), (5, 5)) + line("ice", (0, 0), (5, 5)) + line("Defpoints", (0, 0), (5, 5))
         + tags((0, "LINE"), (67, 1), (8, "tube"), (10, 0), (20, 0), (11, 297), (21, 0))
         + tags((0, "TEXT"), (8, "tube"), (10, 0), (20, 0), (40, 5), (1, "a"), (0, "TEXT"), (8, "tube"), (10, 0), (20, 9), (40, 5), (1, "b"))
         + tags((0, "ELLIPSE"), (8, "tube"), (10, 0), (20, 0), (11, 50), (21, 0), (40, 0.5)))
write("flaws.dxf", drawing(flaws, 4, layers))
case("flaws.dxf", "what is doubted, with layer, handle and coordinates; what is left out is told",
     [["P1", 1, "tube", 1000 * MM, ["end", "corner with tube"]], ["P2", 1, "tube", 700 * MM, ["corner with tube", "end"]],
      ["P3", 1, "tube", 700 * MM, ["end", "end"]], ["P4", 1, "tube", nm(699.2 * MM), ["T on tube", "end"]],
      ["P5", 1, "tube", 500 * MM, None], ["P6", 1, "tube", 400 * MM, None]],
     remarks=[["doubt", "handle 11, at 1000, 0: drawn twice"], ["doubt", "handle 12, at 1001.5, 0: this end is 1.50 mm from that of the LINE"],
              ["doubt", "handle 13, at 400, 0.8: this end is 0.80 mm from the LINE"], ["doubt", "handle 14, at 400, 300: it crosses the LINE"],
              ["doubt", "handle 16, at 0, 700: it lies along the LINE"], ["doubt", "handle 17, at 2000, 0: shorter than 2 mm"]])

# 8. Braces notched to a thicker tube. At 60 degrees: r = 19, R = 30, q = sqrt(900 - 361) = 23.216 and q cos 60 = 11.6 < r sin 60 = 16.5: q.
#    At 30 degrees: q cos 30 = 20.1 > r sin 30 = 9.5: (30 - 19 cos 30) / sin 30 = 27.091.
root = math.sqrt(3)
braces = (line("al60", (0, 0), (0, 2000)) + line("al38", (0, 400), (400 * root, 800)) + line("al38", (0, 900), (300, 900 + 300 * root))
          + line("axis", (-500, 1000), (500, 1000)) + line("loose", (3000, 0), (3000, 900)))
write("brace.dxf", drawing(braces))
case("brace.dxf", "layers are materials by name, by choice, or none; layers that are chosen come first; a notch on a thicker tube stops short of "
     "its centre line",
     [["P1", 1, "al60", 2000 * MM, ["end", "end"]], ["P2", 1, "al38", 800 * MM, ["T on al60", "end"]],
      ["P3", 1, "al38", 600 * MM, ["T on al60", "end"]], ["P4", 1, "loose", 900 * MM, ["end", "end"]]],
     job="materials: [{id: al38, outside: 38 mm, wall: 2 mm}, {id: al60, outside: 60 mm, wall: 3 mm}]\n"
     "joints: [{meeting: T, layer: al38, with: al60, end: notch}]\n",
     cuts=[["P1", 1, 900 * MM], ["P2", 1, 2000 * MM], ["P3", 1, 800 * MM - nm(math.sqrt(539) * MM)],
           ["P4", 1, 600 * MM - nm((30 - 9.5 * root) * 2 * MM)]], options=["--layers", "axis=none"], extra=', layers: "loose=al38, axis=none"')


# 9. Rings: a circle, a closed polyline with two half circles, three quarters of a ring.
def rings(doc, m):
    m.add_circle((0, 0), 300, dxfattribs={"layer": "ring"})
    m.add_lwpolyline([(1000, 0, 0), (1500, 0, 1), (1500, 400, 0), (1000, 400, 1)], format="xyb", close=True, dxfattribs={"layer": "ring"})
    m.add_arc((3000, 0), 200, 0, 270, dxfattribs={"layer": "ring"})


library("rings.dxf", "R2004", 4, rings, ["ring"])
case("rings.dxf", "a bulge of 1 is half a circle; a whole ring is bent in two halves",
     [["P1", 1, "ring", 1000 * MM + 2 * nm(200 * math.pi * MM), ["ring", "ring"]], ["P2", 1, "ring", nm(300 * math.pi * MM) * 2, ["ring", "ring"]],
      ["P3", 1, "ring", nm(300 * math.pi * MM), ["end", "end"]]],
     job=TUBE, cuts=[["P1", 1, 1000 * MM + 2 * nm(200 * math.pi * MM)], ["P2", 1, 2 * nm(300 * math.pi * MM)], ["P3", 1, nm(300 * math.pi * MM)]])

# 10. Metres, CRLF, an umlaut in Windows-1252, negative coordinates, no handles, codes without blanks, an exponent.
old = (header(6) + section("ENTITIES", line("Träger", (-1.5, -0.25), (1.5, -0.25)) + line("Träger", ("-15e-1", -0.25), (-1.5, 0.55))
                           + line("Träger", (1.5, -0.25), ("1.50000", 5.5e-1)) + line("träger", (0, -0.25), (0, 0.55))) + tags((0, "EOF")))
write("traeger.dxf", "\r\n".join(part.strip() for part in old.split("\n")), "cp1252")
case("traeger.dxf", "metres to the nanometre; layers differ in more than capitals; older encodings",
     [["P1", 1, "Träger", 3000 * MM, ["corner with Träger", "corner with Träger"]], ["P2", 2, "Träger", 800 * MM, ["corner with Träger", "end"]],
      ["P3", 1, "Träger", 800 * MM, ["T on Träger", "end"]]],
     job=TUBE + "fittings: [{id: tee, take out: 10 mm}]\njoints: [{meeting: T, end: tee}, {meeting: corner, with: TRÄGER, end: free}]\n",
     cuts=[["P1", 1, 3000 * MM], ["P2", 2, 800 * MM], ["P3", 1, 790 * MM]], fittings={"tee": 1})

# 11. A cross in space: four arms at a mast that goes through, two of them in line, and a splice.
mast = (line("mast", (0, 0, 0), (0, 0, 3000)) + line("mast", (0, 0, 3000), (0, 0, 5000))
        + "".join(line("arm", (0, 0, 1500), (x, y, 1500)) for x, y in ((700, 0), (-700, 0), (0, 700), (0, -500))))
write("mast.dxf", drawing(mast))
case("mast.dxf", "arms in line at a tube that passes make a cross; two lines in line a splice, for which a joint takes half a gap",
     [["P1", 1, "mast", 3000 * MM, ["end", "splice with mast"]], ["P2", 1, "mast", 2000 * MM, ["splice with mast", "end"]],
      ["P3", 3, "arm", 700 * MM, ["cross in line with mast and arm", "end"]], ["P4", 1, "arm", 500 * MM, ["cross in line with mast and arm", "end"]]],
     job=TUBE + "fittings: [{id: hub, stops short: 1/2 OD, joins: 4}, {id: sleeve, take out: 1, joins: 2}]\n"
     "joints: [{meeting: cross, layer: arm, end: hub}, {meeting: splice, end: sleeve}]\n",
     cuts=[["P1", 1, 2999 * MM], ["P2", 1, 1999 * MM], ["P3", 3, 681 * MM], ["P4", 1, 481 * MM]], fittings={"hub": 1, "sleeve": 1})

# The drawing of the README: a side of a broadcast desk, with a bent foot rail.
side = (line("al38", (0, 0), (0, 720)) + line("al38", (600, 0), (600, 720)) + line("al38", (0, 720), (600, 720)) + line("al38", (0, 400), (600, 400))
        + line("al38", (0, 150), (-150, 150)) + tags((0, "ARC"), (8, "al38"), (10, -150), (20, 50), (40, 100), (50, 90), (51, 180))
        + line("al38", (-250, 50), (-250, -100)) + tags((0, "TEXT"), (8, "notes"), (10, 0), (20, 800), (40, 20), (1, "side, two off")))
write(os.path.join("..", "..", "..", "samples", "desk-side.dxf"), drawing(side))

with open(os.path.join(HERE, "cases.json"), "w", encoding="utf-8") as out:
    json.dump(CASES, out, indent=1, ensure_ascii=False)
    out.write("\n")
