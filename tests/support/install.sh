#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Installs program, library, headers, pkg-config file, man page, completions and data.
# usage: install.sh BUILD DESTDIR PREFIX VERSION
set -eu
cd "$(dirname "$0")/../.."
build=$1
root=$2$3
prefix=$3
version=$4

install -d "$root/bin" "$root/lib/pkgconfig" "$root/include/dropwise" "$root/share/dropwise" \
    "$root/share/man/man1" "$root/share/bash-completion/completions" \
    "$root/share/zsh/site-functions" "$root/share/doc/dropwise"
install -m 755 "$build/dropwise" "$root/bin/"
install -m 644 "$build/libdropwise.a" "$root/lib/"
install -m 644 include/dropwise/*.h "$root/include/dropwise/"
install -m 644 README.md LICENSE "$root/share/doc/dropwise/"
"$build/dropwise" help --manual >"$root/share/man/man1/dropwise.1"
install -m 644 shared/completions/dropwise.bash "$root/share/bash-completion/completions/dropwise"
install -m 644 shared/completions/_dropwise "$root/share/zsh/site-functions/"
find shared -maxdepth 1 -type f -exec install -m 644 {} "$root/share/dropwise/" \;
sed -e "s|@PREFIX@|$prefix|" -e "s|@VERSION@|$version|" tests/support/dropwise.pc.in \
    >"$root/lib/pkgconfig/dropwise.pc"
