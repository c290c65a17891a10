#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# What the archive may and may not hold: only dw_ names go out, no writable data, and nothing in it
# prints, exits or aborts, save that base/apart.c ends its own child. The shared library exports what
# the public headers declare, all of it and nothing else.
# usage: symbols.sh BUILD
set -eu
archive=$1/libdropwise.a
shared=$(ls "$1"/libdropwise.so.*)
bad=0

complain() { # text, offending lines on standard input
    lines=$(cat)
    [ -z "$lines" ] || { printf '%s\n%s\n' "$1" "$lines"; bad=1; }
}

# Sanitizer and coverage builds add symbols of their own: they are looked at in the plain build.
nm -A "$archive" | grep -qE '__asan_|__tsan_|__gcov_' && exit 0

nm -A --defined-only --extern-only "$archive" | awk '$NF !~ /^dw_/' | complain "exported without dw_:"
# .data.rel.ro holds constant tables of pointers: read-only once the loader has relocated them.
objdump -t "$archive" |
    awk '/\.o:/ { file = $1 }
         / ([.]data|[.]bss|[.]tdata|[.]tbss|[*]COM)/ && !/[.]data[.]rel[.]ro/ && $NF !~ /^[.]/ {
             print file, $NF
         }' |
    complain "writable data:"
nm -A --undefined-only "$archive" | grep -v ':apart[.]o:.* _exit$' |
    awk '$NF ~ /^(printf|puts|putchar|fputs|fprintf|vprintf|vfprintf|perror|exit|_exit|abort|stdout|stderr|getenv|time|clock_gettime|gettimeofday)$/' |
    complain "called from the library:"

root=$(dirname "$0")/../..
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
sh "$root/shared/packaging/names.sh" >"$work/declared"
nm -D --defined-only "$shared" | awk '$2 != "A" { sub(/@.*/, "", $3); print $3 }' | LC_ALL=C sort >"$work/exported"
[ "$(wc -l <"$work/declared")" -ge 100 ] || { echo "hardly a name is read from the headers"; bad=1; }
diff "$work/declared" "$work/exported" | grep '^[<>]' | complain "declared (<) or exported (>) alone:"
nm -D --defined-only "$shared" | awk '$2 != "T" && $2 != "A"' | complain "exported, and no function:"
nm -D --undefined-only "$shared" | grep ' dw_' | complain "missing in the shared library:"
nm --defined-only --extern-only "$archive" | awk 'NF == 3 && $3 !~ /__/ { print $3 }' | LC_ALL=C sort |
    comm -23 - "$work/declared" | complain "internal, but named like a public function:"
[ "$(objdump -p "$shared" | awk '/SONAME/ { print $2 }')" = "$(basename "$shared")" ] ||
    { echo "the soname is not the name of the file"; bad=1; }
exit $bad
