#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Every allocation of the process fails once in each command of tests/scripts/no_memory.sh, every 150th where
# it draws.
# usage: no_memory.sh BUILD
set -eu
exec sh "$(dirname "$0")/../scripts/no_memory.sh" "$1" 1
