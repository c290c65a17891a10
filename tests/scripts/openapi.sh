#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# shared/openapi.yaml describes the routes that there are: all of them and no other.
# usage: openapi.sh BUILD
set -eu
cd "$(dirname "$0")/../.."
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
sed -n 's/^ *X(\([A-Z]*\), "\([^"]*\)".*/\1 \2/p' src/web/app.h | sort >"$scratch/routes"
awk '/^paths:/ { on = 1; next } /^[a-z]/ { on = 0 }
    on && /^  \// { path = $1; sub(/:$/, "", path); gsub(/\{[a-z]*\}/, "*", path) }
    on && /^    (get|post|put|delete):/ { method = $1; sub(/:$/, "", method); print toupper(method), path }
    ' shared/openapi.yaml | sort >"$scratch/described"
[ -s "$scratch/routes" ]
diff "$scratch/routes" "$scratch/described"
