#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# A tag of a struct, union or enum means one thing in the whole library: what begins with dw_ is
# defined once, and a header defines nothing that does not begin so.
set -eu
cd "$(dirname "$0")/../.."

# Complains of files given as arguments; exit 1 if there is anything to complain of.
tags() {
    awk '
    /^(typedef +)?(struct|union|enum) +[a-zA-Z_0-9]+ *[{]/ {
        tag = $0
        sub(/^(typedef +)?(struct|union|enum) +/, "", tag)
        sub(/[^a-zA-Z_0-9].*/, "", tag)
        place = FILENAME ":" FNR
        if (tag ~ /^dw_/) {
            seen++
            if (tag in first) { print place ": " tag " is defined in " first[tag] " too"; bad = 1 }
            else first[tag] = place
        } else if (FILENAME ~ /[.]h$/) {
            print place ": " tag " stands in a header and does not begin with dw_"
            bad = 1
        }
    }
    END {
        if (seen < 2) { print "no tags were read"; bad = 1 }
        exit bad
    }' "$@"
}

# It tells what it is there for: two definitions, and a name without its prefix.
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
printf 'struct dw_a {\n};\nenum dw_b { ONE };\n' >"$scratch/good.h"
printf 'union dw_a {\n};\n' >"$scratch/twice.c"
printf 'struct bare {\n};\n' >"$scratch/bare.h"
tags "$scratch/good.h" >/dev/null
for wrong in twice.c bare.h; do
    if tags "$scratch/good.h" "$scratch/$wrong" >/dev/null; then
        echo "$wrong was not refused"
        exit 1
    fi
done

# What src/web/onefile has is never built together with the files that it stands in for.
# shellcheck disable=SC2046
tags $(find include src -path src/web/onefile -prune -o -name '*.[ch]' -print | sort)
