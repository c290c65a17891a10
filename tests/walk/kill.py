# SPDX-License-Identifier: GPL-3.0-or-later
"""Walks random jobs and kills booking commands at random moments: the shelf stays whole, messages stay true.

usage: kill.py [--program FILE] [--known FILE] [--jobs N] KILLS [FIRST_SEED]
Each booking is first tried on a copy, which shows what the whole of it is; then it is killed on the real
shelf, which must be as before or as after; then it is done to the end, and the walk goes on."""

import argparse
import concurrent.futures
import os
import shutil
import subprocess
import sys
import tempfile
import time

import saw
import walk
from command import Broken, Program

BOOKING = {("shelf", "add"), ("shelf", "material"), ("shelf", "hold"), ("shelf", "cut"), ("shelf", "undo"),
           ("shelf", "deliver"), ("shelf", "restore")}


def is_booking(words):
    return tuple(words[:2]) in BOOKING or words[0] in ("miscut", "true") or (words[0] == "plan" and "--hold" in words)


class Killer(Program):
    """A program whose bookings are killed before they are done."""

    def __init__(self, path, folder, report, rng):
        super().__init__(path, folder, report)
        self.rng, self.kills, self.booked = rng, 0, 0

    def run(self, *words, right=(0,)):
        words = [str(word) for word in words]
        if not is_booking(words):
            return super().run(*words, right=right)
        whole = self.rehearse(words)
        if whole["status"] in (0, 1):
            if self.kill(words, whole):
                return whole["status"], whole["out"], whole["err"]
            if words[0] == "plan":
                words.append("--replace")
        return super().run(*words, right=right)

    def picture(self, folder):
        """All that the shelf of a folder says; nothing where there is none yet."""
        path = os.path.join(folder, "shelf.db")
        if not os.path.exists(path) or os.path.getsize(path) == 0:
            return {}
        shelf = walk.Shelf(path)
        try:
            return shelf.picture()
        finally:
            shelf.close()

    def files(self, folder):
        """What the folder holds besides the shelf: {name: bytes}."""
        out = {}
        for name in sorted(os.listdir(folder)):
            if not name.startswith("shelf.db"):
                with open(os.path.join(folder, name), "rb") as file:
                    out[name] = file.read()
        return out

    def rehearse(self, words):
        """The command on a copy of the folder, undisturbed: status, output, time and what it makes."""
        copy = self.folder + "-copy"
        shutil.rmtree(copy, ignore_errors=True)
        shutil.copytree(self.folder, copy)
        start = time.monotonic()
        run = subprocess.run([self.path] + words, cwd=copy, capture_output=True, text=True)
        out = {"status": run.returncode, "out": run.stdout, "err": run.stderr, "took": time.monotonic() - start,
               "shelf": self.picture(copy), "files": self.files(copy)}
        shutil.rmtree(copy)
        return out

    def kill(self, words, whole):
        """Kills the command on its way. True: it is booked nevertheless, as a whole."""
        before, files = self.picture(self.folder), self.files(self.folder)
        share = self.rng.random() if self.rng.random() < 0.5 else self.rng.random() ** 0.2
        run = subprocess.Popen([self.path] + words, cwd=self.folder, stdout=subprocess.PIPE,
                               stderr=subprocess.DEVNULL, text=True)
        time.sleep(share * whole["took"])
        run.kill()
        said, _ = run.communicate()
        self.kills += run.returncode == -9
        self.lines.append(f"# killed after {share * whole['took']:.4f} s: dropwise {' '.join(words)}")
        place = f"kill {self.kills}, {' '.join(words[:2])}"
        if before:
            super().run("shelf", "check", "--shelf", "shelf.db")
        return self.look(words, whole, before, files, said, run.returncode, place)

    def look(self, words, whole, before, files, said, status, place):
        now, there = self.picture(self.folder), self.files(self.folder)
        booked = bool(now) and now == whole["shelf"]
        started = before == {} and all(not rows or name == "rules" for name, rows in now.items())
        if not booked and now != before and not started:
            self.report.say(f"kill: half a booking of {' '.join(w for w in words[:2] if w.isalpha())}", place, "as before or as after", "neither")
            raise Broken(place)
        told = said != "" and said == whole["out"]
        if (told or status == 0) and not booked and whole["shelf"] != before:
            self.report.say("kill: told and not booked", place, said[:60], "not booked")
        self.booked += booked and status == -9
        changed = {name: data for name, data in there.items() if files.get(name) != data}
        for name, data in changed.items():
            if name not in whole["files"]:
                self.report.say("kill: a file of no use is left", place, "none", name)
                os.unlink(self.at(name))
            elif whole["files"][name] != data:
                self.report.say("kill: a file that is not whole", place, "whole or not there", name)
        # File and booking are two things that no kill can be kept from parting; each is whole, and the
        # walk goes on with both.
        for name, data in whole["files"].items() if booked else ():
            with open(self.at(name), "wb") as file:
                file.write(data)
        return booked and whole["shelf"] != before


class KilledWalk(walk.Walk):
    """The walk's bookings alone: papers are read elsewhere."""

    def __init__(self, seed, program, folder):
        super().__init__(seed, program, folder)
        self.program = Killer(program, folder, self.report, walk.make_job.random.Random(seed * 31 + 5))
        if self.job.way == "paper":
            self.job.way = "shelf"
            self.job.supplies = [bar for bar in self.job.supplies if bar.source == "new"]

    def go(self):
        with open(self.program.at("job.yaml"), "w", encoding="utf-8") as file:
            file.write(walk.write_job.write(self.job))
        self.stock()
        if self.make_plan():
            saw.Saw(self, []).go()
            self.finish()


def killed(seed, program):
    folder = tempfile.mkdtemp(prefix=f"kill-{seed}-")
    one = KilledWalk(seed, program, folder)
    try:
        walk.go_and_tell(one)
    finally:
        shutil.rmtree(folder, ignore_errors=True)
    return one.report, one.program.kills, one.program.booked


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--program", default="build/dropwise")
    parser.add_argument("--known")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--list", action="store_true")
    parser.add_argument("kills", type=int)
    parser.add_argument("seed", type=int, nargs="?", default=1001)
    options = parser.parse_args()
    reports, kills, booked, seed = [], 0, 0, options.seed
    with concurrent.futures.ProcessPoolExecutor(options.jobs) as pool:
        while kills < options.kills:
            seeds = range(seed, seed + 2 * options.jobs)
            for report, n, done in pool.map(killed, seeds, [options.program] * len(seeds)):
                reports.append(report)
                kills, booked = kills + n, booked + done
            seed = seeds[-1] + 1
    print(f"{kills} bookings were killed, {booked} of them once they were booked")
    return walk.tell(reports, walk.read_known(options.known), options.list)


if __name__ == "__main__":
    sys.exit(main())
