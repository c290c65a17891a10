#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# What the program prints with --json is as the schemas in shared/ say: every document of every case
# folder that prints one, and of the manual's examples. python3-jsonschema judges, and each document
# is spoiled in each of its members to see that a schema tells.
# usage: json.sh BUILD
set -eu
build=$(cd "$1" && pwd)
root=$(cd "$(dirname "$0")/../.." && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
mkdir "$work/bin" "$work/said" "$work/shop" "$work/home"

# The program, with what it printed kept aside.
cat >"$work/bin/dropwise" <<SH
#!/bin/sh
for word; do
    [ "\$word" = --json ] || continue
    out=\$(mktemp "$work/said/XXXXXX")
    status=0
    "$build/dropwise" "\$@" >"\$out" || status=\$?
    cat "\$out"
    exit \$status
done
exec "$build/dropwise" "\$@"
SH
chmod +x "$work/bin/dropwise"

cd "$root"
for case in $(grep -l -e --json tests/cases/*/*/cmd tests/regress/*/cmd); do
    sh tests/support/case.sh "$work/bin" "${case%cmd}" >"$work/log" || { echo "$case"; cat "$work/log"; exit 1; }
done

cp samples/*.yaml samples/*.csv "$work/shop"
(
    cd "$work/shop"
    export HOME="$work/home" PATH="$work/bin:$PATH"
    unset XDG_DATA_HOME DROPWISE_SHELF || true
    dropwise help --examples | grep -v '^dropwise serve' | while read -r line; do
        topic=$(printf '%s\n' "$line" | sed -n 's/^dropwise \(shelf [a-z]*\|[a-z]*\).*/\1/p')
        # shellcheck disable=SC2086
        "$build/dropwise" help --words $topic | grep -q -e '^--json' ||
            "$build/dropwise" help --words "$topic" | grep -q -e '^--json' || { sh -c "$line"; continue; }
        case $line in *--json*) sh -c "$line" ;; *) sh -c "$line --json" ;; esac
    done
) >"$work/log" 2>&1 </dev/null || { tail "$work/log"; exit 1; }
python3 tests/support/json_schema.py shared "$work/said"/*
