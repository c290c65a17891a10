#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# `serve` tells a service manager when the page can be opened, as sd_notify(3) says, and the page
# answers then; samples/page_client.py has a job planned by it.
# usage: serve_ready.sh BUILD
set -eu
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
samples=$(cd "$(dirname "$0")/../../samples" && pwd)
python3 - "$1/dropwise" "$work" "$samples" <<'PY'
import os, socket, subprocess, sys, urllib.request

program, work, samples = sys.argv[1:]
for name in (work + "/plain", "\0dropwise-" + os.path.basename(work)):
    manager = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
    manager.bind(name)
    manager.settimeout(60)
    environment = dict(os.environ, NOTIFY_SOCKET=name.replace("\0", "@"))
    page = subprocess.Popen([program, "serve", "--port", "0", "--shelf", work + "/shelf.db"],
                            stdout=subprocess.PIPE, text=True, env=environment)
    try:
        said = manager.recv(64)
        if said != b"READY=1":
            sys.exit(f"the manager was told {said}")
        address = page.stdout.readline().strip()
        if urllib.request.urlopen(address).status != 200:
            sys.exit("the page does not answer")
        client = subprocess.run([sys.executable, samples + "/page_client.py", address, samples + "/trio-rack.yaml"],
                                capture_output=True, text=True)
        lines = client.stdout.splitlines()
        if client.returncode or lines[-1] not in ("optimal", "stopped") or not any("K-07" in line for line in lines):
            sys.exit(f"the client's plan: {client.stdout}{client.stderr}")
    finally:
        page.terminate()
        if page.wait() != 0:
            sys.exit("serve did not end well")
PY
