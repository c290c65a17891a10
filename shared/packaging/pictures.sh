#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Makes the pictures of README.md anew, from a sample: the plan as printed, the sheet at the saw, the
# page. The page needs Chromium and the packages of tests/browser.
# usage: pictures.sh PROGRAM
set -eu
program=$(cd "$(dirname "$1")" && pwd)/$(basename "$1")
cd "$(dirname "$0")/../.."
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
to=shared/pictures
job=samples/trio-rack.yaml
mkdir -p "$to"

"$program" plan "$job" --output "$work/plan.json" --color never --width 84 >"$work/plan.txt"
# Text as a picture: lines of one height, in letters of one width; < & > as XML wants them.
awk '
BEGIN { n = 0 }
/^Where the tube goes/ { exit }
{ gsub(/&/, "\\&amp;"); gsub(/</, "\\&lt;"); gsub(/>/, "\\&gt;"); line[n++] = $0 }
END {
    printf "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 740 %d\" width=\"740\">\n", 18 * n + 24
    print "<!-- SPDX-License-Identifier: GPL-3.0-or-later -->"
    print "<rect width=\"100%\" height=\"100%\" rx=\"6\" fill=\"#fbfaf7\" stroke=\"#b9b2a3\"/>"
    print "<g font-family=\"DejaVu Sans Mono, Menlo, Consolas, monospace\" font-size=\"14\" fill=\"#1d1d1b\" xml:space=\"preserve\">"
    for (i = 0; i < n; i++) if (line[i] != "") printf "<text x=\"14\" y=\"%d\">%s</text>\n", 18 * i + 28, line[i]
    print "</g>\n</svg>"
}' "$work/plan.txt" >"$to/plan.svg"
"$program" sheet "$job" "$work/plan.json" --output "$work/sheet.png" --dpi 80 --date 2026-03-01
for page in "$work"/sheet*.png; do
    cp "$page" "$to/sheet.png"
    break
done
[ -d tests/browser/node_modules ] || (cd tests/browser && PLAYWRIGHT_SKIP_BROWSER_DOWNLOAD=1 npm ci --no-audit --no-fund --silent)
node tests/browser/pictures.mjs "$program" "$job" "$to/page.png"
ls -l "$to"
