#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# How many single changes to the sources the tests notice. Works on a copy of the tree in a scratch
# folder, so that nothing it does can reach the tree itself.
#   SEED     draws the changes (1)
#   MUTANTS  how many of them (400)
#   FILES    sources they are drawn from, as patterns (all of src)
#   TESTS    tests they are tried on, as a pattern of grep; all
#   LONGEST  seconds that a test may compute to be one of them (100)
#   KEEP     folder for the copy, to go on from there another time: what was found is kept, and only
#            changes that lived are tried again (a new one below $TMPDIR or /tmp, removed at the end)
#   JOBS     compilers at a time (2)
# A change that gives the same machine code is no change (after Papadakis et al. 2015) and not
# counted. What does not differ for another reason stands in tests/mutants/equivalent:
#   file <tab> the line as it is <tab> the line changed <tab> reason
# A test is tried on a change only where it reaches the place; what it reaches is noted once, by a
# build that marks each basic block that runs (reach.c). What lives is tried on some of them again
# with AddressSanitizer and UBSan in the changed source, as `make asan` tries all of it.
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

if [ -n "${KEEP:-}" ]; then
    mkdir -p "$KEEP"
    work=$(cd "$KEEP" && pwd)
else
    work=$(mktemp -d "${TMPDIR:-/tmp}/mutants.XXXXXX")
    trap 'rm -rf "$work"' EXIT
fi
trap 'exit 3' INT TERM HUP
tree=$work/tree
mutant=$work/mutant # the changed object, and the programs that hold it
memory_checks="-fsanitize=address,undefined -fno-sanitize-recover=all"
export LSAN_OPTIONS="suppressions=$root/tests/support/lsan.supp:print_suppressions=0"
rm -rf "$mutant" "$work/arena.o" "$tree/src" "$tree/include" "$tree/tests" "$tree/shared"
for folder in tree mutant limit reach reached found as_is; do
    mkdir -p "$work/$folder"
done
touch "$work/verdicts"
tar -cf - --exclude='./build*' --exclude=./.git . | tar -xf - -C "$tree"
cp -p tests/mutants/reach.c "$tree/src/base/reach.c"
cd "$tree"

# --- the tests as they are ------------------------------------------------------------------------

copy() { # arguments of make
    make BUILD=build CC="${CC:-gcc} -fuse-ld=gold" OPT="-O1 -g1" \
        CFLAGS="-w -Wno-error -fno-inline -fsanitize-coverage=trace-pc" "$@" 2>&1
}

flat() { echo "$1" | tr / _; }

# One test, of the copy as it is or (with the mutant's folder) of the mutant. Its limit is one of
# computing time, since the machine may be busy; one that waits for ever is ended too.
try() { # test folder
    limit=${LONGEST:-100}
    [ ! -e "$work/limit/$(flat "$1")" ] || limit=$(cat "$work/limit/$(flat "$1")")
    (
        MALLOC_PERTURB_=85 # what is not initialised, or read past its end, is seldom 0
        export MALLOC_PERTURB_
        # shellcheck disable=SC3045 # dash has it
        ulimit -t "$limit"
        case $1 in
        */test_*) exec timeout $((20 * limit)) "$2/$1" ;;
        *) exec timeout $((20 * limit)) sh tests/support/case.sh "$2" "$1" ;;
        esac
    ) >/dev/null 2>&1 </dev/null
}

# The computing time of all that this shell has waited for, in ms, into `used`.
look_at_time() {
    times >"$work/times"
    used=$(tail -n 1 "$work/times" | tr 'ms' '  ' |
        awk '{ printf "%d\n", 1000 * (60 * ($1 + $3) + $2 + $4) }')
}

# What a test's state depends on: its program, or dropwise and the case.
state_of() { # test
    case $1 in
    */test_*) stat -c '%Y %s' "build/$1" ;;
    *) { stat -c '%Y %s' build/dropwise; tar -cf - --mtime=@0 -C "$1" .; } | cksum ;;
    esac
}

