#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# The page in a real browser, at phone and desktop width. Skipped, and said so, where Chromium,
# Node.js or its packages are missing. usage: browser.sh BUILD
set -eu
build=$(cd "$1" && pwd)
cd "$(dirname "$0")/../browser"

missing=""
command -v node >/dev/null 2>&1 || missing="$missing nodejs"
command -v npm >/dev/null 2>&1 || missing="$missing npm"
[ -x "${CHROMIUM:-/usr/bin/chromium}" ] || missing="$missing chromium"
if [ -n "$missing" ]; then
    [ "$(id -u)" -eq 0 ] && export DEBIAN_FRONTEND=noninteractive && apt-get update -qq &&
        # shellcheck disable=SC2086
        apt-get install -y -qq --no-install-recommends $missing >/dev/null 2>&1 ||
        { echo "skipped: needs$missing"; exit 0; }
fi
if [ ! -d node_modules/playwright-core ] || [ ! -d node_modules/axe-core ]; then
    PLAYWRIGHT_SKIP_BROWSER_DOWNLOAD=1 npm ci --no-audit --no-fund --silent >/dev/null 2>&1 ||
        { echo "skipped: npm can't fetch playwright-core and axe-core"; exit 0; }
fi
# Each test has a server, a shelf and a browser of its own: side by side.
said=$(mktemp -d)
trap 'rm -rf "$said"' EXIT
tests=""
for test in *.test.mjs; do
    timeout 240 node "$test" "$build/dropwise" ../../samples >"$said/$test" 2>&1 &
    tests="$tests $test:$!"
done
failed=0
for test in $tests; do
    wait "${test##*:}" || failed=1
    cat "$said/${test%:*}"
done
exit "$failed"
