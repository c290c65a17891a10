#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# A dozen published bin-packing problems, each solved to its published optimum and proven.
#   problems  E. Falkenauer, "A hybrid grouping genetic algorithm for bin packing", Journal of
#             Heuristics 2 (1996) 5-30; OR-Library (J. E. Beasley), binpack1 to binpack8: uniform
#             sizes (u) and triplets (t), by number of pieces and of the problem
#   optima    M. Delorme, M. Iori, S. Martello, "BPPLIB", Optimization Letters 12 (2018) 235-250; a
#             triplet problem of n pieces takes n / 3 bars by its making. For u250_13 OR-Library's
#             best known value is one more, and pieces over bar lengths make one less
# usage: published.sh BUILD
set -eu
root=$(cd "$(dirname "$0")/../.." && pwd)
build=$(cd "$1" && pwd)
[ -x "$build/bench/csp" ] || (cd "$root" && make --no-print-directory -s BUILD="${build#"$root"/}" "${build#"$root"/}/bench/csp")
"$build/bench/csp" --time 60 "$root/tests/published/falkenauer-1996.csp" | sed '$d' | awk '
    { n++; split($1, part, "_"); pieces = substr(part[2], 2) }
    $6 != "optimal" || $2 != $5 || $3 != $4 || $4 != $5 { print "not as published: " $0; bad = 1 }
    part[2] ~ /^t/ && $2 != pieces / 3 { print "not a bar for three pieces: " $0; bad = 1 }
    END { if (n != 12) { print n + 0 " problems, expected 12"; bad = 1 } exit bad }'
