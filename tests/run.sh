#!/bin/sh
# SPDX-License-Identifier: MIT
# Builds the tests with address and undefined-behaviour sanitizers and runs
# all of them, outside validators included. Installs what is missing.
set -eu
root=$(cd "$(dirname "$0")/.." && pwd)
build=$root/build-tests
. "$root/.ci/packages.sh"
# shellcheck disable=SC2086
need_packages $build_packages g++ libcmocka-dev libxml2-utils python3 \
    python3-numpy locales poppler-utils \
    zbar-tools
node_major() { node --version 2>/dev/null | sed 's/^v\([0-9]*\).*/\1/'; }
[ "$(node_major || echo 0)" -ge 18 ] 2>/dev/null && command -v npm >/dev/null ||
    need_packages nodejs npm

cd "$root/tests"
[ -d node_modules/web-ifc ] && [ -d node_modules/gltf-validator ] ||
    npm ci --no-audit --no-fund --loglevel=error
cd "$root"

cmake -S "$root" -B "$build" -DCMAKE_BUILD_TYPE=Debug \
    -DCMAKE_C_FLAGS_DEBUG="-O1 -g" \
    "-DDUCTMARK_SANITIZE=address;undefined" -DDUCTMARK_BUILD_TESTS=ON \
    -DDUCTMARK_BUILD_FUZZ=ON -DDUCTMARK_BUILD_BENCH=ON >/dev/null
cmake --build "$build" -j "$(nproc)" -- --no-print-directory
ctest --test-dir "$build" --output-on-failure -j "$(nproc)" "$@"
