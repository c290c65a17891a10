#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Writes to standard output all that the program says of a job and its plan: reports, JSON, tables,
# and the text of the papers. usage: outputs.sh PROGRAM JOB
set -eu
program=$1
job=$2
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
plan=$work/plan.json
"$program" plan "$job" --time 5 --width 400 --output "$plan"
cat "$plan"
"$program" verify "$job" "$plan" --json
"$program" takeoff "$job" --width 400
"$program" takeoff "$job" --json
for what in order quote; do
    private=""
    [ "$what" = order ] || private=--private
    # shellcheck disable=SC2086
    "$program" $what "$job" "$plan" $private --width 400 --date 2031-01-07
    # shellcheck disable=SC2086
    "$program" $what "$job" "$plan" $private --json --date 2031-01-07
    # shellcheck disable=SC2086
    "$program" $what "$job" "$plan" $private --date 2031-01-07 --output "$work/$what.pdf" >/dev/null
    pdftotext -layout "$work/$what.pdf" -
done
"$program" sheet "$job" "$plan" --output "$work/sheet.pdf" >/dev/null
pdftotext -layout "$work/sheet.pdf" -
"$program" labels "$job" "$plan" --output "$work/labels.pdf" >/dev/null
pdftotext -layout "$work/labels.pdf" -
