#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# The foot of the page says what the table of cautions says at the saw.
# usage: cautions.sh BUILD
set -eu
build=$(cd "$1" && pwd)
cd "$(dirname "$0")/../.."
"$build/dropwise" plan samples/trio-rack.yaml --greedy --json 2>/dev/null |
    jq -r '.cautions[] | select(.caution == "saw" or .caution == "use") | .text' |
    paste -sd ' ' >"$build/cautions.text"
[ "$(wc -c <"$build/cautions.text")" -gt 200 ]
grep -qF -- "$(cat "$build/cautions.text")" src/web/page/index.html
