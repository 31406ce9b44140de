#!/bin/sh
# SPDX-License-Identifier: MIT
# usage: gltf.sh WRITE_FIXTURE FOLDER
# The fixture's glTF files through the Khronos validator; and a damaged copy,
# which it must refuse. Skips (77) where Node or the validator is missing.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
if ! command -v node >/dev/null || [ ! -d "$here/../node_modules/gltf-validator" ]
then
    echo "SKIPPED: node or tests/node_modules/gltf-validator is missing;" \
        "run npm ci in tests/"
    exit 77
fi
"$1" "$2" glb
node "$here/gltf.mjs" "$2/model.glb" "$2/heat.glb"
sed 's/"VEC3","min"/"VEC4","min"/' "$2/model.glb" >"$2/damaged.glb"
if node "$here/gltf.mjs" "$2/damaged.glb" >/dev/null; then
    echo "the validator took a damaged file for good"
    exit 1
fi
