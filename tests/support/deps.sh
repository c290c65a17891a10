#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Installs what is missing of what a build needs, or of what tests, Debian packages or the page in one
# file need beyond that; without the right to install, says exactly what is missing.
# usage: deps.sh build|test|deb|onefile
set -eu

build="gcc make pkg-config libc6-dev libglpk-dev libfyaml-dev libjansson-dev libcsv-dev libzip-dev
libexpat1-dev libsqlite3-dev libcairo2-dev libpango1.0-dev libqrencode-dev libxlsxwriter-dev
libmicrohttpd-dev fonts-dejavu-core"
test="libcmocka-dev glpk-utils coinor-cbc sqlite3 binutils poppler-utils zbar-tools librsvg2-bin
libxml2-utils jq unzip python3 python3-cffi python3-jsonschema mandoc fish zsh"
deb="dpkg-dev debhelper fakeroot git lintian"
onefile="gcc make libc6-dev emscripten binaryen esbuild nodejs tcl"
case ${1:-} in
build) packages=$build ;;
test) packages="$build $test" ;;
deb) packages="$build $deb" ;;
onefile) packages=$onefile ;;
*)
    echo "usage: deps.sh build|test|deb|onefile" >&2
    exit 2
    ;;
esac

missing=""
for package in $packages; do
    dpkg-query -W -f='${Status}' "$package" 2>/dev/null | grep -q '^install ok installed$' ||
        missing="$missing $package"
done
[ -n "$missing" ] || exit 0

if [ "$(id -u)" -eq 0 ]; then
    as_root=""
elif command -v sudo >/dev/null 2>&1 && sudo -n true 2>/dev/null; then
    as_root="sudo"
else
    echo "Dropwise needs these packages; as root, run:" >&2
    echo "  apt-get install --no-install-recommends$missing" >&2
    exit 3
fi
echo "installing:$missing"
export DEBIAN_FRONTEND=noninteractive
$as_root apt-get update -qq
# shellcheck disable=SC2086
$as_root apt-get install -y -qq --no-install-recommends $missing >/dev/null
