#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# The long tier: every slow program and script. usage: slow.sh BUILD
set -eu
cd "$(dirname "$0")/../.."
build=$1
passed=0
failed=0
run() {
    echo "== $1"
    start=$(date +%s)
    if "$@"; then passed=$((passed + 1)); else failed=$((failed + 1)); echo "FAILED $1"; fi
    echo "   $(($(date +%s) - start)) s"
}
for program in "$build"/tests/slow/slow_*; do
    case $program in *.o | *.d) continue ;; esac
    [ -x "$program" ] && run "$program"
done
for script in tests/slow/*.sh; do
    [ -e "$script" ] && run sh "$script" "$build"
done
echo "$passed passed, $failed failed"
[ "$failed" -eq 0 ]
