# SPDX-License-Identifier: GPL-3.0-or-later
"""Disagreements: each one line with the seed, the step, the place and both values, under its cause."""


class Report:
    def __init__(self, seed):
        self.seed = seed
        self.step = "start"
        self.found = []  # (cause, line)
        self.places = []  # (cause, place)

    def say(self, cause, place, left, right):
        """Notes that two outputs, or an output and what is right, differ."""
        line = f"seed {self.seed}: {self.step}: {place}: {left}, {right} [{cause}]"
        self.found.append((cause, line))
        self.places.append((cause, place))

    def same(self, cause, place, right, said):
        """Notes a difference between what is right and what an output says."""
        if right != said:
            self.say(cause, place, f"right {right}", f"said {said}")
        return right == said

    def causes(self):
        return {cause for cause, _ in self.found}
