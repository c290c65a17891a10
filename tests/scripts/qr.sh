#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# The page's own reader of QR codes: a block of the standard's worked example mended, and labels as
# the program draws them (by libqrencode) read under light, noise, blur, turn and tilt.
# usage: qr.sh BUILD
set -eu
build=$(cd "$1" && pwd)
here=$(cd "$(dirname "$0")/.." && pwd)
command -v node >/dev/null 2>&1 || { echo "skipped: needs nodejs"; exit 0; }
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
cp "$here/../src/web/page/qr.js" "$scratch/qr.mjs"
cp "$here/support/qr_photo.mjs" "$scratch/"
cd "$scratch"
DW="$build/dropwise shelf"
$DW material al38 --shelf shelf.db >/dev/null
$DW add al38 450mm --number C3 --shelf shelf.db >/dev/null
$DW add al38 900mm --number 'Stall, rack 7, tail of the banner arm no. 19/b, left, é' --shelf shelf.db >/dev/null
for number in C3 'Stall, rack 7, tail of the banner arm no. 19/b, left, é'; do
    $DW labels "$number" --shelf shelf.db --stock roll-62x29 -o label.pdf --replace >/dev/null
    pdftoppm -gray -r 250 label.pdf label
    node qr_photo.mjs label-1.pgm "$number"
done
