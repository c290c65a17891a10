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
    title=$1
    shift
    printf '\n## %s\n\n    %s\n\n' "$title" "$(echo "$*" | sed "s|$build/|build/|g")"
    "$@"
}

{
    echo "# Bench results"
    echo
    echo "Made by \`make bench\`. $(sed -n 's/^model name[^:]*: //p' /proc/cpuinfo | head -n 1)," \
        "$(nproc) processors, $(awk '/MemTotal/ { printf "%.0f GiB", $2 / 1048576 }' /proc/meminfo)," \
        "$(gcc --version | head -n 1), GLPK $(glpsol --version | sed -n '1s/.*Solver //p')." \
        "One thread unless said otherwise; every plan has passed the verifier."
    section "Very many pieces" "$build/bench/huge"
    section "Groups side by side" "$build/bench/groups"
    section "Papers" "$build/bench/papers"
    section "Fewer layouts, so many instances a class" "$build/bench/layouts" "${INSTANCES_A_CLASS:-100}"
    section "Shop jobs" "$build/bench/jobs" --jobs "${SHOP_JOBS:-40}" --time 10
    section "Orders of several suppliers" "$build/bench/orders" --jobs "${ORDER_JOBS:-60}"
    section "How cost grows (plot: growth.svg)" "$build/bench/growth" bench/growth.svg
    section "Beside general solvers" "$build/bench/peers" "${PEER_LIMIT:-60}"
    section "A year of a small shop, with and without its shelf" "$build/bench/shelf_year"
    section "Twenty clients of one page, a past of 100 000 moves" \
        python3 bench/serve.py "$build" --seconds "${LOAD_SECONDS:-600}"
    section "The same clients without a pause" python3 bench/serve.py "$build" --pause 0 --seconds 60
    [ -z "$folder" ] || printf '\n## Published instances, 60 s each: class solved mean max mean-cpu max-cpu, s\n\n'
    for file in ${folder:+"$folder"/*.csp}; do
        "$build/bench/csp" --time 60 "$file" | tail -n 1 | sed 's/^/    /'
    done
} >"$part"
mv "$part" "$out"
trap - EXIT
echo "written: $out"
