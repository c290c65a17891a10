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
quote: {charge: whole bars}
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
grep -v '^offcuts:\|{id: o1' job.yaml >held.yaml
cat >take.yaml <<'JOB'
dropwise: 1
unit: mm
saw: {kerf: 2}
materials: [{id: al38, outside: 38 mm, wall: 2 mm}]
bars: [{material: al38, length: 6 m, price: 30}]
fittings: [{id: tee, take out: 9}]
parts:
  - {label: rail, material: al38, centres: 600, both ends: tee, count: 2}
JOB
cat >posts.yaml <<'JOB'
dropwise: 1
unit: mm
saw: {kerf: 2}
materials: [{id: al38}]
bars: [{material: al38, length: 6 m, price: 30}]
offcuts: [{id: o1, material: al38, length: 1500}]
posts: [{label: stub, material: al38, length: 300 to 700, at most: 2, worth: 2}]
JOB
printf 'material,length,count\nal38,1200,2\n' >stock.csv
"$dw" plan job.yaml --threads 1 --output plan.json >/dev/null 2>&1
"$dw" shelf material --shelf known.db al38 >/dev/null
"$dw" shelf add --shelf known.db al38 1730 >/dev/null
"$dw" plan held.yaml --from-shelf --hold --shelf known.db --output held.json >/dev/null 2>&1
"$dw" shelf cut --shelf known.db 1 1 >/dev/null

steps() { # of a shelf's file, which is whole
    [ "$(sqlite3 "$1" 'PRAGMA integrity_check')" = ok ] || fail "$1 is damaged"
    sqlite3 "$1" 'SELECT count(*) FROM steps'
}
n_steps=$(steps known.db)

# One run with the k-th allocation failing. A step of the shelf that is booked is said to be, whatever fails
# after it.
try() { # k command...
    k=$1
    shift
    rm -rf out
    mkdir out
    cp known.db out/shelf.db
    status=0
    FAIL_AT=$k LD_PRELOAD=$work/no_memory.so timeout 60 "$dw" "$@" >printed 2>said </dev/null ||
        status=$?
    left=$(ls out | grep -v '^shelf[.]db' || true)
    now=$(steps out/shelf.db)
    case $status in
    0)
        [ "$now" = "$steps_after" ] || fail "$* at $k: done, but $now steps"
        # a method that found no memory may leave a dearer plan, but none that says too much
        [ ! -e out/plan.json ] || "$dw" verify job.yaml out/plan.json >/dev/null 2>said ||
            fail "$* at $k: the plan is not valid: $(cat said)"
        ;;
    3)
        grep -q -e 'out of memory' -e 'LP library' said || fail "$* at $k: it says $(cat said)"
        [ "$now" = "$n_steps" ] || grep -q 'booked all the same' said ||
            fail "$* at $k: failed, but $now steps: $(cat said)"
        [ -z "$left" ] || [ "$now" != "$n_steps" ] || fail "$* at $k: failed, but left $left"
        ;;
    *) fail "$* at $k: exit status $status: $(cat said)" ;;
    esac
}

# In the quick tier large commands go in larger steps; drawings, which make more allocations than all
# else together, do so in both.
sweep() { # times-the-step command...
    stride=$((step * $1))
    [ "$step" != 1 ] || [ "$1" -ge $drawing ] || stride=1
    shift
    rm -rf out
    mkdir out
    cp known.db out/shelf.db
    FAIL_TELL=total LD_PRELOAD=$work/no_memory.so "$dw" "$@" >/dev/null 2>said ||
        fail "$*: $(cat said)"
    total=$(cat total)
    steps_after=$(steps out/shelf.db)
    [ "$total" -gt 100 ] || fail "$*: only $total allocations are seen"
    k=1
    n_failed=0
    while [ "$k" -le "$total" ]; do
        try "$k" "$@"
        [ "$status" = 0 ] || n_failed=$((n_failed + 1))
        k=$((k + stride))
    done
    [ "$n_failed" -gt 0 ] || fail "$*: no allocation of $total failed"
    [ -z "${TELL:-}" ] || echo "$*: $total allocations, $n_failed failures"
}

drawing=150
sweep 1 check job.yaml
sweep 1 plan job.yaml --threads 1 --output out/plan.json
sweep 2 plan job.yaml --threads 1 --json
sweep 1 verify job.yaml plan.json
sweep 1 takeoff take.yaml
sweep 1 posts posts.yaml
sweep 2 order job.yaml --threads 1 --output out/order.csv
sweep 1 order job.yaml plan.json --output out/order.xlsx
sweep 2 sheet job.yaml plan.json --output out/plan.xlsx
sweep 2 sheet job.yaml plan.json --output out/plan.csv
sweep 2 takeoff take.yaml --output out/take.csv
sweep 1 quote job.yaml plan.json
sweep 3 shelf add --shelf out/shelf.db al38 1200
sweep 5 shelf import --shelf out/shelf.db stock.csv
sweep 3 shelf list --shelf out/shelf.db
sweep 5 shelf plans --shelf out/shelf.db 1
sweep 7 shelf cut --shelf out/shelf.db 1 2
sweep 5 shelf undo --shelf out/shelf.db
sweep 13 miscut held.yaml 1 2 --measured 5900 --threads 1 --shelf out/shelf.db --output out/next.json
sweep $drawing sheet job.yaml plan.json --output out/sheet.pdf
sweep $drawing sheet job.yaml plan.json --output out/sheet.svg
sweep $drawing labels job.yaml plan.json --output out/labels.pdf
sweep $drawing order job.yaml plan.json --output out/order.pdf
sweep $drawing quote job.yaml plan.json --output out/quote.pdf
