#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Lists in the shapes that spreadsheets, CAD and people give them, each with what must come of it; and
# files that must be refused before they take memory. usage: lists.sh BUILD
set -eu
build=$(cd "$1" && pwd)
folder=$(cd "$(dirname "$0")/../lists" && pwd)
python3 "$folder/check.py" "$build/dropwise"
python3 "$folder/hostile.py" "$build/dropwise"
