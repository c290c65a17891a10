#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# How many single changes to the sources the tests notice. Works on a copy of the tree in a scratch
# folder, so that nothing it does can reach the tree itself.
#   SEED     draws the changes (1)
#   MUTANTS  how many of them (400)
#   FILES    sources they are drawn from, as patterns ("src/*/*.c")
#   SCRATCH  where the copy is made ($TMPDIR or /tmp)
# A change that gives the same machine code is no change (after Papadakis et al. 2015) and not
# counted. What does not differ for another reason stands in tests/support/mutants.equivalent:
#   file <tab> the line as it is <tab> the line changed <tab> reason
# usage: mutants.sh REPORT
set -eu
cd "$(dirname "$0")/../.."
root=$PWD
report=$1
seed=${SEED:-1}
wanted=${MUTANTS:-400}
files=${FILES:-src/*/*.c}
tab=$(printf '\t')

work=$(mktemp -d "${SCRATCH:-${TMPDIR:-/tmp}}/mutants.XXXXXX")
trap 'rm -rf "$work"' EXIT
trap 'exit 3' INT TERM HUP
tree=$work/tree
out=$work/tree/build
mkdir "$tree" "$work/slow" "$work/found"
tar -cf - --exclude='./build*' --exclude=./.git . | tar -xf - -C "$tree"

build() { # targets...: quiet, without debug data, which would make every change differ
    make -s -j2 -C "$tree" BUILD=build OPT=-O2 CFLAGS="-w -Wno-error" "$@" >"$work/make.log" 2>&1
}

now() { date +%s%N | cut -c1-13; } # ms

# One test in the copy: a unit program, or a case folder. Its status; longer than its limit is a kill.
run_one() { # test
    limit=60
    [ ! -e "$work/slow/$(echo "$1" | tr / _)" ] || limit=$(cat "$work/slow/$(echo "$1" | tr / _)")
    case $1 in
    */test_*) (cd "$tree" && timeout -k 1 "$limit" "build/$1") ;;
    *) (cd "$tree" && timeout -k 1 "$limit" sh tests/support/case.sh build "$1") ;;
    esac >/dev/null 2>&1 </dev/null
}

# --- the tests as they are ------------------------------------------------------------------------

echo "building a copy"
build all unit || { tail -n 20 "$work/make.log"; exit 3; }
(cd "$out" && find tests/unit -type f -name 'test_*' ! -name '*.[od]' | sort) >"$work/programs"
(cd "$tree" && for c in tests/cases/*/*/ tests/regress/*/; do [ ! -e "${c}cmd" ] || echo "${c%/}"; done) \
    >"$work/cases"
cat "$work/programs" "$work/cases" | while read -r test; do
    began=$(now)
    if run_one "$test"; then
        # four times as long as it takes, and two seconds
        echo $((($(now) - began) * 4 / 1000 + 2)) >"$work/slow/$(echo "$test" | tr / _)"
        echo "$test" >>"$work/good"
    else
        echo "left out, it fails as it is: $test"
    fi
done
# which program holds which function
while read -r program; do
    nm --defined-only "$out/$program" | awk -v p="$program" '$2 == "T" { print $3 "\t" p }'
done <"$work/programs" >"$work/symbols"

# --- which tests, in what order -------------------------------------------------------------------

# Those that noticed a change to the file before; its own module's, its namesake first; others that
# hold its code; the case folders.
tests_for() { # file
    module=$(basename "$(dirname "$1")")
    name=$(basename "$1" .c)
    nm --defined-only "$out/${1%.c}.o" | awk '$2 == "T" { print $3 }' >"$work/names"
    {
        [ ! -e "$work/found/$(echo "$1" | tr / _)" ] || cat "$work/found/$(echo "$1" | tr / _)"
        awk -F'\t' 'NR == FNR { of[$1] = 1; next } $1 in of { print $2 }' "$work/names" \
            "$work/symbols" | sort -u >"$work/holders"
        grep "/$module/test_$name\$" "$work/holders" || true
        grep "/$module/" "$work/holders" || true
        grep -v /test_alloc_ "$work/holders" || true
        cat "$work/holders" "$work/cases"
    } | grep -Fx -f "$work/good" | awk '!seen[$0]++'
}

# --- one change -----------------------------------------------------------------------------------

# Prints the verdict: killed by ..., lived, no C, same code.
judge() { # file line changed
    object=${1%.c}.o
    awk -v at="$2" -v file="$work/changed" 'BEGIN { getline changed <file }
        NR == at { print changed; next } { print }' "$root/$1" >"$tree/$1"
    if ! build "build/$object"; then
        echo "no C"
    elif cmp -s "$work/before.o" "$out/$object"; then
        echo "same code"
    else
        tests_for "$1" >"$work/order"
        verdict=lived
        program_built=no
        while read -r test; do
            case $test in
            */test_*) build "build/$test" || continue ;;
            *) [ $program_built = yes ] || build all || continue
               program_built=yes ;;
            esac
            if ! run_one "$test"; then
                verdict="killed by $test"
                found=$work/found/$(echo "$1" | tr / _)
                { echo "$test"; [ ! -e "$found" ] || grep -Fxv "$test" "$found" || true; } >"$found.new"
                mv "$found.new" "$found"
                break
            fi
        done <"$work/order"
        echo "$verdict"
    fi
}

# shellcheck disable=SC2086
awk -v seed="$seed" -f tests/support/mutants.awk $files | sort -n >"$work/all"
echo "$(wc -l <"$work/all") changes are possible, $wanted are drawn by seed $seed"
: >"$report"
killed=0
lived=0
same=0
equivalent=0
while IFS="$tab" read -r _ file line _ _; do
    [ $((killed + lived)) -lt "$wanted" ] || break
    # the texts as they are, backslashes and blanks included
    drawn=$((${drawn:-0} + 1))
    sed -n "${drawn}p" "$work/all" | cut -f4 >"$work/original"
    sed -n "${drawn}p" "$work/all" | cut -f5 >"$work/changed"
    if awk -F'\t' -v file="$file" -v a="$work/original" -v b="$work/changed" '
        function trim(t) { gsub(/^ +| +$/, "", t); return t }
        BEGIN { getline is <a; getline changed <b; is = trim(is); changed = trim(changed) }
        $1 == file && $2 == is && $3 == changed { known = 1 }
        END { exit !known }' tests/support/mutants.equivalent; then
        equivalent=$((equivalent + 1))
        continue
    fi
    cp "$out/${file%.c}.o" "$work/before.o"
    verdict=$(judge "$file" "$line")
    cp "$root/$file" "$tree/$file"
    build "build/${file%.c}.o"
    case $verdict in
    killed*) killed=$((killed + 1)) ;;
    lived) lived=$((lived + 1)) ;;
    *) same=$((same + 1)) ;;
    esac
    printf '%s:%s: %s\n    - %s\n    + %s\n' "$file" "$line" "$verdict" \
        "$(sed 's/^ *//' "$work/original")" "$(sed 's/^ *//' "$work/changed")" >>"$report"
    [ "$verdict" != lived ] || tail -n 3 "$report"
done <"$work/all"
total=$((killed + lived))
{
    echo "$total changes: $killed killed, $lived lived; $same more gave no other program," \
        "$equivalent are known to make no difference"
    [ "$total" -eq 0 ] || awk -v k="$killed" -v n="$total" 'BEGIN { printf "%.1f %% killed\n", 100 * k / n }'
} | tee -a "$report"
