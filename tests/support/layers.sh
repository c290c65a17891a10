#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Refuses an include that src/LAYERS does not allow. Prints each offender as file:line.
set -eu
cd "$(dirname "$0")/../.."
awk '
FNR == 1 && FILENAME == "src/LAYERS" { table = 1 }
FNR == 1 && FILENAME != "src/LAYERS" {
    table = 0
    n = split(FILENAME, part, "/")
    module = n > 3 ? part[2] "/" part[3] : part[2]
    if (!(module in known)) { print FILENAME ": module " module " is not in src/LAYERS"; bad = 1 }
}
table && /^#/ { next }
table && /^@/ { owner[substr($1, 2)] = $2; next }
table && NF {
    n = split($0, field, ":")
    gsub(/ /, "", field[1])
    module = field[1]
    known[module] = 1
    allowed[module, module] = 1
    m = split(field[2], word, " ")
    for (i = 1; i <= m; i++) allowed[module, word[i]] = 1
    m = split(field[3], word, " ")
    for (i = 1; i <= m; i++) {
        split(word[i], at, "@")
        foreign[at[1]] = 1
        place[module, at[1]] = at[2] == "" ? "*" : at[2]
    }
    next
}
!table && /^#[ ]*include/ {
    match($0, /[<"][^>"]*[>"]/)
    header = substr($0, RSTART + 1, RLENGTH - 2)
    quoted = substr($0, RSTART, 1) == "\""
    n = split(header, dir, "/")
    target = ""
    if (header ~ /\.\.\//) { print FILENAME ":" FNR ": include by module path, not " header; bad = 1 }
    else if (dir[1] == "dropwise") {
        if (!(dir[2] in owner)) { print FILENAME ":" FNR ": " header " has no owner in src/LAYERS"; bad = 1; next }
        target = owner[dir[2]]
    } else if (quoted) target = n > 2 ? dir[1] "/" dir[2] : dir[1]
    else if (header in foreign) {
        n = split(FILENAME, part, "/")
        where = place[module, header]
        if (where == "" || (where != "*" && where != part[n])) {
            print FILENAME ":" FNR ": <" header "> is not allowed here"; bad = 1
        }
    }
    if (target != "" && !((module, target) in allowed)) {
        print FILENAME ":" FNR ": " module " may not include " target " (" header ")"; bad = 1
    }
}
END { exit bad }
' src/LAYERS $(find src -name '*.[ch]' | sort)
echo "layers: every include is allowed"
