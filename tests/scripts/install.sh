#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# make install into an empty folder; then a program is built against it and the installed one runs.
set -eu
build=$(cd "$1" && pwd)
cd "$(dirname "$0")/../.."
nm -A "$build/libdropwise.a" 2>/dev/null | grep -qE '__asan_|__tsan_|__gcov_' && exit 0
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
make -s install BUILD="$build" DESTDIR= PREFIX="$work/usr" >/dev/null
"$work/usr/bin/dropwise" version >/dev/null
for file in lib/libdropwise.a lib/pkgconfig/dropwise.pc include/dropwise/dropwise.h \
    share/man/man1/dropwise.1 share/bash-completion/completions/dropwise \
    share/zsh/site-functions/_dropwise share/dropwise/job.schema.json \
    share/dropwise/plan.schema.json share/dropwise/order.schema.json \
    share/dropwise/quote.schema.json share/dropwise/takeoff.schema.json share/dropwise/shop.schema.json share/doc/dropwise/LICENSE; do
    [ -s "$work/usr/$file" ] || { echo "not installed: $file"; exit 1; }
done
PKG_CONFIG_PATH="$work/usr/lib/pkgconfig"
export PKG_CONFIG_PATH
# shellcheck disable=SC2046
${CC:-gcc} -std=c11 samples/plan_job.c -o "$work/plan_job" $(pkg-config --cflags --libs dropwise)
"$work/plan_job" >/dev/null
