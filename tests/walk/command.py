# SPDX-License-Identifier: GPL-3.0-or-later
"""Runs the program in a walk's folder, with fixed names and times, and says what it did not do as it should."""

import json
import os
import re
import subprocess

LIMIT = ("--work", "150000", "--time", "20", "--threads", "1")


class Broken(Exception):
    """The walk can't go on: a command failed that every later step needs."""


class Program:
    def __init__(self, path, folder, report):
        self.path, self.folder, self.report = os.path.abspath(path), folder, report
        self.minute = 0
        self.lines = []  # each command as it can be typed again

    def at(self, name):
        return os.path.join(self.folder, name)

    def act(self):
        """Who and when of the next booking; time goes on by a minute a step."""
        self.minute += 1
        hour, minute = divmod(self.minute, 60)
        return ["--shelf", "shelf.db", "--who", "ann", "--when", f"2027-05-03T{8 + hour:02d}:{minute:02d}:00Z"]

    def run(self, *words, right=(0,)):
        """Runs one command; (status, output, errors). A status that is not right is a disagreement."""
        words = [str(word) for word in words]
        run = subprocess.run([self.path] + words, cwd=self.folder, capture_output=True, text=True, timeout=120,
                             env=dict(os.environ, XDG_DATA_HOME=self.folder, NO_COLOR="1"))
        self.lines.append("dropwise " + " ".join(f"'{w}'" if " " in w or w == "" else w for w in words))
        if right and run.returncode not in right:
            said = (run.stderr.strip() or run.stdout.strip()).splitlines()
            last = " / ".join(line for line in said if "doubtful" not in line)[-300:]
            self.report.say(f"status {run.returncode} of {' '.join(w for w in words[:2] if w.isalpha())}",
                            self.lines[-1], f"status {right[0]}", f"status {run.returncode}: {last}")
        return run.returncode, run.stdout, run.stderr

    def data(self, *words, right=(0,)):
        """What a command says as JSON; None if it failed."""
        status, out, _ = self.run(*words, "--json", right=right)
        if status not in right:
            return None
        try:
            return json.loads(out)
        except ValueError:
            self.report.say("output is no JSON", self.lines[-1], "JSON", out[:80])
            return None

    def must(self, *words):
        status, out, _ = self.run(*words)
        if status != 0:
            raise Broken(self.lines[-1])
        return out

    def read(self, name):
        with open(self.at(name), encoding="utf-8", newline="") as file:
            return file.read()


def sheet_orders(path):
    """The orders that a sheet can be printed in."""
    said = subprocess.run([path, "help", "sheet", "--width", "200"], capture_output=True, text=True).stdout
    return re.search(r"--order WHICH.*?\(([a-z ]+)\)\n", said, re.S).group(1).split()
