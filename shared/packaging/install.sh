#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Installs program, libraries, headers, pkg-config file, manual, completions and data. Runs nothing
# that was built, so that a build for another machine can be installed.
# usage: install.sh BUILD DESTDIR PREFIX LIBDIR VERSION
set -eu
cd "$(dirname "$0")/../.."
build=$1
root=$2$3
prefix=$3
lib=$2$4
libdir=$4
version=$5

install -d "$root/bin" "$lib/pkgconfig" "$root/include/dropwise" "$root/share/dropwise" \
    "$root/share/man/man1" "$root/share/man/man5" "$root/share/bash-completion/completions" \
    "$root/share/zsh/site-functions" "$root/share/doc/dropwise" "$root/share/applications" \
    "$root/lib/systemd/user" "$root/share/fish/vendor_completions.d"
install -m 755 "$build/dropwise" "$root/bin/"
install -m 644 "$build/libdropwise.a" "$lib/"
for shared in "$build"/libdropwise.so.*; do
    name=$(basename "$shared")
    install -m 644 "$shared" "$lib/$name.$version"
    ln -sf "$name.$version" "$lib/$name"
    ln -sf "$name" "$lib/libdropwise.so"
done
install -m 644 include/dropwise/*.h "$root/include/dropwise/"
install -m 644 README.md LICENSE "$root/share/doc/dropwise/"
install -m 644 "$build"/man/*.1 "$root/share/man/man1/"
install -m 644 "$build"/man/*.5 "$root/share/man/man5/"
install -m 644 shared/completions/dropwise.bash "$root/share/bash-completion/completions/dropwise"
install -m 644 shared/completions/_dropwise "$root/share/zsh/site-functions/"
install -m 644 shared/completions/dropwise.fish "$root/share/fish/vendor_completions.d/"
find shared -maxdepth 1 -type f -exec install -m 644 {} "$root/share/dropwise/" \;
sed -e "s|@PREFIX@|$prefix|" -e "s|@LIBDIR@|$libdir|" -e "s|@VERSION@|$version|" \
    shared/packaging/dropwise.pc.in >"$lib/pkgconfig/dropwise.pc"
install -m 644 shared/packaging/dropwise.desktop "$root/share/applications/"
sed "s|@PREFIX@|$prefix|" shared/packaging/dropwise.service.in >"$root/lib/systemd/user/dropwise.service"
