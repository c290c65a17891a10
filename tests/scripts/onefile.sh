#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# dropwise.html: made, compared with the program, and opened from disk in a real browser. Skipped, and
# said so, where what makes it can't be had. usage: onefile.sh BUILD
set -eu
build=$(cd "$1" && pwd)
cd "$(dirname "$0")/../.."
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

make --no-print-directory onefile BUILD="$build" CC="${CC:-gcc}" >"$work/made" 2>&1 || {
    if command -v emcc >/dev/null 2>&1 && [ -d "$build/onefile/lib" ]; then
        tail -n 20 "$work/made"
        exit 1
    fi
    echo "skipped: emscripten, esbuild, or the sources of the libraries can't be had here"
    exit 0
}
size=$(wc -c <"$build/dropwise.html")
[ "$size" -le $((4 << 20)) ] || { echo "dropwise.html has $size bytes, more than 4 MiB"; exit 1; }

# Beside the program: DROPWISE_SEEDS for more of them.
seeds=${DROPWISE_SEEDS:-12}
mkdir "$work/jobs"
python3 tests/onefile/jobs.py "$work/jobs" 1 "$seeds"
esbuild tests/onefile/same.test.mjs --bundle --format=esm --platform=node --log-level=warning \
    --alias:dropwise.js="$build/onefile/dropwise.js" --outfile="$work/same.mjs" \
    --banner:js="import { createRequire } from 'node:module'; import { fileURLToPath } from 'node:url'; import { dirname } from 'node:path'; const require = createRequire(import.meta.url), __filename = fileURLToPath(import.meta.url), __dirname = dirname(__filename);"
DROPWISE_JOBS="$work/jobs" DROPWISE_WASM="$build/onefile/small.wasm" node "$work/same.mjs" "$build/dropwise" 1 "$seeds"

# In the browser: the tests of the served page that need no server, and what only the file does.
[ -x "${CHROMIUM:-/usr/bin/chromium}" ] && [ -d tests/browser/node_modules/playwright-core ] ||
    { echo "skipped: no browser (browser.sh installs it)"; exit 0; }
cd tests/browser
failed=0
for test in way list work saw shelf; do
    timeout 240 node "$test.test.mjs" "$build/dropwise.html" ../../samples "$build/dropwise" || failed=1
done
timeout 900 node onefile.mjs "$build/dropwise.html" ../../samples "$build/dropwise" "${DROPWISE_KILLS:-3}" || failed=1
exit "$failed"
