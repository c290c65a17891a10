#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Writes the files of the page as a C source: compressed, each with its type and a tag that changes
# with its content. usage: embed.sh FOLDER >assets.c
set -eu
export LC_ALL=C
cd "$1"
echo '/* Written by src/web/embed.sh. */'
echo '#include "web/app.h"'
i=0
table=''
for file in *.html *.css *.js *.svg *.webmanifest; do
    [ -f "$file" ] || continue
    case $file in
    *.html) type='text/html; charset=utf-8' ;;
    *.css) type='text/css; charset=utf-8' ;;
    *.js) type='text/javascript; charset=utf-8' ;;
    *.svg) type='image/svg+xml' ;;
    *) type='application/manifest+json' ;;
    esac
    path=/$file
    [ "$file" = index.html ] && path=/
    printf 'static const unsigned char file_%d[] = {' "$i"
    gzip -9nc "$file" | od -An -v -tu1 | tr -s ' \n' ',,' | sed 's/^,//; s/,$//'
    printf '};\n'
    tag=$(cksum <"$file" | awk '{ printf "%x-%x", $1, $2 }')
    table="$table    {\"$path\", \"$type\", \"\\\\\"$tag\\\\\"\", file_$i, sizeof file_$i},
"
    i=$((i + 1))
done
printf 'const struct dw_web_asset dw_web__assets[] = {\n%b};\n' "$table"
echo 'const size_t dw_web__n_assets = sizeof dw_web__assets / sizeof dw_web__assets[0];'
