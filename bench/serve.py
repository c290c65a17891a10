#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""What one `dropwise serve` carries: so many clients at once on a shelf with a long past, and how long
each kind of request takes, from the first byte sent to the last one read.

    python3 bench/serve.py BUILD [--clients 20] [--seconds 60] [--moves 100000] [--pause 1.0]

Each client looks, checks a job while it is typed, moves a piece, and now and then plans a job with the
shelf, with a pause between; with --pause 0 it asks as fast as it is answered."""

import argparse
import http.client
import json
import os
import random
import subprocess
import tempfile
import threading
import time

JOB = """dropwise: 1
name: Stand {n}
unit: mm
currency: EUR
saw: {{kerf: 2}}
rules: {{keep: 300, leftover worth: 60 %}}
materials: [{{id: tube, outside: 38 mm, wall: 2 mm}}]
bars: [{{length: 6 m, price: 20}}]
parts:
  - {{label: leg, length: {a}, count: 4}}
  - {{label: rail, length: {b}, count: 6}}
  - {{label: tie, length: {c}, count: 8}}
"""


class Client(threading.Thread):
    """One browser: a session of its own, requests one after the other."""

    def __init__(self, number, port, end, pause):
        super().__init__()
        self.random, self.number, self.end, self.pause = random.Random(number), number, end, pause
        self.times, self.failed = {}, {}
        self.server = http.client.HTTPConnection("127.0.0.1", port, timeout=120)
        self.head = {"Content-Type": "application/json"}
        self.server.request("GET", "/api/session")
        reply = self.server.getresponse()
        self.head["X-Dropwise-Token"] = json.loads(reply.read())["token"]
        self.head["Cookie"] = reply.getheader("Set-Cookie").split(";")[0]

    def ask(self, what, method, path, body=None):
        start = time.perf_counter()
        self.server.request(method, path, json.dumps(body) if body is not None else None, self.head)
        reply = self.server.getresponse()
        data = reply.read()
        if reply.status >= 400:
            key = (what, reply.status)
            self.failed[key] = self.failed.get(key, 0) + 1
            return None
        self.times.setdefault(what, []).append(time.perf_counter() - start)
        return json.loads(data)

    def job(self):
        lengths = sorted(self.random.sample(range(300, 2400), 3))
        return JOB.format(n=self.number, a=lengths[2], b=lengths[1], c=lengths[0])

    def plan(self):
        start = time.perf_counter()
        begun = self.ask("plan: begin", "POST", "/api/plans", {"text": self.job(), "shelf": True, "time_ms": 2000})
        while begun:
            task = self.ask("plan: how far", "GET", f"/api/tasks/{begun['task']}")
            if task is None or task.get("state") not in ("waits", "runs"):
                self.times.setdefault("plan: in all", []).append(time.perf_counter() - start)
                return
            time.sleep(0.2)

    def run(self):
        piece = self.random.randrange(600)
        while time.monotonic() < self.end:
            what = self.random.random()
            if what < 0.35:
                self.ask("check a job", "POST", "/api/check", {"text": self.job()})
            elif what < 0.60:
                self.ask("find tube", "GET", f"/api/shelf?at_least={self.random.randrange(300, 4000)}%20mm&free=1")
            elif what < 0.70:
                self.ask("the whole shelf", "GET", "/api/shelf")
            elif what < 0.80:
                self.ask("one piece", "GET", f"/api/shelf/P{self.random.randrange(600)}")
            elif what < 0.85:
                self.ask("history", "GET", "/api/history")
            elif what < 0.95:
                piece = (piece + 1) % 600
                self.ask("move a piece", "POST", "/api/move",
                         {"numbers": [f"P{piece}"], "place": f"rack {self.random.randrange(9)}"})
            else:
                self.plan()
            if self.pause:
                time.sleep(self.random.uniform(0.5, 1.5) * self.pause)


def table(clients, seconds):
    times, failed = {}, {}
    for client in clients:
        for what, all_times in client.times.items():
            times.setdefault(what, []).extend(all_times)
        for key, n in client.failed.items():
            failed[key] = failed.get(key, 0) + n
    print("| request | how many | mean, ms | half below | 95 % below | 99 % below | longest |")
    print("| --- | --: | --: | --: | --: | --: | --: |")
    for what, all_times in sorted(times.items()):
        all_times.sort()
        parts = [sum(all_times) / len(all_times)] + [
            all_times[min(len(all_times) - 1, int(share * len(all_times)))] for share in (0.5, 0.95, 0.99)] + [all_times[-1]]
        print(f"| {what} | {len(all_times)} | " + " | ".join(f"{1000 * t:.1f}" for t in parts) + " |")
    asked = sum(len(t) for what, t in times.items() if what != "plan: in all")
    print(f"\n{asked} requests in {seconds:.0f} s, {asked / seconds:.0f} a second.",
          "Refused: " + (", ".join(f"{what} {status}: {n}" for (what, status), n in sorted(failed.items())) or "none") + ".")


def peak(process):
    with open(f"/proc/{process.pid}/status", encoding="ascii") as status:
        return next(int(line.split()[1]) / 1024 for line in status if line.startswith("VmHWM"))


def main():
    options = argparse.ArgumentParser()
    options.add_argument("build")
    options.add_argument("--clients", type=int, default=20)
    options.add_argument("--seconds", type=float, default=60)
    options.add_argument("--moves", type=int, default=100000)
    options.add_argument("--pause", type=float, default=1.0)
    asked = options.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        shelf = os.path.join(folder, "shelf.db")
        start = time.monotonic()
        subprocess.run([os.path.join(asked.build, "bench/history"), shelf, str(asked.moves)], check=True)
        made, size = time.monotonic() - start, os.path.getsize(shelf)
        server = subprocess.Popen([os.path.join(asked.build, "dropwise"), "serve", "--port", "0", "--shelf", shelf],
                                  stdout=subprocess.PIPE, text=True)
        try:
            port = int(server.stdout.readline().strip().rstrip("/").rsplit(":", 1)[1])
            start = time.monotonic()
            clients = [Client(i, port, start + asked.seconds, asked.pause) for i in range(asked.clients)]
            for client in clients:
                client.start()
            for client in clients:
                client.join()
            table(clients, time.monotonic() - start)
            print(f"{asked.clients} clients, each with {asked.pause:g} s between on average; a history of {asked.moves} moves",
                  f"(made in {made:.0f} s, {size / 2**20:.0f} MiB); {peak(server):.0f} MiB of memory at most;",
                  f"load of the machine {os.getloadavg()[0]:.1f}, {os.cpu_count()} processors.")
        finally:
            server.terminate()
            server.wait()


main()
