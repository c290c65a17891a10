#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# The shop batch from list to proven plan.
# usage: demo.sh PROGRAM
set -eu
program=$(cd "$(dirname "$1")" && pwd)/$(basename "$1")
samples=$(cd "$(dirname "$0")" && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cp "$samples"/*.yaml "$samples"/*.csv "$work"
cd "$work"

say() {
    printf '\n$ dropwise %s\n' "$*"
}

say check shop-batch.yaml
"$program" check shop-batch.yaml
say plan shop-batch.yaml --output plan.json
"$program" plan shop-batch.yaml --output plan.json
say verify shop-batch.yaml plan.json
"$program" verify shop-batch.yaml plan.json
