#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Runs one case folder in a copy of it and compares what comes out.
#   cmd      shell text; $DW is the program
#   out err  expected standard output and error (absent: not looked at)
#   status   expected exit status (absent: 0)
# usage: case.sh BUILD FOLDER [--bless]    --bless writes out and err anew, to be read in the diff
set -eu
build=$(cd "$1" && pwd)
case=$(cd "$2" && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cp -R "$case/." "$work"
DW="$build/dropwise"
ROOT=$(cd "$(dirname "$0")/../.." && pwd)
export DW ROOT
unset NO_COLOR COLUMNS DROPWISE_SHELF || true
# What is set for this machine or its user is not for tests.
export XDG_CONFIG_HOME=/nowhere XDG_CONFIG_DIRS=/nowhere
XDG_DATA_HOME="$work/.shop" # nothing of who runs the tests, and nothing is left there
export XDG_DATA_HOME
status=0
(cd "$work" && LC_ALL=C.UTF-8 TZ=UTC sh ./cmd >"$work/.out" 2>"$work/.err" </dev/null) || status=$?
if [ "${3:-}" = --bless ]; then
    [ -e "$case/out" ] && cp "$work/.out" "$case/out"
    [ -e "$case/err" ] && cp "$work/.err" "$case/err"
    exit 0
fi
want=0
[ -e "$case/status" ] && want=$(cat "$case/status")
bad=0
if [ "$status" != "$want" ]; then
    echo "exit status $status, expected $want"
    cat "$work/.err"
    bad=1
fi
for stream in out err; do
    if [ -e "$case/$stream" ]; then
        diff -u "$case/$stream" "$work/.$stream" || bad=1
    fi
done
exit $bad
