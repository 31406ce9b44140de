#!/bin/sh
# SPDX-License-Identifier: MIT
# Installs a build into a scratch folder and builds tests/consumer against it,
# by CMake and by pkg-config. usage: install.sh BUILD_FOLDER
set -eu
root=$(cd "$(dirname "$0")/.." && pwd)
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
cmake --install "$root/$1" --prefix "$scratch/usr" >/dev/null
cmake -S "$root/tests/consumer" -B "$scratch/build" \
    -DCMAKE_PREFIX_PATH="$scratch/usr" >/dev/null
cmake --build "$scratch/build" >/dev/null
"$scratch/build/consumer"
libdir=$(dirname "$(find "$scratch/usr" -name ductmark.pc)")
export PKG_CONFIG_PATH="$libdir"
# shellcheck disable=SC2046
cc "$root/tests/consumer/main.c" -o "$scratch/by-pkg-config" \
    $(pkg-config --define-prefix --static --cflags --libs ductmark)
"$scratch/by-pkg-config"
"$scratch/usr/bin/ductmark" --version
echo "installed tree: good"
