#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Debian packages out of the source archive, and what lintian says of them. An error of lintian fails.
# usage: deb.sh BUILD VERSION
set -eu
cd "$(dirname "$0")/../.."
version=$2
dist=$(cd "$1/dist" && pwd)
work=$(cd "$1" && pwd)/deb
changelog=$(dpkg-parsechangelog -l shared/packaging/debian/changelog -S Version)
[ "${changelog%-*}" = "$version" ] ||
    { echo "shared/packaging/debian/changelog is of $changelog, the source of $version"; exit 1; }

rm -rf "$work"
mkdir -p "$work"
tar -xzf "$dist/dropwise-$version.tar.gz" -C "$work"
cp "$dist/dropwise-$version.tar.gz" "$work/dropwise_$version.orig.tar.gz"
cp -R "$work/dropwise-$version/shared/packaging/debian" "$work/dropwise-$version/debian"
(
    cd "$work/dropwise-$version"
    unset MAKEFLAGS MFLAGS MAKELEVEL MAKEOVERRIDES BUILD OPT CFLAGS LDFLAGS || true
    dpkg-buildpackage -b -us -uc
) >"$work/log" 2>&1 || {
    tail -n 40 "$work/log"
    exit 1
}
cp "$work"/*.deb "$dist"
lintian --fail-on error "$work"/*.changes
ls "$dist"/*.deb
