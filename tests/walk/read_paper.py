# SPDX-License-Identifier: GPL-3.0-or-later
"""Reads papers as a person would, from the words of a PDF and where they stand on the page."""

import html
import re
import subprocess
from dataclasses import dataclass, field

POINT_MM = 25.4 / 72
PAGE_STEP = 10000  # so far below each other lie two pages


@dataclass
class Word:
    x: float
    y: float
    right: float
    low: float
    text: str

    @property
    def middle(self):
        return (self.y + self.low) / 2


def text_of(path):
    return subprocess.run(["pdftotext", "-layout", path, "-"], check=True, capture_output=True, text=True).stdout


def words_of(path):
    """The words of all pages, in millimetres; page after page below each other."""
    page, out = -1, []
    run = subprocess.run(["pdftotext", "-bbox", path, "-"], check=True, capture_output=True, text=True)
    for line in run.stdout.splitlines():
        if "<page " in line:
            page += 1
        match = re.search(r'<word xMin="([\d.-]+)" yMin="([\d.-]+)" xMax="([\d.-]+)" yMax="([\d.-]+)">(.*)</word>', line)
        if match:
            x, y, right, low = (float(match.group(k)) * POINT_MM for k in range(1, 5))
            down = page * PAGE_STEP
            out.append(Word(x, y + down, right, low + down, html.unescape(match.group(5))))
    return out


def amounts_of(path, right, currency):
    """The figures that end at `right` mm, from top to bottom, with or without the currency behind them."""
    out = []
    for line in lines_of(words_of(path)):
        for index, word in enumerate(line):
            if abs(word.right - right) > 1:
                continue
            figure = line[index - 1].text if word.text == currency and index > 0 else word.text
            if re.fullmatch(r"[-\u2212]?\d+(,\d{3})*\.\d{2,4}", figure):
                out.append(figure.replace(",", "").replace("\u2212", "-"))
    return out


def lines_of(words, slack=1.2):
    """Words grouped into lines by the middle of their height, each from left to right."""
    lines = []
    for word in sorted(words, key=lambda w: w.middle):
        if lines and abs(lines[-1][0].middle - word.middle) < slack:
            lines[-1].append(word)
        else:
            lines.append([word])
    return [sorted(line, key=lambda w: w.x) for line in lines]


def said(words):
    return " ".join(word.text for word in words)


# --- cut sheet ---------------------------------------------------------------------------------

@dataclass
class Row:
    """Pieces of a kind on a bar's block: how many, stop setting, running marks, and what is said of them."""
    count: int
    stop: str
    marks: list
    about: str
    first: int = None  # numbers of its pieces on the bar, where the paper says them
    last: int = None


@dataclass
class Block:
    """What a sheet says of one bar, or of several that are cut alike."""
    first: int
    last: int
    head: str = ""
    rows: list = field(default_factory=list)
    tail: str = ""


HEADER = "stop setting"
PLAN = re.compile(r"\bplan ([0-9a-f]{8}\b|\d)")
END = re.compile(r"Left\b|Nothing is left")


