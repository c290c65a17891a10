#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Makes the lists in data/, and there cases.json: what must come of each.

Every list is invented in the shape that a kind of program, a country or a person gives it; "trap" says what
it is for. Lengths expected are worked out here by hand and in fractions; nothing is read back from the
program. Workbooks are written by this script cell by cell, so that each trap is in the file; those of
LibreOffice and Gnumeric by these programs themselves from a flat document (`make.py --programs`, which
needs them; the files that they made are kept).
usage: make.py [--programs]
"""
import json
import os
import subprocess
import sys
import tempfile
import zipfile
from fractions import Fraction
from xml.sax.saxutils import escape

HERE = os.path.join(os.path.dirname(os.path.abspath(__file__)), "data")
CASES = []

# --- what a workbook's cell holds --------------------------------------------------------------------------


class Cell:
    """A number or text with a format, a formula or a type of its own."""

    def __init__(self, value, code=None, formula=None, kind=None):
        self.value, self.code, self.formula, self.kind = value, code, formula, kind


def shown(value, code):
    return Cell(value, code=code)


def formula(text, value, code=None):
    return Cell(value, code=code, formula=text)


def letters(column):
    out = ""
    while column:
        column, rest = divmod(column - 1, 26)
        out = chr(65 + rest) + out
    return out


# --- XLSX -------------------------------------------------------------------------------------------------

REL = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"


class Book:
    def __init__(self, inline=False, strike=()):
        self.sheets, self.strings, self.codes, self.inline = [], [], [], inline
        self.strike = strike  # codes whose font is struck through; what follows a semicolon is left out

    def add(self, name, rows, hidden_rows=(), hidden_columns=(), merges=(), state=None):
        self.sheets.append((name, rows, hidden_rows, hidden_columns, merges, state))
        return self

    def style(self, code):
        if code is None:
            return ""
        if code not in self.codes:
            self.codes.append(code)
        return f' s="{self.codes.index(code) + 1}"'

    def cell(self, at, value):
        if not isinstance(value, Cell):
            value = Cell(value)
        kind = value.kind
        made = f"<f>{escape(value.formula)}</f>" if value.formula else ""
        style = self.style(value.code)
        if kind is None and isinstance(value.value, str):
            if self.inline:
                return f'<c r="{at}"{style} t="inlineStr"><is><t xml:space="preserve">{escape(value.value)}</t></is></c>'
            if value.formula:
                return f'<c r="{at}"{style} t="str">{made}<v>{escape(value.value)}</v></c>'
            if value.value not in self.strings:
                self.strings.append(value.value)
            return f'<c r="{at}"{style} t="s"><v>{self.strings.index(value.value)}</v></c>'
        of = f' t="{kind}"' if kind else ""
        return f'<c r="{at}"{style}{of}>{made}<v>{escape(str(value.value))}</v></c>'

    def sheet(self, rows, hidden_rows, hidden_columns, merges):
        out = []
        if hidden_columns:
            out.append("<cols>" + "".join(f'<col min="{c}" max="{c}" width="9" hidden="1"/>' for c in hidden_columns) + "</cols>")
        out.append("<sheetData>")
        for r, row in enumerate(rows, 1):
            cells = "".join(self.cell(f"{letters(c)}{r}", v) for c, v in enumerate(row, 1) if v is not None)
            if cells:
                out.append(f'<row r="{r}"{" hidden=" + chr(34) + "1" + chr(34) if r in hidden_rows else ""}>{cells}</row>')
        out.append("</sheetData>")
        if merges:
            out.append("<mergeCells>" + "".join(f'<mergeCell ref="{m}"/>' for m in merges) + "</mergeCells>")
        return f'<?xml version="1.0" encoding="UTF-8"?><worksheet xmlns="{MAIN}">{"".join(out)}</worksheet>'

    def save(self, path):
        sheets = [self.sheet(*s[1:5]) for s in self.sheets]
        n = len(sheets)
        kinds = "".join(f'<Override PartName="/xl/worksheets/sheet{i}.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"/>' for i in range(1, n + 1))
        names = "".join(f'<sheet name="{escape(s[0])}" sheetId="{i}"{" state=" + chr(34) + s[5] + chr(34) if s[5] else ""} r:id="rId{i}"/>' for i, s in enumerate(self.sheets, 1))
        links = "".join(f'<Relationship Id="rId{i}" Type="{REL}/worksheet" Target="worksheets/sheet{i}.xml"/>' for i in range(1, n + 1))
        codes = [c.split(";strike")[0] for c in self.codes]
        fonts = "<fonts><font/><font><strike/></font></fonts>" if self.strike else ""
        formats = "".join(f'<numFmt numFmtId="{164 + i}" formatCode="{escape(c, {chr(34): "&quot;"})}"/>' for i, c in enumerate(codes))
        xfs = '<xf numFmtId="0"/>' + "".join(f'<xf numFmtId="{164 + i}"{" fontId=" + chr(34) + "1" + chr(34) if c in self.strike else ""} applyNumberFormat="1"/>' for i, c in enumerate(self.codes))
        parts = {
            "[Content_Types].xml": f'<?xml version="1.0"?><Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="xml" ContentType="application/xml"/>{kinds}</Types>',
            "_rels/.rels": f'<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" Type="{REL}/officeDocument" Target="xl/workbook.xml"/></Relationships>',
            "xl/workbook.xml": f'<?xml version="1.0"?><workbook xmlns="{MAIN}" xmlns:r="{REL}"><sheets>{names}</sheets></workbook>',
            "xl/_rels/workbook.xml.rels": f'<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">{links}<Relationship Id="rId{n + 1}" Type="{REL}/sharedStrings" Target="sharedStrings.xml"/><Relationship Id="rId{n + 2}" Type="{REL}/styles" Target="styles.xml"/></Relationships>',
            "xl/sharedStrings.xml": f'<?xml version="1.0"?><sst xmlns="{MAIN}">{"".join(f"<si><t xml:space={chr(34)}preserve{chr(34)}>{escape(s)}</t></si>" for s in self.strings)}</sst>',
            "xl/styles.xml": f'<?xml version="1.0"?><styleSheet xmlns="{MAIN}"><numFmts count="{len(self.codes)}">{formats}</numFmts>{fonts}<cellXfs count="{len(self.codes) + 1}">{xfs}</cellXfs></styleSheet>',
        }
        for i, text in enumerate(sheets, 1):
            parts[f"xl/worksheets/sheet{i}.xml"] = text
        with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as out:
            for name, text in parts.items():
                out.writestr(zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0)), text.encode(), zipfile.ZIP_DEFLATED)


# --- cases ---------------------------------------------------------------------------------------------------


def nm(length):
    """Nanometres of "1180.5 mm", "23 5/16 in", "1.18 m": exact."""
    number, unit = length.rsplit(" ", 1)
    value = sum(Fraction(part) for part in number.split(" "))
    size = value * {"mm": 10**6, "cm": 10**7, "m": 10**9, "in": 25400000, "ft": 304800000}[unit]
    assert size.denominator == 1, length
    return int(size)


def case(name, content, program, country, trap, parts=None, remarks=(), options=(), encoding="utf-8"):
    """parts: (label, length, count); None where the list is refused. remarks: every mistake and doubt, as
    (severity, line, column, words that it must hold)."""
    path = os.path.join(HERE, name)
    if isinstance(content, str):
        with open(path, "wb") as out:
            out.write(content.encode(encoding))
    elif content is not None:
        content.save(path)
    CASES.append({
        "file": name, "program": program, "country": country, "trap": trap, "options": list(options),
        "parts": parts and [[label, nm(length), count] for label, length, count in parts],
        "remarks": [list(r) for r in remarks],
    })


def texts():
    total = "this looks like a row of totals"
    case("title-and-totals.csv",
         "Cut list, market stall, sheet 2 of 2;;;\n;;;\nPos;Descr.;Length (mm);Qty / Pcs\n1;upright;1180,5;4\n"
         "2;rail;760,5;6\n3;brace;1.240;2\n\n;Totals (mm);11.765;12\n",
         "spreadsheet, CSV", "DE", "title, item numbers, thousands by a point among decimal commas, totals under another word",
         [("upright", "1180.5 mm", 4), ("rail", "760.5 mm", 6), ("brace", "1240 mm", 2)])
    case("stueckliste-1252.csv",
         "Pos;Stück;Benennung;Länge [mm];Bemerkung\n1;4;Ständer;1180,5;\n2;6;Querträger;760,25;außen gebürstet\n",
         "spreadsheet, CSV", "DE", "Windows-1252, Umlaute in headings and names",
         [("Ständer", "1180.5 mm", 4), ("Querträger", "760.25 mm", 6)], encoding="cp1252")
    case("debit.csv",
         "Liste de débit n° 7;;;\nRepère;Désignation;Qté;Longueur (mm)\nA;montant;4;1\u202f180,5\nB;traverse;6;760\nTotal;;10;\n",
         "spreadsheet, CSV", "FR", "narrow no-break space between thousands, Repère beside Désignation",
         [("A", "1180.5 mm", 4), ("B", "760 mm", 6)], [("doubt", 2, 8, "names the pieces too")])
    case("debit-columns.csv",
         "Liste de débit n° 7;;;\nRepère;Désignation;Qté;Longueur (mm)\nA;montant;4;1\u202f180,5\nB;traverse;6;760\nTotal;;10;\n",
         "spreadsheet, CSV", "FR", "the same with what was unclear said once",
         [("montant", "1180.5 mm", 4), ("traverse", "760 mm", 6)],
         options=["--columns", "label=B"])
    case("despiece.csv",
         "Posición;Cantidad;Descripción;Longitud (cm)\n1;4;montante;118,05\n2;2;larguero;76\n",
         "spreadsheet, CSV", "ES", "centimetres in the heading", [("montante", "1180.5 mm", 4), ("larguero", "760 mm", 2)])
    case("distinta.csv",
         "Pos.;Q.tà;Descrizione;Lunghezza mm;Note\n1;4;montante;1180;\n2;2;traversa;760,5;forare\n",
         "CAD, parts list", "IT", "points and an apostrophe of accents in headings", [("montante", "1180 mm", 4), ("traversa", "760.5 mm", 2)])
    case("zaagstaat.csv",
         "Zaagstaat kraam\n\nNr;Aantal;Omschrijving;Lengte (mm);Totaal (mm)\n1;4;staander;1180;4720\n2;6;ligger;760;4560\nTotaal;10;;;9280\n",
         "spreadsheet, CSV", "NL", "a column of sums and a row of totals", [("staander", "1180 mm", 4), ("ligger", "760 mm", 6)])
    case("fractions.csv",
         'Qty,Part,"Length (in)"\n4,upright,"46 1/2"\n2,rail,"23-5/16"\n2,brace,"2\' 6-1/2"""\n',
         "spreadsheet, CSV", "US", "fractions, feet and inches in quoted cells",
         [("upright", "46 1/2 in", 4), ("rail", "23 5/16 in", 2), ("brace", "30 1/2 in", 2)])
    case("unicode-text.txt",
         "Part\tLength (mm)\tQty\nupright\t1180\t4\nmoulding 30°\t760.5\t2\n",
         "spreadsheet, Unicode text", "UK", "UTF-16 with tabs", [("upright", "1180 mm", 4), ("moulding 30°", "760.5 mm", 2)], encoding="utf-16")
    case("cad-bom.csv",
         "ITEM NO.,PART NUMBER,DESCRIPTION,LENGTH,QTY.\n1,TS-010,upright,46.5,4\n2,TS-011,rail,23.3125,2\n",
         "CAD, bill of materials", "US", "two columns that may name the part", [("TS-010", "46 1/2 in", 4), ("TS-011", "23 5/16 in", 2)], [("doubt", 1, 22, "names the pieces too")],
         options=["--unit", "in"])
    case("cad-bom-columns.csv",
         "ITEM NO.,PART NUMBER,DESCRIPTION,LENGTH,QTY.\n1,TS-010,upright,46.5,4\n2,TS-011,rail,23.3125,2\n",
         "CAD, bill of materials", "US", "the same, said by a heading", [("upright", "46 1/2 in", 4), ("rail", "23 5/16 in", 2)],
         options=["--unit", "in", "--columns", "label=DESCRIPTION"])
    case("qty-per-and-total.csv",
         "Name,Length (mm),Qty,Total Qty\nupright,1180,2,8\nrail,760,1,4\n",
         "CAD, bill of materials", "UK", "pieces of one frame, and of all: which are cut?", None, [("wrong", 1, 22, "both say `count`")])
    case("no-heading.csv", "upright;1180;4\nrail;760;6\nbrace;1240;2\n", "typed", "DE", "no heading: proposed, not guessed",
         None, [("wrong", 1, 1, "label=A,length=B,count=C")])
    case("no-heading-columns.csv", "upright;1180;4\nrail;760;6\nbrace;1240;2\n", "typed", "DE", "no heading, columns said",
         [("upright", "1180 mm", 4), ("rail", "760 mm", 6), ("brace", "1240 mm", 2)], options=["--columns", "label=A,length=B,count=C"])
    case("points-of-both-kinds.csv", "Teil;Länge mm;Stk\nStänder;1.180;4\nTräger;1.240;2\n", "spreadsheet, CSV", "DE",
         "1.180 may be 1180 or 1.18, and nothing else tells", None,
         [("wrong", 2, 9, "1.180"), ("wrong", 3, 8, "1.240")])
    case("marks-of-both-kinds.csv", "Part;Length mm;Qty\nupright;1180,5;4\nrail;760.5;6\nbrace;1.240;2\n", "two people", "NL",
         "decimal commas and points in one list: a third number stays open", [("upright", "1180.5 mm", 4), ("rail", "760.5 mm", 6)],
         [("doubt", 2, 9, "with a comma"), ("wrong", 4, 7, "1.240")])
    case("metres.csv", "Teil;Länge (m);Stück\nStänder;1,180;4\nTräger;0,760;6\n", "spreadsheet, CSV", "DE",
         "three decimals in metres are no thousands", [("Ständer", "1180 mm", 4), ("Träger", "760 mm", 6)])
    case("printed-pages.csv",
         "Part,Length (mm),Qty\nFrame A,,\nupright,1180,4\nrail,760,6\nSubtotal,,10\nPart,Length (mm),Qty\nFrame B,,\n"
         "brace,1240,2\nstrut,640,2\nSubtotal,,4\nTotal,,14\nAll cut square,,\n",
         "report of a shop program", "UK", "heading on each page, groups, subtotals, a remark at the end",
         [("upright", "1180 mm", 4), ("rail", "760 mm", 6), ("brace", "1240 mm", 2), ("strut", "640 mm", 2)],
         [("doubt", 2, 1, "left out"), ("doubt", 7, 1, "left out"), ("doubt", 12, 1, "left out")])
    case("sum-without-word.csv", "Part,Length (mm),Qty\nupright,1180,4\nrail,760,6\n,1940,10\n", "spreadsheet, CSV", "UK",
         "a row of sums without a word", [("upright", "1180 mm", 4), ("rail", "760 mm", 6)], [("doubt", 4, 2, total)])
    case("sum-with-a-name.csv", "Part,Length (mm),Qty\nupright,1180,4\nrail,760,6\nRack,1940,10\n", "spreadsheet, CSV", "UK",
         "a total under a name", [("upright", "1180 mm", 4), ("rail", "760 mm", 6)], [("wrong", 4, 1, "sum of the rows above")])
    case("item-numbers.csv", "Nr;Länge (mm);Benennung\n1;1180;Ständer\n2;760;Träger\n3;1240;Strebe\n", "spreadsheet, CSV", "DE",
         "item numbers are no counts", None, [("wrong", 1, 1, "needs a column count")])
    case("number-off.csv", "No.,Length (mm),Description\n4,1180,upright\n2,760,rail\n2,1240,brace\n", "drawing office", "UK",
         "No. is how many: a number comes twice", [("upright", "1180 mm", 4), ("rail", "760 mm", 2), ("brace", "1240 mm", 2)])
    case("ranges.csv", "Part,Length,Qty\npost,350 to 400 mm,3\nrail,14 to 20 in,2\n", "typed", "UK", "lengths between two",
         [("post", "350 mm", 3), ("rail", "14 in", 2)])
    case("units-below.csv", "Part;Length;Qty\n;cm;pcs\nupright;118,05;4\nrail;76;6\n", "CAD, parts list", "NL", "a line of units below the heading",
         [("upright", "1180.5 mm", 4), ("rail", "760 mm", 6)])
    case("unit-column.csv", "Part;Length;Unit;Qty\nupright;1,18;m;4\nrail;760;mm;6\n", "inventory program", "DE", "a unit of each row",
         [("upright", "1180 mm", 4), ("rail", "760 mm", 6)])
    case("counts-with-words.csv", "Teil;Länge mm;Anzahl\nStänder;1180;4 Stk.\nTräger;760;x 6\nStrebe;1240;2 pcs\n", "typed", "DE",
         "words beside the count", [("Ständer", "1180 mm", 4), ("Träger", "760 mm", 6), ("Strebe", "1240 mm", 2)])
    case("row-too-long.csv", "Part,Length (mm),Qty\nupright,1180,4\ntop rail,978,4,see drawing\nbrace,775,2\n", "typed", "UK",
         "a remark behind the last column", [("upright", "1180 mm", 4), ("brace", "775 mm", 2)], [("wrong", 3, 16, "more cells")])
    case("lost-unit.csv", "Part;Length mm;Qty\nupright;1180;4\nrail;760,5;6\nbrace;1,24;2\n", "typed", "DE", "one length in metres among millimetres",
         [("upright", "1180 mm", 4), ("rail", "760.5 mm", 6), ("brace", "1.24 mm", 2)], [("doubt", 4, 7, "under 10 mm")])
    case("millimetres-among-metres.csv", "Part;Length m;Qty\nupright;1,18;4\nrail;760;6\nbrace;1,24;2\n", "typed", "DE", "one length in millimetres among metres",
         [("upright", "1180 mm", 4), ("rail", "760 m", 6), ("brace", "1240 mm", 2)], [("doubt", 3, 6, "over 15 m")])
    case("forgotten-length.csv", "Pos;Part;Length mm;Qty\n1;upright;1180;4\n2;rail;;\n3;brace;1240;2\n", "typed", "DE", "a part without length and count",
         [("upright", "1180 mm", 4), ("brace", "1240 mm", 2)], [("wrong", 3, 8, "empty"), ("wrong", 3, 9, "empty")])
    case("wrong-total.csv", "Part;Length mm;Qty\nupright;1180;4\nrail;760;6\nTotal;;12\n", "spreadsheet, CSV", "UK",
         "a row of totals that is not the sum: a row was lost, or changed", [("upright", "1180 mm", 4), ("rail", "760 mm", 6)],
         [("doubt", 4, 1, total)])
    case("inch-mark.csv", 'Part,"Length ("")",Qty\nupright,46 1/2,4\nrail,23.5,6\n', "spreadsheet, CSV", "US", "the unit of the heading is a mark",
         [("upright", "46 1/2 in", 4), ("rail", "23 1/2 in", 6)])
    case("foot-mark.csv", "Part,Length ('),Qty\nupright,4.5,4\nrail,2.25,6\n", "typed", "US", "the same for feet",
         [("upright", "4.5 ft", 4), ("rail", "2.25 ft", 6)])
    case("quoted-heading.csv", "Part;“Length”;Qty\nupright;1180;4\n", "word processor, table", "UK", "quotation marks around a heading are no inches",
         [("upright", "1180 mm", 4)])
    case("unit-in-title.csv", "Stall, all sizes in cm;;\nPart;Length;Qty\nupright;118;4\nrail;76;6\n", "drawing office", "NL",
         "a title tells the unit, the heading doesn't", [("upright", "118 mm", 4), ("rail", "76 mm", 6)], [("doubt", 1, 1, "speaks of cm")])
    case("bars-in-title.csv", "cut from 6 m bars, 40 x 40 x 2, sheet 2 of 2;;\nPart;Length;Qty\nupright;1180;4\n", "typed", "UK",
         "a title tells the unit of something else", [("upright", "1180 mm", 4)])
    case("sets-in-title.csv", "Market stall frame, make 3 off;;\nPart;Length mm;Qty\nupright;1180;4\nrail;760;6\n", "drawing office", "UK",
         "counts are for one frame, three are wanted", [("upright", "1180 mm", 4), ("rail", "760 mm", 6)], [("doubt", 1, 1, "how many times")])
    case("saetze.csv", "Rahmen;Sätze: 3\nTeil;Länge mm;Stück\nStänder;1180;4\n", "spreadsheet, CSV", "DE", "the same beside the title",
         [("Ständer", "1180 mm", 4)], [("doubt", 1, 1, "how many times")])
    case("total-of-frames.csv", "Part;Length mm;Qty;Total\nupright;1180;2;6\nrail;760;6;18\n", "spreadsheet, CSV", "UK",
         "a total that is three times the count", [("upright", "1180 mm", 2), ("rail", "760 mm", 6)], [("doubt", 2, 16, "is not length times count")])
    case("total-in-metres.csv", "Part;Length mm;Qty;Total m\nupright;1180;2;2,36\nrail;760;6;4,56\n", "spreadsheet, CSV", "DE",
         "a total in another unit is one", [("upright", "1180 mm", 2), ("rail", "760 mm", 6)])
    case("in-stock.csv", "Part;Length mm;Qty;In stock;kg\nupright;1180;2;1;2,2\nrail;760;6;0;4,5\n", "inventory program", "UK",
         "what is in stock is no material, a weight is nothing to cut by", [("upright", "1180 mm", 2), ("rail", "760 mm", 6)])
    case("weight-per-piece.csv", "Part;Length mm;kg/pc;Qty\nupright;1180;2;4\nrail;760;1;6\n", "CAD, bill of materials", "UK",
         "a weight of each piece is no count", [("upright", "1180 mm", 4), ("rail", "760 mm", 6)], [("doubt", 1, 16, "is not known here")])
    case("two-languages.csv", "Descrizione / Description;Lunghezza mm;Q.tà / Qty\nmontante;1180;4,00\ntraversa;760,5;2,00\n", "CAD, parts list", "IT",
         "headings in two languages, counts with two decimals", [("montante", "1180 mm", 4), ("traversa", "760.5 mm", 2)])
    case("feet-and-inches-apart.csv", "Part;Length ft;Length in;Qty\nupright;3;10 1/2;2\n", "spreadsheet, CSV", "US", "a length in two columns",
         None, [("wrong", 1, 16, "both say `length`")])
    case("groups-beside.csv", "Pos;Part;Length mm;Qty\n1;upright;1180;4\nFrame B;;;\n2;rail;760;6\n;Doors:;;\n3;sill;900;2\n", "spreadsheet, CSV", "UK",
         "groups that nobody takes for parts", [("upright", "1180 mm", 4), ("rail", "760 mm", 6), ("sill", "900 mm", 2)])
    case("thousands-of-pieces.csv", "Part;Length mm;Qty\nupright;1180;1.000\nrail;760;2,5\n", "spreadsheet, CSV", "DE", "a count with a mark",
         [], [("wrong", 2, 15, "is no count"), ("wrong", 3, 11, "is no count")])


