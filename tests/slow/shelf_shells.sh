#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# 200 shells that add, hold, cut and undo on one shelf, each killed with SIGKILL, with all that it
# started, at a random moment. After each: the ledger opens, is in order, and balances.
# usage: shelf_shells.sh BUILD [SHELLS]
set -eu
build=$(cd "$1" && pwd)
shells=${2:-200}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$work"
DW=$build/dropwise
export DW
cat >job.yaml <<'JOB'
dropwise: 1
name: stall
unit: mm
currency: EUR
saw: {kerf: 2, squaring: 5}
rules: {keep: 300, leftover worth: 50 %}
materials:
  - {id: S48, outside: 48.3 mm, wall: 3.2 mm}
bars:
  - {id: new, material: S48, length: 3 m, price: 24}
parts:
  - {label: leg, length: 1200, count: 3}
  - {label: brace, length: 500, count: 2}
JOB
cat >shift.sh <<'SHIFT'
# One shift at the shelf, for ever; a refusal (held, nothing to undo) is part of the day.
while :; do
    "$DW" shelf add S48 1250mm 700mm --shelf shelf.db
    "$DW" plan job.yaml --hold --greedy --shelf shelf.db
    plan=$("$DW" shelf plans --shelf shelf.db --json | jq '[.plans[] | select(.cut < .bars)][0].plan')
    "$DW" shelf cut "$plan" --all --shelf shelf.db
    "$DW" shelf undo --shelf shelf.db
    "$DW" shelf cut "$plan" --all --shelf shelf.db
    "$DW" shelf undo --shelf shelf.db
    "$DW" shelf release "$plan" --shelf shelf.db
done
SHIFT
"$DW" shelf material S48 --od 48.3mm --wall 3.2mm --shelf shelf.db >/dev/null
seed=4711
i=0
while [ "$i" -lt "$shells" ]; do
    i=$((i + 1))
    seed=$(((seed * 1103515245 + 12345) % 2147483648))
    setsid sh shift.sh >/dev/null 2>&1 &
    shell=$!
    sleep "0.$(printf '%03d' $((seed / 65536 % 400)))"
    kill -KILL -- "-$shell" 2>/dev/null || kill -KILL "$shell"
    wait "$shell" 2>/dev/null || true
    "$DW" shelf check --shelf shelf.db >check.txt 2>&1 || {
        echo "after shell $i:"
        cat check.txt
        exit 1
    }
    twice=$("$DW" shelf list --all --shelf shelf.db --json | jq -r '.pieces[].number' | sort | uniq -d)
    [ -z "$twice" ] || { echo "doubled: $twice"; exit 1; }
done
steps=$("$DW" shelf history --last 1 --shelf shelf.db --json | jq '.events[0].step')
echo "$shells shells killed, $steps steps, in order after each"
[ "$steps" -gt "$shells" ]
