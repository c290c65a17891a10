#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# shared/openapi.yaml describes the routes that there are, all of them and no other, each under the
# name that its handler has; and it is valid by the schema of OpenAPI. The second part is skipped, and
# said so, where Node.js or its package can't be had.
# usage: openapi.sh BUILD
set -eu
cd "$(dirname "$0")/../.."
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
sed -n 's/^ *X(\([A-Z]*\), "\([^"]*\)", [A-Z]*, \([a-z_]*\)).*/\1 \2 \3/p' src/web/app.h | sort >"$scratch/routes"
awk '/^paths:/ { on = 1; next } /^[a-z]/ { on = 0 }
    on && /^  \// { path = $1; sub(/:$/, "", path); gsub(/\{[a-z]*\}/, "*", path) }
    on && /^    (get|post|put|delete):/ { method = $1; sub(/:$/, "", method); wanted = 1 }
    on && wanted && /^      operationId: / { print toupper(method), path, $2; wanted = 0 }
    ' shared/openapi.yaml | sort >"$scratch/described"
[ -s "$scratch/routes" ]
diff "$scratch/routes" "$scratch/described"
version=$(sed -n 's/^#define DW_VERSION[[:space:]]*"\(.*\)"/\1/p' include/dropwise/version.h)
grep -q "^  version: $version\$" shared/openapi.yaml || { echo "openapi.yaml is not of version $version"; exit 1; }

cd tests/openapi
missing=""
command -v node >/dev/null 2>&1 || missing="$missing nodejs"
command -v npm >/dev/null 2>&1 || missing="$missing npm"
if [ -n "$missing" ]; then
    [ "$(id -u)" -eq 0 ] && export DEBIAN_FRONTEND=noninteractive && apt-get update -qq &&
        # shellcheck disable=SC2086
        apt-get install -y -qq --no-install-recommends $missing >/dev/null 2>&1 ||
        { echo "skipped: needs$missing"; exit 0; }
fi
if [ ! -d node_modules/@seriousme/openapi-schema-validator ]; then
    npm ci --no-audit --no-fund --silent >/dev/null 2>&1 ||
        { echo "skipped: npm can't fetch the validator"; exit 0; }
fi
node validate.mjs ../../shared/openapi.yaml
# It tells what it is there for.
sed '0,/operationId: /s//operationid: /' ../../shared/openapi.yaml >"$scratch/word.yaml"
sed "0,/schemas\/Length/s//schemas\/Lenght/" ../../shared/openapi.yaml >"$scratch/reference.yaml"
for wrong in word reference; do
    if node validate.mjs "$scratch/$wrong.yaml" ../../shared >/dev/null; then
        echo "a wrong $wrong was not refused"
        exit 1
    fi
done