def workbooks():
    head = ["Part", "Length (mm)", "Qty", "Remark"]
    rows = [["upright", 1180.5, 4, None], ["rail", 760, 6, "brushed"]]
    plain = [("upright", "1180.5 mm", 4), ("rail", "760 mm", 6)]
    case("plain.xlsx", Book().add("Cut list", [head] + rows), "spreadsheet, XLSX", "UK", "shared strings", plain)
    case("inline.xlsx", Book(inline=True).add("Cut list", [head] + rows), "report of a shop program, XLSX", "UK", "strings in the cells", plain)
    case("blank-around.xlsx", Book().add("Parts", [[], [], [None, None, "Stall, spring"], []] + [[None, None] + r for r in [head] + rows] + [[], [None, None, "cut square"]]),
         "spreadsheet, XLSX", "UK", "blank rows and columns around, a title, a remark below", plain, [("doubt", 9, 3, "left out")])
    case("formulas.xlsx", Book().add("Parts", [["Part", "Length (mm)", "Qty"], ["third", Cell("333.333333333333", formula="B9/3", kind="n"), formula("2*2", 4)], ["rest", Cell("749.70000000000005", formula="B9-250.1-0.2", kind="n"), 2]]),
         "spreadsheet, XLSX", "UK", "stored values of formulas, one with more digits than a nanometre", [("third", "333.333333 mm", 4), ("rest", "749.7 mm", 2)])
    case("became-a-date.xlsx", Book().add("Parts", [["Part", "Length (in)", "Qty"], ["upright", 46.5, 4], ["rail", shown(45720, "d-mmm"), 2]]),
         "spreadsheet, XLSX", "US", "3/4 typed into a cell became a day of March", [("upright", "46 1/2 in", 4)], [("wrong", 3, 2, "holds a date")])
    case("fraction-format.xlsx", Book().add("Parts", [["Part", "Length (in)", "Qty"], ["upright", shown(46.5, "# ?/?"), 4], ["rail", shown(23.3125, "# ??/??"), 2], ["pin", shown(0.0625, "# ?/16"), 2]]),
         "spreadsheet, XLSX", "US", "a fraction format shows 23 5/16", [("upright", "46 1/2 in", 4), ("rail", "23 5/16 in", 2), ("pin", "1/16 in", 2)],
         [("doubt", 4, 2, "under 10 mm")])
    case("fraction-rounded.xlsx", Book().add("Parts", [["Part", "Length (in)", "Qty"], ["upright", shown(46.5, "# ?/?"), 4], ["rail", shown(23.3125, "# ?/?"), 2]]),
         "spreadsheet, XLSX", "US", "one digit shows 23 1/3 where the cell holds 23.3125", [("upright", "46 1/2 in", 4), ("rail", "23 5/16 in", 2)],
         [("doubt", 3, 2, "shows 23 1/3 but holds 23.3125")])
    case("filtered.xlsx", Book().add("Parts", [head[:3], ["upright", 1180, 4], ["old rail", 700, 6], ["rail", 760, 6]], hidden_rows=(3,)),
         "spreadsheet, XLSX", "UK", "a row hidden by a filter", [("upright", "1180 mm", 4), ("rail", "760 mm", 6)], [("doubt", 3, 1, "hides this row")])
    case("hidden-column.xlsx", Book().add("Parts", [["Part", "Length (mm)", "Length (mm)", "Qty"], ["upright", 1200, 1180, 4], ["rail", 800, 760, 6]], hidden_columns=(2,)),
         "spreadsheet, XLSX", "UK", "old lengths in a hidden column", [("upright", "1180 mm", 4), ("rail", "760 mm", 6)])
    case("merged-names.xlsx", Book().add("Parts", [["Frame for the desk", None, None], head[:3], ["upright", 1180, 4], [None, 1240, 2], ["rail", 760, 6]], merges=("A1:C1", "A3:A4")),
         "spreadsheet, XLSX", "UK", "a name merged over two rows", [("upright", "1180 mm", 4), ("upright", "1240 mm", 2), ("rail", "760 mm", 6)])
    case("merged-count.xlsx", Book().add("Parts", [head[:3], ["upright", 1180, 4], ["post", 1240, None], ["rail", 760, 6]], merges=("C2:C3",)),
         "spreadsheet, XLSX", "UK", "a count merged over two rows: of each, or of both?", [("upright", "1180 mm", 4), ("rail", "760 mm", 6)], [("wrong", 3, 3, "merged over several rows")])
    two = Book().add("Frame", [head] + rows).add("Desk", [head, ["leg", 710, 4, None]])
    case("two-sheets.xlsx", two, "spreadsheet, XLSX", "UK", "two sheets that look like a list", None, [("wrong", 1, 1, "`Frame` and `Desk` both look like a list")])
    case("two-sheets-named.xlsx", two, "spreadsheet, XLSX", "UK", "the same, named", [("leg", "710 mm", 4)], options=["--sheet", "Desk"])
    case("cover-sheet.xlsx", Book().add("Cover", [["Market stall"], ["drawn", shown(45720, "dd/mm/yyyy")]]).add("Old", [head] + rows, state="hidden").add("Parts", [head, ["leg", 710, 4, None]]),
         "spreadsheet, XLSX", "UK", "a cover and a hidden sheet before the list", [("leg", "710 mm", 4)])
    case("shown-rounded.xlsx", Book().add("Parts", [head[:3], ["upright", shown(1180.5, "0"), 4], ["rail", shown(760, "#,##0.00"), 6]]),
         "spreadsheet, XLSX", "UK", "1181 is shown, 1180.5 held", [("upright", "1180.5 mm", 4), ("rail", "760 mm", 6)], [("doubt", 2, 2, "but holds 1180.5")])
    case("unit-in-format.xlsx", Book().add("Parts", [["Part", "Length", "Qty"], ["upright", shown(1.18, '0.00" m"'), 4], ["rail", shown(760, '0" mm"'), 6]]),
         "spreadsheet, XLSX", "NL", "units that only the format shows", [("upright", "1180 mm", 4), ("rail", "760 mm", 6)])
    struck = Book(strike=("@;strike", "0;strike"))
    struck.add("Parts", [head[:3], ["upright", 1180, 4], [shown("old rail", "@;strike"), shown(700, "0;strike"), shown(6, "0;strike")],
                         ["rail", 760, shown(8, "0;strike")]])
    case("struck-through.xlsx", struck, "spreadsheet, XLSX", "UK", "a part struck through by hand, and a count",
         [("upright", "1180 mm", 4), ("rail", "760 mm", 8)], [("doubt", 3, 1, "strikes this row through"), ("doubt", 4, 3, "struck through")])
    case("no-stored-value.xlsx", Book().add("Parts", [head[:3], ["upright", 1180, formula("2*2", "")], ["rail", 760, 6]]),
         "script, XLSX", "UK", "a formula without the value it had", [("rail", "760 mm", 6)], [("wrong", 2, 3, "empty")])
    case("failed-formula.xlsx", Book().add("Parts", [head[:3], ["upright", Cell("#REF!", kind="e", formula="B99"), 4], ["rail", 760, Cell(1, kind="b")]]),
         "spreadsheet, XLSX", "UK", "a formula that failed, a yes as count", [], [("wrong", 2, 2, "formula that failed"), ("wrong", 3, 3, "no number")])
    case("note-beside.xlsx", Book().add("Parts", [head[:3], ["upright", 1180, 4], ["rail", 760, 6, None, "ask about the finish"]]),
         "spreadsheet, XLSX", "UK", "a note beside the list", [("upright", "1180 mm", 4), ("rail", "760 mm", 6)], [("doubt", 3, 5, "stands beside the list")])
    case("other-workbook.xlsx", Book().add("Parts", [head[:3], ["upright", formula("[1]Sheet1!A1", 1180), 4], ["rail", 760, 6]]),
         "spreadsheet, XLSX", "UK", "a length from another workbook", [("upright", "1180 mm", 4), ("rail", "760 mm", 6)], [("doubt", 2, 2, "another workbook")])
    case("numbers-as-text.xlsx", Book().add("Teile", [["Pos", "Benennung", "Länge (mm)", "Stück"], ["1", "Ständer", "1180,5", "4"], ["2", "Träger", "1.240", "6"]]),
         "export of a shop program, XLSX", "DE", "numbers typed as text", [("Ständer", "1180.5 mm", 4), ("Träger", "1240 mm", 6)])