# Runs a test as it is; notes how long it computes and the lines that begin the blocks it reaches.
learn() { # test
    known=$work/reach/$(flat "$1")
    state=$(state_of "$1")
    if [ "$state" = "$(cat "$known.state" 2>/dev/null)" ]; then
        [ -e "$known.took" ] && [ "$(cat "$known.took")" -le $((1000 * ${LONGEST:-100})) ]
        return
    fi
    rm -rf "$work/map" "$known" "$known.took"
    mkdir "$work/map"
    look_at_time
    began=$used
    REACH=$work/map
    export REACH
    try "$1" build || {
        echo "$state" >"$known.state"
        return 1
    }
    unset REACH
    look_at_time
    took=$((used - began))
    for map in "$work/map"/*; do
        program=build/$(basename "$map")
        [ -e "$program" ] || program=build/$1
        { cmp -l -n "$(stat -c %s "$map")" "$map" /dev/zero || true; } |
            awk '{ printf "%x\n", $1 - 2 }' | addr2line -e "$program"
    done | sed -n "s|^$tree/\(src/[^ ]*\).*|\1|p" | sort -u >"$known"
    echo $took >"$known.took"
    echo "$state" >"$known.state"
}

echo "building a copy"
copy -s -j"${JOBS:-2}" all unit >"$work/make.log" || { tail -n 20 "$work/make.log"; exit 3; }
# how an object is compiled and a program linked, to do it without asking make again
copy -n -W build/libdropwise.a all unit | grep ' -o build/' >"$work/links"
copy -n -W src/base/buf.c build/src/base/buf.o | grep ' -c src/base/buf.c ' |
    sed 's| -O1 -g1 | -O2 |; s| -fno-inline -fsanitize-coverage=trace-pc | |' >"$work/compile"
for source in tests/unit/*/test_*.c; do
    echo "${source%.c}"
done >"$work/programs"
for folder in tests/cases/*/*/ tests/regress/*/; do
    [ ! -e "${folder}cmd" ] || echo "${folder%/}"
done >"$work/cases"
# programs that start dropwise themselves
grep -l '/dropwise"' tests/unit/*/test_*.c | sed 's|\.c$||' >"$work/starters" || true

echo "running the tests as they are"
: >"$work/good"
cat "$work/programs" "$work/cases" | { grep -e "${TESTS:-.}" || true; } | while read -r test; do
    if learn "$test"; then
        # three times as long as it takes, and a second
        echo $(($(cat "$work/reach/$(flat "$test").took") * 3 / 1000 + 1)) >"$work/limit/$(flat "$test")"
        printf '%d\t%s\n' "$(cat "$work/reach/$(flat "$test").took")" "$test" >>"$work/good"
    else
        echo "left out, it fails as it is or takes too long: $test" >&2
    fi
done
[ -s "$work/good" ] || { echo "no test passes as it is" >&2; exit 3; }
sort -n "$work/good" | cut -f2 >"$work/by_time"
# of each source: the lines that are reached, each with the test
rm -f "$work/reached"/*
while read -r test; do
    sed "s|:|	|; s|\$|	$test|" "$work/reach/$(flat "$test")"
done <"$work/by_time" | awk -F'\t' -v folder="$work/reached/" '{
    name = $1; gsub("/", "_", name); print $2 "\t" $3 >(folder name) }'

# --- one change -----------------------------------------------------------------------------------

# The lines that begin a block in a source, reached or not.
blocks_of() { # file
    object=build/${1%.c}.o
    objdump -r -j .text "$object" | awk '/__sanitizer_cov_trace_pc/ { print $1 }' |
        addr2line -j .text -e "$object" | sed -n 's|.*:\([0-9][0-9]*\).*|\1|p' | sort -nu
}

# The tests that reach a line: in a function, those that reach the last block that begins before it
# or the first after it; outside, where tables are, those that reach the file.
reaching() { # file line
    name=$work/reached/$(flat "$1")
    [ -e "$name" ] || return 0
    blocks_of "$1" >"$work/blocks"
    awk -F'\t' -v at="$2" '
        FILENAME == ARGV[1] { # the source
            if (/^\{/) { inside = 1; if (FNR <= at) first = FNR }
            if (/^\}/) { if (FNR < at) first = 0; else if (!last) last = FNR }
            next
        }
        FILENAME == ARGV[2] { # the blocks
            if (first && $1 >= first - 8 && $1 <= at) before = $1
            if (first && $1 >= at && $1 <= last && !after) after = $1
            next
        }
        !first || $1 == before || $1 == after { print $2 }
    ' "$work/source" "$work/blocks" "$name" | sort -u
}

# Those that noticed a change to the file before; its namesake; its own module's; others; the
# quickest first.
tests_for() { # file line
    module=$(echo "$1" | cut -d/ -f2)
    found=$work/found/$(flat "$1")
    reaching "$1" "$2" >"$work/reaching"
    {
        [ ! -e "$found" ] || cat "$found"
        grep "/$module/test_$(basename "$1" .c)\$" "$work/by_time" || true
        grep "^tests/unit/$module/" "$work/by_time" | grep -v /test_alloc_ || true
        cat "$work/by_time"
    } | grep -Fx -f "$work/reaching" | awk '!seen[$0]++'
}

# Links a program (a test, or dropwise) with the changed object in place of its own.
link_mutant() { # program object flags
    [ ! -e "$mutant/$1" ] || return 0
    mkdir -p "$mutant/$(dirname "$1")"
    sh -c "$(awk -v end="-o build/$1" -v object="build/$2" -v changed="$mutant/changed.o" \
        -v out="-Wl,--strip-debug $3 -o $mutant/$1" '
        substr($0, length($0) - length(end) + 1) == end || index($0, end " ") {
            if (!sub(" " object " ", " " changed " "))
                sub(" build/libdropwise.a ", " " changed "&")
            sub(end, out)
            print
            exit
        }' "$work/links")" >"$work/link.log" 2>&1 || {
        echo "$1 can't be linked" >&2
        exit 3
    }
}

link_for() { # test object flags
    case $1 in
    */test_*)
        link_mutant "$1" "$2" "$3"
        ! grep -qFx "$1" "$work/starters" || link_mutant dropwise "$2" "$3"
        ;;
    *) link_mutant dropwise "$2" "$3" ;;
    esac
}

