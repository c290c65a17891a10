#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Out of memory never ends the program by a signal, is never blamed on a file of the user, and leaves
# no file behind: allocations of the whole process, GLPK, libfyaml, Jansson and SQLite included, fail
# one at a time, every STEP-th of them.
# usage: no_memory.sh BUILD [STEP]
set -eu
here=$(cd "$(dirname "$0")/.." && pwd)
dw=$(cd "$1" && pwd)/dropwise
step=${2:-61}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$work"
fail() {
    echo "$*"
    exit 1
}

if nm -D "$dw" 2>/dev/null | grep -q -e __asan_init -e __tsan_init; then
    echo "skipped: the sanitizer has its own malloc"
    exit 0
fi
${CC:-cc} -shared -fPIC -O1 -o no_memory.so "$here/preload/no_memory.c" -ldl

cat >job.yaml <<'JOB'
dropwise: 1
unit: mm
currency: EUR
saw: {kerf: 2.5, cut cost: 0.40}
rules: {keep: 500, leftover worth: 2 per m}
materials:
  - {id: al38}
bars:
  - {material: al38, length: 6000, price: 30, count: 20}
  - {material: al38, length: 4000, price: 21}
offcuts:
  - {id: o1, material: al38, length: 1730, book value: 3}
parts:
  - {label: leg, material: al38, length: 1210, count: 5}
  - {label: rail, material: al38, length: 815, count: 7}
  - {label: tie, material: al38, length: 2333, count: 3}
  - {label: stay, material: al38, length: 640, count: 9}
JOB
"$dw" plan job.yaml --threads 1 --output plan.json >/dev/null 2>&1
"$dw" shelf material --shelf known.db al38 >/dev/null 2>&1

# One run with the k-th allocation failing.
try() { # k command...
    k=$1
    shift
    rm -rf out
    mkdir out
    cp known.db out/shelf.db
    status=0
    FAIL_AT=$k LD_PRELOAD=$work/no_memory.so "$dw" "$@" >printed 2>said </dev/null || status=$?
    left=$(ls out | grep -v '^shelf[.]db' || true)
    case $status in
    0) ;;
    3)
        grep -q -e 'out of memory' -e 'LP library' said || fail "$* at $k: it says $(cat said)"
        [ -z "$left" ] || fail "$* at $k: failed, but left $left"
        ;;
    *) fail "$* at $k: exit status $status: $(cat said)" ;;
    esac
}

sweep() { # command...
    rm -rf out
    mkdir out
    cp known.db out/shelf.db
    FAIL_TELL=total LD_PRELOAD=$work/no_memory.so "$dw" "$@" >/dev/null 2>said ||
        fail "$*: $(cat said)"
    total=$(cat total)
    [ "$total" -gt 200 ] || fail "$*: only $total allocations are seen"
    k=1
    n_failed=0
    while [ "$k" -le "$total" ]; do
        try "$k" "$@"
        [ "$status" = 0 ] || n_failed=$((n_failed + 1))
        k=$((k + step))
    done
    [ "$n_failed" -gt 0 ] || fail "$*: no allocation of $total failed"
}

sweep check job.yaml
sweep plan job.yaml --threads 1 --output out/plan.json
sweep plan job.yaml --threads 1 --json
sweep verify job.yaml plan.json
sweep order job.yaml --threads 1 --output out/order.csv
sweep shelf add --shelf out/shelf.db al38 1200