# --- by LibreOffice and Gnumeric -----------------------------------------------------------------------------

FLAT = """<?xml version="1.0" encoding="UTF-8"?>
<office:document xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" xmlns:style="urn:oasis:names:tc:opendocument:xmlns:style:1.0" xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0" xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0" xmlns:number="urn:oasis:names:tc:opendocument:xmlns:datastyle:1.0" xmlns:of="urn:oasis:names:tc:opendocument:xmlns:of:1.2" office:version="1.2" office:mimetype="application/vnd.oasis.opendocument.spreadsheet">
<office:automatic-styles>
<number:number-style style:name="F"><number:fraction number:min-integer-digits="0" number:min-numerator-digits="2" number:min-denominator-digits="2"/></number:number-style>
<number:number-style style:name="R"><number:number number:decimal-places="0" number:min-decimal-places="0" number:min-integer-digits="1"/></number:number-style>
<number:date-style style:name="D"><number:day/><number:text>.</number:text><number:month/><number:text>.</number:text><number:year number:style="long"/></number:date-style>
<style:style style:name="cF" style:family="table-cell" style:data-style-name="F"/>
<style:style style:name="cR" style:family="table-cell" style:data-style-name="R"/>
<style:style style:name="cD" style:family="table-cell" style:data-style-name="D"/>
</office:automatic-styles>
<office:body><office:spreadsheet><table:table table:name="Parts">%s</table:table></office:spreadsheet></office:body></office:document>
"""


