#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Writes the manual into a folder: dropwise(1), a page for each command, dropwise-job(5).
# usage: manual.sh PROGRAM FOLDER : a program of the same version that runs on this machine
set -eu
program=$1
folder=$2
root=$(dirname "$0")/../..
mkdir -p "$folder"
rm -f "$folder"/*
"$program" help --manual >"$folder/dropwise.1"
"$program" help --words | cut -f 1 | while read -r command; do
    "$program" help --manual "$command" >"$folder/dropwise-$command.1"
done
version() { # macro
    sed -n "s/^#define $1[[:space:]]*\"\([^\"]*\)\".*/\1/p" "$root/include/dropwise/version.h"
}
awk -v version="$(version DW_VERSION)" -v date="$(version DW_VERSION_DATE)" \
    -f "$root/shared/packaging/job_page.awk" "$root/shared/FORMAT.md" >"$folder/dropwise-job.5"
touch "$folder/made"
