#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# dropwise.html at length: 300 random jobs beside the program, 30 shelves to and fro, 50 killed browsers.
# usage: onefile.sh BUILD
DROPWISE_SEEDS=300 DROPWISE_KILLS=50 exec sh "$(dirname "$0")/../scripts/onefile.sh" "$1"
