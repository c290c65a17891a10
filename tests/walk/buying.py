# SPDX-License-Identifier: GPL-3.0-or-later
"""What a plan buys, and what of it came: deliveries booked with their prices, and bars that come with a cut."""

from collections import Counter

import expect
from read_shelf import Piece


class Buying:
    """came: bars of each supply that came; here: numbers of the plan's bars that are in the shop."""

    def __init__(self, plan):
        self.bars = [bar for bar in plan.bars if bar.supply.source == "new"]
        self.supplies = {bar.supply.id: bar.supply for bar in self.bars}
        used = Counter(bar.supply.id for bar in self.bars)
        takes = plan.document["takes"]
        said = {row["supply"]["id"]: row["bought"] for row in takes}
        for row in takes:  # bought for the shelf alone: no bar of the plan is of it
            supply = plan.supplies[row["supply"]["index"]]
            if row["used"] == 0 and supply.source == "new":
                self.supplies[supply.id] = supply
        self.bought = {name: said.get(name) or expect.to_buy(supply, used[name])
                       for name, supply in self.supplies.items()}
        self.came, self.here, self.cut, self.paid = Counter(), set(), set(), 0

    def each(self, name):
        return expect.price_at(self.supplies[name], self.bought[name])

    def waiting(self, name):
        """Bars of the plan that wait for one of this supply, in order."""
        return [bar.number for bar in self.bars
                if bar.supply.id == name and bar.number not in self.here and bar.number not in self.cut]

    def arrive(self, name, value, place=None):
        """One bar of a supply comes: for the first bar of the plan that waits, or to spare."""
        supply, waiting = self.supplies[name], self.waiting(name)
        self.here.update(waiting[:1])
        self.came[name] += 1
        self.paid += value
        return Piece("", supply.material, "bar", supply.length, supply.measured or None, supply.ends, value,
                     "held" if waiting else "shelf", place)

    def come_with(self, bar):
        """A bar that is not here comes to the saw, with its pack, and with the last that waits all the rest.
        Returns the pieces that lie there besides it."""
        name, out = bar.supply.id, []
        self.here.add(bar.number)
        self.came[name] += 1
        self.paid += self.each(name)
        while self.came[name] < self.bought[name] and \
                (self.came[name] % bar.supply.pack or not self.waiting(name)):
            out.append(self.arrive(name, self.each(name)))
        return out

    def to_come(self, name):
        return self.bought[name] - self.came[name]
