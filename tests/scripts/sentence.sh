#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Each file of src begins, after its licence, with a comment whose first sentence says what the file
# is for: some words, and a full stop.
set -eu
cd "$(dirname "$0")/../.."

# Complains of files given as arguments; exit 1 if there is anything to complain of.
sentences() {
    awk '
    function ended() {
        n = split(said, words, /[ \t]+/)
        if (said !~ /^\/[*] *[^ *\/]/ || n < 4 || said !~ /[.]( |$)/) {
            print name ": begin with a comment of one sentence that says what the file is for"
            bad = 1
        }
        open = 0
    }
    FNR == 1 {
        if (open) ended()
        open = 1; said = ""; name = FILENAME; files++
        if ($0 !~ /SPDX-License-Identifier/) { print FILENAME ": the first line is not its licence"; bad = 1 }
        next
    }
    open && FNR == 2 && $0 !~ /^\/[*] / { ended(); next }
    open {
        line = $0
        last = line ~ /[*]\//
        sub(/ *[*]\/.*/, "", line)
        sub(/^ [*] */, " ", line)
        said = said line
        if (last || FNR > 12) ended()
    }
    END {
        if (open) ended()
        if (!files) { print "no files were read"; bad = 1 }
        exit bad
    }' "$@"
}

# It refuses what it is there for: no comment, and one that is no sentence.
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
licence='/* SPDX-License-Identifier: GPL-3.0-or-later */'
printf '%s\n/* What adds up\n * the bars. */\n#include "a.h"\n' "$licence" >"$scratch/good.c"
printf '%s\n#include "a.h"\n/* What adds up the bars. */\n' "$licence" >"$scratch/late.c"
printf '%s\n/* --- bars --- */\nint a;\n' "$licence" >"$scratch/rule.c"
sentences "$scratch/good.c"
for wrong in late.c rule.c; do
    if sentences "$scratch/$wrong" >/dev/null; then
        echo "$wrong was not refused"
        exit 1
    fi
done

# shellcheck disable=SC2046
sentences $(find src -name '*.[ch]' | sort)
