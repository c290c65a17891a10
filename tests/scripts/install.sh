#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# make install into an empty folder; then programs are built against it, with the shared library and
# with the archive, from C and from Python, and the installed program runs.
# usage: install.sh BUILD
set -eu
build=$(cd "$1" && pwd)
cd "$(dirname "$0")/../.."
nm -A "$build/libdropwise.a" 2>/dev/null | grep -qE '__asan_|__tsan_|__gcov_' && exit 0
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
fail() {
    echo "$*"
    exit 1
}

make -s install BUILD="$build" DESTDIR= PREFIX="$work/usr" LIBDIR="$work/usr/lib/here" >/dev/null
lib=$work/usr/lib/here
"$work/usr/bin/dropwise" version >/dev/null
for file in lib/here/libdropwise.a lib/here/libdropwise.so lib/here/pkgconfig/dropwise.pc \
    include/dropwise/dropwise.h \
    share/man/man1/dropwise.1 share/man/man1/dropwise-plan.1 share/man/man5/dropwise-job.5 \
    share/bash-completion/completions/dropwise \
    share/zsh/site-functions/_dropwise share/fish/vendor_completions.d/dropwise.fish \
    share/applications/dropwise.desktop \
    lib/systemd/user/dropwise.service share/dropwise/job.schema.json \
    share/dropwise/plan.schema.json share/dropwise/order.schema.json \
    share/dropwise/quote.schema.json share/dropwise/takeoff.schema.json \
    share/dropwise/output.schema.json share/dropwise/shop.schema.json share/doc/dropwise/LICENSE; do
    [ -s "$work/usr/$file" ] || fail "not installed: $file"
done
version=$(sed -n 's/^#define DW_VERSION[[:space:]]*"\(.*\)"/\1/p' include/dropwise/version.h)
soname=$(readlink "$lib/libdropwise.so")
[ -f "$lib/$soname.$version" ] || fail "no library of version $version: $(ls "$lib")"
readelf -d "$lib/libdropwise.so" | grep -q "soname: \[$soname\]" || fail "its name is not $soname"

export PKG_CONFIG_PATH="$lib/pkgconfig" LD_LIBRARY_PATH="$lib"
[ "$(pkg-config --modversion dropwise)" = "$version" ] || fail "pkg-config tells another version"
flags=$(pkg-config --cflags --libs dropwise)
case $flags in *-lglpk*) fail "a program that is linked with the library gets its libraries: $flags" ;; esac
# shellcheck disable=SC2086
${CC:-gcc} -std=c11 samples/plan_job.c -o "$work/shared" $flags
ldd "$work/shared" | grep -q "$lib/$soname" || fail "not linked with $soname"
"$work/shared" >"$work/said"
rm "$lib"/libdropwise.so*
# shellcheck disable=SC2046
${CC:-gcc} -std=c11 samples/plan_job.c -o "$work/static" $(pkg-config --cflags --libs --static dropwise)
"$work/static" | diff "$work/said" -
grep -q 'no plan is cheaper' "$work/said" || fail "the sample does not plan: $(cat "$work/said")"

# Python, from the headers alone.
cp -P "$build"/libdropwise.so* "$lib"
python3 -c 'import cffi' 2>/dev/null || fail "python3-cffi is missing"
python3 samples/plan_job.py samples/trio-rack.yaml "$work/plan.json" >"$work/said"
grep -q '^[0-9]* x .*: [0-9]* x' "$work/said" || fail "the Python sample does not plan: $(cat "$work/said")"
"$build/dropwise" verify samples/trio-rack.yaml "$work/plan.json" >/dev/null
status=0
printf 'dropwise: 1\nunit: ell\n' >"$work/bad.yaml"
python3 samples/plan_job.py "$work/bad.yaml" >"$work/said" 2>&1 || status=$?
[ "$status" = 2 ] && grep -q "bad.yaml:2:" "$work/said" || fail "a mistake is not told: $(cat "$work/said")"

grep -q "ExecStart=$work/usr/bin/dropwise serve" "$work/usr/lib/systemd/user/dropwise.service" ||
    fail "the service starts another program"

# For another machine: nothing of the build is run.
mkdir "$work/far"
cp -rP "$build/man" "$build"/libdropwise.* "$work/far"
printf 'no program of this machine\n' >"$work/far/dropwise"
sh shared/packaging/install.sh "$work/far" "$work/root" /usr /usr/lib 0.0.0
[ -s "$work/root/usr/share/man/man1/dropwise.1" ] || fail "no manual without running the program"
