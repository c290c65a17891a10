#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Words of papers, a file a language, as a table in C on standard output: key: "text" a line.
# usage: languages.sh FOLDER
set -eu
echo '/* Made from the files of shared/languages by src/draw/languages.sh. */'
echo '#include "draw/language.h"'
names=""
for file in "$1"/*.yaml; do
    name=$(basename "$file" .yaml)
    names="$names $name"
    echo "static const struct dw_language language_$name = {\"$name\", {"
    awk -v file="$file" '
        /^#/ || /^[ \t]*$/ { next }
        match($0, /^[a-z ]+: ".*"$/) == 0 {
            printf "%s:%d: write it as key: \"text\"\n", file, FNR > "/dev/stderr"
            exit 1
        }
        {
            key = substr($0, 1, index($0, ":") - 1)
            text = substr($0, index($0, ":") + 2)
            gsub(/ /, "_", key)
            printf "    [DW_SAY_%s] = %s,\n", toupper(key), text
        }' "$file"
    echo '}};'
done
echo 'const struct dw_language *const dw_languages__all[] = {'
for name in $names; do
    echo "    &language_$name,"
done
echo '    NULL};'
