#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Three hundred random jobs from the drawing to the last offcut, and three hundred kills on such a way.
# usage: walk.sh BUILD
set -eu
dw=$(cd "$1" && pwd)/dropwise
cd "$(dirname "$0")/../walk"
export PYTHONDONTWRITEBYTECODE=1
failed=0
python3 walk.py --program "$dw" --known known.txt 1-300 || failed=1
python3 kill.py --program "$dw" --known known.txt 300 || failed=1
exit "$failed"