compile() { # file object flags
    sh -c "$(sed "s|src/base/buf\.c|$1|g; s|-o build/src/base/buf\.o|$3 -o $2|" "$work/compile")" \
        >"$work/compile.log" 2>&1
}

# The source as it is, compiled as the changed one is; once a source.
compile_as_is() { # file
    as_is=$work/as_is/$(flat "${1%.c}")
    [ ! -e "$as_is.o" ] || ! cmp -s "$1" "$as_is.c" || return 0
    compile "$1" "$as_is.o" ""
    cp "$1" "$as_is.c"
}

# Compiles the changed source. The copy's is changed and put back.
compile_changed() { # file line flags
    rm -rf "$mutant"
    mkdir "$mutant"
    awk -v at="$2" -v file="$work/changed" 'BEGIN { getline changed <file }
        NR == at { print changed; next } { print }' "$work/source" >"$1"
    compiled=yes
    compile "$1" "$mutant/changed.o" "$3" || compiled=no
    cp -p "$work/source" "$1"
    [ $compiled = yes ]
}

# Whether a test of a list fails; `test` is that one.
some_test_fails() { # list object flags
    while read -r test; do
        link_for "$test" "$2" "$3"
        status=0
        try "$test" "$mutant" || status=$?
        # again, since the machine may have failed; not what was ended by its limit or a signal
        if [ $status -ge 124 ] || { [ $status -ne 0 ] && ! try "$test" "$mutant"; }; then
            return 0
        fi
    done <"$1"
    return 1
}

