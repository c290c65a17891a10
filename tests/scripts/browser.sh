#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# The page in a real browser, at phone and desktop width. Skipped, and said so, where Chromium,
# Node.js or its packages are missing. usage: browser.sh BUILD
set -eu
build=$(cd "$1" && pwd)
cd "$(dirname "$0")/../browser"
for tool in node npm; do
    command -v $tool >/dev/null 2>&1 || { echo "skipped: no $tool"; exit 0; }
done
[ -x "${CHROMIUM:-/usr/bin/chromium}" ] || { echo "skipped: no Chromium"; exit 0; }
if [ ! -d node_modules/playwright-core ] || [ ! -d node_modules/axe-core ]; then
    PLAYWRIGHT_SKIP_BROWSER_DOWNLOAD=1 npm ci --no-audit --no-fund --silent >/dev/null 2>&1 ||
        { echo "skipped: npm can't fetch playwright-core and axe-core"; exit 0; }
fi
for test in *.test.mjs; do
    timeout 120 node "$test" "$build/dropwise"
done
