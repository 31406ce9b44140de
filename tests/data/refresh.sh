#!/bin/sh
# SPDX-License-Identifier: MIT
# Writes the expected messages of data/bad anew, for review with git diff.
# usage: refresh.sh BUILD_FOLDER
set -eu
DUCTMARK_REFRESH=1 "$1/tests/test_bad_input"
cd "$(dirname "$0")" && git diff --stat .
