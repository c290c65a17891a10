#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# What is printed on a terminal: colour, its width, no colour when told, progress only there.
# usage: terminal.sh BUILD
set -eu
dw=$(cd "$1" && pwd)/dropwise
cd "$(dirname "$0")/../../samples"
export LC_ALL=C.UTF-8 TERM=xterm
unset NO_COLOR COLUMNS || true
escape=$(printf '\033')
fail() {
    echo "$*"
    exit 1
}
# Some chroots and containers have no pseudo-terminals.
script -qec true /dev/null </dev/null >/dev/null 2>&1 || {
    echo "skipped: no script(1) or no pseudo-terminal here"
    exit 0
}

# $1: columns of the terminal, $2: command
on_terminal() {
    script -qec "stty cols $1 2>/dev/null; $2" /dev/null </dev/null | tr -d '\r'
}
widest() {
    sed "s/$escape\[[0-9;]*[mK]//g" | awk '{ if (length($0) > w) w = length($0) } END { print w + 0 }'
}

on_terminal 100 "$dw check trio-rack.yaml" | grep -q "$escape\[1m" || fail "no colour on a terminal"
on_terminal 100 "NO_COLOR=1 $dw check trio-rack.yaml" | grep -q "$escape\[1m" && fail "NO_COLOR ignored"
on_terminal 100 "NO_COLOR= $dw check trio-rack.yaml" | grep -q "$escape\[1m" || fail "empty NO_COLOR counts"
on_terminal 100 "$dw check trio-rack.yaml --color never" | grep -q "$escape\[1m" && fail "--color never ignored"
on_terminal 100 "TERM=dumb $dw check trio-rack.yaml" | grep -q "$escape\[1m" && fail "a dumb terminal got colour"
"$dw" check trio-rack.yaml | grep -q "$escape" && fail "colour in a pipe"
"$dw" check trio-rack.yaml --color always | grep -q "$escape\[1m" || fail "--color always ignored"

for columns in 40 60 120; do
    # awk may count bytes of the drawing's characters: an ASCII locale has one a column.
    width=$(on_terminal "$columns" "LC_ALL=C $dw plan trio-rack.yaml --greedy 2>/dev/null" | widest)
    [ "$width" -le "$columns" ] || fail "a line of $width columns on a terminal of $columns"
done
COLUMNS=50 "$dw" check trio-rack.yaml >/dev/null
width=$(LC_ALL=C COLUMNS=50 "$dw" plan trio-rack.yaml --greedy | widest)
[ "$width" -le 50 ] || fail "COLUMNS=50 ignored: $width columns"
LC_ALL=C "$dw" plan trio-rack.yaml --greedy | LC_ALL=C grep -q '[^ -~]' && fail "more than ASCII in an ASCII locale"
exit 0
