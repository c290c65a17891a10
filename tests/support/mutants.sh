#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# How many single changes to the sources the tests notice. Works on a copy of the tree in a scratch
# folder, so that nothing it does can reach the tree itself.
#   SEED     draws the changes (1)
#   MUTANTS  how many of them (400)
#   FILES    sources they are drawn from, as patterns ("src/*/*.c src/*/*/*.c")
#   TESTS    tests they are tried on, as a pattern of grep; all
#   SCRATCH  where the copy is made ($TMPDIR or /tmp)
#   JOBS     compilers at a time (2)
# A change that gives the same machine code is no change (after Papadakis et al. 2015) and not
# counted. What does not differ for another reason stands in tests/support/mutants.equivalent:
#   file <tab> the line as it is <tab> the line changed <tab> reason
# usage: mutants.sh REPORT
set -eu
cd "$(dirname "$0")/../.."
root=$PWD
case $1 in
/*) report=$1 ;;
*) report=$root/$1 ;;
esac
seed=${SEED:-1}
wanted=${MUTANTS:-400}
files=${FILES:-src/*/*.c src/*/*/*.c}

work=$(mktemp -d "${SCRATCH:-${TMPDIR:-/tmp}}/mutants.XXXXXX")
trap 'rm -rf "$work"' EXIT
trap 'exit 3' INT TERM HUP
tree=$work/tree
mutant=$work/mutant # the changed object, and the programs that hold it
mkdir "$tree" "$mutant" "$work/limit" "$work/found"
tar -cf - --exclude='./build*' --exclude=./.git . | tar -xf - -C "$tree"
cd "$tree"

# Without debug data, which would make every change differ.
copy() { # arguments of make
    make BUILD=build OPT=-O2 CFLAGS="-w -Wno-error" "$@" 2>&1
}

flat() { echo "$1" | tr / _; }

now() { date +%s%N | cut -c1-13; } # ms

# One test, of the copy as it is or (with the mutant's folder) of the mutant. Its limit is one of
# computing time, since the machine may be busy; one that waits for ever is ended too.
try() { # test folder
    limit=100
    [ ! -e "$work/limit/$(flat "$1")" ] || limit=$(cat "$work/limit/$(flat "$1")")
    (
        ulimit -t "$limit"
        case $1 in
        */test_*) exec timeout $((20 * limit)) "$2/$1" ;;
        *) exec timeout $((20 * limit)) sh tests/support/case.sh "$2" "$1" ;;
        esac
    ) >/dev/null 2>&1 </dev/null
}

# --- the tests as they are ------------------------------------------------------------------------

