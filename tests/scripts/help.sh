#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Help, manual and completion agree with the table of commands, since they are made from it: every
# command and option is in each, the manual renders without a warning, completion finds words.
# usage: help.sh BUILD
set -eu
PATH=$(cd "$1" && pwd):$PATH
export PATH LC_ALL=C.UTF-8 MANWIDTH=80
root=$(cd "$(dirname "$0")/../.." && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
fail() {
    echo "$*"
    exit 1
}

sh "$root/shared/packaging/manual.sh" dropwise "$work/man"
for page in "$work"/man/*.[15]; do
    mandoc -T lint -W warning "$page" >"$work/warnings" || true
    if command -v groff >/dev/null; then
        groff -man -Tutf8 -ww -b "$page" >"$work/page" 2>>"$work/warnings"
    fi
    [ ! -s "$work/warnings" ] || fail "$page has warnings: $(cat "$work/warnings")"
    sed 's/\\-/-/g; s/\\f[BIRP]//g; s/\\(aq/'"'"'/g' "$page" >"$work/$(basename "$page").plain"
done
manual() { # COMMAND [PART]: its page
    echo "$work/dropwise-$1.1.plain"
}

# The page of the program has every command, every variable that the program reads, and no other.
dropwise help --words | cut -f1 | while read -r command; do
    grep -q "^.BR dropwise-$command (1)" "$work/dropwise.1.plain" || fail "$command is not in dropwise(1)"
done
grep -rhoE 'getenv\("[A-Z_]+"' "$root/src" | cut -d'"' -f2 | sort -u >"$work/read"
sed -n '/^.SH ENVIRONMENT/,/^.SH FILES/p' "$work/dropwise.1.plain" | grep -oE '\b[A-Z]+(_[A-Z]+)*\b' |
    grep -vE '^(SH|TP|ENVIRONMENT|FILES|UTF|ASCII|LC_.*|LANG)$' | sort -u >"$work/told"
diff "$work/read" "$work/told" || fail "variables that are read (<) or told in the manual (>) alone"
[ "$(grep -c '^.TP' "$work/dropwise-job.5.plain")" -ge 20 ] || fail "dropwise-job(5) lacks its tables"
if grep -q '`' "$work/dropwise-job.5.plain" && grep -v '#' "$work/dropwise-job.5.plain" | grep -q '`'; then
    fail "dropwise-job(5) has marks of its source: $(grep '`' "$work/dropwise-job.5.plain")"
fi

topics() {
    dropwise help --words | cut -f1 | while read -r command; do
        parts=$(dropwise help --words "$command" | cut -f1 | grep -v '^--' || true)
        if [ -n "$parts" ]; then
            for part in $parts; do echo "$command $part"; done
        else
            echo "$command"
        fi
    done
}
topics >"$work/topics"
[ "$(wc -l <"$work/topics")" -ge 5 ] || fail "no commands: $(cat "$work/topics")"
while read -r topic; do
    # shellcheck disable=SC2086
    dropwise help $topic >"$work/help"
    # shellcheck disable=SC2086
    page=$(manual $topic)
    case $topic in
    *\ *) grep -q "^\.SS $topic" "$page" || fail "$topic is not in the manual" ;;
    esac
    dropwise help --words "$topic" | cut -f1 | grep '^--' | while read -r option; do
        grep -q -- "$option" "$work/help" || fail "help $topic lacks $option"
        grep -q -- "$option" "$page" || fail "the manual lacks $option"
    done
done <"$work/topics"

# Every example of the manual is done, in order; only serving is left out, which does not end.
mkdir "$work/shop" "$work/home"
cp "$root"/samples/*.yaml "$root"/samples/*.csv "$work/shop"
dropwise help --examples >"$work/examples"
[ "$(wc -l <"$work/examples")" -ge 30 ] || fail "hardly an example"
(
    cd "$work/shop"
    export HOME="$work/home"
    unset XDG_DATA_HOME DROPWISE_SHELF || true
    while read -r line; do
        grep -qxF ".B $line" "$work"/*.plain || fail "not in the manual: $line"
        case $line in "dropwise serve"*) continue ;; esac
        sh -c "$line" >"$work/said" 2>&1 </dev/null || fail "$line: $(cat "$work/said")"
    done <"$work/examples"
)

suggest() { # words of a command line, the last one unfinished
    bash -c '. "$0"; COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); _dropwise; printf "%s\n" "${COMPREPLY[@]}"' \
        "$root/shared/completions/dropwise.bash" "$@"
}
[ "$(suggest dropwise ver | sort | tr '\n' ' ')" = "verify version " ] || fail "commands are not completed"
[ "$(suggest dropwise plan --few)" = "--few-layouts" ] || fail "options are not completed"
[ "$(suggest dropwise plan --color a | tr '\n' ' ')" = "auto always " ] || fail "values are not completed"
cd "$root/samples"
[ "$(suggest dropwise plan trio)" = "trio-rack.yaml" ] || fail "files are not completed"
if command -v zsh >/dev/null; then
    zsh -n "$root/shared/completions/_dropwise" || fail "the completion for zsh is not well formed"
fi
