#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# The page's server while its memory fails now and then, in the libraries under it too: each request is
# answered or hung up on, papers among them, the server lives on, and once there is memory all is well.
# usage: serve_no_memory.sh BUILD
set -eu
here=$(cd "$(dirname "$0")/.." && pwd)
dw=$(cd "$1" && pwd)/dropwise
work=$(mktemp -d)
server=
trap '[ -z "$server" ] || kill "$server" 2>/dev/null || true; rm -rf "$work"' EXIT
cd "$work"

if nm -D "$dw" 2>/dev/null | grep -q -e __asan_init -e __tsan_init; then
    echo "skipped: the sanitizer has its own malloc"
    exit 0
fi
${CC:-cc} -shared -fPIC -O1 -o no_memory.so "$here/preload/no_memory.c" -ldl

cat >ask.py <<'CLIENT'
"""Asks the server for all kinds of things. ask.py ADDRESS TIMES: how many were answered well, refused
for lack of memory, hung up on. Any other answer ends it with status 1."""
import json, sys, time, urllib.error, urllib.request

address, times = sys.argv[1], int(sys.argv[2])
JOB = ("dropwise: 1\nunit: mm\nsaw: {kerf: 2}\nmaterials: [{id: t}]\n"
       "bars: [{material: t, length: 6 m, price: 30}]\n"
       "parts: [{label: leg, material: t, length: 1210, count: 5}]\n")
cookie = token = ""
tally = {"good": 0, "memory": 0, "hung up": 0}


def ask(method, path, body=None):
    """The reply's bytes and headers; None if there was no memory for it."""
    data = json.dumps(body).encode() if body is not None else None
    request = urllib.request.Request(address + path, data, method=method, headers={
        "Content-Type": "application/json", "Cookie": cookie, "X-Dropwise-Token": token})
    try:
        with urllib.request.urlopen(request, timeout=60) as reply:
            answer = reply.read(), reply.headers
        tally["good"] += 1
        return answer
    except urllib.error.HTTPError as error:
        said = error.read()
        if error.code not in (500, 503) or (error.code == 503 and b"memory" not in said):
            sys.exit(f"{method} {path}: {error.code} {said!r}")
        tally["memory"] += 1
    except (OSError, ValueError, EOFError) as error:
        if isinstance(error, TimeoutError) or "timed out" in str(error):
            sys.exit(f"{method} {path}: no answer")
        tally["hung up"] += 1
    except Exception as error:  # a reply that breaks off
        tally["hung up"] += 1


def plan():
    """Plans the job; the key of the plan, or None."""
    answer = ask("POST", "/api/plans", {"text": JOB})
    task = answer and json.loads(answer[0])["task"]
    for _ in range(600 if answer else 0):
        answer = ask("GET", f"/api/tasks/{task}")
        state = answer and json.loads(answer[0])
        if state and state["state"] == "done":
            return state["result"]["plan"]
        if state and state["state"] == "failed":
            if "memory" not in json.dumps(state) and "LP library" not in json.dumps(state):
                sys.exit(f"a plan failed: {state}")
            return None
        time.sleep(0.05)


key = None
for _ in range(times):
    if not token:
        answer = ask("GET", "/api/session")
        if answer and answer[1].get("Set-Cookie"):
            cookie, token = answer[1]["Set-Cookie"].split(";")[0], json.loads(answer[0])["token"]
        continue
    ask("GET", "/")
    ask("POST", "/api/check", {"text": JOB})
    ask("GET", "/api/shelf")
    key = key or plan()
    for paper in ("sheet.pdf", "labels.svg", "order.csv") if key else ():
        answer = ask("GET", f"/api/plans/{key}/papers/{paper}")
        if answer and paper == "sheet.pdf" and not answer[0].rstrip().endswith(b"%%EOF"):
            sys.exit("half a sheet")
    ask("GET", "/api/address.svg")
print(tally["good"], tally["memory"], tally["hung up"])
CLIENT

run() { # times; the environment says what fails
    LD_PRELOAD=$work/no_memory.so "$dw" serve --port 0 --shelf shelf.db >said 2>errors &
    server=$!
    i=0
    until grep -q '^http' said || [ $i -gt 1200 ]; do
        i=$((i + 1))
        sleep 0.1
    done
    python3 ask.py "$(sed -n 's|/$||; 1p' said)" "$1" >tally || exit 1
    kill -0 "$server" || { echo "the server is gone: $(cat errors)"; exit 1; }
    kill "$server"
    wait "$server" || { echo "the server ended with status $?: $(cat errors)"; exit 1; }
    server=
}

# What it takes to start, and to answer everything once.
FAIL_TELL=start run 0
FAIL_TELL=round run 2
start=$(cat start)
[ "$(cat round)" -gt $((start + 5000)) ] || { echo "too little is asked: $(cat round)"; exit 1; }

for every in ${EVERY:-61 20011}; do
    FAIL_AT=$((start + 50)) FAIL_EVERY=$every FAIL_UNTIL=100000000 run 4
    read -r good memory hung <tally
    [ $((memory + hung)) -gt 0 ] || { echo "every $every: nothing failed"; exit 1; }
    [ -z "${TELL:-}" ] || echo "every $every: $good good, $memory for memory, $hung hung up on"
done

# A while without memory, then with: nothing is left of it.
FAIL_AT=$((start + 50)) FAIL_EVERY=1 FAIL_UNTIL=$((start + 400)) run 100
read -r good memory hung <tally
[ $((memory + hung)) -gt 0 ] || { echo "nothing failed"; exit 1; }
[ "$good" -gt 300 ] || { echo "$good good, $memory for memory, $hung hung up on"; exit 1; }
