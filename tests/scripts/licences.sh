#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Every tracked file says its licence: an SPDX identifier in its first five lines, or a path of
# .reuse/dep5. Each path there has files, and but for folders of test inputs none that says it itself.
# usage: licences.sh BUILD
set -eu
cd "$(dirname "$0")/../.."
build=$(cd "$1" && pwd)
export LC_ALL=C
git rev-parse --is-inside-work-tree >/dev/null 2>&1 || { echo "skipped: no git work tree"; exit 0; }
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
bad=0

complain() { # text, offending lines on standard input
    lines=$(cat)
    [ -z "$lines" ] || { printf '%s\n%s\n' "$1" "$lines"; bad=1; }
}

git ls-files | sed '/^LICENSE$/d; /^[.]reuse/d' | while read -r file; do [ ! -f "$file" ] || echo "$file"; done |
    sort >"$work/files"
tr '\n' '\0' <"$work/files" | xargs -0 awk '
    FNR > 5 { nextfile }
    /SPDX-License-Identifier: GPL-3[.]0-or-later/ { print FILENAME; nextfile }' | sort >"$work/said"
# Paths of .reuse/dep5 as regular expressions: * is anything.
sed -n '/^Files:/,/^Copyright:/{s/^Files://; /^Copyright:/d; s/^ *//p}' .reuse/dep5 |
    sed 's/[.]/[.]/g; s/[*]/.*/g; s/^/^/; s/$/$/' >"$work/paths"
[ -s "$work/said" ] && [ -s "$work/paths" ] || { echo "nothing to compare"; exit 1; }

comm -23 "$work/files" "$work/said" | grep -Evf "$work/paths" >"$work/bare" || true
complain "no SPDX identifier in the first five lines, nor a path in .reuse/dep5:" <"$work/bare"
grep -Ef "$work/paths" "$work/said" |
    grep -Ev '^tests/(cases|regress|fuzz/seeds|lists/data|unit/format/data)/' >"$work/twice" || true
complain "has an SPDX identifier and a path in .reuse/dep5:" <"$work/twice"
while read -r path; do
    grep -qE "$path" "$work/files" || echo "$path"
done <"$work/paths" >"$work/idle"
complain "paths in .reuse/dep5 without a file:" <"$work/idle"
"$build/dropwise" version | grep -q 'GPL-3.0-or-later' ||
    { echo "dropwise version does not say the licence"; bad=1; }
exit $bad
