#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# tests/SOURCES.md and the tests agree: each place of a row exists and has the row's words in it, and
# each line of a test that names a source (a site, a standard, an author with a year, a memory) has
# the words of a row that names that file.
# usage: sources.sh BUILD
set -eu
cd "$(dirname "$0")/.."
export LC_ALL=C
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
bad=0

# One line a place: file, tab, words. Words are what the second cell has in backquotes.
awk -F ' *[|] *' '/^[|]/ && $2 != "what" && $2 !~ /^-+$/ {
    if (split($3, words, "`") != 3 || $4 !~ /^`[^`]+`( `[^`]+`)*$/) {
        print "SOURCES.md:" FNR ": a row has one text in backquotes, then files in backquotes" > "/dev/stderr"
        exit 1
    }
    n = split($4, files, "`")
    for (i = 2; i < n; i += 2) print files[i] "\t" words[2]
}' SOURCES.md >"$work/places"
[ "$(wc -l <"$work/places")" -ge 50 ] || { echo "SOURCES.md has too few rows to be true"; exit 1; }
while IFS="$(printf '\t')" read -r file words; do
    if [ ! -f "$file" ]; then
        echo "SOURCES.md: there is no tests/$file"
    elif ! grep -qF -e "$words" "$file"; then
        echo "SOURCES.md: \"$words\" does not stand in tests/$file"
    fi
done <"$work/places" >"$work/missing"

cat >"$work/names" <<'NAMES'
([a-z0-9-]+[.])+(com|org|net|me|gov|uk|au|jp|dev|io|de|sk|se)([^a-zA-Z0-9_(]|$)
(ISO|EN|ASTM|DIN|RFC|CFR|NIST SP|WCAG|APPNOTE|arXiv|scribd|VAT Notice|Admin[.] Code)[ :/-][A-Z]?[0-9]
[A-Z][a-z][a-z]+ [(]?(19|20)[0-9][0-9]([^-0-9]|$)
[Ff]rom memory|OWASP|Debian's
NAMES
# Generators of random numbers and the shape of a test are named too: they are methods, not checks.
find . -name node_modules -prune -o \( -name '*.[ch]' -o -name '*.sh' -o -name '*.mjs' -o -name cmd \) -print |
    sed 's|^[.]/||' | grep -v '^scripts/sources.sh$' | sort | tr '\n' '\0' |
    xargs -0 grep -nE -f "$work/names" |
    grep -vE 'SplitMix|splitmix|xorshift|http://www.w3.org|outline[.]net|Pieces [0-9]+ :' >"$work/named"
awk -F '\t' 'NR == FNR { words[$1] = words[$1] "\t" $2; next }
    {
        file = $0; sub(/:.*/, "", file)
        n = split(words[file], key, "\t")
        for (i = 2; i <= n; i++) if (index($0, key[i])) next
        print "tests/" $0 ": names a source that SOURCES.md does not list for this file"
    }' "$work/places" "$work/named" >"$work/unlisted"
for list in missing unlisted; do
    [ ! -s "$work/$list" ] || { cat "$work/$list"; bad=1; }
done
exit $bad
