#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Plan, take-off, order and quote as XLSX and CSV, of a job in millimetres and one in inches, read
# back by tables.py: figures as in the documents, sums by formulas, set up for print. Where a
# spreadsheet program is installed (ssconvert), it works the sums out too.
set -eu
program=$(cd "$1" && pwd)/dropwise
root=$(cd "$(dirname "$0")/../.." && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$work"

# What could run as a formula, and suppliers whose names are no names of sheets and begin alike.
job() { # unit, kerf, outside, wall, bar, shorter bar, three lengths
    cat <<JOB
dropwise: 1
name: "Stage & stalls: =1+1"
unit: $1
currency: EUR
saw: {kerf: $2, cost per cut: 0.25}
materials:
  - {id: a, outside: $3, wall: $4, density: 7850 kg/m3}
  - {id: "+b", outside: $3, wall: $4, density: 2700 kg/m3}
bars:
  - {id: six, material: a, length: $5, price: 24.5550, pack: 2, supplier: "Quay [Metals]: north/south & the rest of it"}
  - {id: "-four", material: "+b", length: $6, price: 19.20, supplier: "Quay [Metals]: north/south & the rest, too", date: 2027-03-01}
fittings:
  - {id: tee, stops short: 1/2 OD, fits: a, price: 3.20, supplier: "'Third'", date: 2027-03-01}
suppliers:
  - {name: "'Third'", freight: 9.90, valid until: 2027-04-01}
jobs:
  - name: rack
    client: "@Harbour Lights Trio"
    due: 2027-06-01
    parts:
      - {label: rail, centres: $7, count: 5, both ends: tee, section: left, material: a}
      - {label: "=HYPERLINK(1)", length: $8, count: 7, material: "+b", remark: "-check, \"twice\""}
  - name: stall
    parts:
      - {label: post, length: $9, count: 4, material: a}
      - {label: brace, outside: $8, count: 3, material: "+b", both ends: mitre 45 long point, long points: same side}
sections:
  - {name: left, longest: $8, weight: 10 kg}
quote:
  charge: length used
  margin: 20 %
  tax: {tube: 20 %}
  valid days: 14
JOB
}

make_all() { # paper
    "$program" plan job.yaml -o plan.json -o plan.xlsx -o plan.csv --paper "$1" >/dev/null 2>&1
    "$program" takeoff job.yaml --json -o takeoff.xlsx -o takeoff.csv >takeoff.json 2>/dev/null
    "$program" order job.yaml plan.json --date 2027-04-30 --json -o order.xlsx -o order.csv >order.json 2>/dev/null
    "$program" quote job.yaml plan.json --date 2027-04-30 --private --json -o quote.xlsx -o quote.csv >quote.json 2>/dev/null
    "$program" quote job.yaml plan.json --date 2027-04-30 --job rack -o client.xlsx >/dev/null 2>&1
    "$program" sheet job.yaml plan.json -o again.xlsx >/dev/null 2>&1
}

check() { # unit, kerf in nanometres
    python3 "$root/tests/scripts/tables.py" . "$2" "$1" "Stage & stalls: =1+1"
    if command -v ssconvert >/dev/null; then
        for sheet in money take; do
            ssconvert -S plan.xlsx "read-%s.csv" >/dev/null 2>errors || cat errors
            [ ! -s errors ] || { cat errors; exit 1; }
        done
        read_back=$(tail -n 1 read-money.csv | cut -d, -f2)
        awk -v a="$read_back" -v b="$(jq -r .totals.value plan.json)" 'BEGIN { exit !(a - b < 1e-9 && b - a < 1e-9) }' ||
            { echo "the spreadsheet program sums to $read_back"; exit 1; }
    fi
}

job mm 3 42.4 2 6000 4000 1442.4 700 1900.125 >job.yaml
make_all a4
check mm 3000000
unzip -p plan.xlsx xl/worksheets/sheet1.xml | grep -q 'paperSize="9"'
# The same plan gives the same tables.
unzip -p plan.xlsx xl/worksheets/sheet2.xml >one
unzip -p again.xlsx xl/worksheets/sheet2.xml | cmp - one

mkdir inch && cd inch
job in 1/8 1.66 0.12 252 168 '60 3/16' '27 1/2' '75 5/64' >job.yaml
make_all letter
check in 3175000
unzip -p plan.xlsx xl/worksheets/sheet1.xml | grep -q 'paperSize="1"'
