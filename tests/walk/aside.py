# SPDX-License-Identifier: GPL-3.0-or-later
"""Steps beside the way, after which all is as it was: an undo that is refused, and back to a copy of the shelf."""

import copy
import random

import mistake

REFUSED = 2


class Aside:
    """What now and then happens to a saw's plan. It has chances of its own, so that the way is the same without it."""

    def __init__(self, saw):
        self.saw, self.report, self.program = saw, saw.report, saw.program
        self.rng = random.Random(saw.walk.report.seed * 104729 + 3)

    def step(self):
        roll, way = self.rng.random(), self.saw.rng.getstate()
        if roll < 0.08:
            self.undo_in_between()
        elif roll < 0.14:
            self.back_to_a_copy()
        self.saw.rng.setstate(way)

    def undo_in_between(self):
        """Asks for a step that others came after, as a delivery of which a bar was cut: refused, with the last one's
        number, and nothing is changed."""
        shelf = self.saw.walk.shelf()
        steps, before = shelf.in_force(), shelf.picture()
        shelf.close()
        if len(steps) < 2:
            return
        number, what = self.rng.choice(steps[1:])
        self.saw.step(f"shelf undo --step {number}, a {what} that others came after")
        _, _, err = self.program.run("shelf", "undo", "--step", number, *self.program.act(), right=(REFUSED,))
        shelf = self.saw.walk.shelf()
        self.report.same("undo in between: nothing is changed", "shelf", True, before == shelf.picture())
        shelf.close()
        right = f"step {number} can't be undone: the last one in force is step {steps[0][0]}:"
        if right not in err:
            self.report.say("undo in between: which is the last", "message", right, err.strip())

    def back_to_a_copy(self):
        """Copies the shelf, goes on for some steps, and puts the copy back: pieces, plans and bars are as they were."""
        saw, walk = self.saw, self.saw.walk
        saw.step("shelf backup")
        name = f"copy-{self.program.minute}.db"
        self.program.must("shelf", "backup", name, "--shelf", "shelf.db")
        kept = {name: copy.deepcopy(getattr(saw, name)) for name in ("number", "todo", "buying")}
        kept.update((name, getattr(saw, name)) for name in ("job", "plan", "blocks", "mistakes", "paid_before"))
        kept["steps"], true, lying = list(saw.steps), copy.deepcopy(saw.walk.job.true), walk.lying
        for _ in range(self.rng.randint(1, 3)):
            if saw.todo:
                self.rng.choice((saw.cut, saw.cut, saw.deliver, mistake.Mistake(saw).make))()
        saw.step(f"shelf restore of the copy that was made before {saw.report.step}")
        if self.program.data("shelf", "restore", name, "--lose-later", *self.program.act()) is None:
            return
        for key, value in kept.items():
            setattr(saw, key, value)
        walk.job.true = true
        saw.see("restore: the shelf after it", lying)
        saw.show()
        self.check_history()

    def check_history(self):
        """The history ends with the step that put the copy back."""
        document = self.program.data("shelf", "history", "--shelf", "shelf.db", "--last", "1")
        shelf = self.saw.walk.shelf()
        right = [shelf.last_step()]
        shelf.close()
        if document:
            said = [(event["step"], event["what"]) for event in document["events"]]
            self.report.same("restore: a step of the history", "last", right, said)
            self.report.same("restore: a step of the history", "what", "restore", right[0][1])
