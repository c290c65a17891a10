# SPDX-License-Identifier: GPL-3.0-or-later
"""Reads the shelf's file with SQL alone, as someone who has only the file and the words of its columns."""

import sqlite3
from collections import Counter
from dataclasses import dataclass


@dataclass
class Piece:
    number: str
    material: str
    kind: str
    length: int
    measured: int
    ends: tuple
    value: int
    state: str
    place: str = None
    owner: str = None
    mark: str = None
    parent: str = None
    remark: str = None

    @property
    def actual(self):
        return self.measured or self.length

    def as_it_lies(self):
        """All that must be right of a piece, but for the number that the shelf gave it."""
        return (self.material, self.kind, self.actual, self.ends, self.value, self.state, self.owner, self.mark)


class Shelf:
    def __init__(self, path):
        # Not read-only: after a kill, the first to open the file rolls back what was not finished.
        self.db = sqlite3.connect(f"file:{path}?mode=rw", uri=True)

    def close(self):
        self.db.close()

    def pieces(self, states=("shelf", "held")):
        """{number: piece} of those in a state; void ones never."""
        rows = self.db.execute(
            "SELECT p.number, m.code, p.kind, p.length, p.measured, p.datum, p.far, p.value, p.state, p.place,"
            " p.owner, p.mark, q.number, p.remark FROM pieces AS p JOIN materials AS m ON m.id = p.material"
            " LEFT JOIN pieces AS q ON q.id = p.parent WHERE p.state <> 'void'")
        out = {}
        for row in rows:
            piece = Piece(*row[:5], (row[5], row[6]), *row[7:])
            if states is None or piece.state in states:
                out[piece.number] = piece
        return out

    def cuts(self):
        """The cuts in force: dicts with what became of each bar."""
        names = ("plan", "bar", "done", "parts", "posts", "kept", "scrap", "trim", "chips", "piece", "length")
        rows = self.db.execute(
            "SELECT c.plan, c.bar, c.done, c.parts, c.posts, c.kept, c.scrap, c.trim, c.chips, p.number,"
            " coalesce(p.measured, p.length) FROM live_cuts AS c JOIN pieces AS p ON p.id = c.piece")
        return [dict(zip(names, row)) for row in rows]

    def made(self):
        """Good pieces by part of the job: {part index: count}, and their lengths {part index: list}."""
        count, lengths = Counter(), {}
        for cut in self.cuts():
            left = cut["done"]
            for use, part, length, n in self.layout(cut["plan"], cut["bar"]):
                n = min(n, left)
                left -= n
                if use in ("part", "post") and n:
                    count[part] += n
                    lengths.setdefault(part, []).extend([length] * n)
        return count, lengths

    def layout(self, plan, bar):
        return self.db.execute(
            "SELECT l.use, l.part, l.length, l.count FROM plan_bars AS b JOIN plan_pieces AS l"
            " ON l.plan = b.plan AND l.layout = b.layout WHERE b.plan = ? AND b.bar = ? ORDER BY l.seq",
            (plan, bar)).fetchall()

    def bars_here(self, plan):
        """Which piece is which bar of a plan: {number of the bar: number of the piece}."""
        return dict(self.db.execute(
            "SELECT h.bar, p.number FROM bar_pieces AS h JOIN pieces AS p ON p.id = h.piece"
            " WHERE h.plan = ? AND p.state = 'held'", (plan,)))

    def open_plans(self):
        return [row[0] for row in self.db.execute("SELECT id FROM live_plans WHERE open ORDER BY id")]

    def steps(self):
        return self.db.execute("SELECT count(*) FROM steps").fetchone()[0]

    def last_step(self):
        return self.db.execute("SELECT id, what FROM steps ORDER BY id DESC LIMIT 1").fetchone()

    def in_force(self):
        """Steps that an undo could take back, one after the other, the last one first: [(number, what it was)]."""
        return self.db.execute(
            "SELECT id, what FROM steps AS s WHERE what NOT IN ('material', 'undo', 'restore') AND NOT EXISTS"
            " (SELECT 1 FROM steps WHERE undoes = s.id) ORDER BY id DESC").fetchall()

    def put_back(self):
        """The last step that put a copy back; 0 if none did."""
        return self.db.execute("SELECT coalesce(max(id), 0) FROM steps WHERE what = 'restore'").fetchone()[0]

    def picture(self):
        """All that the shelf says, so that two states of it can be compared."""
        tables = [row[0] for row in self.db.execute(
            "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%' ORDER BY name")]
        return {table: self.db.execute(f"SELECT * FROM {table} ORDER BY 1, 2").fetchall() for table in tables}