echo "building a copy"
copy -s -j"${JOBS:-2}" all unit >"$work/make.log" || { tail -n 20 "$work/make.log"; exit 3; }
# how an object is compiled and a program linked, to do it without asking make again
copy -n -W build/libdropwise.a all unit | grep ' -o build/' >"$work/links"
copy -n -W src/base/buf.c build/src/base/buf.o | grep ' -c src/base/buf.c ' >"$work/compile"
find build/tests/unit -type f -name 'test_*' ! -name '*.[od]' | sed 's|^build/||' | sort >"$work/programs"
for folder in tests/cases/*/*/ tests/regress/*/; do
    [ ! -e "${folder}cmd" ] || echo "${folder%/}"
done >"$work/cases"
cat "$work/programs" "$work/cases" | { grep -e "${TESTS:-.}" || true; } | while read -r test; do
    began=$(now)
    if try "$test" build; then
        # four times as long as it takes, and three seconds
        echo $((($(now) - began) * 4 / 1000 + 3)) >"$work/limit/$(flat "$test")"
        echo "$test" >>"$work/good"
    else
        echo "left out, it fails as it is: $test" >&2
    fi
done
[ -s "$work/good" ] || { echo "no test passes as it is" >&2; exit 3; }
# which program holds which function
while read -r program; do
    nm --defined-only "build/$program" | awk -v p="$program" '$2 == "T" { print $3 "\t" p }'
done <"$work/programs" >"$work/symbols"

# --- one change -----------------------------------------------------------------------------------

# Those that noticed a change to the file before; its own module's, its namesake first; others that
# hold its code; the case folders.
tests_for() { # file
    module=$(basename "$(dirname "$1")")
    nm --defined-only "build/${1%.c}.o" | awk '$2 == "T" { print $3 }' >"$work/names"
    awk -F'\t' 'NR == FNR { of[$1]; next } $1 in of { print $2 }' "$work/names" "$work/symbols" |
        sort -u >"$work/holders"
    {
        [ ! -e "$work/found/$(flat "$1")" ] || cat "$work/found/$(flat "$1")"
        grep "/$module/test_$(basename "$1" .c)\$" "$work/holders" || true
        grep "/$module/" "$work/holders" || true
        grep -v /test_alloc_ "$work/holders" || true
        cat "$work/holders" "$work/cases"
    } | grep -Fx -f "$work/good" | awk '!seen[$0]++'
}

# Links a program (a test, or dropwise) with the changed object in place of its own.
link_mutant() { # program object
    mkdir -p "$mutant/$(dirname "$1")"
    sh -c "$(awk -v end="-o build/$1" -v object="build/$2" -v changed="$mutant/changed.o" \
        -v out="-o $mutant/$1" 'substr($0, length($0) - length(end) + 1) == end || index($0, end " ") {
            if (!sub(" " object " ", " " changed " "))
                sub(" build/libdropwise.a ", " " changed "&")
            sub(end, out)
            print
            exit
        }' "$work/links")" >"$work/link.log" 2>&1
}

# The verdict: killed by ..., lived, no C, same code. The copy's source is changed and put back.
judge() { # file line
    object=${1%.c}.o
    rm -rf "$mutant"
    mkdir "$mutant"
    compile=$(sed "s|src/base/buf\.c|$1|g; s|-o build/src/base/buf\.o|-o $mutant/changed.o|" "$work/compile")
    awk -v at="$2" -v file="$work/changed" 'BEGIN { getline changed <file }
        NR == at { print changed; next } { print }' "$work/source" >"$1"
    compiled=yes
    sh -c "$compile" >"$work/make.log" 2>&1 || compiled=no
    cp -p "$work/source" "$1"
    if [ $compiled = no ]; then
        echo "no C"
        return
    fi
    if cmp -s "build/$object" "$mutant/changed.o"; then
        echo "same code"
        return
    fi
    tests_for "$1" >"$work/order"
    while read -r test; do
        case $test in
        */test_*) program=$test ;;
        *) program=dropwise ;;
        esac
        [ -e "$mutant/$program" ] || link_mutant "$program" "$object" || {
            echo "$program can't be linked" >&2
            exit 3
        }
        if ! try "$test" "$mutant"; then
            found=$work/found/$(flat "$1")
            { echo "$test"; [ ! -e "$found" ] || grep -Fxv "$test" "$found" || true; } >"$found.new"
            mv "$found.new" "$found"
            echo "killed by $test"
            return
        fi
    done <"$work/order"
    echo lived
}

is_equivalent() { # file
    awk -F'\t' -v file="$1" -v a="$work/original" -v b="$work/changed" '
        function trim(t) { gsub(/^ +| +$/, "", t); return t }
        BEGIN { getline is <a; getline changed <b; is = trim(is); changed = trim(changed) }
        $1 == file && $2 == is && $3 == changed { known = 1 }
        END { exit !known }' tests/support/mutants.equivalent
}

# --- all of them ------------------------------------------------------------------------------------

# shellcheck disable=SC2086
awk -v seed="$seed" -f tests/support/mutants.awk $files | sort -n >"$work/all"
echo "$(wc -l <"$work/all") changes are possible, $wanted are drawn by seed $seed"
: >"$report"
killed=0 lived=0 same=0 equivalent=0 drawn=0
while [ $((killed + lived)) -lt "$wanted" ] && [ $drawn -lt "$(wc -l <"$work/all")" ]; do
    drawn=$((drawn + 1))
    sed -n "${drawn}p" "$work/all" >"$work/one"
    file=$(cut -f2 "$work/one")
    line=$(cut -f3 "$work/one")
    cut -f4 "$work/one" >"$work/original"
    cut -f5 "$work/one" >"$work/changed"
    cp -p "$file" "$work/source"
    if is_equivalent "$file"; then
        equivalent=$((equivalent + 1))
        continue
    fi
    verdict=$(judge "$file" "$line")
    case $verdict in
    killed*) killed=$((killed + 1)) ;;
    lived) lived=$((lived + 1)) ;;
    *) same=$((same + 1)) ;;
    esac
    {
        echo "$file:$line: $verdict"
        sed 's/^ */    - /' "$work/original"
        sed 's/^ */    + /' "$work/changed"
    } >>"$report"
    [ "$verdict" != lived ] || tail -n 3 "$report"
done
total=$((killed + lived))
{
    echo "$total changes: $killed killed, $lived lived; $same more gave the same or no program," \
        "$equivalent are known to make no difference"
    [ $total -eq 0 ] || awk -v k=$killed -v n=$total 'BEGIN { printf "%.1f %% killed\n", 100 * k / n }'
} | tee -a "$report"
