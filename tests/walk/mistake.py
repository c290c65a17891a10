# SPDX-License-Identifier: GPL-3.0-or-later
"""What goes wrong or turns out otherwise at the saw: a short piece, a wrong bar, a bar or part that was measured."""

import copy
from collections import Counter
from fractions import Fraction

import buying
import check_plan
import check_shelf
import expect
from amounts import NM, read_money
from command import LIMIT, Broken
from read_plan import Plan
from read_shelf import Piece
from write_job import length


class Mistake:
    """One thing that happens to a saw's plan: booked in one step, with a new plan for the rest."""

    def __init__(self, saw):
        self.saw, self.job, self.report, self.program, self.rng = saw, saw.walk.job, saw.report, saw.program, saw.rng
        self.before = saw.walk.lying
        self.old = {name: copy.deepcopy(getattr(saw, name)) for name in ("number", "todo", "buying")}
        self.old.update((name, getattr(saw, name)) for name in ("job", "plan", "blocks", "steps"))
        self.true, self.paid_before = copy.deepcopy(self.job.true), saw.paid_before

    def make(self):
        """Chooses what happens to which bar, books it, and now and then takes it back."""
        saw, kinds = self.saw, {"short": self.too_short, "wrong bar": self.wrong_bar, "measured": self.measured,
                                 "true": self.true_length}
        saw.mistakes += 1
        number, _ = saw.on_paper()
        kind = self.rng.choice(sorted(kinds))
        made = kinds[kind](saw.plan.bar(number))
        if made is None:
            return
        words, right = made
        command = "true" if kind == "true" else "miscut"
        saw.step(f"{command} {saw.number} {number} {' '.join(words)}")
        words = [command, "job.yaml", saw.number, number, *words, *LIMIT, "--output", "rest.json", "--replace"]
        if self.book(command, kind, words, right) and self.rng.random() < 0.4:
            self.undo(command)

    def book(self, command, kind, words, right):
        """Gives the command and looks at what came of it. False: it was refused, and nothing was booked."""
        saw, shelf = self.saw, self.saw.walk.shelf()
        steps = shelf.steps()
        shelf.close()
        document = self.program.data(*words, *self.program.act(), right=(0, 1))
        shelf = saw.walk.shelf()
        made, (done, lengths), plans = shelf.steps() - steps, shelf.made(), shelf.open_plans()
        shelf.close()
        if made == 0 and (document is None or not document.get("document")):
            self.go_back()
            return False
        if made != 1:
            self.report.say(f"{command} is one step", kind, "1 step", f"{made} steps")
        if document is None:
            raise Broken(self.report.step)
        saw.steps, saw.paid_before = [], saw.paid_before + saw.buying.paid
        self.new_plan(document, done, lengths, plans)
        saw.see(f"{command} {kind}: the shelf after it", saw.held(right, saw.plan))
        if saw.todo:
            saw.show()
        return True

    # --- the rest ------------------------------------------------------------------------------------

    def new_plan(self, document, done, lengths, plans):
        """What is still to be made, and the plan for it, with papers."""
        saw, rest = self.saw, document.get("document")
        saw.step(f"new plan after {self.report.step}")
        whole = rest is None or is_of_whole_job(self.job, rest)
        saw.job, already = rest_of(self.job, done, whole)
        saw.todo, saw.blocks = set(), []
        if not rest:  # all is made: what the plan still held is free again
            saw.buying.paid, saw.plan = 0, copy.copy(saw.plan)
            saw.plan.bars = []
            return
        if "rest" in rest:
            self.check_rest(rest["rest"], done)
        saw.number = document["plan"]
        self.report.same("miscut: the open plan", "plans", [saw.number], plans)
        saw.plan = Plan(saw.job, rest)
        self.check_money(document)
        check_plan.check_plan(self.report, saw.job, saw.plan, already)
        shelf = saw.walk.shelf()
        check_plan.check_brought(self.report, self.job, saw.plan, shelf.pieces(), self.old["plan"], lengths)
        shelf.close()
        saw.todo, saw.buying = {bar.number for bar in saw.plan.bars}, buying.Buying(saw.plan)
        saw.walk.verify("rest.json", saw.plan)
        saw.blocks, _, _ = saw.walk.papers("rest.json", saw.plan, saw.job, False)

    def check_rest(self, rest, done):
        """What the document says is still to be made, and which pieces have their true length."""
        right, said = Counter(), Counter()
        for index, part in enumerate(self.job.parts):
            right[index] = part.count - done[index]
        for row in rest["parts"]:
            said[row["part"]["index"]] += row["count"]
            true = int(row["measured"]["nm"])
            if true and true not in self.job.true.get(row["part"]["index"], ()):
                self.report.say("rest: a true length", row["part"]["label"], self.job.true, true)
        self.report.same("rest: what is still to be made", "rest", +right, +said)

    def check_money(self, document):
        before, spent, after, difference = (read_money(document[key]) for key in ("before", "spent", "after", "difference"))
        self.report.same("miscut: money", "difference", after + spent - before, difference)
        otherwise = read_money(document.get("counted otherwise", "0"))
        self.report.same("miscut: money", "after", self.saw.plan.totals()["value"], after + otherwise)

    def undo(self, command):
        """One undo takes it back as a whole; the plan before it is open again."""
        saw = self.saw
        saw.step(f"shelf undo of {command}")
        self.program.data("shelf", "undo", *self.program.act())
        shelf = saw.walk.shelf()
        whole = check_shelf.differences(self.before.values(), shelf.pieces().values()) == ([], [])
        plans = shelf.open_plans()
        shelf.close()
        self.go_back()
        if not whole or plans != [saw.number]:
            self.report.say(f"undo of a {command} takes back the whole of it", "shelf", "as it was before",
                            f"plans {plans}, shelf {'as it was' if whole else 'otherwise'}")
            self.program.data("shelf", "undo", *self.program.act())
        saw.see(f"undo: the shelf after undo of {command}", self.before)
        saw.paid_before = self.paid_before

    def go_back(self):
        """All as it was."""
        for name, value in self.old.items():
            setattr(self.saw, name, value)
        self.job.true = self.true

    # --- what can happen -----------------------------------------------------------------------------

    def keep_loose(self, out, name, material, nm, value, parent, remark=None):
        """A length that came off: kept if it is one to keep, or fits a part."""
        useful = nm >= material.keep or any(
            material.id in part.materials and expect.lengths(self.job, part)[0] <= nm for part in self.job.parts)
        if nm > 0 and useful:
            out[name] = Piece("", material.id, "offcut", nm, None, ("sawn", "sawn"), value, "shelf",
                              owner=parent and parent.owner, mark=parent and parent.mark, remark=remark)

    def keep_rest(self, out, bar, nm, parent):
        tail = expect.left_material(self.job, bar.supply)
        self.keep_loose(out, "rest", tail, nm, expect.worth(self.job, tail, nm), parent)

    def too_short(self, bar):
        """A piece came out too short; those before it are good, nothing was cut after."""
        at = self.rng.randrange(len(bar.pieces))
        piece = bar.pieces[at]
        grid = NM["in"] // 16 if self.job.unit != "mm" else NM["mm"]
        came = self.rng.randint(1, 99) * piece.length // 100 // grid * grid
        if piece.use == "bend end" or came < grid:
            return None
        out, parent = self.saw.taken(self.before, bar)
        start = sum(p.length + self.job.kerf for p in bar.pieces[:at])
        first = self.job.material(bar.supply.material) if at == 0 else expect.left_material(self.job, bar.supply)
        self.keep_loose(out, "spoiled", first, came, 0, parent, "mis-cut")
        self.keep_rest(out, bar, expect.usable(bar.supply) - start - came - self.job.kerf, parent)
        return ["--short", f"{at + 1}={length(self.job, came, True)}"], out

    def wrong_bar(self, bar):
        """The pieces were cut from another piece of the shelf, now and then of another tube."""
        own = self.saw.piece_of(bar)
        others = [p for n, p in self.before.items() if n != own and
                  (p.material == bar.supply.material or self.rng.random() < 0.2)]
        if not others or bar.supply.bend:
            return None
        other = self.rng.choice(others)
        usable = other.actual - sum(end == "mill" for end in other.ends) * self.job.trim
        fit, used = 0, 0
        while fit < len(bar.pieces) and used + bar.pieces[fit].length <= usable:
            used += bar.pieces[fit].length + self.job.kerf
            fit += 1
        if fit == 0 or other.material not in [m.id for m in self.job.materials]:
            return None
        out = copy.deepcopy(self.before)
        del out[other.number]
        material = self.job.material(other.material)
        if not all(other.material in self.job.parts[p.part].materials for p in bar.pieces[:fit]):
            for at, piece in enumerate(bar.pieces[:fit]):
                self.keep_loose(out, f"spoiled {at}", material, piece.length, 0, other, "mis-cut")
        self.keep_loose(out, "rest", material, usable - used, expect.worth(self.job, material, usable - used), other)
        return ["--wrong-bar", other.number], out

    def measured(self, bar):
        """Before its first cut the bar is found to be shorter than it should be."""
        if bar.supply.bend:
            return None
        step = NM["in"] // 4 if self.job.unit != "mm" else NM["mm"]
        nm = expect.actual(bar.supply) - self.rng.randint(1, 60) * step
        out, number = copy.deepcopy(self.before), self.saw.piece_of(bar)
        if number:
            out[number].measured = nm
        else:
            self.saw.bring(out, bar)
            value = self.saw.buying.each(bar.supply.id)
            out["measured"] = Piece("", bar.supply.material, "bar", bar.supply.length, nm, bar.supply.ends, value, "shelf")
        return ["--measured", length(self.job, nm, True)], out

    def true_length(self, bar):
        """A part that is measured first was measured: its true length, with or without the pieces before it cut."""
        late = [at for at, piece in enumerate(bar.pieces) if piece.use == "part" and
                self.job.parts[piece.part].measure_first and not expect.is_true(self.job, piece)]
        if not late:
            return None
        at = self.rng.choice(late)
        part = self.job.parts[bar.pieces[at].part]
        step = NM["in"] // 16 if self.job.unit != "mm" else NM["mm"]
        nm = (int(expect.cut_length(self.job, part)) // step + self.rng.randint(-10, 10)) * step
        words, out = [f"{at + 1}={length(self.job, nm, True)}"], copy.deepcopy(self.before)
        if at == late[0] and at > 0 and self.rng.random() < 0.4:
            out, parent = self.saw.taken(self.before, bar)
            words += ["--pieces", str(at)]
            start = sum(p.length + self.job.kerf for p in bar.pieces[:at])
            self.keep_rest(out, bar, expect.usable(bar.supply) - start, parent)
        self.job.true = copy.deepcopy(self.true)
        self.job.true.setdefault(bar.pieces[at].part, []).append(nm)
        return words, out


def rest_of(job, done, whole):
    """The job that is still to be made, and what of the whole job is made already where that is meant."""
    rest, already = copy.copy(job), Counter()
    rest.parts = []
    for index, part in enumerate(job.parts):
        if whole:
            already[index] = done[index]
            rest.parts.append(part)
        elif part.count > done[index]:
            rest.parts.append(copy.copy(part))
            rest.parts[-1].count -= done[index]
    return rest, already


def is_of_whole_job(job, document):
    """Do the indices of the document's parts lead to those of the whole job?"""
    if "rest" in document:
        return True
    named = [row["part"] for layout in document["layouts"] for row in layout["pieces"] if row["part"]]
    named += [row["part"] for group in document["groups"] for row in group["certificate"]["duals"]]
    return all(one["index"] < len(job.parts) and job.parts[one["index"]].label == one["label"] for one in named)
