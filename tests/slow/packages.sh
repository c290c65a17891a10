#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# The Debian packages: built in two folders they are the same bytes, and in a bare system of their own
# the program installs, plans and verifies, a program builds with the library, and the source archive
# does its own set-up for `make demo`. All but the first needs root, debootstrap and a mirror
# (DEBIAN_MIRROR, otherwise the first of apt's own).
# usage: packages.sh BUILD
set -eu
cd "$(dirname "$0")/../.."
git rev-parse --is-inside-work-tree >/dev/null 2>&1 || { echo "skipped: no git work tree"; exit 0; }
work=$(mktemp -d)
root=$work/root
trap 'rm -rf "$work"' EXIT
unset MAKEFLAGS MFLAGS MAKELEVEL MAKEOVERRIDES || true

commit=$(git rev-parse HEAD)
for folder in one a-longer-way/two; do
    mkdir -p "$work/$folder"
    git clone -q --no-checkout . "$work/$folder/source"
    git -C "$work/$folder/source" checkout -q "$commit"
    make -s -C "$work/$folder/source" deb >"$work/log" 2>&1 || { cat "$work/log"; exit 1; }
done
for file in "$work"/one/source/build/dist/*; do
    cmp "$file" "$work/a-longer-way/two/source/build/dist/$(basename "$file")"
done
ls "$work/one/source/build/dist"

if [ "$(id -u)" -ne 0 ] || ! command -v debootstrap >/dev/null; then
    echo "skipped: a bare system needs root and debootstrap"
    exit 0
fi
mirror=${DEBIAN_MIRROR:-$(apt-get indextargets --format '$(SITE)' 'Created-By: Packages' | head -n 1)}
debootstrap --variant=minbase bookworm "$root" "$mirror" >"$work/log" 2>&1 || { tail "$work/log"; exit 1; }
cp "$work"/one/source/build/dist/* "$root/tmp"
cp -R samples "$root/tmp/samples"
inside() {
    echo "# $*"
    chroot "$root" env -i PATH=/usr/sbin:/usr/bin:/sbin:/bin HOME=/root DEBIAN_FRONTEND=noninteractive \
        LC_ALL=C.UTF-8 sh -c "$*"
}
inside 'apt-get install -y -qq --no-install-recommends /tmp/dropwise_*.deb >/tmp/log 2>&1 || { cat /tmp/log; exit 1; }'
inside 'dropwise version'
inside 'dropwise plan /tmp/samples/trio-rack.yaml --output /tmp/plan.json --sheet /tmp/sheet.pdf | head -n 6'
inside 'dropwise verify /tmp/samples/trio-rack.yaml /tmp/plan.json | tail -n 3'
inside 'head -c 5 /tmp/sheet.pdf; echo'
inside 'ls /usr/lib/systemd/user/dropwise.service /usr/share/applications/dropwise.desktop'
inside 'apt-get install -y -qq --no-install-recommends /tmp/libdropwise0_*.deb /tmp/libdropwise-dev_*.deb \
    gcc libc6-dev pkg-config >/tmp/log 2>&1 || { cat /tmp/log; exit 1; }'
inside 'cc /tmp/samples/plan_job.c -o /tmp/plan_job $(pkg-config --cflags --libs dropwise) && /tmp/plan_job'
inside 'apt-get install -y -qq --no-install-recommends make >/dev/null 2>&1; cd /tmp && tar -xzf dropwise-*.tar.gz &&
    cd dropwise-*/ && make demo >/tmp/log 2>&1 && tail -n 4 /tmp/log || { tail /tmp/log; exit 1; }'
