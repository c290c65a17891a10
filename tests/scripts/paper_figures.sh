#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# The text of a printed cut sheet holds every figure of its plan, and every code of the labels is
# read back by a general-purpose decoder at 150 dpi.
set -eu
build=$(cd "$1" && pwd)
cd "$(dirname "$0")/../.."
root=$(pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$work"
bad=0

figures() { # what stands in the sheet as the plan has it: stops, leftovers, names, bars
    jq -r '.layouts[] | (.pieces[] | .length.text), (.leftover | select(.nm > 0) | .text),
        .supply.id, (.pieces[].part.label // empty)' plan.json | sort -u
}

for sample in trio-rack shop-batch; do
    rm -f plan.json sheet.pdf labels*.png
    "$build/dropwise" plan "$root/samples/$sample.yaml" --greedy -o plan.json >/dev/null
    for paper in a4 letter; do
        "$build/dropwise" sheet "$root/samples/$sample.yaml" plan.json -o sheet.pdf --replace \
            --paper $paper >/dev/null
        # one line of words: names may be folded in their column
        pdftotext sheet.pdf - | tr '\n\f\302\240' '    ' | tr -s ' ' >text
        figures | while read -r figure; do
            grep -qF -- "$figure" text || echo "$sample, $paper: not on the sheet: $figure"
        done >missing
        [ ! -s missing ] || { cat missing; bad=1; }
        pages=$(pdfinfo sheet.pdf | awk '/^Pages/ { print $2 }')
        [ "$(grep -oE "page [0-9]+ of $pages" text | sort -u | wc -l)" -eq "$pages" ] ||
            { echo "$sample, $paper: pages are not numbered 1 to $pages"; bad=1; }
        grep -q "Eye and hearing protection" text || { echo "$sample: no cautions"; bad=1; }
    done
    "$build/dropwise" labels "$root/samples/$sample.yaml" plan.json --which parts -o labels.png \
        --dpi 150 >/dev/null
    jq -r '.layouts[].pieces[] | select(.use == "part" or .use == "post") |
        "\(.length.text) \(.part.label)"' plan.json | cut -c 1-26 | sort -u >expected
    for page in labels*.png; do
        zbarimg -q --raw "$page" 2>/dev/null
    done | sort -u >read
    diff -u expected read || { echo "$sample: codes were not read back"; bad=1; }
done
exit $bad
