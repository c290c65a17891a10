#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Twenty random jobs from the drawing to the last offcut, every output read and compared by a checker
# that shares no code with the program; and that checker's own test. tests/slow/walk.sh walks more.
# usage: walk.sh BUILD
set -eu
dw=$(cd "$1" && pwd)/dropwise
cd "$(dirname "$0")/../walk"
export PYTHONDONTWRITEBYTECODE=1
python3 test_check.py "$dw"
python3 walk.py --program "$dw" --known known.txt 1-20
