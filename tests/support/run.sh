#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# The quick tier: layers, every unit test program, every case folder, every test script.
# usage: run.sh BUILD
set -eu
cd "$(dirname "$0")/../.."
build=$1
# Only read by sanitizer builds (make asan, make tsan).
export LSAN_OPTIONS="suppressions=$PWD/tests/support/lsan.supp:print_suppressions=0"
export TSAN_OPTIONS="ignore_noninstrumented_modules=1:die_after_fork=0"
# What is set for this machine or its user is not for tests.
unset DROPWISE_SHELF || true
export XDG_CONFIG_HOME=/nowhere XDG_CONFIG_DIRS=/nowhere
passed=0
failed=0

step() { # name command...
    name=$1
    shift
    if "$@" >"$build/step.log" 2>&1; then
        passed=$((passed + 1))
        sed -n "s|^skipped|$name: skipped|p" "$build/step.log"
    else
        failed=$((failed + 1))
        echo "FAILED $name"
        sed 's/^/    /' "$build/step.log" | tail -n 60
    fi
}

step layers sh tests/support/layers.sh
for program in "$build"/tests/unit/*/test_* "$build"/tests/unit/*/*/test_*; do
    case $program in *.o | *.d) continue ;; esac
    [ -x "$program" ] && step "$program" "$program"
done
for script in tests/scripts/*.sh; do
    [ -e "$script" ] && step "$script" sh "$script" "$build"
done
for case in tests/cases/*/*/ tests/regress/*/; do
    [ -e "$case/cmd" ] && step "$case" sh tests/support/case.sh "$build" "$case"
done
echo "$passed passed, $failed failed"
[ "$failed" -eq 0 ]
