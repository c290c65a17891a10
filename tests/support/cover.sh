#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Line coverage of src/ by the quick tier, a file a line and the total. Fails under COVER_LEAST
# percent (default 90). usage: cover.sh BUILD
set -eu
cd "$(dirname "$0")/../.."
build=$1
rm -rf "$build"
# What is made apart (base/apart.h) ends without the usual farewell: it tells its counts before.
mkdir -p "$build"
cat >"$build/farewell.c" <<'C'
void __real__exit(int status);
void __gcov_dump(void);
void __wrap__exit(int status);
void __wrap__exit(int status)
{
    __gcov_dump();
    __real__exit(status);
}
C
gcc -c "$build/farewell.c" -o "$build/farewell.o"
export LDFLAGS="-Wl,--wrap=_exit $PWD/$build/farewell.o"
make -s BUILD="$build" OPT="-O0 -g --coverage -fprofile-update=atomic" all unit
sh tests/support/run.sh "$build" || echo "(some tests failed under coverage)"
find "$build/src" -name '*.gcda' | while read -r data; do
    gcov -n -o "$(dirname "$data")" "$data" 2>/dev/null
done | awk -v least="${COVER_LEAST:-90}" '
/^File / { file = $2; gsub(/\x27/, "", file) }
/^Lines executed:/ && file ~ /^src\/.*\.c$/ {
    split($0, part, /[:% ]+/); percent = part[3]; lines = part[5]
    if (!(file in seen)) { seen[file] = 1; total += lines; hit += percent * lines / 100
        printf "%6.1f %%  %5d  %s\n", percent, lines, file }
    file = ""
}
END { printf "%6.1f %%  %5d  all of src\n", 100 * hit / total, total; exit 100 * hit / total < least }
'
