#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Runs every block of README.md, and of the tutorial, in its order, in a scratch folder that looks like
# the source tree.
#   ```sh           commands that must succeed
#   ```console      "$ command" lines, each followed by what it must print
#   ```yaml NAME    a file to be written; ```csv NAME too
# usage: readme.sh BUILD [--bless] [FILE]    --bless writes the outputs into the file anew
set -eu
root=$(cd "$(dirname "$0")/../.." && pwd)
if [ $# -lt 3 ]; then
    for guide in README.md shared/TUTORIAL.md; do
        sh "$0" "$1" "${2:-}" "$guide" || exit 1
    done
    exit 0
fi
guide=$3
build=$(cd "$1" && pwd)
# A library with sanitizers or coverage does not link as the README shows.
nm -A "$build/libdropwise.a" 2>/dev/null | grep -qE '__asan_|__tsan_|__gcov_' && exit 0
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
mkdir "$work/tree" "$work/home"
cp -R "$root/samples" "$work/tree/"
ln -s "$build" "$work/tree/build"

cat >"$work/lib" <<'LIB'
set -eu
make() {
    for word; do
        shift
        case $word in build/*) word=${build#"$root"/}/${word#build/} ;; esac
        set -- "$@" "$word"
    done
    (cd "$root" && command make --no-print-directory BUILD="${build#"$root"/}" "$@")
}
LIB
export root build HOME="$work/home" LC_ALL=C.UTF-8 PATH="$build:$PATH"
unset NO_COLOR COLUMNS MAKEFLAGS XDG_DATA_HOME || true

# Blocks as files: 001.info holds what follows the fence, 001.body the lines.
awk -v to="$work" '
/^```/ && !inside { inside = 1; info = substr($0, 4); if (info != "") { n++
    file = sprintf("%s/%03d", to, n); print info >(file ".info"); printf "" >(file ".body") }; next }
/^```/ { inside = 0; next }
inside && info != "" { print >(file ".body") }
' "$root/$guide"

run() { # FILE: one command, its output on both streams; a failing one says its status
    status=0
    (cd "$work/tree" && sh -c '. "$0"; . "$1"' "$work/lib" "$1" 2>&1) </dev/null || status=$?
    [ "$status" = 0 ] || echo "(exit status $status)"
}

bad=0
for info in "$work"/[0-9]*.info; do
    body=${info%.info}.body
    read -r kind name <"$info" || true
    case $kind in
    sh)
        if ! (cd "$work/tree" && sh -c '. "$0"; . "$1"' "$work/lib" "$body") >"$work/log" 2>&1; then
            cat "$body" "$work/log"
            bad=1
        fi
        ;;
    console)
        : >"$body.new"
        grep '^\$ ' "$body" | while IFS= read -r line; do
            printf '%s\n' "$line" >>"$body.new"
            printf '%s\n' "${line#\$ }" >"$work/command"
            run "$work/command" >>"$body.new"
        done
        [ "${2:-}" = --bless ] || diff -u "$body" "$body.new" || bad=1
        ;;
    yaml | csv) cp "$body" "$work/tree/$name" ;;
    c) ;;
    *)
        echo "$guide: a block of kind $kind is not run"
        bad=1
        ;;
    esac
done

if [ "${2:-}" = --bless ]; then
    awk -v from="$work" '
    /^```/ && !inside { inside = 1; info = substr($0, 4); print; if (info != "") n++
        if (info == "console") { file = sprintf("%s/%03d.body.new", from, n)
            while ((getline line <file) > 0) print line }
        next }
    /^```/ { inside = 0; print; next }
    !(inside && info == "console") { print }
    ' "$root/$guide" >"$work/README.md"
    cp "$work/README.md" "$root/$guide"
fi
exit $bad