def flat_cell(value):
    if value is None:
        return "<table:table-cell/>"
    if isinstance(value, Cell):
        style = f' table:style-name="c{value.code}"' if value.code else ""
        made = f' table:formula="of:={value.formula}"' if value.formula else ""
        if value.kind == "date":
            return f'<table:table-cell{style} office:value-type="date" office:date-value="{value.value}"/>'
        if value.kind == "merged":
            return f'<table:table-cell office:value-type="string" table:number-rows-spanned="2"><text:p>{value.value}</text:p></table:table-cell>'
        if value.kind == "covered":
            return "<table:covered-table-cell/>"
        return f'<table:table-cell{style}{made} office:value-type="float" office:value="{value.value}"/>'
    if isinstance(value, str):
        return f'<table:table-cell office:value-type="string"><text:p>{escape(value)}</text:p></table:table-cell>'
    return f'<table:table-cell office:value-type="float" office:value="{value}"/>'


def flat(rows, hidden=()):
    out = []
    for r, row in enumerate(rows, 1):
        how = ' table:visibility="collapse"' if r in hidden else ""
        out.append(f"<table:table-row{how}>{''.join(flat_cell(v) for v in row)}</table:table-row>")
    return FLAT % "".join(out)


def convert(flats):
    """Has both programs write each flat document, {"inches": text}, in both forms."""
    with tempfile.TemporaryDirectory() as folder:
        sources = []
        for name, text in flats.items():
            sources.append(os.path.join(folder, f"libreoffice-{name}.fods"))
            with open(sources[-1], "w", encoding="utf-8") as out:
                out.write(text)
        for form in ("ods", "xlsx"):
            subprocess.run(["soffice", "--headless", f"-env:UserInstallation=file://{folder}/u", "--convert-to", form,
                            "--outdir", HERE] + sources, check=True, stdout=subprocess.DEVNULL)
        for name in flats:  # Gnumeric reads what LibreOffice wrote, and writes it in its own way
            for form, kind in (("xlsx", "Gnumeric_Excel:xlsx"), ("ods", "Gnumeric_OpenCalc:odf")):
                subprocess.run(["ssconvert", "--export-type", kind, os.path.join(HERE, f"libreoffice-{name}.ods"),
                                os.path.join(HERE, f"gnumeric-{name}.{form}")], check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)


