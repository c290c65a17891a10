# SPDX-License-Identifier: GPL-3.0-or-later
"""Reads a plan document as a stranger would: bars one by one, each under its number."""

from amounts import read_money
from expect import Bar, Piece
from make_job import Supply


class Unreadable(Exception):
    pass


def nm(value):
    return int(value["nm"])


def brought(row):
    """A piece of the shelf that the document brings along."""
    return Supply(row["id"], row["material"]["id"], row["source"], nm(row["length"]), nm(row["measured"]),
                  price=read_money(row["price"]), book=read_money(row["book value"]), counted=row["counted"], count=1, ends=(row["datum end"], row["far end"]),
                  trim=nm(row["trim"]), bend=nm(row["bend"]),
                  tail=row["tail material"] and row["tail material"]["id"], place=row["place"],
                  owner=row["owner"], mark=row["mark"], date=row["date"], paid_from=row["paid from"])


class Plan:
    """bars in the order of their numbers; supplies as the document counts them; document as read."""

    def __init__(self, job, document):
        self.document = document
        self.supplies = list(job.supplies) + [brought(row) for row in document.get("shelf", [])]
        self.bars = []
        # In the plan of a rest, parts are counted as they are listed there.
        self.parts = [row["part"]["index"] for row in document["rest"]["parts"]] if "rest" in document else None
        for index, layout in enumerate(document["layouts"]):
            self.add(index, layout)
        self.numbered = any("bar" in layout for layout in document["layouts"])

    def add(self, index, layout):
        supply = self.supplies[layout["supply"]["index"]]
        if supply.id != layout["supply"]["id"]:
            raise Unreadable(f"layout {index}: supply {layout['supply']['index']} is {supply.id}")
        first = layout.get("bar", len(self.bars) + 1)
        for which in range(layout["count"]):
            pieces = [Piece(row["use"], self.part(row["part"]), nm(row["length"]), row, row["number"] + k)
                      for row in layout["pieces"] for k in range(row["count"])]
            self.bars.append(Bar(first + which, supply, pieces, layout["rest"], nm(layout["leftover"]), index))

    def part(self, row):
        """The index of a part in the job; None for a bend end."""
        return row and (self.parts[row["index"]] if self.parts else row["index"])

    def bar(self, number):
        return next((bar for bar in self.bars if bar.number == number), None)

    def totals(self):
        """{name: money, count or nanometres}."""
        out = {}
        for name, value in self.document["totals"].items():
            out[name] = nm(value) if isinstance(value, dict) else \
                read_money(value) if isinstance(value, str) else value
        return out
