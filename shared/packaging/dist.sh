#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# The source archive of the last commit, the same bytes wherever it is made.
# usage: dist.sh BUILD VERSION
set -eu
cd "$(dirname "$0")/../.."
build=$1
name=dropwise-$2
mkdir -p "$build/dist"
git archive --format=tar --prefix="$name/" HEAD | gzip -9n >"$build/dist/$name.tar.gz.new"
mv "$build/dist/$name.tar.gz.new" "$build/dist/$name.tar.gz"
echo "$build/dist/$name.tar.gz"
