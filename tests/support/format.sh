#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Checks that every C file is as clang-format (14) with .clang-format would write it.
set -eu
cd "$(dirname "$0")/../.."
git ls-files '*.c' '*.h' | xargs clang-format --dry-run --Werror
echo "format: every file is formatted"
