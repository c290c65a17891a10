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

dropwise help --manual >"$work/dropwise.1"
if command -v groff >/dev/null; then
    groff -man -Tutf8 -ww -b "$work/dropwise.1" >"$work/page" 2>"$work/warnings"
    [ ! -s "$work/warnings" ] || fail "the manual has warnings: $(cat "$work/warnings")"
fi
sed 's/\\-/-/g' "$work/dropwise.1" >"$work/manual"

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
    grep -q "^\.SS $topic" "$work/manual" || fail "$topic is not in the manual"
    dropwise help --words "$topic" | cut -f1 | grep '^--' | while read -r option; do
        grep -q -- "$option" "$work/help" || fail "help $topic lacks $option"
        grep -q -- "$option" "$work/manual" || fail "the manual lacks $option"
    done
done <"$work/topics"

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
