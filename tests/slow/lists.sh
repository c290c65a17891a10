#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# 2 000 good lists with one thing changed: what is taken is right, or doubted, or refused.
# usage: lists.sh BUILD
set -eu
exec python3 "$(dirname "$0")/../lists/mutate.py" "$1/dropwise" 2000
