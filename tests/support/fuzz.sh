#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Builds each tests/fuzz/fuzz_*.c with libFuzzer, AddressSanitizer and UBSan, and runs it for
# SECONDS_EACH (default 60) from tests/fuzz/seeds/<name>. Needs clang and its runtime.
# usage: fuzz.sh BUILD [NAME...]
set -eu
cd "$(dirname "$0")/../.."
build=$1
shift
seconds=${SECONDS_EACH:-60}
command -v clang >/dev/null 2>&1 || { echo "fuzzing needs: apt-get install clang libclang-rt-14-dev" >&2; exit 3; }
make -s CC=clang BUILD="$build" \
    OPT="-O1 -g -fsanitize=fuzzer-no-link,address,undefined -fno-sanitize-recover=all" \
    "$build/libdropwise.a"
libs="$(pkg-config --libs libfyaml jansson sqlite3 cairo cairo-pdf cairo-svg pangocairo libqrencode xlsxwriter libmicrohttpd libzip expat) -lglpk -lcsv -lm -pthread"
[ $# -gt 0 ] || set -- $(ls tests/fuzz/fuzz_*.c | sed 's|.*/fuzz_||; s|\.c$||')
for name in "$@"; do
    mkdir -p "$build/corpus/$name" "$build/findings/$name"
    # shellcheck disable=SC2086
    clang -std=c11 -D_POSIX_C_SOURCE=200809L -Iinclude -Isrc -O1 -g \
        -fsanitize=fuzzer,address,undefined -fno-sanitize-recover=all \
        "tests/fuzz/fuzz_$name.c" "$build/libdropwise.a" $libs -o "$build/fuzz_$name"
    echo "== $name, $seconds s"
    "$build/fuzz_$name" -max_total_time="$seconds" -timeout=10 -rss_limit_mb=2048 \
        -artifact_prefix="$build/findings/$name/" "$build/corpus/$name" "tests/fuzz/seeds/$name" \
        >"$build/fuzz_$name.log" 2>&1 || { tail -n 40 "$build/fuzz_$name.log"; exit 1; }
    tail -n 2 "$build/fuzz_$name.log"
done
