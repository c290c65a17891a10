#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Drawings of centre lines with the parts, joints and lengths that were worked out by hand; and drawings
# that must be refused before they take memory or time. usage: drawings.sh BUILD
set -eu
build=$(cd "$1" && pwd)
folder=$(cd "$(dirname "$0")/../drawings" && pwd)
python3 "$folder/check.py" "$build/dropwise"
python3 "$folder/hostile.py" "$build/dropwise"
