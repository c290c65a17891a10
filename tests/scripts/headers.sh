#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Each public header compiles alone, as C11 and as C++.
set -eu
cd "$(dirname "$0")/../.."
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
for header in include/dropwise/*.h; do
    printf '#include <dropwise/%s>\n' "$(basename "$header")" >"$work/one.c"
    cp "$work/one.c" "$work/one.cc"
    ${CC:-gcc} -std=c11 -Wall -Wextra -Wpedantic -Werror -Iinclude -fsyntax-only "$work/one.c"
    if command -v g++ >/dev/null 2>&1; then
        g++ -Wall -Wextra -Werror -Iinclude -fsyntax-only "$work/one.cc"
    fi
done
