#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# SIGINT and SIGTERM stop a long plan with the best one so far, valid and written; a second one ends
# the program at once and leaves nothing behind. A limit of time is kept, whatever the job.
# usage: interrupt.sh BUILD
set -eu
dw=$(cd "$1" && pwd)/dropwise
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$work"
fail() {
    echo "$*"
    exit 1
}

# Many different lengths in many materials, more than can be finished in the time that is given.
awk 'BEGIN {
    seed = 7
    print "dropwise: 1\nunit: mm\ncurrency: EUR\nsaw: {kerf: 2.5}\nmaterials:"
    for (m = 1; m <= 12; m++) printf "  - {id: t%d}\n", m
    print "bars:"
    for (m = 1; m <= 12; m++) for (k = 0; k < 4; k++)
        printf "  - {material: t%d, length: %d, price: %d.%02d}\n", m, 5200 + 731 * k, 31 + 4 * k, 7 * k + m
    print "parts:"
    for (m = 1; m <= 12; m++) for (i = 1; i <= 90; i++) {
        seed = (seed * 1103 + 12345) % 1000003
        printf "  - {label: p%d-%d, material: t%d, length: %d, count: %d}\n", m, i, m, 211 + seed % 2300, 1 + seed % 7
    }
}' >job.yaml

for signal in INT TERM; do
    rm -f plan.json
    "$dw" plan job.yaml --time 0 --output plan.json >out 2>err &
    pid=$!
    sleep 1
    kill -s "$signal" "$pid" 2>/dev/null || true
    status=0
    wait "$pid" || status=$?
    [ "$status" = 0 ] || fail "SIG$signal: exit status $status: $(cat err)"
    grep -q 'stopped when you asked' out || fail "SIG$signal: the report does not say who stopped it"
    "$dw" verify job.yaml plan.json >/dev/null 2>&1 || fail "SIG$signal: the plan is not valid"
done

# Two signals, one right after the other: the second must not wait for the search to stop.
ended=no
for _ in 1 2 3; do
    rm -f plan.json
    "$dw" plan job.yaml --time 0 --output plan.json >out 2>err &
    pid=$!
    sleep 1
    kill -s INT "$pid"
    kill -s TERM "$pid" 2>/dev/null || true
    status=0
    wait "$pid" || status=$?
    case $status in 130 | 143) ended=yes && break ;; esac
done
[ "$ended" = yes ] || fail "the second signal did not end the program: exit status $status"
[ "$(ls)" = "$(printf 'err\njob.yaml\nout')" ] || fail "left behind: $(ls)"

# Stopped while the first relaxation is solved, an LP with a row for each of very many offcuts.
awk 'BEGIN {
    seed = 7
    print "dropwise: 1\nunit: mm\ncurrency: EUR\nsaw: {kerf: 2, cut cost: 0.4}\nrules: {keep: 300}\nmaterials:\n  - {id: t}"
    print "bars:\n  - {material: t, length: 6000, price: 90}\noffcuts:"
    for (i = 0; i < 30000; i++) {
        seed = (seed * 16807) % 2147483647
        printf "  - {id: o%d, material: t, length: %d.%06d, book value: %d}\n", i, 300 + seed % 5600, seed % 999983, 1 + seed % 49
    }
    print "parts:"
    for (i = 0; i < 400; i++) {
        seed = (seed * 16807) % 2147483647
        printf "  - {label: p%d, material: t, length: %d.%06d, count: %d}\n", i, 400 + seed % 5400, seed % 999979, 1 + seed % 50
    }
}' >offcuts.yaml
(
    ulimit -t 20
    exec "$dw" plan offcuts.yaml --time 0
) >out 2>err &
pid=$!
sleep 5
kill -s INT "$pid"
status=0
wait "$pid" || status=$?
[ "$status" = 0 ] || fail "very many offcuts: exit status $status: $(cat err)"
grep -q 'stopped when you asked' out || fail "very many offcuts: the report does not say who stopped it"

# The time is kept where a bar holds a hundred thousand pieces of a part, and where each of very many
# materials gets a thousandth of it: computing time, since the machine may be busy.
awk 'BEGIN {
    print "dropwise: 1\nunit: mm\nsaw: {kerf: 0.05}\nmaterials: [{id: t}]"
    print "bars: [{length: 6000, price: 90}, {length: 5000, price: 70}]\nparts:"
    for (i = 1; i <= 20; i++) printf "  - {label: p%d, length: 0.%03d, count: 99000}\n", i, i
}' >tiny.yaml
awk 'BEGIN {
    seed = 7
    print "dropwise: 1\nunit: mm\nsaw: {kerf: 2}\nmaterials:"
    for (m = 1; m <= 1000; m++) printf "  - {id: m%d}\n", m
    print "bars:"
    for (m = 1; m <= 1000; m++)
        printf "  - {material: m%d, length: 4000, price: 50}\n  - {material: m%d, length: 5000, price: 60}\n", m, m
    print "parts:"
    for (i = 0; i < 60000; i++) {
        seed = (seed * 16807) % 2147483647
        printf "  - {label: p%d, material: m%d, length: %d, count: %d}\n", i, 1 + i % 1000, 200 + seed % 3700, 1 + seed % 9
    }
}' >materials.yaml
for job in tiny materials; do
    status=0
    (
        ulimit -t 10
        exec "$dw" plan $job.yaml --time 1
    ) >out 2>err || status=$?
    [ "$status" = 0 ] || fail "$job: exit status $status: $(cat err)"
    grep -q 'stopped' out || fail "$job: the report does not say that the time was over"
done