def by_programs(run):
    inches = flat([["Frame for the broadcast desk"], [], ["Part", "Length (in)", "Qty", "Drawn"],
                   ["upright", Cell(46.5, "F"), 4, Cell("2026-03-01", "D", kind="date")], ["rail", Cell(23.3125, "F"), Cell("4", formula="2*2"), None],
                   ["Total", None, Cell("8", formula="SUM([.C4:.C5])"), None]])
    parts_in = [("upright", "46 1/2 in", 4), ("rail", "23 5/16 in", 4)]
    said = [("doubt", 3, 4, "is not known here")]
    rows = flat([["Teil", "Länge (mm)", "Stück"], [Cell("Ständer", kind="merged"), 1180.5, 4], [Cell(None, kind="covered"), 1240, 2],
                 ["Träger", 760, 6], ["alter Träger", 700, 6], ["Strebe", Cell(640.5, "R"), 2]], hidden=(5,))
    parts_de = [("Ständer", "1180.5 mm", 4), ("Ständer", "1240 mm", 2), ("Träger", "760 mm", 6), ("Strebe", "640.5 mm", 2)]
    said_de = [("doubt", 5, 1, "hides this row"), ("doubt", 6, 2, "but holds 640.5")]
    if run:
        convert({"inches": inches, "merged": rows})
    for name, program in (("libreoffice-{}.ods", "LibreOffice 7.4, ODS"), ("libreoffice-{}.xlsx", "LibreOffice 7.4, XLSX"),
                          ("gnumeric-{}.xlsx", "Gnumeric 1.12, XLSX"), ("gnumeric-{}.ods", "Gnumeric 1.12, ODS")):
        case(name.format("inches"), None, program, "US", "fractions, formulas, a date and a total as a real program stores them", parts_in, said)
        case(name.format("merged"), None, program, "DE", "merged, hidden and rounded cells as a real program stores them", parts_de, said_de)


if __name__ == "__main__":
    texts()
    workbooks()
    by_programs("--programs" in sys.argv[1:])
    with open(os.path.join(HERE, "cases.json"), "w", encoding="utf-8") as out:
        json.dump(CASES, out, ensure_ascii=False, indent=1)
        out.write("\n")
    print(len(CASES), "lists")
