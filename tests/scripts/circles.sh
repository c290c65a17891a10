#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# The files of src do not call each other in a circle, nor do its headers include each other in one.
# What a file takes from another is read from its object: symbols that it needs and another defines.
# (src/web/onefile stands in for other files and is in no build of the program.) usage: circles.sh BUILD
set -eu
cd "$(dirname "$0")/../.."
build=$1
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

# Pairs "a b": a file and one that it calls, from lines "file nm-line".
calls() {
    awk '
    $3 ~ /^[TDRBVW]$/ && NF > 2 { home[$2] = $1 }
    $3 == "U" { needs[++n] = $1 " " $2 }
    END {
        for (i = 1; i <= n; i++) {
            split(needs[i], pair, " ")
            if (pair[2] in home && home[pair[2]] != pair[1]) print pair[1], home[pair[2]]
        }
    }'
}

# Fails and names the files where pairs on standard input go round.
ordered() {
    sort -u | tsort 2>"$work/loops" >/dev/null || true
    [ ! -s "$work/loops" ] || { sed 's/^tsort: //; s/-: input contains a loop:/a circle:/' "$work/loops"; return 1; }
}

# It finds a circle where there is one, and none where there is none.
printf 'a f T 0\nb g T 0\na g U\nc f U\n' | calls | ordered
if printf 'a f T 0\nb g T 0\na g U\nb f U\n' | calls | ordered >/dev/null; then
    echo "a circle of two was not found"
    exit 1
fi

find src -name '*.c' ! -path 'src/web/onefile/*' | sort | while read -r file; do
    nm -P "$build/${file%.c}.o" | sed "s|^|$file |"
done >"$work/symbols"
[ "$(grep -c ' U' "$work/symbols")" -gt 1000 ] || { echo "too few symbols were read"; exit 1; }
bad=0
calls <"$work/symbols" | ordered || bad=1
find src -name '*.h' | sort | xargs grep -H '^#include "' |
    sed 's|^src/\([^:]*\):#include "\([^"]*\)".*|\1 \2|' | ordered || bad=1
exit $bad