def body_lines(words):
    """The lines of a sheet without what frames each page: cautions, page number, and after the first its head."""
    out = []
    for page in sorted({int(word.y // PAGE_STEP) for word in words}):
        lines = lines_of([w for w in words if int(w.y // PAGE_STEP) == page])
        texts = [said(line) for line in lines]
        start = next(i for i, text in enumerate(texts) if PLAN.search(text)) + 1
        stop = max((i for i, text in enumerate(texts) if text.startswith("Eye and hearing")), default=len(lines))
        out += lines[0 if not out else start:stop]
    return out


def heads_of(path):
    """The line of each page that says which plan it is of."""
    words, out = words_of(path), []
    for page in sorted({int(word.y // PAGE_STEP) for word in words}):
        texts = [said(line) for line in lines_of([w for w in words if int(w.y // PAGE_STEP) == page])]
        out.append(next((text for text in texts if PLAN.search(text)), ""))
    return out


def mark_list(text):
    """Running marks in a row: numbers, with `38 1/2` and `3'-2 5/8"` each one mark."""
    return re.findall(r"~?(?:\d+'(?:-[\d/]+(?: \d+/\d+)?\")?|\d+ \d+/\d+(?!\d)\"?|\d+/\d+\"?|\d+(?:\.\d+)?\"?)", text)


def columns(line):
    """Left edges of the columns stop, marks and name of the table's head line; None if it is none."""
    if HEADER not in said(line) or "running" not in said(line):
        return None
    edge = {word.text: word.x for word in reversed(line)}
    names = [word.x for word, after in zip(line, line[1:]) if (word.text, after.text) == ("piece", "and")]
    return edge["stop"], edge["running"], names[0]


def row_starts(lines, stop_x):
    """Where each row begins: (height, numbers of its first and last piece or None, how many)."""
    out = []
    for line in lines:
        match = re.fullmatch(r"(?:(\d+)(?: to (\d+))? )?(\d+) ?×", said([w for w in line if w.x < stop_x]))
        if match:
            first, last, count = match.groups()
            out.append((line[0].middle, first and int(first), first and int(last or first), int(count)))
    return out


def rows_of(lines, edges):
    """The rows below a head line."""
    stop_x, marks_x, name_x = (edge - 0.8 for edge in edges)
    starts, rows = row_starts(lines, stop_x), []
    for index, (y, first, last, count) in enumerate(starts):
        until = starts[index + 1][0] - 3.2 if index + 1 < len(starts) else float("inf")
        mine = [w for line in lines for w in line if y - 3.2 <= w.middle < until]
        # What begins in the column of the stop further down runs across: a remark, what to do at the ends.
        wide = [w for line in lines_of(mine) if line[0].middle > y + 2 and line[0].x < marks_x for w in line]
        mine = [w for w in mine if w not in wide]
        cell = lambda low, high: said(w for line in lines_of([m for m in mine if low <= m.x < high]) for w in line)
        about = cell(name_x, 10**6) + "".join(" " + w.text for w in wide)
        rows.append(Row(count, cell(stop_x, marks_x), mark_list(cell(marks_x, name_x)), about, first, last))
    return rows


def title_of(line):
    """The match of `Bar 3` or `Bars 4 to 8` in large type at the head of a block."""
    large = line[0].low - line[0].y > 5
    return re.match(r"Bars? (\d+)(?: to (\d+))?\b", said(line)) if large else None


def top_of(line):
    """What stands beside a title comes after it."""
    return line[0].y if title_of(line) else line[0].middle


def sheet_blocks(path):
    """The blocks of a cut sheet, in the order of the paper, and the words before the first."""
    blocks, before, edges, waiting = [], [], None, []

    def close():
        nonlocal edges, waiting
        if edges and blocks:
            blocks[-1].rows += rows_of(waiting, edges)
        edges, waiting = None, []

    for line in sorted(body_lines(words_of(path)), key=top_of):
        text = said(line)
        title = title_of(line)
        if title:
            first = int(title.group(1))
            blocks.append(Block(first, int(title.group(2) or first), text[title.end():].strip()))
        elif columns(line):
            close()
            edges = columns(line)
        elif END.match(text):
            close()
            blocks[-1].tail = text
        elif edges:
            waiting.append(line)
        elif blocks:
            target = "tail" if blocks[-1].tail else "head"
            setattr(blocks[-1], target, getattr(blocks[-1], target) + "\n" + text)
        else:
            before.append(text)
    close()
    return blocks, before


# --- the report of a plan, as the program prints it -------------------------------------------------

def report_rows(lines, text):
    """The rows below a head line `stop  part ... marks from the datum end`, and what is said of each below them."""
    marks_at, rows = text.index("marks from"), {}
    for line in lines:
        match = re.match(r" +(\w+) +(\d+) × +(~?\d\S*(?: \d+/\d+\"?)?) +(.*)", line)
        note = re.match(r" +(\w+), pieces? (\d+)(?: to (\d+))?: (.*)", line)
        if match:
            about = line[match.start(4):marks_at]
            rows[match.group(1)] = Row(int(match.group(2)), match.group(3), mark_list(line[marks_at:]), about.strip())
        elif note:
            row = rows[note.group(1)]
            row.first, row.last = int(note.group(2)), int(note.group(3) or note.group(2))
            row.about += " " + note.group(4)
    return list(rows.values())


def report_blocks(text):
    """The blocks of bars in a plan's report, printed wide enough that nothing is folded."""
    blocks = []
    for part in re.split(r"\n(?=  Bars? \d+(?: to \d+)?: )", text)[1:]:
        lines = part.split("\n\n")[0].splitlines()
        title = re.match(r"  Bars? (\d+)(?: to (\d+))?: (.*)", lines[0])
        first = int(title.group(1))
        block = Block(first, int(title.group(2) or first), title.group(3))
        head = next((i for i, line in enumerate(lines) if "marks from the datum end" in line), len(lines))
        left = next((i for i, line in enumerate(lines) if re.match("left(:| of each)", line.strip())), len(lines))
        block.head += "\n" + "\n".join(line.strip() for line in lines[1:head])
        block.rows = report_rows(lines[head + 1:left], lines[head]) if head < len(lines) else []
        block.tail = "\n".join(line.strip() for line in lines[left:])
        blocks.append(block)
    return blocks


# --- labels ------------------------------------------------------------------------------------

LABEL_GRID = {"a4-21": (3, 7, 7.25, 15.15, 66, 38.1), "roll-100x50": (1, 1, 0, 0, 100, 50)}


def labels_of(path, stock):
    """The labels in order, each as its lines."""
    across, down, left, top, wide, high = LABEL_GRID[stock]
    cells = {}
    for word in words_of(path):
        page, y = divmod(word.middle, PAGE_STEP)
        spot = (int(page), int((y - top) // high), int(((word.x + word.right) / 2 - left) // wide))
        cells.setdefault(spot, []).append(word)
    return [[said(line) for line in lines_of(cells[spot], 0.9)] for spot in sorted(cells)]
