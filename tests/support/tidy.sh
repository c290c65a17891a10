#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# cppcheck and clang-tidy with the project's configuration: no finding. usage: tidy.sh [FILE.c...]
set -eu
cd "$(dirname "$0")/../.."
for tool in cppcheck clang-tidy; do
    command -v $tool >/dev/null 2>&1 || { echo "tidy needs: apt-get install cppcheck clang-tidy" >&2; exit 3; }
done
[ $# -gt 0 ] || set -- src/*/*.c src/*/*/*.c
# The two suppressed checks mistake "return the one made before" and several names for one start.
cppcheck --quiet --std=c11 --error-exitcode=1 --inline-suppr \
    --enable=warning,performance,portability --suppress=missingIncludeSystem \
    --suppress=identicalInnerCondition --suppress=duplicateAssignExpression \
    --suppress=unmatchedSuppression -Iinclude -Isrc "$@"
flags="-std=c11 -D_POSIX_C_SOURCE=200809L -D_XOPEN_SOURCE=700 -Iinclude -Isrc $(pkg-config --cflags libfyaml jansson sqlite3 cairo pangocairo libqrencode xlsxwriter libmicrohttpd libzip expat | sed 's/-I/-isystem /g')"
tidy_log=$(mktemp)
trap 'rm -f "$tidy_log"' EXIT
# shellcheck disable=SC2016
printf '%s\n' "$@" | FLAGS=$flags xargs -P 2 -n 4 sh -c \
    'clang-tidy --quiet --warnings-as-errors="*" "$@" -- $FLAGS 2>/dev/null' clang-tidy >"$tidy_log" || {
    cat "$tidy_log"
    exit 1
}
echo "tidy: no finding"