# What reads past an end or loses memory, as `make asan` sees it: on the quickest tests. One that
# fails so without the change is no witness. The arena keeps its pieces apart then.
checker_sees() { # file line object
    head -n 4 "$work/order" >"$work/few"
    arena=
    if [ "$1" != src/base/arena.c ]; then
        arena=$work/arena.o
        [ -e "$arena" ] || compile src/base/arena.c "$arena" "$memory_checks"
    fi
    compile_changed "$1" "$2" "$memory_checks" || return 1
    some_test_fails "$work/few" "$3" "$memory_checks $arena" || return 1
    rm -rf "$mutant"
    mkdir "$mutant"
    compile "$1" "$mutant/changed.o" "$memory_checks"
    link_for "$test" "$3" "$memory_checks $arena"
    try "$test" "$mutant"
}

is_same_code() { # file
    compile_as_is "$1"
    cmp -s "$as_is.o" "$mutant/changed.o"
}

# The verdict: killed by ..., lived, no C, same code. Whether the code is the same is asked when the
# likeliest two tests saw nothing.
judge() { # file line
    object=${1%.c}.o
    if ! compile_changed "$1" "$2" ""; then
        echo "no C"
        return
    fi
    tests_for "$1" "$2" >"$work/order"
    head -n 2 "$work/order" >"$work/first"
    tail -n +3 "$work/order" >"$work/others"
    if some_test_fails "$work/first" "$object" "" ||
        { ! is_same_code "$1" && some_test_fails "$work/others" "$object" ""; }; then
        { echo "$test"; [ ! -e "$found" ] || grep -Fxv "$test" "$found" || true; } >"$work/found.new"
        mv "$work/found.new" "$found"
        echo "killed by $test"
    elif is_same_code "$1"; then
        echo "same code"
    elif checker_sees "$1" "$2" "$object"; then
        echo "killed by $test under AddressSanitizer"
    else
        echo "lived, $(wc -l <"$work/order") tests reach it"
    fi
}

is_equivalent() { # file
    awk -F'\t' -v file="$1" -v a="$work/original" -v b="$work/changed" '
        function trim(t) { gsub(/^ +| +$/, "", t); return t }
        BEGIN { getline is <a; getline changed <b; is = trim(is); changed = trim(changed) }
        $1 == file && $2 == is && $3 == changed { known = 1 }
        END { exit !known }' tests/mutants/equivalent
}

# What an earlier run found of the change, unless it lived.
known_verdict() {
    grep -F "$(cut -f2- "$work/one")	" "$work/verdicts" | tail -n 1 | cut -f5 | grep -v ^lived
}

# --- all of them ------------------------------------------------------------------------------------

# shellcheck disable=SC2046,SC2086
awk -v seed="$seed" -f tests/mutants/changes.awk $(ls ${FILES:-$(find src -name '*.c' ! -name reach.c)}) |
    sort -n >"$work/all"
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
    verdict=$(known_verdict) || {
        verdict=$(judge "$file" "$line")
        printf '%s\t%s\n' "$(cut -f2- "$work/one")" "$verdict" >>"$work/verdicts"
    }
    case $verdict in
    killed*) killed=$((killed + 1)) ;;
    lived*) lived=$((lived + 1)) ;;
    *) same=$((same + 1)) ;;
    esac
    {
        echo "$file:$line: $verdict"
        sed 's/^ */    - /' "$work/original"
        sed 's/^ */    + /' "$work/changed"
    } >>"$report"
    case $verdict in lived*) tail -n 3 "$report" ;; esac
done
total=$((killed + lived))
{
    echo "$total changes: $killed killed, $lived lived; $same more gave the same or no program," \
        "$equivalent are known to make no difference"
    [ $total -eq 0 ] || awk -v k=$killed -v n=$total 'BEGIN { printf "%.1f %% killed\n", 100 * k / n }'
} | tee -a "$report"
