#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Completion in real shells: bash and zsh on a terminal, fish by its own `complete -C`. Commands,
# options, values, files by their endings, and what the shelf knows: plans, bars, pieces, materials.
# usage: completion.sh BUILD
set -eu
PATH=$(cd "$1" && pwd):$PATH
root=$(cd "$(dirname "$0")/../.." && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
export PATH LC_ALL=C.UTF-8 HOME="$work" DROPWISE_SHELF="$work/shelf.db"
unset XDG_DATA_HOME || true
fail() {
    echo "$*"
    exit 1
}
mkdir "$work/shop" "$work/shop/jobs"
cp "$root"/samples/*.yaml "$root"/samples/*.csv "$work/shop"
cd "$work/shop"
{
    dropwise shelf material tube --od '1.5 in' --wall '0.125 in'
    dropwise shelf add tube '41 in' --number K-07
    dropwise plan shelf-rack.yaml --from-shelf --hold --greedy --output held.json
    dropwise shelf cut 1 1
} >/dev/null

fish_says() { # LINE: what fish offers, a word a line
    fish --no-config -c "source $root/shared/completions/dropwise.fish; complete -C '$1'" | cut -f1
}
try() { # LINE WANTED [UNWANTED]
    for shell in bash zsh; do
        file=$root/shared/completions/dropwise.bash
        [ "$shell" = bash ] || file=$root/shared/completions/_dropwise
        python3 "$root/tests/support/complete.py" "$shell" "$file" "$@"
    done
    fish_says "$1" >"$work/offered"
    word=${2#"${1##* }"}
    grep -q -e "$word" "$work/offered" || fail "fish, $1: $2 is not offered: $(cat "$work/offered")"
    if [ -n "${3:-}" ] && grep -qF -e "$3" "$work/offered"; then fail "fish, $1: $3 is offered"; fi
}
try 'dropwise ver' 'verify'
try 'dropwise plan --few' '--few-layouts'
try 'dropwise plan --color a' 'always'
try 'dropwise shelf mat' 'material'
try 'dropwise check trio' 'trio-rack.yaml'
try 'dropwise check s' 'site.yaml' 'stall-parts.csv'
try 'dropwise verify trio-rack.yaml h' 'held.json'
try 'dropwise check j' 'jobs/'
try 'dropwise shelf release ' '1'
try 'dropwise shelf move K' 'K-07'
try 'dropwise shelf add tu' 'tube'

# What the program says, word for word.
next() { dropwise help --next -- "$@" | cut -f1 | grep -v '^-' | tr '\n' ' '; }
[ "$(next shelf release)" = "1 " ] || fail "plans: $(next shelf release)"
[ "$(next shelf cut 1 | cut -d' ' -f1,2)" = "2 3" ] || fail "bars that are not cut: $(next shelf cut 1)"
[ "$(next plan --rest-of)" = "1 " ] || fail "a value that is a plan: $(next plan --rest-of)"
case $(next shelf count) in "*.csv *.tsv "*K-07*) ;; *) fail "a table or a piece: $(next shelf count)" ;; esac
[ "$(next help)" = "$(dropwise help --words | cut -f1 | tr '\n' ' ')" ] || fail "help of commands: $(next help)"
[ "$(next new list.csv --material)" = "tube " ] || fail "materials: $(next new list.csv --material)"
[ "$(DROPWISE_SHELF=$work/none.db next shelf release 2>/dev/null)" = "" ] || fail "plans of no shelf"
[ "$(next nonsense)" = "" ] || fail "no such command"
