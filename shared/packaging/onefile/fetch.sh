#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Fetches the source archives that `sources` names, through this machine's own package sources, and
# unpacks those whose sum is right. usage: fetch.sh FOLDER
set -eu
here=$(cd "$(dirname "$0")" && pwd)
mkdir -p "$1" && cd "$1"

# apt with a list of sources and a state of its own: nothing of the machine's is changed.
options="-o Dir::Etc::SourceList=/dev/null -o Dir::Etc::SourceParts=$PWD/apt/parts \
-o Dir::State::Lists=$PWD/apt/lists -o APT::Sandbox::User=$(id -un)"

list() {
    mkdir -p apt/lists/partial apt/parts
    for file in /etc/apt/sources.list.d/*.sources; do
        [ -e "$file" ] && grep -q 'debian-archive' "$file" &&
            sed 's/^Types:.*/Types: deb-src/' "$file" >"apt/parts/$(basename "$file")"
    done
    for file in /etc/apt/sources.list /etc/apt/sources.list.d/*.list; do
        [ -e "$file" ] && grep '^deb .*bookworm' "$file" | sed 's/^deb /deb-src /' \
            >"apt/parts/$(basename "$file")" || true
    done
    # shellcheck disable=SC2086
    apt-get -qq $options update
}

is_right() { # archive sum
    [ -e "$1" ] && echo "$2  $1" | sha256sum --quiet -c - >/dev/null 2>&1
}

grep -v '^#' "$here/sources" | while read -r package archive folder sum; do
    if ! is_right "$archive" "$sum"; then
        [ -d apt/lists ] || list
        rm -f "$archive"
        # shellcheck disable=SC2086
        apt-get -qq $options source --tar-only --download-only "$package" >/dev/null
        is_right "$archive" "$sum" || {
            echo "$archive is not the archive that $here/sources names" >&2
            exit 3
        }
    fi
    [ -d "$folder" ] || tar xf "$archive"
done
