#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# The order as XLSX: every part of it is well-formed, nothing in it is a formula but its sums, and its
# figures are those of the JSON. Where a spreadsheet program is installed (ssconvert), it reads it too.
set -eu
program=$(cd "$1" && pwd)/dropwise
root=$(cd "$(dirname "$0")/../.." && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cp "$root/tests/cases/trade/order/job.yaml" "$work"
cd "$work"
"$program" order job.yaml --date 2027-04-30 --json -o order.xlsx -o order.csv >order.json

unzip -q order.xlsx -d parts
find parts -type f | while read -r part; do
    xmllint --noout "$part"
done
sheet=parts/xl/worksheets/sheet1.xml
value() { # cell: its number
    xmllint --xpath "string(//*[local-name()='c'][@r='$1']/*[local-name()='v'])" "$sheet"
}
formulas=$(xmllint --xpath "//*[local-name()='f']/text()" "$sheet" | tr '\n' ' ')
[ "$formulas" = 'SUM(J2:J5) SUM(L2:L5) ' ] || { echo "formulas in the sheet: $formulas"; exit 1; }

same() { # what, a number, another
    awk -v a="$2" -v b="$3" 'BEGIN { exit !(a == b) }' || { echo "$1: XLSX $2, JSON $3"; exit 1; }
}
row=2
jq -r '.suppliers[].lines[] | "\(.quantity) \(.price_each) \(.amount)"' order.json >lines
[ "$(wc -l <lines)" -ge 4 ] || { echo "too few lines to compare"; exit 1; }
while read -r quantity price amount; do
    same "quantity in row $row" "$(value F$row)" "$quantity"
    same "price in row $row" "$(value I$row)" "$price"
    same "amount in row $row" "$(value J$row)" "$amount"
    row=$((row + 1))
done <lines
same total "$(value J$row)" "$(jq -r .total order.json)"

# What has to be minded stands below, in both, in the words of the JSON.
jq -r '.cautions[].text' order.json >cautions
[ "$(wc -l <cautions)" -ge 2 ] || { echo "too few cautions to compare"; exit 1; }
text() { # cell: its text
    at=$(($(value "$1") + 1))
    xmllint --xpath "string(//*[local-name()='si'][$at])" parts/xl/sharedStrings.xml
}
while read -r caution; do
    row=$((row + 1))
    [ "$(text D$row)" = "$caution" ] || { echo "row $row says $(text D$row)"; exit 1; }
    grep -qF -- "$caution" order.csv || { echo "CSV lacks: $caution"; exit 1; }
done <cautions

# The CSV has one line a row of the JSON and a caution, and no cell that a spreadsheet would run.
[ "$(tail -n +2 order.csv | wc -l)" = "$(cat lines cautions | wc -l)" ] ||
    { echo "CSV: rows differ"; exit 1; }
if tail -n +2 order.csv | grep -E '(^|,)"?[=+@-]' ; then
    echo "CSV: a cell begins as a formula"
    exit 1
fi

if command -v ssconvert >/dev/null; then
    ssconvert order.xlsx read.csv >/dev/null 2>errors || cat errors
    [ ! -s errors ] || { cat errors; exit 1; } # a repair would be told here
    grep -q ',total,.*,96.61,EUR' read.csv || { cat read.csv; exit 1; }
fi

# Where the sheet can't be written, nothing is left: in a folder without room (files of 2 KiB at
# most, told by an error or by a signal that ends the program midway), in none, and under a name
# that is a folder.
mkdir room order-folder.xlsx
nothing() { # what
    [ -z "$(ls -A room)" ] || { echo "$1: left behind:"; ls -A room; exit 1; }
}
refused() { # status, file
    status=0
    "$program" order job.yaml --date 2027-04-30 -o "$2" >said 2>errors || status=$?
    [ "$status" = "$1" ] || { echo "$2: status $status"; cat errors; exit 1; }
    grep -q "$2" errors || { echo "$2: not named"; cat errors; exit 1; }
    [ ! -s said ] || { echo "$2: and yet"; cat said; exit 1; }
}
cp /dev/null said
(trap '' XFSZ && ulimit -f 4 && refused 3 room/order.xlsx)
nothing "a full folder"
{ (ulimit -f 4 && "$program" order job.yaml --date 2027-04-30 -o room/order.xlsx) >said 2>errors; } 2>ended && exit 1
nothing "ended midway"
refused 2 nowhere/order.xlsx
[ ! -e nowhere ]
refused 2 order-folder.xlsx
[ -z "$(ls -A order-folder.xlsx)" ]
[ -z "$(find . -name '*.xlsx.*')" ] || { find . -name '*.xlsx.*'; exit 1; }
