#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Each public header compiles alone, as C99, C11 and C++17, says which threads may call what, and is
# in dropwise.h. The macros of the version agree, in the headers and in the library.
# usage: headers.sh BUILD
set -eu
build=$(cd "$1" && pwd)
cd "$(dirname "$0")/../.."
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cc=${CC:-gcc}
for header in include/dropwise/*.h; do
    name=$(basename "$header")
    printf '#include <dropwise/%s>\n' "$name" >"$work/one.c"
    cp "$work/one.c" "$work/one.cc"
    for standard in c99 c11; do
        $cc -std=$standard -Wall -Wextra -Wpedantic -Werror -Iinclude -fsyntax-only "$work/one.c"
    done
    if command -v g++ >/dev/null 2>&1; then
        g++ -std=c++17 -Wall -Wextra -Wpedantic -Werror -Iinclude -fsyntax-only "$work/one.cc"
    fi
    [ "$name" = cost.h ] || grep -q '^ \* Threads: ' "$header" ||
        { echo "$name does not say what threads may do"; exit 1; }
    echo '#include <dropwise/dropwise.h>' | $cc -Iinclude -M -xc - | grep -q "dropwise/$name" ||
        { echo "$name is not in dropwise.h"; exit 1; }
done

nm "$build/libdropwise.a" 2>/dev/null | grep -qE '__asan_|__tsan_|__gcov_' && exit 0
cat >"$work/version.c" <<'C'
#include <dropwise/dropwise.h>
#include <stdio.h>
#include <string.h>

#if DW_VERSION_NUMBER < 100
#error "the number of the version is not for #if"
#endif

int main(void)
{
    char text[32];
    snprintf(text, sizeof text, "%d.%d.%d", DW_VERSION_MAJOR, DW_VERSION_MINOR, DW_VERSION_PATCH);
    dw_free(NULL);
    return strcmp(text, DW_VERSION) != 0 || strcmp(dw_version(), DW_VERSION) != 0;
}
C
$cc -std=c11 -Iinclude "$work/version.c" -L"$build" -Wl,-rpath,"$build" -ldropwise -o "$work/version"
"$work/version" || { echo "the macros of version.h do not agree"; exit 1; }
