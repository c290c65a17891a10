#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Runs the bench programs one after the other and writes their tables to bench/RESULTS.md.
# usage: run.sh BUILD [FOLDER of published instances, *.csp]
set -eu
cd "$(dirname "$0")/.."
build=$1
folder=${2:-${INSTANCES:-}}
out=bench/RESULTS.md
part=$(mktemp)
trap 'rm -f "$part"' EXIT

section() { # title, command...
    printf '\n## %s\n\n    %s\n\n' "$1" "$(shift; echo "$*" | sed "s|$build/|build/|g; s|$folder/||g")"
    shift
    "$@"
}

{
    echo "# Bench results"
    echo
    echo "Made by \`make bench\`. $(sed -n 's/^model name[^:]*: //p' /proc/cpuinfo | head -n 1)," \
        "$(nproc) processors, $(awk '/MemTotal/ { printf "%.0f GiB", $2 / 1048576 }' /proc/meminfo)," \
        "$(gcc --version | head -n 1), GLPK $(glpsol --version | sed -n '1s/.*Solver //p')." \
        "One thread unless said otherwise; every plan has passed the verifier."
    section "Shop jobs" "$build/bench/jobs"
    section "Very many pieces" "$build/bench/huge"
    section "Fewer layouts" "$build/bench/layouts"
    section "A year of a small shop, with and without its shelf" "$build/bench/shelf_year"
    section "How cost grows" "$build/bench/growth" bench/growth.svg
    section "Beside general solvers" "$build/bench/peers" "${PEER_LIMIT:-60}"
    for file in "$folder"/*.csp; do
        [ -e "$file" ] || continue
        section "Published instances, $(basename "$file" .csp)" \
            sh -c '"$0" --time 60 "$1" | tail -n 1' "$build/bench/csp" "$file"
    done
} >"$part"
mv "$part" "$out"
trap - EXIT
echo "written: $out"
