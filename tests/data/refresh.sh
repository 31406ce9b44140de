#!/bin/sh
# SPDX-License-Identifier: MIT
# Writes the expected messages of data/bad and data/wrong anew, for review with git diff.
# usage: refresh.sh BUILD_FOLDER
set -eu
build=$(cd "$1" && pwd)
DUCTMARK_REFRESH=1 "$build/tests/test_bad_input"
DUCTMARK_REFRESH=1 sh "$(dirname "$0")/../cli/wrong.sh" "$build/ductmark"
cd "$(dirname "$0")" && git diff --stat .
