#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Another program at the interface of `dropwise serve` (openapi.yaml): sends a job file, waits for its
plan, and prints what is to be bought and how good the plan is.

    python3 page_client.py http://127.0.0.1:7410 JOB.yaml"""

import http.cookiejar
import json
import sys
import time
import urllib.error
import urllib.request


class Page:
    def __init__(self, address):
        self.address = address.rstrip("/")
        cookies = urllib.request.HTTPCookieProcessor(http.cookiejar.CookieJar())
        self.opener, self.token = urllib.request.build_opener(cookies), None
        self.token = self.ask("GET", "/api/session")["token"]

    def ask(self, method, path, body=None):
        head = {"Content-Type": "application/json"}
        if method != "GET":
            head["X-Dropwise-Token"] = self.token
        data = None if body is None else json.dumps(body).encode()
        request = urllib.request.Request(self.address + path, data, head, method=method)
        try:
            with self.opener.open(request) as reply:
                return json.load(reply)
        except urllib.error.HTTPError as error:
            sys.exit(error.read().decode())

    def plan(self, job, seconds=5):
        task = self.ask("POST", "/api/plans", {"text": job, "time_ms": seconds * 1000})["task"]
        while True:
            said = self.ask("GET", f"/api/tasks/{task}")
            if said["state"] == "done":
                return self.ask("GET", f"/api/plans/{said['result']['plan']}")
            if said["state"] == "failed":
                sys.exit(said["error"])
            time.sleep(0.2)


def main(address, path):
    page = Page(address)
    with open(path, encoding="utf-8") as file:
        plan = page.plan(file.read())
    for take in plan["takes"]:
        print(f"{take['used']} x {take['supply']['id']}: {take['money']}")
    for caution in plan["cautions"]:
        print(caution["text"])
    print(plan["status"])


if len(sys.argv) != 3:
    sys.exit("usage: page_client.py ADDRESS JOB.yaml")
main(*sys.argv[1:])
