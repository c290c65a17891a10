#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# The functions that the public headers declare, one a line: what a shared library may export.
# usage: names.sh [--map NODE] : with a node, as a version script for the linker
set -eu
cd "$(dirname "$0")/../.."

# What is left without comments and macros declares a function where a name stands before "(".
names() {
    cat include/dropwise/*.h | awk '
        { text = text $0 "\n" }
        END {
            while ((from = index(text, "/*")) > 0) {
                rest = substr(text, from)
                text = substr(text, 1, from - 1) substr(rest, index(rest, "*/") + 2)
            }
            gsub(/\\\n/, "", text)
            gsub(/\n#[^\n]*/, "", text)
            printf "%s", text
        }' | grep -oE '\bdw_[a-z0-9]+(_[a-z0-9]+)*\(' | tr -d '(' | LC_ALL=C sort -u
}

if [ "${1:-}" = --map ]; then
    printf '%s {\nglobal:\n' "$2"
    names | sed 's/.*/    &;/'
    printf 'local:\n    *;\n};\n'
else
    names
fi
