#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# What the page does with the data of a job, without a browser: changes of two people put together,
# what is kept until the server has it. Skipped, and said so, without Node.js. usage: page.sh BUILD
set -eu
cd "$(dirname "$0")/../page"
command -v node >/dev/null 2>&1 || { echo "skipped: needs nodejs"; exit 0; }
for test in *.test.mjs; do
    node "$test"
done
